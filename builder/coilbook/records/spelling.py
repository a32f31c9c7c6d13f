"""Near misses: what somebody probably meant to type."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_CUTOFF = 0.7


def nearest(word: str, options: Iterable[str]) -> str | None:
    """Return the option that looks most like ``word``, or None when none comes close.

    Letter case counts for nothing, so that ``Neck`` finds ``neck``.
    """
    folded = {option.casefold(): option for option in options}
    found = difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=_CUTOFF)
    return folded[found[0]] if found else None


def did_you_mean(word: str, options: Iterable[str]) -> str:
    """Return ``Did you mean 'x'? `` (with its space), or an empty text when nothing comes close."""
    near = nearest(word, options)
    return f"Did you mean '{near}'? " if near else ""

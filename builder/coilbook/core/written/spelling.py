"""Near misses: what somebody probably meant to type."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

#: How alike two words must be for the one to be meant by the other, from 0 to 1.
CUTOFF = 0.7
#: How many near options are looked at for the nearest; ids of one bench are often a digit apart.
TIES = 50


def nearest(word: str, options: Iterable[str]) -> str | None:
    """Return the option that looks most like ``word``, or None when none comes close.

    Letter case counts for nothing, so that ``Neck`` finds ``neck``. Of options that look equally
    like it, the one that begins like it longest is taken: ids differ at their ends.
    """
    folded = {option.casefold(): option for option in options}
    wanted = word.casefold()
    found = difflib.get_close_matches(wanted, folded, n=TIES, cutoff=CUTOFF)

    def closeness(option: str) -> tuple[float, int]:
        alike = difflib.SequenceMatcher(None, option, wanted).ratio()
        return round(alike, 9), _begins_alike(option, wanted)

    return folded[max(found, key=closeness)] if found else None


def _begins_alike(one: str, other: str) -> int:
    """Return how many letters two words share at their beginning."""
    alike = 0
    for mine, theirs in zip(one, other, strict=False):
        if mine != theirs:
            break
        alike += 1
    return alike


def did_you_mean(word: str, options: Iterable[str]) -> str:
    """Return ``Did you mean 'x'? `` (with its space), or an empty text when nothing comes close."""
    near = nearest(word, options)
    return f"Did you mean '{near}'? " if near else ""

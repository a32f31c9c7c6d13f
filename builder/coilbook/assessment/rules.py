"""The rules of the observations, read from the documentation of the code that applies them."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass
from functools import cache
from typing import get_args

from coilbook.core import constants
from coilbook.core.observing import look
from coilbook.core.observing.findings import LOOKED_FOR
from coilbook.core.observing.said import FindingCode
from coilbook.core.reduction import rod_ceilings

_CONSTANT = re.compile(r"\b[A-Z]{2,}(?:_[A-Z]+)*\b")


@dataclass(frozen=True, slots=True)
class FindingRule:
    """What one function of :data:`LOOKED_FOR` tells of, and what it cannot tell.

    Constants are written as their values.
    """

    codes: tuple[FindingCode, ...]
    rule: str
    cannot_tell: str


@cache
def finding_rules() -> tuple[FindingRule, ...]:
    """Return every rule, in the order in which they are looked for."""
    found = []
    for looked_for in LOOKED_FOR:
        parts = re.split(r"\n(Tells|Rule|Cannot tell):", inspect.getdoc(looked_for) or "")
        named = dict(zip(parts[1::2], parts[2::2], strict=True))
        wanted = {code.strip() for code in named["Tells"].split(",")}
        codes = tuple(code for code in get_args(FindingCode) if code in wanted)
        found.append(FindingRule(codes, _plain(named["Rule"]), _plain(named["Cannot tell"])))
    return tuple(found)


def _plain(text: str) -> str:
    """Return a passage on one line, with constants as their values."""
    return _CONSTANT.sub(_value, " ".join(text.split()))


def _value(match: re.Match[str]) -> str:
    """Return a constant's value; a name that no module has must not reach a page."""
    homes = (look, constants, rod_ceilings)
    value = next(getattr(home, match[0]) for home in homes if hasattr(home, match[0]))
    if isinstance(value, tuple):
        return " to ".join(f"{end:g}" for end in value)
    return f"{value:g}"

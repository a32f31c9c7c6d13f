"""Numbers and claims in words, the same way on every page."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from coilbook.core.budgets.uncertainty import expanded
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ClaimSeen, PropertySeen

#: The mark and the words of each kind of evidence; never colour alone.
EVIDENCE_MARKS: dict[str, tuple[str, str]] = {
    "published": ("■", "published"),
    "common_practice": ("◧", "common practice"),
    "recalled": ("□", "recalled"),
    "measured": ("▲", "measured"),
    "invented": ("◇", "invented"),
}

PARTS: dict[str, str] = {
    "pickup": "Pickup",
    "coil": "Coil",
    "coil_a": "Coil A",
    "coil_b": "Coil B",
    "pair": "Pair",
    "magnet": "Magnet",
    "magnet_a": "Magnet A",
    "magnet_b": "Magnet B",
    "cover": "Cover",
    "lead": "Lead",
}

_THIN = "\N{NARROW NO-BREAK SPACE}"
_HARD = "\N{NO-BREAK SPACE}"
_PLAIN = str.maketrans({_HARD: " ", _THIN: " "})


def with_plain_spaces(words: str) -> str:
    """Return words for a terminal, which breaks no line: every space in them is an ordinary one."""
    return words.translate(_PLAIN)


def number(value: float, decimals: int) -> str:
    """Write a number with so many decimals, digits in threes from five digits on.

    Negative decimals round to tens (-1), hundreds (-2) and so on.
    """
    value = round(value, decimals)
    decimals = max(0, decimals)
    text = f"{abs(value):,.{decimals}f}"
    if abs(value) < 10_000:
        text = text.replace(",", "")
    text = text.replace(",", _THIN)
    return ("\N{MINUS SIGN}" if value < 0 and float(f"{value:.{decimals}f}") != 0 else "") + text


def needed_decimals(values: list[float], most: int) -> int:
    """Return the fewest decimals that show every value as well as ``most`` decimals would."""
    for decimals in range(most):
        if all(round(v, decimals) == round(v, most) for v in values):
            return decimals
    return most


def unit_text(unit: str | None) -> str:
    """Return a unit with the space before it that keeps it on the line; a count has none."""
    if not unit or unit in ("1", "pieces"):
        return ""
    return _HARD + unit


def quantity(value: float, prop: PropertySeen) -> str:
    """Write a value in its property's unit and decimals."""
    return number(value, prop.decimals or 0) + unit_text(prop.unit)


def span(low: float | None, typical: float | None, high: float | None, prop: PropertySeen) -> str:
    """Write a claim's numbers: a range, an end, or a usual value; empty if there are none."""
    given = [v for v in (low, typical, high) if v is not None]
    if not given:
        return ""
    decimals = needed_decimals(given, prop.decimals or 0)
    unit = unit_text(prop.unit)
    if low is not None and high is not None:
        if low == high:
            text = number(low, decimals) + unit
        elif low == 0 and prop.hard_low == 0:
            text = f"up to {number(high, decimals)}{unit}"
        else:
            text = f"{number(low, decimals)}–{number(high, decimals)}{unit}"
    elif high is not None:
        text = f"up to {number(high, decimals)}{unit}"
    elif low is not None:
        text = f"from {number(low, decimals)}{unit}"
    else:
        assert typical is not None
        return f"about {number(typical, decimals)}{unit}"
    if typical is not None and not low == typical == high:
        text += f", usually {number(typical, decimals)}{unit}"
    return text


def result_decimals(uncertainty: float, prop: PropertySeen) -> int:
    """Return the decimals at which a result is shown: two digits of U, at most one past the usual.

    The property's own decimals are the least that is shown when U allows it, so that neighbours in
    a table line up; a U of no digits at those decimals is given one more (JCGM 100 7.2.6).
    """
    usual = prop.decimals or 0
    if uncertainty <= 0 or not math.isfinite(uncertainty):
        return usual
    two_digits = 1 - math.floor(math.log10(uncertainty))
    return min(two_digits, usual if uncertainty >= 2 * 10.0**-usual else usual + 1)


def result(value: ReducedValue, prop: PropertySeen) -> str:
    """Write a reduced value with its expanded uncertainty (k = 2), a bound, or a word."""
    if value.category is not None:
        return value.category
    if value.qualifier == "open":
        return "open"
    if value.value is None:
        return "–"
    unit = unit_text(prop.unit)
    if value.qualifier in ("<", ">"):
        sign = "below" if value.qualifier == "<" else "above"
        return f"{sign} {number(value.value, prop.decimals or 0)}{unit}"
    if not value.standard_uncertainty:
        return number(value.value, prop.decimals or 0) + unit
    extent = expanded(value.standard_uncertainty)
    decimals = result_decimals(extent, prop)
    return f"{number(value.value, decimals)} ± {number(extent, decimals)}{unit}"


def years(first: int | None, last: int | None) -> str:
    """Write a span of years: 1959, 1957–58, 1959–1961, or nothing."""
    if first is None or last is None:
        return ""
    if first == last:
        return str(first)
    if first // 100 == last // 100:
        return f"{first}–{last % 100:02d}"
    return f"{first}–{last}"


@dataclass(frozen=True, slots=True)
class Evidence:
    """An evidence mark with its words and where it leads, relative to the site's root."""

    code: str
    mark: str
    word: str
    href: str
    detail: str


def evidence(code: str, source_id: str | None, locator: str | None, title: str = "") -> Evidence:
    """Return the mark for one row's evidence; a published one leads to its source."""
    mark, word = EVIDENCE_MARKS[code]
    if source_id is None:
        return Evidence(code, mark, word, f"evidence/index.html#{code.replace('_', '-')}", "")
    detail = ", ".join(part for part in (title, locator) if part)
    return Evidence(code, mark, word, f"sources/index.html#{source_id}", detail)


@dataclass(frozen=True, slots=True)
class ClaimView:
    """A claim ready to be shown."""

    claim_id: str
    text: str
    written: str
    evidence: Evidence
    remark: str
    period: str
    position: str
    own: bool


def claim_text(claim: ClaimSeen) -> str:
    """Write what a claim states."""
    return claim.row.category or span(claim.low, claim.typical, claim.high, claim.property)


def claim_written(claim: ClaimSeen) -> str:
    """Write a claim's numbers exactly as they stand in the record, where they differ in look."""
    row = claim.row
    parts = [p for p in (row.low, row.typical, row.high) if p]
    unit = f" {row.unit}" if row.unit else ""
    return " … ".join(parts) + unit if parts else ""


def plural(count: int, one: str, many: str) -> str:
    """Write a count with its noun."""
    return f"{number(count, 0)} {one if count == 1 else many}"


def rank(percentile: float, peers: int) -> str:
    """Write where a piece stands among so many peers, without false ends."""
    if percentile <= 0:
        return f"below all {peers} peers"
    if percentile >= 100:
        return f"above all {peers} peers"
    return f"above {min(99, max(1, round(percentile)))}{_HARD}% of {peers} peers"


_TAILS = (" of one coil", " of both coils", " of the pair", " of the coils", " between the coils")


def short_name(name: str) -> str:
    """Return a property's name without the part, where the part stands beside it."""
    for tail in _TAILS:
        name = name.removesuffix(tail)
    return name


Word = Literal["inside", "outside", "too_close_to_call", "not_judged"]
VERDICT_MARKS: dict[str, tuple[str, str]] = {
    "inside": ("●", "inside"),
    "outside": ("○", "outside"),
    "too_close_to_call": ("◐", "too close to call"),
    "not_judged": ("–", "not judged"),
}


def probability(p: float | None) -> str:
    """Write a conformance probability to two decimals without claiming 0 or 1."""
    if p is None:
        return ""
    if p > 0.995:
        return "p > 0.99"
    if p < 0.005:
        return "p < 0.01"
    return f"p = {p:.2f}"


def lower_first(words: str) -> str:
    """Return words that go on with a sentence; an abbreviation keeps its capitals."""
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


def upper_first(words: str) -> str:
    """Return words that begin a sentence."""
    return words[:1].upper() + words[1:]

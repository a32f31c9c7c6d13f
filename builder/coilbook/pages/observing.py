"""The page on how observations are made: their rules, and how a blind trial found them to do."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.assessment import finding_rules
from coilbook.assessment.lead import MIDDLE, SMALLEST_DECIDED
from coilbook.pages import text
from coilbook.pages.types import Book
from coilbook.records.trial import TrialRow


@dataclass(frozen=True, slots=True)
class RuleView:
    """One rule, with the codes of the observations that follow it."""

    codes: tuple[str, ...]
    rule: str
    cannot_tell: str


@dataclass(frozen=True, slots=True)
class RateView:
    """How often an observation was made, with the interval of the rate."""

    size: str
    read: str
    finding: str
    detected: str
    n: str
    rate: str
    interval: str


@dataclass(frozen=True, slots=True)
class AlterationView:
    """Every rate of one alteration."""

    code: str
    rates: tuple[RateView, ...]


@dataclass(frozen=True, slots=True)
class ObservingContext:
    """Everything on the page."""

    rules: tuple[RuleView, ...]
    smallest_decided: int
    middle: str
    false_alarms: tuple[RateView, ...]
    alterations: tuple[AlterationView, ...]


def context(book: Book) -> ObservingContext:
    """Return the rules from the code's own documentation, and the trial's report if any."""
    by_alteration: dict[str, list[RateView]] = {}
    for row in book.trial:
        by_alteration.setdefault(row.alteration, []).append(_rate(row))
    untouched = by_alteration.pop("none", [])
    return ObservingContext(
        rules=tuple(RuleView(r.codes, r.rule, r.cannot_tell) for r in finding_rules()),
        smallest_decided=SMALLEST_DECIDED,
        middle=f"{MIDDLE[1] - MIDDLE[0]:g} %",
        false_alarms=tuple(untouched),
        alterations=tuple(AlterationView(k, tuple(v)) for k, v in by_alteration.items()),
    )


def _rate(row: TrialRow) -> RateView:
    return RateView(
        size=row.size,
        read=row.read,
        finding=row.finding,
        detected=text.number(row.detected, 0),
        n=text.number(row.n, 0),
        rate=f"{100.0 * row.detected / row.n:.1f} %" if row.n else "–",
        interval=f"{100.0 * row.low:.1f}–{100.0 * row.high:.1f} %",
    )

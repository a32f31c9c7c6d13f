"""The page on how observations are made: their rules, and how a blind trial found them to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coilbook.assessment.rules import finding_rules
from coilbook.core.observing.headline import MIDDLE, SMALLEST_DECIDED
from coilbook.pages import text
from coilbook.pages.declare import OnePage
from coilbook.pages.page import Book
from coilbook.records.tables.trial import TrialRow

#: The project's goals: no observation is made of more untouched pieces than this share ...
FALSE_ALARMS_AT_MOST = 0.02
#: ... and of altered ones at least this share is found: turns from so many percent shorted on, and
#: readings in circuit that are not marked.
FOUND_AT_LEAST = 0.90
SHORTED_FROM_PERCENT = 5.0
#: The trial's name for any observation that counts as having found an alteration.
ANY = "any_of_these"
_IN_CIRCUIT = ("in_circuit_all", "in_circuit_pair_only", "in_circuit_coils_unread")
#: Goals by what was altered and what was read: all in circuit with coils and pair, then what peers
#: alone must show, with and without a quality factor.
GOALS: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("shorted_found", ("shorted_turns",), ("coil's R, L and Q",)),
    ("coils_and_pair", _IN_CIRCUIT[:2], ("two coils, Q", "two coils, no Q")),
    ("peers_with_losses", _IN_CIRCUIT[::2], ("one coil, Q",)),
    ("pair_with_losses", _IN_CIRCUIT[2:], ("two coils, Q",)),
    ("resistance_alone", _IN_CIRCUIT[::2], ("one coil, no Q",)),
    ("pair_resistance_alone", _IN_CIRCUIT[2:], ("two coils, no Q",)),
)


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
class GoalView:
    """A goal of the project, by its code, and how far the trial met it.

    ``sizes`` has each size of the alteration with its rate, and whether that meets the goal.
    """

    code: str
    goal: str
    detected: str
    n: str
    rate: str
    met: bool
    sizes: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True, slots=True)
class ObservingContext:
    """Everything on the page."""

    rules: tuple[RuleView, ...]
    smallest_decided: int
    middle: str
    goals: tuple[GoalView, ...]
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
        goals=tuple(_goals(book.trial)),
        false_alarms=tuple(untouched),
        alterations=tuple(AlterationView(k, tuple(v)) for k, v in by_alteration.items()),
    )


def _goals(trial: Sequence[TrialRow]) -> Iterator[GoalView]:
    """Return each goal with what the trial found, for all sizes together and for each."""
    false = [row for row in trial if row.alteration == "none" and row.n]
    if false:
        worst = max(false, key=lambda row: row.detected / row.n)
        yield _goal("false_alarms", [worst], (0.0, FALSE_ALARMS_AT_MOST))
    for code, alterations, read in GOALS:
        counted = [
            row
            for row in trial
            if row.alteration in alterations and row.read in read and row.finding == ANY and row.n
        ]
        if code == "shorted_found":
            counted = [row for row in counted if _percent(row.size) >= SHORTED_FROM_PERCENT]
        if counted:
            yield _goal(code, counted, (FOUND_AT_LEAST, 1.0))


def _percent(size: str) -> float:
    """Return the number that a size begins with."""
    return float(size.split()[0])


def _goal(code: str, rows: Sequence[TrialRow], wanted: tuple[float, float]) -> GoalView:
    low, high = wanted

    def share(of: Sequence[TrialRow]) -> float:
        return sum(row.detected for row in of) / sum(row.n for row in of)

    sizes = []
    for size in dict.fromkeys(row.size for row in rows if row.size):
        of_size = share([row for row in rows if row.size == size])
        # A path's size is its resistance: 500 k is 500 kΩ.
        sizes.append((size.replace(" k", " kΩ"), _shown(of_size), low <= of_size <= high))
    return GoalView(
        code=code,
        goal=f"≥\u00a0{100.0 * low:.0f}\u00a0%" if low else f"≤\u00a0{100.0 * high:.0f}\u00a0%",
        detected=text.number(sum(row.detected for row in rows), 0),
        n=text.number(sum(row.n for row in rows), 0),
        rate=_shown(share(rows)),
        met=low <= share(rows) <= high,
        sizes=tuple(sizes),
    )


def _shown(share: float) -> str:
    return f"{100.0 * share:.1f}\u00a0%"


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


PAGE = OnePage(
    path="methods/observations/index.html",
    template="observations.html.j2",
    section="methods",
    title="How observations are made",
    description="The rule behind each observation, what it cannot tell, and how a blind "
    "trial found it to do.",
    context=context,
    search_text="observations findings rules thresholds false alarms blind trial typical "
    "unusual periods consistent",
)

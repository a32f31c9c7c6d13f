"""How a piece's figures came about: uncertainty budgets, turns and the sum of the coils."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.core.formulas.hum import HumLeft
from coilbook.core.reduction.gauges import GaugeCandidate
from coilbook.core.reduction.measured_piece import Closure, Trouble, Turns
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.measures.whole_piece import Share, WholePiece
from coilbook.pages import text
from coilbook.pages.page import Book
from coilbook.pages.views import Fact
from coilbook.records.tables.models import Property, Wire

if TYPE_CHECKING:
    # For its type alone: it draws, and a command that prints text need not load what draws.
    from coilbook.measures.checks import ResultCheck


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One contribution to a result's uncertainty, and its share of the variance."""

    name: str
    estimate: str
    uncertainty: str
    distribution: str
    share: str


@dataclass(frozen=True, slots=True)
class BudgetView:
    """Where a result's uncertainty comes from."""

    what: str
    value: str
    standard: str
    lines: tuple[BudgetLine, ...]
    drawn: DrawnLine | None


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """The 95 % interval by a straight line beside the one drawn at random."""

    agrees: bool
    interval: str
    linear: str
    draws: str


@dataclass(frozen=True, slots=True)
class TurnsLine:
    """The turns that a coil's resistance stands for, and how they fit the window.

    ``also`` has what else was read makes of them; ``combined`` is empty where that is nothing.
    ``fits`` is the code of the fit.
    """

    what: str
    turns: str
    wire: str
    bobbin: str
    dominant: str
    fill: str
    fits: str
    also: tuple[Fact, ...]
    combined: str
    agree: bool
    gauges: tuple[GaugeLine, ...]


@dataclass(frozen=True, slots=True)
class GaugeLine:
    """One wire that a coil may be wound with, what that would mean, and what speaks against it."""

    wire: str
    turns: str
    fill: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TroubleLine:
    """Readings that cannot be: a code that the template words, and where they stand."""

    code: str
    what: str
    where: str
    data: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ClosureLine:
    """Whether two coils add up to their pair."""

    closes: bool
    total: str
    pair: str
    difference: str
    extent: str
    error: str


def _significant(value: float, digits: int = 2) -> str:
    return f"{value:.{digits}g}" if abs(value) < 1e4 else text.number(value, 0)


def budget(what: str, prop: Property, value: ReducedValue, whole: WholePiece) -> BudgetView | None:
    """Return where a value's uncertainty comes from, or None of a value without any."""
    shares = whole.shares(value)
    if not shares or not value.standard_uncertainty:
        return None
    check = whole.checks.get((value.component, value.property_id))
    return BudgetView(
        what=what,
        value=text.result(value, prop),
        standard=f"{_significant(value.standard_uncertainty)}{text.unit_text(prop.unit)}",
        lines=tuple(_budget_line(one) for one in shares),
        drawn=_drawn(check, value, prop) if check is not None else None,
    )


def _drawn(check: ResultCheck, value: ReducedValue, prop: Property) -> DrawnLine:
    found = check.comparison
    digits = text.result_decimals(expanded(value.standard_uncertainty or 0.0), prop)

    def ends(low: float, high: float) -> str:
        return f"{text.number(low, digits)} to {text.number(high, digits)}" + text.unit_text(
            prop.unit
        )

    return DrawnLine(
        agrees=found.agrees,
        interval=ends(*found.interval),
        linear=ends(found.linear_low, found.linear_high),
        draws=text.number(found.drawn.draws, 0),
    )


def _budget_line(share: Share) -> BudgetLine:
    line = share.line
    return BudgetLine(
        name=line.name,
        estimate=f"{_significant(line.estimate, 5)} {line.unit}".strip(),
        uncertainty=f"{_significant(line.standard_uncertainty)} {line.unit}".strip(),
        distribution=line.distribution,
        share=f"{100 * share.share:.0f} %",
    )


@dataclass(frozen=True, slots=True)
class HumLine:
    """The hum that two unlike coils leave: about, and at the most."""

    about: str
    at_most: str


def hum_line(left: HumLeft) -> HumLine:
    """Return the hum that a pair's imbalance leaves, at it and at its upper end (k = 2)."""
    # Where the interval reaches equal coils, only its upper end means something.
    about = f"{text.number(left.level_db, 0)} dB" if math.isfinite(left.low_db) else ""
    return HumLine(
        about, f"{text.number(left.high_db, 0)} dB" if math.isfinite(left.high_db) else ""
    )


def in_tens(estimate: Estimate) -> str:
    """Write turns to tens: an uncertainty of hundreds does not carry single ones."""
    extent = expanded(estimate.standard_uncertainty)
    if extent < 10.0:
        return f"{text.number(estimate.value, 0)} ± {text.number(extent, 0)}"
    return f"{text.number(round(estimate.value, -1), 0)} ± {text.number(round(extent, -1), 0)}"


def turns_line(book: Book, turns: Turns, whole: WholePiece) -> TurnsLine:
    """Return the turns of one coil, rounded as far as they are known."""
    wire = book.reference.wires[turns.wire_id]
    bobbin = book.reference.bobbins[turns.bobbin_id]
    combined = turns.combined
    return TurnsLine(
        what=text.PARTS[turns.component],
        turns=in_tens(turns.estimates["resistance"]),
        wire=_wire(wire),
        bobbin=bobbin.name,
        dominant=turns.dominant.name,
        fill=f"{100 * turns.fit.ratio_square:.0f} %",
        fits=turns.fit.fits,
        also=tuple(
            Fact(name, in_tens(estimate))
            for name, estimate in turns.estimates.items()
            if name != "resistance"
        ),
        combined=in_tens(combined.estimate) if combined is not None else "",
        agree=combined is None or combined.agrees,
        gauges=_gauges(book, whole.gauges[turns.component]),
    )


def _wire(wire: Wire) -> str:
    return f"{wire.awg} AWG, {wire.build} build"


def _gauges(book: Book, candidates: Sequence[GaugeCandidate]) -> tuple[GaugeLine, ...]:
    """Return every wire of the reference held against a coil: a set, never a single answer."""
    return tuple(
        GaugeLine(
            _wire(book.reference.wires[c.wire_id]),
            in_tens(c.turns),
            f"{100 * c.fit.ratio_square:.0f} %",
            tuple(c.reasons),
        )
        for c in candidates
    )


def trouble_line(trouble: Trouble, prop: Property) -> TroubleLine:
    """Return what cannot be about some readings, numbers in the property's unit."""
    data = {
        name: value if isinstance(value, str) else text.number(value, 2)
        for name, value in trouble.data.items()
    }
    part = text.PARTS[trouble.component]
    return TroubleLine(
        trouble.code,
        f"{part}, {text.short_name(prop.name).lower()}",
        f"readings.csv, line {trouble.line}" if trouble.line else "",
        data,
    )


def closure_line(closure: Closure, prop: Property) -> ClosureLine:
    """Return whether two coils add up to their pair, in words and numbers."""
    extent = expanded(closure.standard_uncertainty_kohm)
    digits = max(2, text.result_decimals(extent, prop))
    return ClosureLine(
        closes=closure.closes,
        total=f"{text.number(closure.sum_kohm, digits)} kΩ",
        pair=f"{text.number(closure.pair_kohm, digits)} kΩ",
        difference=f"{text.number(closure.difference_kohm, digits + 1)} kΩ",
        extent=f"{text.number(extent, digits + 1)} kΩ",
        error=text.number(closure.normalised_error, 2),
    )

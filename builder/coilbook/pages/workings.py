"""How a piece's figures came about: uncertainty budgets, turns and the sum of the coils."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.measures.hum import hum_left_interval
from coilbook.measures.types import Closure, ReducedValue, Turns
from coilbook.measures.uncertainty import Contribution, expanded
from coilbook.pages import text
from coilbook.pages.types import Book
from coilbook.records.models import Property


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One contribution to a result's uncertainty, and its share of the variance."""

    name: str
    estimate: str
    uncertainty: str
    distribution: str
    share: str


@dataclass(frozen=True, slots=True)
class Budget:
    """Where a result's uncertainty comes from."""

    what: str
    value: str
    standard: str
    lines: tuple[BudgetLine, ...]


@dataclass(frozen=True, slots=True)
class TurnsLine:
    """The turns that a coil's resistance stands for."""

    what: str
    turns: str
    wire: str
    bobbin: str
    dominant: str
    fill: str


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


def budget(what: str, prop: Property, value: ReducedValue) -> Budget | None:
    """Return where a value's uncertainty comes from, or None of a value without any."""
    if not value.budget or not value.standard_uncertainty:
        return None
    return Budget(
        what=what,
        value=text.result(value, prop),
        standard=f"{_significant(value.standard_uncertainty)}{text.unit_text(prop.unit)}",
        lines=_budget_lines(value.budget, value.standard_uncertainty),
    )


def _budget_lines(budget: tuple[Contribution, ...], total: float) -> tuple[BudgetLine, ...]:
    return tuple(
        BudgetLine(
            name=c.name,
            estimate=f"{_significant(c.estimate, 5)} {c.unit}".strip(),
            uncertainty=f"{_significant(c.standard_uncertainty)} {c.unit}".strip(),
            distribution=c.distribution,
            share=f"{100 * (c.effect / total) ** 2:.0f} %",
        )
        for c in sorted(budget, key=lambda c: -c.effect)
    )


@dataclass(frozen=True, slots=True)
class HumLine:
    """The hum that two unlike coils leave: about, and at the most."""

    about: str
    at_most: str


def hum_line(imbalance: ReducedValue) -> HumLine | None:
    """Return the hum that a pair's imbalance leaves, at it and at its upper end (k = 2).

    The upper end is that of the imbalance itself: near equal coils a decibel is no straight line.
    """
    if not imbalance.comparable or imbalance.value is None:
        return None
    left = hum_left_interval(imbalance.value, imbalance.standard_uncertainty or 0.0)
    # Where the interval reaches equal coils, only its upper end means something.
    about = f"{text.number(left.level_db, 0)} dB" if math.isfinite(left.low_db) else ""
    return HumLine(
        about, f"{text.number(left.high_db, 0)} dB" if math.isfinite(left.high_db) else ""
    )


def turns_line(book: Book, turns: Turns) -> TurnsLine:
    """Return the turns of one coil, rounded as far as they are known."""
    wire = book.reference.wires[turns.wire_id]
    bobbin = book.reference.bobbins[turns.bobbin_id]
    dominant = max(turns.budget, key=lambda c: c.effect)
    extent = expanded(turns.standard_uncertainty)
    # Rounded to tens: an uncertainty of hundreds does not carry single turns.
    return TurnsLine(
        what=text.PARTS[turns.component],
        turns=f"{text.number(round(turns.turns, -1), 0)} ± {text.number(round(extent, -1), 0)}",
        wire=f"{wire.awg} AWG, {wire.build} build",
        bobbin=bobbin.name,
        dominant=dominant.name,
        fill=f"{100 * turns.fill_square:.0f} %",
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

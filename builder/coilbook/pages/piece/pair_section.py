"""Two coils on the piece page: what they read in each way of switching, and their phase."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.core.budgets.uncertainty import expanded
from coilbook.measures.pair_sums import SHUNT_TOLERANCE_PERCENT, CoilSum
from coilbook.measures.phase import (
    ENTRIES,
    TRUTH_TABLE,
    TruthRow,
)
from coilbook.measures.whole_piece import WholePiece
from coilbook.pages import text
from coilbook.records.tables.models import Property

#: The part that a truth table's words stand for: the same in both coils, or not.
_SAME = {True: "same", False: "other"}


@dataclass(frozen=True, slots=True)
class SumLine:
    """What the coils read in one way; ``way`` is worded by the template."""

    way: str
    value: str
    shunt: str


@dataclass(frozen=True, slots=True)
class PhaseRow:
    """One case of the truth table, as words; ``here`` marks the one that this piece is."""

    pole: str
    winding: str
    lead: str
    strings_add: bool
    hum_cancels: bool
    here: bool


@dataclass(frozen=True, slots=True)
class CoilEntries:
    """What is recorded of one coil: pole, winding, lead; empty where it is not."""

    what: str
    entries: tuple[str, ...]
    positive: str


@dataclass(frozen=True, slots=True)
class PhaseView:
    """What is recorded of the coils' senses, and what follows; ``known`` if anything is."""

    two_coils: bool
    coils: tuple[CoilEntries, ...]
    known: bool
    complete: bool
    strings: str
    hum: str
    rows: tuple[PhaseRow, ...]


@dataclass(frozen=True, slots=True)
class PairView:
    """The sums of two coils, and the phase of one or two."""

    sums: tuple[SumLine, ...]
    tolerance: str
    phase: PhaseView


def _sum_line(found: CoilSum, prop: Property) -> SumLine:
    extent = expanded(found.estimate.standard_uncertainty)
    decimals = text.result_decimals(extent, prop)
    value = (
        f"{text.number(found.estimate.value, decimals)} ± {text.number(extent, decimals)}"
        f"{text.unit_text('kΩ')}"
    )
    shunt = f"{found.shunt_ohm / 1000:.1f} kΩ" if found.shunt_ohm is not None else ""
    return SumLine(found.way, value, shunt)


def _phase_row(row: TruthRow, here: TruthRow | None) -> PhaseRow:
    return PhaseRow(
        _SAME[row.same_pole],
        _SAME[row.same_winding],
        _SAME[row.same_lead],
        row.strings_add,
        row.hum_cancels,
        row == here,
    )


def _phase(whole: WholePiece) -> PhaseView:
    strings = hum = ""
    rows: tuple[PhaseRow, ...] = ()
    pair = whole.pair_phase
    if pair is not None:
        strings = {True: "add", False: "cancel", None: ""}[pair.strings_add]
        hum = {True: "cancels", False: "adds", None: ""}[pair.hum_cancels]
        rows = tuple(_phase_row(row, pair.row) for row in TRUTH_TABLE)
    shown = tuple(
        CoilEntries(
            text.PARTS[coil.component],
            tuple(coil.recorded[entry] or "" for entry in ENTRIES),
            {1: "positive", -1: "negative", None: ""}[coil.string],
        )
        for coil in whole.coil_phases
    )
    known = any(entry for coil in shown for entry in coil.entries)
    return PhaseView(pair is not None, shown, known, whole.phase_complete, strings, hum, rows)


def view(whole: WholePiece, prop: Property) -> PairView:
    """Return the sums and the phase of a piece's coils; ``prop`` is the resistance of the pair."""
    return PairView(
        tuple(_sum_line(found, prop) for found in whole.sums),
        f"{SHUNT_TOLERANCE_PERCENT:.0f} %",
        _phase(whole),
    )

"""One hand-made piece of a real family among hand-made peers, for the tests of observations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import assessment_bench as bench

from coilbook.core.observing.assess import assess
from coilbook.core.observing.said import Assessment
from coilbook.core.reduction.measured_piece import Closure, MeasuredPiece, Turns
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.records import load_reference
from coilbook.records.contents import Piece, Reading, Reference
from coilbook.records.tables.models import PieceRow, ReadingRow
from coilbook.stats.groups import summarise

Key = tuple[str, str]
FAMILY = "full-size-humbucker"


@cache
def reference() -> Reference:
    """Return the documented side."""
    loaded = load_reference().value
    assert loaded is not None
    return loaded


def value(component: str, property_id: str, number: float | None, u: float, **more: Any) -> Any:
    """Return a reduced value of one part, changed as asked."""
    fields: dict[str, Any] = {
        "piece_id": "mine",
        "component": component,
        "property_id": property_id,
        "unit": reference().properties[property_id].unit or "",
        "value": number,
        "standard_uncertainty": u,
        "qualifier": "",
        "category": None,
        "line": 2,
        "written": str(number),
        "date": "2026-03-14",
        "instrument_id": "meter",
        "calibration": "valid",
    }
    return ReducedValue(**{**fields, **more})


def word(component: str, property_id: str, category: str) -> Any:
    """Return a value that is a word."""
    return value(component, property_id, None, 0.0, category=category, standard_uncertainty=None)


def spread(middle: float, count: int, step: float = 0.01) -> list[float]:
    """Return so many different numbers evenly about a middle, each a share of it from the next."""
    return [middle * (1.0 + step * (i - (count - 1) / 2.0)) for i in range(count)]


def _reading_in_circuit() -> Reading:
    """Return a reading of the pair that is marked as made with something across it."""
    row = ReadingRow(
        piece_id="mine",
        component="pair",
        property_id="pair-resistance",
        value="7.9",
        circuit="in_circuit",
    )
    return Reading(
        row=row,
        line=2,
        property=reference().properties["pair-resistance"],
        value=7.9,
        qualifier="",
        category=None,
        step=0.01,
        temperature_c=20.0,
        temperature_half_width_k=1.0,
        parallel_ohm=250e3,
        parallel_tolerance=10.0,
        test_frequency_hz=None,
        instrument=None,
        calibration="unknown",
    )


@dataclass(frozen=True)
class Case:
    """A piece with its values, and the values of its peers by part and property."""

    values: Sequence[ReducedValue] = ()
    peers: Mapping[Key, Sequence[float]] = field(default_factory=dict)
    cells: Mapping[str, str] = field(default_factory=dict)
    closure: Closure | None = None
    turns: Sequence[Turns] = ()
    family_id: str = FAMILY
    marked: bool = False

    def piece(self, piece_id: str, cells: Mapping[str, str]) -> Piece:
        """Return a piece of the family."""
        row = {
            "piece_id": piece_id,
            "family_id": self.family_id,
            "state": "untouched",
            "potted": "no",
            "publish": "yes",
            **cells,
        }
        family = reference().families[self.family_id]
        return Piece(PieceRow.model_validate(row), 2, family, ())

    def assessed(self) -> Assessment:
        """Return all that is said of the piece."""
        mine = self.piece("mine", self.cells)
        if self.marked:
            read = _reading_in_circuit()
            mine = replace(mine, readings=(read,))
        count = max((len(numbers) for numbers in self.peers.values()), default=0)
        pieces = [self.piece(f"peer-{i}", {}) for i in range(count)]
        measured = {"mine": self._measured()}
        for i, piece in enumerate(pieces):
            measured[piece.row.piece_id] = bench.measured(
                [
                    value(component, property_id, numbers[i], 1e-6, piece_id=piece.row.piece_id)
                    for (component, property_id), numbers in self.peers.items()
                    if i < len(numbers)
                ],
                piece.row.piece_id,
            )
        archive = bench.archive([mine, *pieces])
        held = summarise(archive, measured, reference())
        return assess(mine, measured["mine"], archive, reference(), held)

    def _measured(self) -> MeasuredPiece:
        best = {(v.component, v.property_id): v for v in self.values}
        return MeasuredPiece("mine", tuple(self.values), best, self.closure, tuple(self.turns))

    def codes(self) -> list[str]:
        """Return the codes of what is observed, the strongest first."""
        return [finding.code for finding in self.assessed().findings]

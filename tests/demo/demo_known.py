"""The invented archive as loaded and as measured, beside its truth; for tests alone."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass

import generate

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.records import Loaded, load_archive, load_reference
from coilbook.records.contents import Archive, Piece, Reading, Reference

COPPER = ("coil-resistance", "pair-resistance")


@dataclass(frozen=True, slots=True)
class Reduced:
    """A copper reading with what was made of it, and the truth in kΩ."""

    piece: Piece
    reading: Reading
    value: ReducedValue
    true_kohm: float
    stories: frozenset[str]

    @property
    def z(self) -> float:
        """Return the error in standard uncertainties."""
        assert self.value.value is not None
        assert self.value.standard_uncertainty is not None
        return (self.value.value - self.true_kohm) / self.value.standard_uncertainty

    @property
    def undisturbed(self) -> bool:
        """Whether nothing stands between the reading and its uncertainty."""
        return (
            self.piece.row.state == "untouched"
            and self.reading.row.circuit == "free"
            and self.reading.calibration == "valid"
            and self.reading.temperature_c is not None
        )


@dataclass(frozen=True, slots=True)
class Demo:
    """The invented archive and everything that is known of it."""

    reference: Reference
    loaded: Loaded[Archive]
    archive: Archive
    measured: Mapping[str, MeasuredPiece]
    truth: tuple[dict[str, str], ...]
    stories: Mapping[str, frozenset[str]]
    copper: tuple[Reduced, ...]

    def pieces_of(self, story: str) -> list[Piece]:
        """Return the pieces that a story happened to; a test of no piece must not pass."""
        found = [
            p for piece_id, p in self.archive.pieces.items() if story in self.stories[piece_id]
        ]
        assert found, story
        return found


def load() -> Demo:
    """Load the committed archive and its committed truth."""
    reference = load_reference().value
    assert reference is not None
    loaded = load_archive(generate.ARCHIVE, reference)
    archive = loaded.value
    assert archive is not None, "\n".join(map(str, loaded.problems))
    measured = {name: measure_piece(piece, reference) for name, piece in archive.pieces.items()}
    with generate.TRUTH.open(encoding="utf-8", newline="") as file:
        truth = tuple(csv.DictReader(file))
    stories = {row["piece_id"]: frozenset(row["story"].split(";")) for row in truth}
    lines = {row["line"]: row for row in truth}
    copper = tuple(
        Reduced(piece, reading, value, float(lines[str(value.line)]["true_value"]), stories[name])
        for name, piece in archive.pieces.items()
        for reading in piece.readings
        for value in measured[name].values
        if value.line == reading.line and value.property_id in COPPER and value.comparable
    )
    return Demo(reference, loaded, archive, measured, truth, stories, copper)

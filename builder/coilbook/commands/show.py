"""One piece of an archive, for its owner's eyes: as plain data, and as text."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from coilbook.core.observing.said import Assessment
from coilbook.core.observing.told import told
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import UnknownPiece
from coilbook.pages.page import Book
from coilbook.publish.book import compose_book, open_records
from coilbook.records import public_view
from coilbook.records.contents import Piece, Reading
from coilbook.records.reading.loose import LOOSE_ID
from coilbook.resources import templates

_HARD_SPACES = str.maketrans({"\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " "})


@dataclass(frozen=True, slots=True)
class PieceInBook:
    """A piece and the book that it stands in, which has it even if it is kept back."""

    piece: Piece
    book: Book

    @property
    def measured(self) -> MeasuredPiece:
        """The piece's readings reduced."""
        return self.book.measured[self.piece.row.piece_id]

    @property
    def assessment(self) -> Assessment:
        """What is said of the piece."""
        return self.book.assessments[self.piece.row.piece_id]


def find_piece(archive_dir: Path, piece_id: str) -> PieceInBook:
    """Read an archive and work out all that can be said of one piece.

    Its peers are the published pieces; the piece itself may be one that is kept back.
    Raises :class:`RecordsInvalid` with every problem, :class:`UnknownPiece` with a near miss.
    """
    opened = open_records(archive_dir)
    piece = opened.archive.pieces.get(piece_id)
    if piece is None:
        hint = did_you_mean(piece_id, opened.archive.pieces) or "Look it up in pieces.csv. "
        raise UnknownPiece(f"This archive has no piece '{piece_id}'. {hint}".strip())
    public = public_view(opened.archive)
    book = compose_book(opened.reference, public, compare=[piece])
    # An instrument that read nothing but pieces kept back is in no public view.
    own_view = replace(public, instruments=opened.archive.instruments)
    return PieceInBook(piece, replace(book, archive=own_view))


def as_data(shown: PieceInBook) -> dict[str, Any]:
    """Return a piece as plain data; U is the expanded uncertainty, k = 2, in the value's unit."""
    row = shown.piece.row
    return {
        "piece": row.model_dump(mode="json"),
        "kind": shown.book.archive.settings.kind,
        "readings": [_reading(reading) for reading in shown.piece.readings],
        **told(shown.measured, shown.assessment),
    }


def as_text(shown: PieceInBook) -> str:
    """Return a piece as text, worded by the template show.txt.j2."""
    # Plain data need none of it.
    from coilbook.pages.piece.piece_text import context
    from coilbook.pages.worded import environment

    page = context(shown.book, shown.piece)
    names = {field.name: getattr(page, field.name) for field in fields(page)}
    text = (
        environment(templates(), escaped=False)
        .get_template("show.txt.j2")
        .render(
            invented=shown.book.invented,
            kept_back=not shown.piece.row.publish,
            loose=shown.piece.row.piece_id == LOOSE_ID,
            **names,
        )
    )
    return text.translate(_HARD_SPACES)


def _reading(reading: Reading) -> dict[str, Any]:
    return {"line": reading.line, **reading.row.model_dump(mode="json", exclude={"piece_id"})}

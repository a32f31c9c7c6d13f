"""One piece of an archive, for its owner's eyes: as plain data, and as text."""

from __future__ import annotations

import re
from collections.abc import Iterable
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
        hint = _nearest_piece(piece_id, opened.archive.pieces)
        raise UnknownPiece(f"This archive has no piece '{piece_id}'. {hint}".strip())
    public = public_view(opened.archive)
    book = compose_book(opened.reference, public, compare=[piece])
    # An instrument that read nothing but pieces kept back is in no public view.
    own_view = replace(public, instruments=opened.archive.instruments)
    return PieceInBook(piece, replace(book, archive=own_view))


def _nearest_piece(typed: str, pieces: Iterable[str]) -> str:
    """Return a hint to the piece that was meant: 12 and lq-12 are lq-0012."""
    wanted = _unpadded(typed)
    same = [
        piece_id
        for piece_id in pieces
        if wanted == (found := _unpadded(piece_id)) or found.endswith(f"-{wanted}")
    ]
    if len(same) == 1:
        return f"Did you mean '{same[0]}'?"
    return did_you_mean(typed, pieces) or "Look it up in pieces.csv."


def _unpadded(piece_id: str) -> str:
    """Return an id as it counts when somebody types it: without capitals and leading noughts."""
    return re.sub(r"0*(\d+)", r"\1", piece_id.casefold())


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
    from coilbook.pages.worded import printed

    page = context(shown.book, shown.piece)
    names = {field.name: getattr(page, field.name) for field in fields(page)}
    return printed(
        templates(),
        "show.txt.j2",
        invented=shown.book.invented,
        kept_back=not shown.piece.row.publish,
        loose=shown.piece.row.piece_id == LOOSE_ID,
        **names,
    )


def _reading(reading: Reading) -> dict[str, Any]:
    return {"line": reading.line, **reading.row.model_dump(mode="json", exclude={"piece_id"})}

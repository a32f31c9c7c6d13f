"""One piece as text, for the commands that show one: what its page says, without what is drawn.

Curves, strips and cards take arrays, which take longer to load than a piece to measure. So none of
these modules is asked for here, and a command that shows one piece answers at once.
"""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.pages import views
from coilbook.pages.page import Book
from coilbook.pages.piece import observations, workings
from coilbook.pages.piece.value_lines import (
    ReadingLine,
    ValueLine,
    in_order,
    reading_line,
    value_line,
)
from coilbook.records.contents import Piece


@dataclass(frozen=True, slots=True)
class PieceText:
    """What the template show.txt.j2 words."""

    piece_id: str
    family_name: str
    position: str
    years: str
    year_basis: str
    state: str
    condition: str
    remark: str
    troubles: tuple[workings.TroubleLine, ...]
    observations: observations.Observations
    lines: tuple[ValueLine, ...]
    readings: tuple[ReadingLine, ...]
    closure: workings.ClosureLine | None
    turns: tuple[workings.TurnsLine, ...]
    inside_at: str
    outside_at: str


def context(book: Book, piece: Piece) -> PieceText:
    """Return everything that is said of a piece in text."""
    row = piece.row
    whole, assessment = book.whole(piece), book.assessments[row.piece_id]
    measured = whole.measured
    by_line = {reading.line: reading for reading in piece.readings}
    value_of = {value.line: value for value in measured.values if value.line}
    properties, thresholds = book.reference.properties, book.archive.settings.thresholds
    return PieceText(
        piece_id=row.piece_id,
        family_name=piece.family.name,
        position=row.position or "position not known",
        years=views.piece_years(piece),
        year_basis=row.year_basis or "",
        state=row.state,
        condition=row.condition or "",
        remark=row.remark or "",
        troubles=tuple(
            workings.trouble_line(t, properties[t.property_id]) for t in measured.troubles
        ),
        observations=observations.view(book, piece, assessment),
        lines=tuple(
            value_line(book, piece, v, assessment, by_line.get(v.line))
            for v in in_order(book, piece, measured)
        ),
        readings=tuple(
            reading_line(book, r, value_of[r.line]) for r in piece.readings if r.line in value_of
        ),
        closure=(
            workings.closure_line(measured.closure, properties["pair-resistance"])
            if measured.closure
            else None
        ),
        turns=tuple(workings.turns_line(book, t, whole) for t in measured.turns),
        inside_at=f"{thresholds.inside:g}",
        outside_at=f"{thresholds.outside:g}",
    )

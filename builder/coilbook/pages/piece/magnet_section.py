"""Magnets on the piece page: grades that a reading rules out, change with time, polarity."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.core.budgets.uncertainty import expanded
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.rod_ceilings import RULED_OUT_FROM, GradeLine, RodCeilings
from coilbook.measures.magnet_of_piece import DatedChange
from coilbook.measures.whole_piece import WholePiece
from coilbook.pages import text
from coilbook.pages.page import Book
from coilbook.records.contents import Piece


@dataclass(frozen=True, slots=True)
class GradeRow:
    """A grade of the reference beside the strongest reading; ``ruling`` is worded by the template.

    ``ceiling`` and ``estimate`` are empty where there is none.
    """

    grade: str
    process: str
    standard: str
    value_kind: str
    remanence: str
    ceiling: str
    estimate: str
    ruling: str
    probability: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class RodView:
    """What a reading over a rod magnet says of each grade."""

    reading: str
    diameter: str
    length: str
    standoff: str
    depth_stated: bool
    grades: tuple[GradeRow, ...]
    ruled_out: tuple[str, ...]
    judged: int
    threshold: str
    lapsed: bool


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A change between two dated readings; ``kind`` is loss, gain or none."""

    what: str
    earlier_date: str
    earlier: str
    later_date: str
    later: str
    difference: str
    error: str
    kind: str
    remark: str


@dataclass(frozen=True, slots=True)
class MagnetView:
    """Everything that a piece page says of magnets; ``why_not`` is worded by the template."""

    rods: RodView | None
    why_not: str
    changes: tuple[ChangeRow, ...]
    polarity: tuple[tuple[str, str], ...]


def _millitesla(tesla: float | None) -> str:
    return "" if tesla is None else f"{text.number(tesla * 1e3, 0)}{text.unit_text('mT')}"


def _grade(book: Book, line: GradeLine) -> GradeRow:
    magnet, ruling = line.magnet, line.ruling
    source = book.reference.sources.get(magnet.source_id) if magnet.source_id else None
    return GradeRow(
        magnet.grade,
        magnet.process,
        f"{magnet.standard}, {magnet.edition}",
        magnet.value_kind,
        _millitesla(magnet.br_mt / 1e3),
        _millitesla(ruling.ceiling_t),
        _millitesla(line.estimate_t),
        ruling.ruling,
        text.probability(ruling.probability),
        text.evidence(
            magnet.evidence, magnet.source_id, magnet.locator, source.title if source else ""
        ),
    )


def _rods(book: Book, found: RodCeilings) -> RodView:
    grades = tuple(_grade(book, line) for line in found.grades)
    prop = book.reference.properties[found.reading.property_id]
    return RodView(
        reading=text.result(found.reading, prop),
        diameter=f"{text.number(found.diameter_m * 1e3, 1)}{text.unit_text('mm')}",
        length=(
            f"{text.number(found.length_m * 1e3, 1)}{text.unit_text('mm')}"
            if found.length_m is not None
            else ""
        ),
        standoff=(
            f"{text.number(found.standoff_m * 1e3, 1)} ± "
            f"{text.number(found.standoff_half_width_m * 1e3, 1)}{text.unit_text('mm')}"
        ),
        depth_stated=found.depth_stated,
        grades=grades,
        ruled_out=tuple(f"{g.grade} ({g.process})" for g in grades if g.ruling == "ruled_out"),
        judged=sum(g.ruling != "no_ceiling" for g in grades),
        threshold=f"{RULED_OUT_FROM:g}",
        lapsed=not found.reading.uncertainty_backed,
    )


def _change(book: Book, piece: Piece, found: DatedChange) -> ChangeRow:
    prop = book.reference.properties[found.later.property_id]
    difference, extent = (
        found.change.difference_t * 1e3,
        expanded(found.change.standard_uncertainty_t) * 1e3,
    )
    digits = text.result_decimals(extent, prop)
    sign = "+" if difference > 0.0 else ""

    def remark(value: ReducedValue) -> str:
        return next((r.row.remark or "" for r in piece.readings if r.line == value.line), "")

    return ChangeRow(
        text.PARTS[found.component],
        found.earlier.date,
        text.result(found.earlier, prop),
        found.later.date,
        text.result(found.later, prop),
        f"{sign}{text.number(difference, digits)} ± {text.number(extent, digits)}"
        f"{text.unit_text('mT')}",
        text.number(found.change.normalised_error, 2),
        found.kind,
        remark(found.later),
    )


def view(book: Book, whole: WholePiece) -> MagnetView | None:
    """Return what a piece's readings say of its magnets, or None if nothing was read of them."""
    found = whole.magnet
    if found is None:
        return None
    return MagnetView(
        rods=_rods(book, found.ceilings) if found.ceilings is not None else None,
        why_not=found.why_not or "",
        changes=tuple(_change(book, whole.piece, c) for c in found.changes),
        polarity=tuple((text.PARTS[part], word) for part, word in found.polarity),
    )

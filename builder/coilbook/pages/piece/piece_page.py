"""The piece page: readings as written beside what they come to, and what they were held against."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from coilbook.core.observing.peers import SMALLEST_FOR_TAILS
from coilbook.core.observing.said import Assessment
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.measures.whole_piece import WholePiece
from coilbook.pages import text, views
from coilbook.pages.declare import PageForEach, search_words
from coilbook.pages.drawn import figures, plots
from coilbook.pages.family import features as features_page
from coilbook.pages.page import Book
from coilbook.pages.piece import bench_card as card
from coilbook.pages.piece import magnet_section as magnet
from coilbook.pages.piece import observations, workings
from coilbook.pages.piece import pair_section as pair
from coilbook.pages.piece import response_section as response
from coilbook.pages.piece.value_lines import (
    ReadingLine,
    ValueLine,
    in_order,
    place_text,
    reading_line,
    value_line,
    value_strip,
    what_of,
)
from coilbook.pages.views import Fact
from coilbook.records.contents import Piece


@dataclass(frozen=True, slots=True)
class Tally:
    """How many verdicts came out each way, and which values are outside or too close."""

    inside: int
    judged: int
    outside: tuple[str, ...]
    close: tuple[str, ...]
    unusual: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PieceContext:
    """Everything on a piece page."""

    piece_id: str
    family_id: str
    family_name: str
    position: str
    years: str
    year_basis: str
    state: str
    potted: str
    condition: str
    remark: str
    measured_on: str
    compared_with: str
    comparisons: int
    tally: Tally
    observations: observations.Observations
    lines: tuple[ValueLine, ...]
    readings: tuple[ReadingLine, ...]
    closure: workings.ClosureLine | None
    hum: workings.HumLine | None
    turns: tuple[workings.TurnsLine, ...]
    pair_view: pair.PairView
    response: response.ResponseView | None
    magnet: magnet.MagnetView | None
    troubles: tuple[workings.TroubleLine, ...]
    budgets: tuple[workings.BudgetView, ...]
    features: tuple[features_page.FeatureLine, ...]
    figures: tuple[figures.Figure, ...]
    facts: tuple[Fact, ...]
    too_few: str
    inside_at: str
    outside_at: str
    card: card.Card


def _tally(book: Book, piece: Piece, assessment: Assessment) -> Tally:
    judged = [v for v in assessment.verdicts if v.word != "not_judged"]

    def told(word: str) -> tuple[str, ...]:
        scopes: dict[str, list[str]] = {}
        for verdict in judged:
            if verdict.word == word:
                prop = book.reference.properties[verdict.value.property_id]
                claim = views.claim_view(book, verdict.claim)
                what = what_of(verdict.value, prop, piece)
                scopes.setdefault(what, []).append(claim.period or "all years")
        return tuple(f"{w} ({', '.join(dict.fromkeys(s))})" for w, s in scopes.items())

    unusual = []
    for place in assessment.places:
        if place.percentile is None or place.peers < SMALLEST_FOR_TAILS:
            continue
        if not 5 <= place.percentile <= 95:
            prop = book.reference.properties[place.value.property_id]
            unusual.append(
                f"{what_of(place.value, prop, piece)} {text.result(place.value, prop)}, "
                f"{place_text(book, place)}"
            )
    return Tally(
        inside=sum(v.word == "inside" for v in judged),
        judged=len(judged),
        outside=told("outside"),
        close=told("too_close_to_call"),
        unusual=tuple(unusual),
    )


def _compared_with(book: Book, piece: Piece, assessment: Assessment) -> str:
    """Say which periods a piece was held against."""
    if piece.row.year_first is None:
        return "of every period, since the piece is undated,"
    names = [book.reference.periods[p].name for p in assessment.periods]
    return f"of {' and '.join(names)}" if names else ""


def _position(piece: Piece) -> str:
    return piece.row.position or "position not known"


def _budgets(
    book: Book, whole: WholePiece, values: Iterable[ReducedValue]
) -> Iterator[workings.BudgetView]:
    for value in values:
        prop = book.reference.properties[value.property_id]
        made = workings.budget(what_of(value, prop, whole.piece), prop, value, whole)
        if made is not None:
            yield made


def _measured_on(piece: Piece) -> str:
    """Return the first and the last day of the readings."""
    dates = sorted({r.row.date for r in piece.readings if r.row.date is not None})
    return " and ".join(d.isoformat() for d in (dates[:1] + dates[1:][-1:]))


def _facts(piece: Piece) -> tuple[Fact, ...]:
    row = piece.row
    return (
        Fact("Family", piece.family.name),
        Fact("Position", row.position or "not known"),
        Fact("Years", text.years(row.year_first, row.year_last) or "not known"),
        Fact("State", row.state),
        Fact("Potted", row.potted),
    )


def context(book: Book, piece: Piece) -> PieceContext:
    """Return everything on a piece's page."""
    row = piece.row
    whole = book.whole(piece)
    measured = whole.measured
    assessment = book.assessments[row.piece_id]
    by_line = {r.line: r for r in piece.readings}
    value_of = {v.line: v for v in measured.values if v.line}
    best = in_order(book, piece, measured)
    lines = tuple(
        value_line(
            book, piece, v, assessment, by_line.get(v.line), value_strip(book, piece, v, assessment)
        )
        for v in best
    )
    drawn, too_few = plots.of_piece(book, piece)
    thresholds = book.archive.settings.thresholds
    return PieceContext(
        piece_id=row.piece_id,
        family_id=piece.family.family_id,
        family_name=piece.family.name,
        position=_position(piece),
        years=views.piece_years(piece),
        year_basis=row.year_basis or "",
        state=row.state,
        potted=row.potted,
        condition=row.condition or "",
        remark=row.remark or "",
        measured_on=_measured_on(piece),
        compared_with=_compared_with(book, piece, assessment),
        comparisons=len(assessment.verdicts),
        tally=_tally(book, piece, assessment),
        observations=observations.view(book, piece, assessment),
        lines=lines,
        readings=tuple(
            reading_line(book, r, value_of[r.line]) for r in piece.readings if r.line in value_of
        ),
        closure=(
            workings.closure_line(measured.closure, book.reference.properties["pair-resistance"])
            if measured.closure
            else None
        ),
        hum=workings.hum_line(whole.hum) if whole.hum is not None else None,
        turns=tuple(workings.turns_line(book, t, whole) for t in measured.turns),
        pair_view=pair.view(whole, book.reference.properties["pair-resistance"]),
        response=response.view(whole, invented=book.invented),
        magnet=magnet.view(book, whole),
        troubles=tuple(
            workings.trouble_line(t, book.reference.properties[t.property_id])
            for t in measured.troubles
        ),
        budgets=tuple(_budgets(book, whole, best)),
        features=tuple(features_page.feature_line(book, f) for f in row.features),
        figures=drawn,
        facts=_facts(piece),
        too_few=too_few,
        inside_at=f"{thresholds.inside:g}",
        outside_at=f"{thresholds.outside:g}",
        card=card.of_piece(book, piece, assessment, list(zip(best, lines, strict=True))),
    )


PAGES = PageForEach(
    items=lambda book: book.archive.pieces.values(),
    path=lambda piece: f"pieces/{piece.row.piece_id}/index.html",
    template="piece.html.j2",
    section="pieces",
    title=views.piece_title,
    description=lambda piece: (
        f"{piece.family.name}, {_position(piece)}, {views.piece_years(piece)}."
    ),
    context=context,
    search_text=lambda piece: search_words(
        piece.family.name, piece.row.position, views.piece_years(piece), piece.row.condition
    ),
)

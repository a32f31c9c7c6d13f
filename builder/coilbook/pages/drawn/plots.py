"""Which plots a family and a piece get: none where too few pieces stand behind them."""

from __future__ import annotations

from coilbook.pages import text, views
from coilbook.pages.drawn import figures
from coilbook.pages.page import Book
from coilbook.records.contents import Piece
from coilbook.records.tables.models import Family
from coilbook.stats.summary import Member

_COILS = ("coil_a", "coil_b")


def of_family(book: Book, family: Family) -> tuple[tuple[figures.Figure, ...], str]:
    """Return a family's plots, or none and the reason: too few pieces to draw."""
    prop = book.reference.properties[views.main_property(family)]
    summaries = views.summaries_of(book, family, prop, None)
    if not summaries:
        return (), "The archive holds no measured piece of this family yet."
    summary = summaries[0]
    if not summary.drawable:
        return (), (
            f"Only {text.plural(summary.n, 'piece', 'pieces')} of this family can be compared: "
            "too few to draw a distribution, so the values are listed."
        )
    claims = [
        c
        for c in views.all_claims(book, family.family_id)
        if c.property.property_id == prop.property_id and c.row.position is None
    ]
    periods = book.reference.periods
    year_bands = [
        figures.YearBand(
            periods[c.row.period_id].first_year if c.row.period_id else family.first_year,
            periods[c.row.period_id].last_year if c.row.period_id else family.last_year,
            band,
        )
        for c in claims
        for band in views.bands([c])
    ]
    general = [c for c in claims if c.row.period_id is None] or claims
    drawn: list[figures.Figure | None] = [
        figures.histogram(
            "plot-spread", summary, prop, views.bands(general), invented=book.invented
        ),
        figures.by_year("plot-years", summary, prop, year_bands, invented=book.invented),
    ]
    if family.coils == 2:
        coil = book.reference.properties["coil-resistance"]
        both = views.summaries_of(book, family, coil, None)
        if len(both) == 2 and min(s.n for s in both) >= 8:
            drawn.append(
                figures.coil_against_coil(
                    "plot-coils", both[0], both[1], coil, invented=book.invented
                )
            )
    return tuple(f for f in drawn if f is not None), ""


def of_piece(book: Book, piece: Piece) -> tuple[tuple[figures.Figure, ...], str]:
    """Draw the piece among its family, itself left out of the others."""
    family = piece.family
    best = book.measured[piece.row.piece_id].best
    prop = book.reference.properties[views.main_property(family)]
    value = views.main_value(book, piece)
    groups = views.summaries_of(book, family, prop, None)
    if not groups:
        return (), ""
    others = book.summaries.peers(groups[0].key, piece.row.piece_id)
    if others is None or not others.drawable:
        n = others.n if others else 0
        return (), (
            f"The archive holds {text.plural(n, 'other piece', 'other pieces')} of this family to "
            "compare with: too few to draw a distribution."
        )
    if value is None or not value.comparable or value.value is None:
        return (), "Its resistance at the leads is not a number that could be placed in a plot."
    this = Member(
        piece.row.piece_id, value.value, value.standard_uncertainty or 0.0, views.middle_year(piece)
    )
    claims = [
        c
        for c in views.all_claims(book, family.family_id)
        if c.property.property_id == prop.property_id and c.row.position is None
    ]
    periods = set(book.assessments[piece.row.piece_id].periods)
    applicable = [c for c in claims if c.row.period_id is None or c.row.period_id in periods]
    drawn: list[figures.Figure | None] = [
        figures.histogram(
            "plot-spread",
            others,
            prop,
            views.bands(applicable),
            this=this,
            invented=book.invented,
        )
    ]
    coils = [best.get((part, "coil-resistance")) for part in _COILS]
    coil = book.reference.properties["coil-resistance"]
    both = views.summaries_of(book, family, coil, None)
    if len(both) == 2 and all(c is not None and c.comparable for c in coils):
        without = [book.summaries.peers(s.key, piece.row.piece_id) for s in both]
        values = [c.value for c in coils if c is not None and c.value is not None]
        a, b = without
        if a is not None and b is not None and a.drawable and b.drawable and len(values) == 2:
            drawn.append(
                figures.coil_against_coil(
                    "plot-coils", a, b, coil, this=(values[0], values[1]), invented=book.invented
                )
            )
    return tuple(f for f in drawn if f is not None), ""

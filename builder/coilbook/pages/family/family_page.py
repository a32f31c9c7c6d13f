"""The family page: what is documented by period beside what the archive holds."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.pages import text, views
from coilbook.pages.declare import PageForEach, search_words
from coilbook.pages.drawn import figures, plots
from coilbook.pages.drawn import silhouette as drawing
from coilbook.pages.family import crosscheck_page as crosscheck
from coilbook.pages.family import features
from coilbook.pages.family import practice_section as practice
from coilbook.pages.family import wall_card as family_card
from coilbook.pages.family.ladders import CategoryRow, Ladder, category_scopes, ladder
from coilbook.pages.page import Book
from coilbook.pages.tools import winding_page as winding
from coilbook.pages.views import Fact
from coilbook.records.tables.models import Family, Period
from coilbook.stats.quantiles import QUANTILE_TYPE
from coilbook.stats.summary import WhyLeftOut

#: Properties whose ladder of periods is always drawn in full, in this order.
_LADDERS = ("pair-resistance", "coil-resistance")


@dataclass(frozen=True, slots=True)
class PeriodLine:
    """A period in words."""

    name: str
    summary: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class PieceLine:
    """A piece of the family in the list that stands beside the plots."""

    piece_id: str
    position: str
    years: str
    state: str
    value: str
    parts: str


@dataclass(frozen=True, slots=True)
class Near:
    """A family that is easily taken for this one, and how to tell this one from it."""

    family_id: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class FamilyContext:
    """Everything on a family page."""

    family_id: str
    name: str
    summary: str
    evidence: text.Evidence
    drawing: str
    section: str
    bobbin_id: str
    facts: tuple[Fact, ...]
    near: tuple[Near, ...]
    varies: str
    often_altered: str
    fails: str
    measure_first: str
    remark: str
    periods: tuple[PeriodLine, ...]
    ladders: tuple[Ladder, ...]
    others: tuple[Ladder, ...]
    parting: tuple[crosscheck.CheckView, ...]
    practice: practice.PracticeViews
    categories: tuple[CategoryRow, ...]
    features: tuple[features.FeatureLine, ...]
    figures: tuple[figures.Figure, ...]
    too_few: str
    pieces: tuple[PieceLine, ...]
    left_out: str
    two_coils: bool
    winding_sheet: bool
    quantile_type: int
    card: family_card.FamilyCard


def _pieces(book: Book, family: Family) -> tuple[PieceLine, ...]:
    prop = book.reference.properties[views.main_property(family)]
    coil = book.reference.properties["coil-resistance"]
    lines = []
    for piece in book.archive.pieces.values():
        if piece.family.family_id != family.family_id:
            continue
        best = book.measured[piece.row.piece_id].best
        value = views.main_value(book, piece)
        coils = [
            text.result(best[part, "coil-resistance"], coil)
            for part in ("coil_a", "coil_b")
            if (part, "coil-resistance") in best
        ]
        lines.append(
            PieceLine(
                piece_id=piece.row.piece_id,
                position=piece.row.position or "not known",
                years=text.years(piece.row.year_first, piece.row.year_last) or "not known",
                state=piece.row.state,
                value=text.result(value, prop) if value else "–",
                parts=" · ".join(coils) or "–",
            )
        )
    return tuple(lines)


#: Why a value cannot enter its family's ranges, in words.
_WHY: dict[WhyLeftOut, str] = {
    "rewound": "rewound",
    "open_circuit": "open",
    "bound_only": "known only as a bound",
    "no_uncertainty": "without an uncertainty",
    "calibration_lapsed": "read on an instrument past its calibration",
    "parallel_unknown": "read in circuit with an unknown path across",
    "parallel_impossible": "reading above what is said to lie across",
    "assumed_construction": "resting on an assumed construction",
}


def _left_out(book: Book, family: Family) -> str:
    """Say which of the values at the leads were left out of the ranges, and why."""
    counts: dict[WhyLeftOut, int] = {}
    for left in book.summaries.left_out_of(family.family_id):
        if left.property_id == views.main_property(family):
            counts[left.why] = counts.get(left.why, 0) + 1
    if not counts:
        return ""
    told = ", ".join(f"{n} {_WHY[why]}" for why, n in counts.items())
    return f"Left out of the ranges and plots of the resistance at the leads: {told}."


def _facts(book: Book, family: Family) -> tuple[Fact, ...]:
    facts = [
        Fact("Coils", "one" if family.coils == 1 else "two"),
        Fact("Years", text.years(family.first_year, family.last_year)),
        Fact("Made for", ", ".join(family.positions)),
    ]
    if family.wire_id:
        wire = book.reference.wires[family.wire_id]
        facts.append(Fact("Usual wire", f"{wire.awg} AWG, {wire.build} build"))
    if family.bobbin_id:
        bobbin = book.reference.bobbins[family.bobbin_id]
        facts.append(
            Fact(
                "Bobbin core",
                f"{bobbin.core_length_mm:g} × {bobbin.core_width_mm:g} mm, winding "
                f"{bobbin.winding_height_mm:g} mm high",
            )
        )
    return tuple(facts)


def _categories(book: Book, family: Family) -> tuple[CategoryRow, ...]:
    """Return the properties that are words, of which anything is documented."""
    claims = views.all_claims(book, family.family_id)
    rows = []
    for prop in book.reference.properties.values():
        mine = [c for c in claims if c.property.property_id == prop.property_id]
        if prop.kind == "category" and mine:
            scopes = category_scopes(book, mine)
            rows.append(CategoryRow(prop.name, f"{prop.property_id}-all", prop.definition, scopes))
    return tuple(rows)


def context(book: Book, family: Family) -> FamilyContext:
    """Return everything on a family's page."""
    reference = book.reference
    quantities = [p for p in reference.properties.values() if p.kind == "quantity"]
    first = [reference.properties[p] for p in _LADDERS if p in reference.properties]
    ladders = [
        made for prop in first if (made := ladder(book, family, prop, full=True)) is not None
    ]
    others = [
        made
        for prop in quantities
        if prop.property_id not in _LADDERS
        if (made := ladder(book, family, prop, full=False)) is not None
    ]
    categories = _categories(book, family)
    drawn, too_few = plots.of_family(book, family)
    return FamilyContext(
        family_id=family.family_id,
        name=family.name,
        summary=family.summary,
        evidence=_row_evidence(book, family),
        drawing=drawing.top_view(book, family),
        section=drawing.section(book, family),
        bobbin_id=family.bobbin_id or "",
        facts=_facts(book, family),
        near=tuple(
            Near(other, reference.families[other].name, told)
            for other, told in family.told_apart.items()
        ),
        varies=family.varies or "",
        often_altered=family.often_altered or "",
        fails=family.fails or "",
        measure_first=family.measure_first or "",
        remark=family.remark or "",
        periods=tuple(
            PeriodLine(p.name, p.summary, _row_evidence(book, p))
            for p in reference.periods_of(family.family_id)
        ),
        ladders=tuple(ladders),
        others=tuple(others),
        parting=crosscheck.of_family(book, family),
        practice=practice.view(book, family),
        categories=categories,
        features=features.of_family(book, family.family_id),
        figures=drawn,
        too_few=too_few,
        pieces=_pieces(book, family),
        left_out=_left_out(book, family),
        two_coils=family.coils == 2,
        winding_sheet=winding.has_sheet(family),
        quantile_type=QUANTILE_TYPE,
        card=family_card.of_family(book, family, [*ladders, *others], categories),
    )


def _row_evidence(book: Book, row: Family | Period) -> text.Evidence:
    source = book.reference.sources.get(row.source_id) if row.source_id else None
    return text.evidence(row.evidence, row.source_id, row.locator, source.title if source else "")


PAGES = PageForEach(
    items=lambda book: book.reference.families.values(),
    path=lambda family: f"families/{family.family_id}/index.html",
    template="family.html.j2",
    section="families",
    title=lambda family: family.name,
    description=lambda family: family.summary,
    context=context,
    search_text=lambda family: search_words(family.summary, family.fails),
)

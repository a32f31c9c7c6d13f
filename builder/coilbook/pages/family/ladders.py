"""What is documented of a family's properties, period by period, beside what the archive holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from coilbook.pages import text, views
from coilbook.pages.drawn.strips import Axis, Lane, nice_axis, strip
from coilbook.pages.page import Book
from coilbook.records.contents import Claim
from coilbook.records.rules.curation import apart
from coilbook.records.tables.models import Family, Period, Property
from coilbook.stats.summary import Summary


@dataclass(frozen=True, slots=True)
class MeasuredGroup:
    """What the archive holds in one row, for one component; ``short`` only of enough pieces."""

    part: str
    text: str
    detail: str
    n: int
    short: str


@dataclass(frozen=True, slots=True)
class Rung:
    """One row of a ladder: a period, its strip, its claims, its measured groups."""

    label: str
    anchor: str
    strip: str
    claims: tuple[text.ClaimView, ...]
    disagree: bool
    measured: tuple[MeasuredGroup, ...]


@dataclass(frozen=True, slots=True)
class Ladder:
    """One property over the periods of a family, all on one axis."""

    property_id: str
    name: str
    heading: str
    unit: str
    definition: str
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, slots=True)
class CategoryScope:
    """What is documented for one period and position; several words are any one of them."""

    period: str
    claims: tuple[text.ClaimView, ...]


@dataclass(frozen=True, slots=True)
class CategoryRow:
    """One property that is a word, with what is documented of it."""

    name: str
    anchor: str
    definition: str
    scopes: tuple[CategoryScope, ...]


def disagree(claims: Sequence[Claim]) -> bool:
    """Whether two claims of one scope leave no value that satisfies both."""
    general = [c for c in claims if c.row.position is None]
    return any(apart(one, other) for one, other in combinations(general, 2))


def _rung(
    book: Book,
    family: Family,
    prop: Property,
    period: Period | None,
    claims: Sequence[Claim],
    axis: Axis,
    *,
    last: bool,
) -> Rung:
    found = views.summaries_of(book, family, prop, period)
    shown = tuple(views.claim_view(book, c) for c in claims)
    lanes = [Lane(summary=s) for s in found] or [Lane()]
    several = len(views.parts_of(prop, family)) > 1
    return Rung(
        label=period.name if period else "All years",
        anchor=f"{prop.property_id}-{period.period_id if period else 'all'}",
        strip=strip(
            axis, views.bands(claims), lanes, views.strip_label(prop, shown, found), ticks=last
        ),
        claims=shown,
        disagree=disagree(claims),
        measured=tuple(
            MeasuredGroup(
                text.PARTS[s.key.component] if several else "",
                views.summary_text(s, prop),
                views.summary_detail(s, prop),
                s.n,
                views.summary_short(s, prop),
            )
            for s in found
        ),
    )


def ladder(book: Book, family: Family, prop: Property, *, full: bool) -> Ladder | None:
    """Return a property's ladder; None when nothing is documented or measured.

    ``full`` gives every period a rung; otherwise only periods with a claim of their own get one,
    and the rung of all years comes last.
    """
    mine = [
        c
        for c in views.all_claims(book, family.family_id)
        if c.property.property_id == prop.property_id
    ]
    periods = book.reference.periods_of(family.family_id)
    scopes: list[tuple[Period | None, list[Claim]]] = []
    for period in periods:
        own = [c for c in mine if c.row.period_id == period.period_id]
        if own or (full and len(periods) > 1):
            scopes.append((period, own))
    general = [c for c in mine if c.row.period_id is None]
    whole = views.summaries_of(book, family, prop, None)
    if general or whole:
        scopes.append((None, general))
    scopes = [
        (period, own)
        for period, own in scopes
        if own or views.summaries_of(book, family, prop, period)
    ]
    if not scopes:
        return None
    found: list[Summary] = [
        s for period, _ in scopes for s in views.summaries_of(book, family, prop, period)
    ]
    axis = nice_axis([*views.band_ends(views.bands(mine)), *views.summary_ends(found)])
    rungs = tuple(
        _rung(book, family, prop, period, own, axis, last=index == len(scopes) - 1)
        for index, (period, own) in enumerate(scopes)
    )
    at = " at 20 °C" if prop.reduction == "copper" else ""
    by = ", by period" if sum(p is not None for p, _ in scopes) > 1 else ""
    return Ladder(
        property_id=prop.property_id,
        name=prop.name,
        heading=f"{prop.name}{at}{by}",
        unit=text.unit_text(prop.unit).strip(),
        definition=prop.definition,
        rungs=rungs,
    )


def category_scopes(book: Book, claims: Sequence[Claim]) -> tuple[CategoryScope, ...]:
    """Return claims of a category by their period, in the order in which they stand."""
    by_period: dict[str, list[text.ClaimView]] = {}
    for claim in claims:
        view = views.claim_view(book, claim)
        by_period.setdefault(view.period, []).append(view)
    return tuple(CategoryScope(p, tuple(found)) for p, found in by_period.items())

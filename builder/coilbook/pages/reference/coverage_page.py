"""The coverage page: what is documented of which family, how it is known, and what is open."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.assessment.review.covered import Counts, Coverage, coverage_of
from coilbook.assessment.review.crosscheck import CrossCheck
from coilbook.pages import text
from coilbook.pages.declare import OnePage
from coilbook.records.contents import Claim, Reference
from coilbook.records.tables.models import Family, Property


@dataclass(frozen=True, slots=True)
class Count:
    """How many claims rest on one sort of evidence."""

    number: int
    mark: str
    word: str


@dataclass(frozen=True, slots=True)
class CellView:
    """One core property of one family; ``href`` leads to its claims. ``state`` is a code.

    States: ``stated``, ``missing``, ``exempt`` (with its reason), ``no_part``.
    """

    name: str
    counts: tuple[Count, ...]
    href: str
    state: str
    reason: str


@dataclass(frozen=True, slots=True)
class FamilyRow:
    """One family's row of the table."""

    family_id: str
    name: str
    cells: tuple[CellView, ...]
    all_counts: tuple[Count, ...]
    total: int


@dataclass(frozen=True, slots=True)
class Asked:
    """A property that is asked for, with what the template needs to name the reading."""

    property_id: str
    name: str
    reduction: str
    kind: str
    origin: str


@dataclass(frozen=True, slots=True)
class Question:
    """An open question about one family; ``when`` are years, or empty."""

    family_id: str
    family: str
    when: str
    asked: Asked | None
    href: str


@dataclass(frozen=True, slots=True)
class FamilyLink:
    """A family by name, with the place of the property on its page."""

    name: str
    href: str


@dataclass(frozen=True, slots=True)
class RecalledLine:
    """A property that some families have from memory alone."""

    asked: Asked
    families: tuple[FamilyLink, ...]
    of: int


@dataclass(frozen=True, slots=True)
class Side:
    """One of two claims that exclude each other."""

    words: str
    evidence: text.Evidence
    href: str


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two claims on one matter that no value satisfies."""

    family: str
    matter: str
    one: Side
    other: Side


@dataclass(frozen=True, slots=True)
class PhysicsLine:
    """How many comparisons of the cross-check came to what."""

    agree: int
    parting: int
    not_compared: int
    worked_back: int


@dataclass(frozen=True, slots=True)
class CoverageContext:
    """Everything on the coverage page."""

    family_count: int
    claim_count: int
    core: tuple[str, ...]
    rows: tuple[FamilyRow, ...]
    totals: tuple[tuple[Count, ...], ...]
    total: tuple[Count, ...]
    marks: tuple[Count, ...]
    missing: tuple[Question, ...]
    period_gaps: tuple[Question, ...]
    year_gaps: tuple[Question, ...]
    recalled: tuple[RecalledLine, ...]
    recalled_pairs: int
    contradictions: tuple[Contradiction, ...]
    physics: PhysicsLine


def claim_href(family_id: str, claim_id: str) -> str:
    """Return the place of a claim on its family's page, from the root."""
    return f"families/{family_id}/index.html#claim-{claim_id}"


def property_href(family: Family, prop: Property) -> str:
    """Return the place of a property on a family's page, from the root."""
    place = prop.property_id if prop.kind == "quantity" else f"{prop.property_id}-all"
    return f"families/{family.family_id}/index.html#{place}"


def context(reference: Reference, checks: tuple[CrossCheck, ...]) -> CoverageContext:
    """Return what the page shows; ``checks`` are the comparisons of the cross-check."""
    found = coverage_of(reference)
    return CoverageContext(
        family_count=len(found.families),
        claim_count=sum(found.total.values()),
        core=tuple(prop.name for prop in found.core),
        rows=_rows(found),
        totals=tuple(_counts(counts) for counts in found.totals),
        total=_counts(found.total),
        marks=_counts(found.total, every=True),
        missing=tuple(
            Question(f.family_id, f.name, "", _asked(p), f"families/{f.family_id}/index.html")
            for f, p in found.missing
        ),
        period_gaps=tuple(
            Question(
                gap.family.family_id,
                gap.family.name,
                ", ".join(p.name for p in gap.periods),
                _asked(gap.prop),
                property_href(gap.family, gap.prop),
            )
            for gap in found.period_gaps
        ),
        year_gaps=tuple(
            Question(
                gap.family.family_id,
                gap.family.name,
                text.years(gap.first_year, gap.last_year),
                None,
                f"families/{gap.family.family_id}/index.html#periods",
            )
            for gap in found.year_gaps
        ),
        recalled=tuple(
            RecalledLine(
                _asked(line.prop),
                tuple(FamilyLink(f.name, property_href(f, line.prop)) for f in line.families),
                _stating(reference, line.prop),
            )
            for line in found.only_recalled
        ),
        recalled_pairs=sum(len(line.families) for line in found.only_recalled),
        contradictions=_contradictions(reference, found),
        physics=physics_line(checks),
    )


def physics_line(checks: tuple[CrossCheck, ...]) -> PhysicsLine:
    """Count what the cross-check's comparisons came to."""
    words = [check.word for check in checks]
    return PhysicsLine(
        words.count("agrees"),
        words.count("parts"),
        words.count("not_compared"),
        sum(c.word == "agrees" and c.basis != "not_derived" for c in checks),
    )


def _rows(found: Coverage) -> tuple[FamilyRow, ...]:
    rows = []
    for row in found.families:
        cells = []
        for cell in row.cells:
            state = "stated"
            if cell.total == 0:
                state = "no_part" if not cell.applies else "exempt" if cell.exempt else "missing"
            cells.append(
                CellView(
                    cell.prop.name,
                    _counts(cell.counts),
                    property_href(row.family, cell.prop) if cell.total else "",
                    state,
                    cell.exempt.reason if cell.exempt else "",
                )
            )
        rows.append(
            FamilyRow(
                row.family.family_id,
                row.family.name,
                tuple(cells),
                _counts(row.counts),
                sum(row.counts.values()),
            )
        )
    return tuple(rows)


def _counts(counts: Counts, *, every: bool = False) -> tuple[Count, ...]:
    return tuple(
        Count(number, *text.EVIDENCE_MARKS[code])
        for code, number in counts.items()
        if number or every
    )


def _asked(prop: Property) -> Asked:
    return Asked(prop.property_id, prop.name, prop.reduction, prop.kind, prop.origin)


def _stating(reference: Reference, prop: Property) -> int:
    """Return of how many families anything is documented of a property."""
    return len(
        {c.row.family_id for c in reference.claims if c.property.property_id == prop.property_id}
    )


def _contradictions(reference: Reference, found: Coverage) -> tuple[Contradiction, ...]:
    made = []
    for one, other in found.contradictions:
        family = reference.families[one.row.family_id]
        period = reference.periods[one.row.period_id].name if one.row.period_id else ""
        parts = (one.property.name, period, one.row.position or "")
        made.append(
            Contradiction(
                family.name,
                ", ".join(part for part in parts if part),
                _side(reference, one),
                _side(reference, other),
            )
        )
    return tuple(made)


def _side(reference: Reference, claim: Claim) -> Side:
    row = claim.row
    source = reference.sources.get(row.source_id) if row.source_id else None
    return Side(
        text.claim_text(claim),
        text.evidence(row.evidence, row.source_id, row.locator, source.title if source else ""),
        claim_href(row.family_id, row.claim_id),
    )


PAGE = OnePage(
    path="coverage/index.html",
    template="coverage.html.j2",
    section="sources",
    title="Coverage and open questions",
    description="What is documented of each family, how it is known, and what is open.",
    context=lambda book: context(book.reference, book.cross_checks),
    search_text="coverage open questions unknown missing claims evidence published "
    "practice recalled contribute",
)

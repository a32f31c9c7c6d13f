"""What the reference covers, counted by evidence, and what it leaves open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise

from coilbook.records.contents import Claim, Reference
from coilbook.records.rules.curation import apart
from coilbook.records.rules.shared import REFERENCE_EVIDENCE
from coilbook.records.tables.models import Exemption, Family, Period, Property

#: Claims by evidence, in the order published, common_practice, recalled.
Counts = Mapping[str, int]


@dataclass(frozen=True, slots=True)
class CoverageCell:
    """The claims of one core property of one family; ``exempt`` says why there need be none.

    Where ``applies`` is False the family has no such part (a pair, of one coil).
    """

    prop: Property
    counts: Counts
    applies: bool
    exempt: Exemption | None

    @property
    def total(self) -> int:
        """Return how many claims there are."""
        return sum(self.counts.values())

    @property
    def missing(self) -> bool:
        """Whether a claim should be there and is not."""
        return self.applies and self.exempt is None and self.total == 0


@dataclass(frozen=True, slots=True)
class FamilyCoverage:
    """One family: its core properties in their order, and its claims of every property."""

    family: Family
    cells: tuple[CoverageCell, ...]
    counts: Counts


@dataclass(frozen=True, slots=True)
class PeriodGap:
    """Periods of a family for which nothing is claimed of a property that is told by period."""

    family: Family
    prop: Property
    periods: tuple[Period, ...]


@dataclass(frozen=True, slots=True)
class YearGap:
    """Years of a family that no period covers."""

    family: Family
    first_year: int
    last_year: int


@dataclass(frozen=True, slots=True)
class OnlyRecalled:
    """The families of which a property is known from memory alone."""

    prop: Property
    families: tuple[Family, ...]


@dataclass(frozen=True, slots=True)
class Coverage:
    """The whole: a row a family, totals, and what is open.

    ``contradictions`` are pairs of claims on one matter that no value satisfies; both stay.
    """

    core: tuple[Property, ...]
    families: tuple[FamilyCoverage, ...]
    totals: tuple[Counts, ...]
    total: Counts
    missing: tuple[tuple[Family, Property], ...]
    period_gaps: tuple[PeriodGap, ...]
    year_gaps: tuple[YearGap, ...]
    only_recalled: tuple[OnlyRecalled, ...]
    contradictions: tuple[tuple[Claim, Claim], ...]


def coverage_of(reference: Reference) -> Coverage:
    """Return what the reference covers and what it leaves open."""
    core = tuple(prop for prop in reference.properties.values() if prop.core)
    mine: dict[str, list[Claim]] = {family_id: [] for family_id in reference.families}
    for claim in reference.claims:
        mine[claim.row.family_id].append(claim)
    families = tuple(
        FamilyCoverage(
            family,
            tuple(_cell(reference, family, prop, mine[family_id]) for prop in core),
            counted(mine[family_id]),
        )
        for family_id, family in reference.families.items()
    )
    return Coverage(
        core=core,
        families=families,
        totals=tuple(
            counted(c for c in reference.claims if c.property.property_id == prop.property_id)
            for prop in core
        ),
        total=counted(reference.claims),
        missing=tuple((row.family, c.prop) for row in families for c in row.cells if c.missing),
        period_gaps=tuple(
            gap for family_id in reference.families for gap in _gaps(reference, mine, family_id)
        ),
        year_gaps=tuple(
            gap for family in reference.families.values() for gap in _years(reference, family)
        ),
        only_recalled=tuple(_recalled(reference, mine)),
        contradictions=tuple(
            pair for claims in mine.values() for pair in combinations(claims, 2) if _clash(*pair)
        ),
    )


def counted(claims: Iterable[Claim]) -> Counts:
    """Count claims by their evidence."""
    counts: dict[str, int] = dict.fromkeys(REFERENCE_EVIDENCE, 0)
    for claim in claims:
        counts[claim.row.evidence] += 1
    return counts


def _cell(
    reference: Reference, family: Family, prop: Property, claims: Iterable[Claim]
) -> CoverageCell:
    exempt = next(
        (
            row
            for row in reference.exemptions
            if (row.property_id, row.pole_kind) == (prop.property_id, family.pole_kind)
        ),
        None,
    )
    return CoverageCell(
        prop,
        counted(c for c in claims if c.property.property_id == prop.property_id),
        not (prop.component == "pair" and family.coils == 1),
        exempt,
    )


def _gaps(
    reference: Reference, mine: Mapping[str, list[Claim]], family_id: str
) -> Iterable[PeriodGap]:
    """Yield what is told for some periods of a family, and of others neither by period nor at all.

    A claim for all years speaks for every period.
    """
    for prop in reference.properties.values():
        told = {
            c.row.period_id for c in mine[family_id] if c.property.property_id == prop.property_id
        }
        if None in told or not told:
            continue
        silent = tuple(p for p in reference.periods_of(family_id) if p.period_id not in told)
        if silent:
            yield PeriodGap(reference.families[family_id], prop, silent)


def _years(reference: Reference, family: Family) -> Iterable[YearGap]:
    """Yield the years before, between and after a family's periods."""
    spans = [(p.first_year, p.last_year) for p in reference.periods_of(family.family_id)]
    if not spans:
        return
    edges = [
        (family.first_year - 1, family.first_year - 1),
        *spans,
        (family.last_year + 1, family.last_year + 1),
    ]
    for (_, before), (after, _) in pairwise(edges):
        if after > before + 1:
            yield YearGap(family, before + 1, after - 1)


def _recalled(reference: Reference, mine: Mapping[str, list[Claim]]) -> Iterable[OnlyRecalled]:
    for prop in reference.properties.values():
        found = []
        for family_id, claims in mine.items():
            kinds = {c.row.evidence for c in claims if c.property.property_id == prop.property_id}
            if kinds == {"recalled"}:
                found.append(reference.families[family_id])
        if found:
            yield OnlyRecalled(prop, tuple(found))


def _clash(one: Claim, other: Claim) -> bool:
    matters = [(c.row.property_id, c.row.period_id, c.row.position) for c in (one, other)]
    return matters[0] == matters[1] and apart(one, other)

"""Rules of a curated reference: what stands for nothing, what cannot be, what contradicts itself.

A coverage that has holes is no fault of any row and is told on a page of its own. Here is what a
row's writer can mend or explain.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations, pairwise

from coilbook.records.contents import Claim
from coilbook.records.reading.rows import Numbered, Table
from coilbook.records.rules.place import Known, Place
from coilbook.records.tables.cells import Row
from coilbook.records.tables.models import (
    ClaimRow,
    Derivation,
    Exemption,
    Family,
    Feature,
    MethodSource,
    Period,
    Property,
    Source,
)


def ends(claim: Claim) -> tuple[float, float] | None:
    """Return a claim's range; a missing end is the usual value, or unlimited if there is none."""
    low = claim.low if claim.low is not None else claim.typical
    high = claim.high if claim.high is not None else claim.typical
    if low is None and high is None:
        return None
    return (-math.inf if low is None else low, math.inf if high is None else high)


def apart(one: Claim, other: Claim) -> bool:
    """Whether no value satisfies both claims."""
    first, second = ends(one), ends(other)
    if first is None or second is None:
        return False
    return first[1] < second[0] or second[1] < first[0]


def check_overlaps(table: Table[Period], at: Place) -> None:
    """Doubt two periods of one family that share a year."""
    by_family: dict[str, list[Numbered[Period]]] = {}
    for numbered in table.rows:
        by_family.setdefault(numbered.row.family_id, []).append(numbered)
    for periods in by_family.values():
        periods.sort(key=lambda n: (n.row.first_year, n.row.last_year))
        for earlier, later in pairwise(periods):
            if later.row.first_year <= earlier.row.last_year:
                at.on(later.line).doubt(
                    "periods-overlap",
                    "first_year",
                    f"the period begins in {later.row.first_year}, and "
                    f"'{earlier.row.period_id}' runs until {earlier.row.last_year}.",
                    "Correct one of the two: a year belongs to one period of a family.",
                )


def check_feature_years(table: Table[Feature], families: Known[Family], at: Place) -> None:
    """Doubt a feature whose years lie outside those of a family that it is said to be met on."""
    for numbered in table.rows:
        feature, here = numbered.row, at.on(numbered.line)
        for family_id in feature.families:
            family = families.rows.get(family_id)
            if family is None:
                continue
            if feature.first_year is not None and feature.first_year > family.last_year:
                here.doubt(
                    "feature-after-the-family",
                    "first_year",
                    f"it is not met before {feature.first_year}, and {family_id} ends in "
                    f"{family.last_year}.",
                    "Correct the year, or take the family off the list.",
                )
            if feature.last_year is not None and feature.last_year < family.first_year:
                here.doubt(
                    "feature-before-the-family",
                    "last_year",
                    f"it is not met after {feature.last_year}, and {family_id} begins in "
                    f"{family.first_year}.",
                    "Correct the year, or take the family off the list.",
                )


def check_contradictions(claims: Iterable[Claim], at: Place) -> None:
    """Doubt two claims on one matter that exclude each other and rest on the same, unexplained.

    One source, or one sort of evidence where neither has a source, says that a value lies here and
    says that it lies there. It may: practice disagrees, and then both stay. Their remarks must say
    so, or nobody can tell a disagreement from a slip.
    """
    by_matter: dict[tuple[str | None, ...], list[Claim]] = {}
    for claim in claims:
        row = claim.row
        matter = (row.family_id, row.property_id, row.period_id, row.position)
        by_matter.setdefault((*matter, row.evidence, row.source_id), []).append(claim)
    for same in by_matter.values():
        for one, other in combinations(same, 2):
            if apart(one, other) and not (one.row.remark and other.row.remark):
                row = one.row
                ground = row.source_id or f"{row.evidence.replace('_', ' ')} evidence alone"
                at.on(other.line).doubt(
                    "claims-contradict",
                    "low" if other.row.low is not None else "typical",
                    f"no value satisfies both this claim and '{row.claim_id}', and both rest on "
                    f"{ground}.",
                    "Correct one of the two, or say in the remark of each that they disagree.",
                )


def check_sources(
    table: Table[Source],
    rows: Iterable[Row],
    methods: Mapping[str, MethodSource],
    at: Place,
) -> None:
    """Doubt a source that no row cites or has for its standard, and that no method rests on."""
    cited: set[str | None] = set()
    standards: set[str | None] = set()
    for row in rows:
        cited.add(getattr(row, "source_id", None))
        standards.add(getattr(row, "standard", None))
    for numbered in table.rows:
        source = numbered.row
        named = source.title.partition(":")[0] in standards
        if source.source_id not in cited and source.source_id not in methods and not named:
            at.on(numbered.line).doubt(
                "source-not-cited",
                "source_id",
                "no row cites this source, and no method rests on it.",
                "Cite it where it is used, list it in method_sources.csv, or remove it.",
            )


def check_exemptions(
    table: Table[Exemption],
    properties: Known[Property],
    families: Mapping[str, Family],
    claims: Iterable[ClaimRow],
    at: Place,
) -> None:
    """Check that an exemption is of a core property, and that no claim states it all the same."""
    stated: dict[tuple[str, str], str] = {}
    for claim in claims:
        family = families.get(claim.family_id)
        if family is not None:
            stated.setdefault((claim.property_id, family.pole_kind), claim.claim_id)
    for numbered in table.rows:
        row, here = numbered.row, at.on(numbered.line)
        prop = properties.find(row.property_id, here, "property_id")
        if prop is None:
            continue
        if not prop.core:
            here.doubt(
                "exemption-not-needed",
                "property_id",
                f"{row.property_id} is not core, and no family must have it.",
                "Remove the row, or make the property core.",
            )
        claim_id = stated.get((row.property_id, row.pole_kind))
        if claim_id is not None:
            here.doubt(
                "exemption-contradicted",
                "pole_kind",
                f"the claim '{claim_id}' states what is exempted here.",
                "Remove the exemption or the claim.",
            )


def check_derivations(
    table: Table[Derivation], claims: Known[ClaimRow], families: Known[Family], at: Place
) -> None:
    """Check that derived claims and their grounds exist, are of one family, and go in no circle."""
    rests: dict[str, list[str]] = {}
    for numbered in table.rows:
        row, here = numbered.row, at.on(numbered.line)
        derived = claims.find(row.claim_id, here, "claim_id")
        ground = claims.find(row.rests_on, here, "rests_on")
        told = [claim.family_id for claim in (derived, ground) if claim is not None]
        # An unknown family is told where it stands.
        if len(set(told)) == 2 and all(family_id in families.rows for family_id in told):
            here.error(
                "derivation-of-another-family",
                "rests_on",
                f"the two claims are of {told[0]} and of {told[1]}.",
                "Name a claim of the same family.",
            )
        if _reaches(row.rests_on, row.claim_id, rests):
            here.error(
                "derivation-circle",
                "rests_on",
                f"'{row.rests_on}' rests on '{row.claim_id}' already, so each would prove the "
                "other.",
                "Say which of them came first, and remove the other row.",
            )
        else:
            rests.setdefault(row.claim_id, []).append(row.rests_on)


def _reaches(start: str, goal: str, rests: Mapping[str, Sequence[str]]) -> bool:
    """Whether a claim is, or rests through others on, another."""
    return start == goal or any(_reaches(next_, goal, rests) for next_ in rests.get(start, ()))

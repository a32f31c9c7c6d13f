"""Where what is documented and what an archive measured part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from coilbook.core.observing.peers import SMALLEST_DRAWN, GroupKey
from coilbook.records.contents import Archive, Claim, PublicArchive, Reference
from coilbook.records.rules.curation import apart
from coilbook.records.tables.cells import COMPONENT_PARTS
from coilbook.stats.groups import Summaries
from coilbook.stats.summary import Summary

_COIL_PARTS = {1: ("coil",), 2: ("coil_a", "coil_b")}

#: Where the archive's middle lies against a claim's range; a template has words for each.
PartedCode = Literal[
    "archive_above",  # the whole interval of the median lies above the claim's upper limit
    "archive_below",  # it lies below the lower one
    "together",  # neither
    "too_few",  # under 8 values: no interval of the median, and nothing is said
    "no_range",  # the claim states no limit
    "nobody",  # nothing of it was measured
]


@dataclass(frozen=True, slots=True)
class ClaimShare:
    """One claim beside the archive's values of one part, of the claim's period and position.

    ``inside`` of ``n`` values lie within the claim's limits, those included. ``share`` is that as a
    part of 1, None under 8 values, where only the counts are told.
    """

    claim: Claim
    component: str
    summary: Summary | None
    n: int
    inside: int
    share: float | None
    parted: PartedCode


@dataclass(frozen=True, slots=True)
class Practice:
    """Every claim on one property of a family; ``conflicts`` are pairs that nothing satisfies."""

    property_id: str
    shares: tuple[ClaimShare, ...]
    conflicts: tuple[tuple[Claim, Claim], ...]

    @property
    def disagrees(self) -> bool:
        """Whether claims part from each other, or the archive from one of them."""
        parted = any(s.parted in ("archive_above", "archive_below") for s in self.shares)
        return parted or bool(self.conflicts)


def practice_of(
    family_id: str, archive: PublicArchive | Archive, reference: Reference, summaries: Summaries
) -> tuple[Practice, ...]:
    """Hold every claim of a family that is a quantity against what the archive measured.

    Values are those of the claim's own period (pieces whose whole span of years lies in it) and
    position. Claims conflict where they are of one period and position and their ranges have no
    value in common. The archive parts from a claim where the interval of its median lies wholly
    outside the claim's range: half of its pieces, and more, are not as is said.
    """
    coils = reference.families[family_id].coils
    by_property: dict[str, list[Claim]] = {}
    for claim in (*reference.claims, *archive.claims):
        if claim.row.family_id == family_id and claim.property.kind == "quantity":
            by_property.setdefault(claim.row.property_id, []).append(claim)
    return tuple(
        Practice(
            property_id,
            tuple(
                share
                for claim in by_property[property_id]
                for share in _shares(claim, coils, summaries)
            ),
            tuple(_conflicts(by_property[property_id])),
        )
        for property_id in reference.properties
        if property_id in by_property
    )


def _conflicts(claims: Sequence[Claim]) -> Iterator[tuple[Claim, Claim]]:
    for one, other in combinations(claims, 2):
        scopes = [(claim.row.period_id, claim.row.position) for claim in (one, other)]
        if scopes[0] == scopes[1] and apart(one, other):
            yield one, other


def _shares(claim: Claim, coils: int, summaries: Summaries) -> Iterator[ClaimShare]:
    row = claim.row
    at = claim.property.component
    parts = _COIL_PARTS[coils] if at == "coil" else COMPONENT_PARTS[at]
    found = [
        summary
        for part in parts
        if (
            summary := summaries.get(
                GroupKey(row.family_id, row.property_id, part, row.period_id, row.position)
            )
        )
        is not None
    ]
    if not found:
        yield ClaimShare(claim, "", None, 0, 0, None, "nobody")
    for summary in found:
        inside = sum(_within(member.value, claim) for member in summary.members)
        share = inside / summary.n if summary.n >= SMALLEST_DRAWN else None
        yield ClaimShare(
            claim,
            summary.key.component,
            summary,
            summary.n,
            inside,
            share,
            _parted(claim, summary),
        )


def _within(value: float, claim: Claim) -> bool:
    low, high = claim.low, claim.high
    return (low is None or value >= low) and (high is None or value <= high)


def _parted(claim: Claim, summary: Summary) -> PartedCode:
    if claim.low is None and claim.high is None:
        return "no_range"
    if summary.median_interval is None:
        return "too_few"
    low, high = summary.median_interval
    if claim.high is not None and low > claim.high:
        return "archive_above"
    if claim.low is not None and high < claim.low:
        return "archive_below"
    return "together"

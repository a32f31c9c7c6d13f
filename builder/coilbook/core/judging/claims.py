"""Which claims apply where: the claims of a reference and an archive, sorted once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from coilbook.core.seen import (
    ArchiveSeen,
    ClaimSeen,
    FamilySeen,
    PeriodSeen,
    PropertySeen,
    ReferenceSeen,
)

#: Claims by the property that they are about, in the order in which they stand.
ByProperty = Mapping[str, Sequence[ClaimSeen]]


def ids_of(claims: Sequence[ClaimSeen]) -> tuple[str, ...]:
    """Return what tells these claims from any others: an archive may use a reference's ids."""
    return tuple([f"{claim.origin} {claim.row.claim_id}" for claim in claims])


def breakable_limits(
    low: float | None, high: float | None, prop: PropertySeen
) -> tuple[float | None, float | None]:
    """Return a claim's limits without those at the property's own hard bounds.

    No value of the property could break these: of "0 to 1.2 kΩ" for an absolute difference, only
    the 1.2 kΩ is left.
    """
    if low is not None and prop.hard_low is not None and low <= prop.hard_low:
        low = None
    if high is not None and prop.hard_high is not None and high >= prop.hard_high:
        high = None
    return low, high


class Held(NamedTuple):
    """A period that pieces are held against, with its claims; ``order`` is that of its family."""

    order: int
    family: FamilySeen
    period: PeriodSeen
    claims: ByProperty


class PeriodsHeld:
    """The periods of a family and of those near it, with their claims at one position.

    ``made`` is for what the consistency of pieces works out of them once for all: nothing else may
    look into it.
    """

    def __init__(self, family: FamilySeen, periods: Sequence[Held]) -> None:
        self.family = family
        self.periods = tuple(periods)
        self.made: dict[object, object] = {}


class ClaimIndex:
    """Claims by family, by the periods that are asked for, and by position.

    Sorting some hundred claims anew for each piece would cost more than judging it does.
    """

    def __init__(self, claims: Sequence[ClaimSeen], reference: ReferenceSeen) -> None:
        self._reference = reference
        self._held: dict[tuple[str, str | None], PeriodsHeld] = {}
        self._by_family: dict[str, list[ClaimSeen]] = {}
        for claim in claims:
            self._by_family.setdefault(claim.row.family_id, []).append(claim)
        self._found: dict[tuple[str, tuple[str, ...] | None, str | None], ByProperty] = {}
        self._same: dict[tuple[str, ...], tuple[ClaimSeen, ...]] = {}

    def of(
        self, family_id: str, periods: frozenset[str] | None, position: str | None
    ) -> ByProperty:
        """Return the claims for any of these periods and for all years, at a position.

        Every period's if ``periods`` is None, and every position's if ``position`` is. The same
        claims are always the same tuple, so that what was made of them can be found again by it.
        """
        key = (family_id, None if periods is None else tuple(sorted(periods)), position)
        if key not in self._found:
            found: dict[str, list[ClaimSeen]] = {}
            for claim in self._by_family.get(family_id, ()):
                row = claim.row
                in_time = row.period_id is None or periods is None or row.period_id in periods
                if in_time and (row.position is None or position in (None, row.position)):
                    found.setdefault(row.property_id, []).append(claim)
            self._found[key] = {name: self._one(claims) for name, claims in found.items()}
        return self._found[key]

    def held(self, family: FamilySeen, position: str | None) -> PeriodsHeld:
        """Return the periods that a piece of this family, at this position, is held against.

        Those of its own family come first, by year, then those of the families near it.
        """
        key = (family.family_id, position)
        found = self._held.get(key)
        if found is None or found.family is not family:
            families = self._reference.families
            near = [families[name] for name in family.near if name in families]
            found = self._held[key] = PeriodsHeld(
                family,
                [
                    Held(
                        order,
                        one,
                        period,
                        self.of(one.family_id, frozenset((period.period_id,)), position),
                    )
                    for order, one in enumerate((family, *near))
                    for period in self._reference.periods_of(one.family_id)
                ],
            )
        return found

    def _one(self, claims: list[ClaimSeen]) -> tuple[ClaimSeen, ...]:
        return self._same.setdefault(ids_of(claims), tuple(claims))


#: The claims that were sorted last: nearly every piece is of the same archive as the one before.
_LAST: list[tuple[ReferenceSeen, tuple[ClaimSeen, ...], ClaimIndex]] = []


def claims_of(reference: ReferenceSeen, archive: ArchiveSeen) -> ClaimIndex:
    """Return the claims of a reference and an archive, the reference's first."""
    if not _LAST or _LAST[0][0] is not reference or _LAST[0][1] is not archive.claims:
        index = ClaimIndex((*reference.claims, *archive.claims), reference)
        _LAST.clear()
        _LAST.append((reference, archive.claims, index))
    return _LAST[0][2]

"""Which reading that is still missing would tell most, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from coilbook.core.judging.claims import ClaimIndex, claims_of
from coilbook.core.judging.consistency import WINDING_PROPERTIES, Consistency
from coilbook.core.seen import ArchiveSeen, ClaimSeen, PieceSeen, ReferenceSeen

#: A quantity that is only typical in a claim stands for this share about it, to compare claims.
AROUND_TYPICAL = 0.03

#: So many readings are named at the most.
MOST = 3

#: What can only be had by unwinding a coil is never asked for.
NEEDS_UNWINDING = frozenset({"coil-turns", "pair-turns", "wire-mass"})


@dataclass(frozen=True, slots=True)
class NextReading:
    """A property that was not read, and how well its claims tell the open periods apart.

    ``separates`` is the mean, over all pairs of open periods, of how little their claims overlap:
    1 where every pair is told apart, 0 where none is. ``pair`` is the pair told apart best.
    """

    property_id: str
    separates: float
    pair: tuple[str, str]


def next_readings(
    piece: PieceSeen,
    found: Consistency,
    archive: ArchiveSeen,
    reference: ReferenceSeen,
    most: int = MOST,
) -> tuple[NextReading, ...]:
    """Return the readings that would narrow the open periods most, the best first.

    Open are the periods with the fewest contradictions. A property counts where it was not read and
    at least two of them claim something of it: two ranges are told apart by the share of the
    shorter one that lies outside the other, two sets of words where they share none. It is a guide
    for the order of work at the bench; a reading near the edge of two ranges still settles nothing.
    """
    if not found.rows:
        return ()
    least = found.rows[0].contradictions
    # In one order whatever agrees, so that the same periods are compared once for all pieces.
    periods = sorted(
        (row.family_id, row.period_id) for row in found.rows if row.contradictions == least
    )
    # What was read stands in each row.
    read = {cell.property_id for cell in found.rows[0].cells if cell.component}
    rewound = piece.row.state == "rewound"
    ranked = _ranked(claims_of(reference, archive), tuple(periods), piece.row.position)
    told = [
        reading
        for reading in ranked
        if reading.property_id not in read
        and not (rewound and reading.property_id in WINDING_PROPERTIES)
    ]
    return tuple(told[:most])


@lru_cache(maxsize=4096)
def _ranked(
    claims: ClaimIndex, periods: tuple[tuple[str, str], ...], position: str | None
) -> tuple[NextReading, ...]:
    """Rank every property that can be read by how well it tells these periods apart."""
    by_period = {
        period_id: claims.of(family_id, frozenset((period_id,)), position)
        for family_id, period_id in periods
    }
    properties = {
        property_id: claims_on[0].property.origin != "derived"
        and property_id not in NEEDS_UNWINDING
        for of_period in by_period.values()
        for property_id, claims_on in of_period.items()
    }
    pairs = list(combinations(by_period, 2))
    told: list[NextReading] = []
    for property_id, readable in properties.items():
        if not readable or not pairs:
            continue
        apart = {
            pair: _apart(by_period[pair[0]].get(property_id), by_period[pair[1]].get(property_id))
            for pair in pairs
        }
        total = sum(apart.values()) / len(pairs)
        if total > 0.0:
            told.append(NextReading(property_id, total, max(apart, key=lambda pair: apart[pair])))
    return tuple(sorted(told, key=lambda reading: -reading.separates))


def _apart(first: Sequence[ClaimSeen] | None, second: Sequence[ClaimSeen] | None) -> float:
    """Return how little two periods' claims of one property have in common, from 0 to 1."""
    if not first or not second:
        return 0.0
    if first[0].property.kind == "category":
        words = [{claim.row.category for claim in claims} for claims in (first, second)]
        return 0.0 if words[0] & words[1] else 1.0
    (low_1, high_1), (low_2, high_2) = _reach(first), _reach(second)
    shorter = min(high_1 - low_1, high_2 - low_2)
    shared = min(high_1, high_2) - max(low_1, low_2)
    if shared < 0.0:
        return 1.0
    if not 0.0 < shorter < float("inf"):
        return 0.0
    return 1.0 - min(1.0, shared / shorter)


def _reach(claims: Sequence[ClaimSeen]) -> tuple[float, float]:
    """Return the whole reach of several claims; an end that none states is unlimited."""
    lows, highs = [], []
    for claim in claims:
        low, high, typical = claim.low, claim.high, claim.typical
        if low is None and high is None and typical is not None:
            low, high = typical * (1.0 - AROUND_TYPICAL), typical * (1.0 + AROUND_TYPICAL)
        lows.append(low if low is not None else float("-inf"))
        highs.append(high if high is not None else float("inf"))
    return min(lows), max(highs)

"""What assessment hands to the pages: verdicts and places among peers, with reasons as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from coilbook.measures.types import ReducedValue
from coilbook.records.types import Claim
from coilbook.stats.types import GroupKey

VerdictWord = Literal["inside", "outside", "too_close_to_call", "not_judged"]

#: Every code of a reason; a template has words for each. The first reason of a verdict is the one
#: that decided it. Limits, distances and bounds are in the property's unit.
ReasonCode = Literal[
    # What decided a quantity.
    "within",  # limits met: low, high (those that are stated)
    "below_low",  # limit
    "above_high",  # limit
    "straddles_low",  # limit
    "straddles_high",  # limit
    "too_uncertain",  # the range is too narrow for this uncertainty: width, standard_uncertainty
    # What decided a category.
    "category_same",  # category
    "category_differs",  # stated, found
    "category_alternative",  # stated, found, claim_id: a like claim names what was found
    # Why nothing was judged.
    "no_range",  # no limit that could be broken: typical, difference (value less typical), if any
    "no_uncertainty",
    "open_circuit",
    "parallel_impossible",
    # What else to know.
    "bound_only",  # qualifier, bound; it decides nothing where it stands first
    "how_far",  # side (low, high), limit, distance, standard_uncertainties (left out where u is 0)
    "rewound",
    "undated",
    "position_unknown",
    "calibration_lapsed",
    "no_instrument",
    "temperature_assumed",
    "parallel_unknown",
    "derived",
    "assumed_construction",
]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a verdict is what it is: a code that a template words, and the numbers it needs."""

    code: ReasonCode
    data: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    """One reduced value against one claim.

    ``probability`` is the conformance probability of JCGM 106, None where none can be given (a
    category, an open coil, a claim that states only a typical value).
    """

    claim: Claim
    value: ReducedValue
    word: VerdictWord
    probability: float | None
    inside_at: float
    outside_at: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a piece stands among its peers, itself left out.

    ``percentile`` is the mean percentile rank; None where fewer than 8 peers are left.
    """

    key: GroupKey
    value: ReducedValue
    peers: int
    percentile: float | None
    peer_median: float | None


@dataclass(frozen=True, slots=True)
class Assessment:
    """All that is said of one piece. ``periods`` are those its years touch."""

    piece_id: str
    periods: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    places: tuple[Place, ...]

    def verdicts_of(self, value: ReducedValue) -> tuple[Verdict, ...]:
        """Return the verdicts on one reduced value."""
        return tuple(v for v in self.verdicts if v.value is value)

"""A verdict, and its reasons as data, which are put together when somebody asks for them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ClaimSeen

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
    "range_alternative",  # outside, and inside the claim for another position: claim_id
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


class Verdict(NamedTuple):
    """One reduced value against one claim.

    ``probability`` is the conformance probability of JCGM 106, None where none can be given (a
    category, an open coil, a claim that states only a typical value). ``codes`` name the reasons;
    ``other`` is the claim that one of them points to.

    A piece meets some thirty claims and a page shows a few of them: a verdict keeps what its
    reasons follow from, and is as small as a tuple is.
    """

    claim: ClaimSeen
    value: ReducedValue
    word: VerdictWord
    probability: float | None
    inside_at: float
    outside_at: float
    codes: tuple[ReasonCode, ...]
    other: ClaimSeen | None = None

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Return the reasons with their numbers, the one that decided first."""
        return tuple(Reason(code, self._data(code)) for code in self.codes)

    def _data(self, code: ReasonCode) -> dict[str, float | str]:
        low, high = self.claim.breakable
        number, u = self.value.value, self.value.standard_uncertainty
        if code in ("below_low", "straddles_low") and low is not None:
            return {"limit": low}
        if code in ("above_high", "straddles_high") and high is not None:
            return {"limit": high}
        if code == "within":
            return dict(self._limits())
        if code == "too_uncertain" and low is not None and high is not None and u is not None:
            return {"width": high - low, "standard_uncertainty": u}
        if code == "how_far" and number is not None and u is not None:
            return self._how_far(number, u)
        if code == "bound_only" and number is not None:
            return {"qualifier": self.value.qualifier, "bound": number}
        if code == "no_range":
            typical = self.claim.typical
            if typical is None or number is None:
                return {}
            return {"typical": typical, "difference": number - typical}
        return self._words(code)

    def _words(self, code: ReasonCode) -> dict[str, float | str]:
        found, stated = self.value.category or "", self.claim.row.category or ""
        if code == "category_same":
            return {"category": found}
        data: dict[str, float | str] = {}
        if code in ("category_differs", "category_alternative"):
            data = {"stated": stated, "found": found}
        if code in ("category_alternative", "range_alternative") and self.other is not None:
            data["claim_id"] = self.other.row.claim_id
        return data

    def _limits(self) -> dict[str, float]:
        both = zip(("low", "high"), self.claim.breakable, strict=True)
        return {side: limit for side, limit in both if limit is not None}

    def _how_far(self, number: float, u: float) -> dict[str, float | str]:
        """Return the distance to the nearest limit, in the unit and in standard uncertainties."""
        side, limit = min(self._limits().items(), key=lambda item: abs(number - item[1]))
        distance = abs(number - limit)
        data: dict[str, float | str] = {"side": side, "limit": limit, "distance": distance}
        if u > 0.0:
            data["standard_uncertainties"] = distance / u
        return data

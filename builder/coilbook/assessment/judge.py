"""One reduced value against one claim: the word, the probability and the reasons."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coilbook.assessment.conformity import Conformance, conformance
from coilbook.assessment.types import Reason, ReasonCode, Verdict, VerdictWord
from coilbook.measures.types import Flag, ReducedValue
from coilbook.records.models import Thresholds
from coilbook.records.types import Claim, Qualifier

#: Flags of a value that a verdict passes on, and the code that each becomes.
_PASSED_ON: dict[Flag, ReasonCode] = {
    "calibration_lapsed": "calibration_lapsed",
    "no_instrument": "no_instrument",
    "no_temperature": "temperature_assumed",
    "parallel_unknown": "parallel_unknown",
    "derived": "derived",
    "assumed_construction": "assumed_construction",
}


class Judged:
    """The verdicts on one piece's quantities, each reached once however often it is asked for."""

    def __init__(self, thresholds: Thresholds) -> None:
        self._thresholds = thresholds
        self._quantities: dict[tuple[int, int], Verdict] = {}

    def verdict(
        self, value: ReducedValue, claim: Claim, alternatives: Iterable[Claim] = ()
    ) -> Verdict:
        """Return :func:`judge`'s verdict, without circumstances.

        A category's depends on the alternatives, and is reached anew.
        """
        if claim.property.kind == "category":
            return judge(value, claim, self._thresholds, alternatives=alternatives)
        # Both are kept alive by the verdict, so that their identities stay theirs.
        key = (id(value), id(claim))
        if key not in self._quantities:
            self._quantities[key] = judge(value, claim, self._thresholds)
        return self._quantities[key]


_Finding = tuple[VerdictWord, float | None, tuple[Reason, ...]]


def judge(
    value: ReducedValue,
    claim: Claim,
    thresholds: Thresholds,
    *,
    alternatives: Iterable[Claim] = (),
    circumstances: Iterable[Reason] = (),
) -> Verdict:
    """Judge one reduced value against one claim of the same property.

    inside: the conformance probability is at least ``thresholds.inside``. outside: the true value
    lies beyond *one and the same* limit with a probability of at least 1 - ``thresholds.outside``
    (for a range that is wide against the uncertainty this is the conformance probability at or
    under ``thresholds.outside``; for a narrow one, a value in its very middle would have a small
    conformance probability too, and only says that the measurement is too uncertain). Anything
    else is too close to call.

    A limit that lies at the property's own hard bound excludes nothing and is left out: of "0 to
    1.2 kΩ" for an absolute difference, only the 1.2 kΩ can be broken.

    ``alternatives`` are claims with the same family, property, period and position: where a
    category differs from this claim but is named by one of them, nothing is judged.
    ``circumstances`` are reasons that the piece brings along; they come after the value's own.

    Source: jcgm-106 for the probability; the words and their thresholds are this project's.
    """
    if claim.property.kind == "category":
        finding = _category(value, claim, alternatives)
    elif value.value is None:
        finding = ("not_judged", None, (Reason("open_circuit"),))
    elif "parallel_impossible" in value.flags:
        finding = ("not_judged", None, (Reason("parallel_impossible"),))
    elif value.standard_uncertainty is None:
        finding = ("not_judged", None, (Reason("no_uncertainty"),))
    else:
        finding = _quantity(value, value.value, value.standard_uncertainty, claim, thresholds)
    word, probability, reasons = finding
    passed_on = [Reason(code) for flag, code in _PASSED_ON.items() if flag in value.flags]
    if value.calibration == "lapsed" and "calibration_lapsed" not in value.flags:
        passed_on.append(Reason("calibration_lapsed"))
    return Verdict(
        claim=claim,
        value=value,
        word=word,
        probability=probability,
        inside_at=thresholds.inside,
        outside_at=thresholds.outside,
        reasons=(*reasons, *passed_on, *circumstances),
    )


def _category(value: ReducedValue, claim: Claim, alternatives: Iterable[Claim]) -> _Finding:
    found, stated = value.category or "", claim.row.category or ""
    if found == stated:
        return "inside", None, (Reason("category_same", {"category": found}),)
    data: dict[str, float | str] = {"stated": stated, "found": found}
    for other in alternatives:
        if other.row.category == found:
            data["claim_id"] = other.row.claim_id
            return "not_judged", None, (Reason("category_alternative", data),)
    return "outside", None, (Reason("category_differs", data),)


@dataclass(frozen=True, slots=True)
class _Limits:
    low: float | None
    high: float | None

    @property
    def stated(self) -> dict[str, float]:
        both = {"low": self.low, "high": self.high}
        return {side: limit for side, limit in both.items() if limit is not None}


def _limits(claim: Claim) -> _Limits:
    """Return the claim's limits without those that no value of the property could break."""
    low, high = claim.low, claim.high
    hard_low, hard_high = claim.property.hard_low, claim.property.hard_high
    if low is not None and hard_low is not None and low <= hard_low:
        low = None
    if high is not None and hard_high is not None and high >= hard_high:
        high = None
    return _Limits(low, high)


def _quantity(
    value: ReducedValue, number: float, u: float, claim: Claim, thresholds: Thresholds
) -> _Finding:
    limits = _limits(claim)
    if not limits.stated:
        data: dict[str, float | str] = {}
        if claim.typical is not None:
            data = {"typical": claim.typical, "difference": number - claim.typical}
        return "not_judged", None, (Reason("no_range", data),)

    chances = conformance(number, u, low=limits.low, high=limits.high)
    if value.qualifier in ("<", ">"):
        bound = Reason("bound_only", {"qualifier": value.qualifier, "bound": number})
        word, reasons = _bound(value.qualifier, limits, chances, thresholds)
        return word, None, (*reasons, bound)
    word, reasons = _decide(u, limits, chances, thresholds)
    return word, chances.within, (*reasons, _how_far(number, u, limits))


def _beyond(limits: _Limits, chances: Conformance, thresholds: Thresholds) -> tuple[Reason, ...]:
    """Return the limit that the true value is beyond, if that is sure enough."""
    sure = 1.0 - thresholds.outside
    if limits.low is not None and chances.below >= sure:
        return (Reason("below_low", {"limit": limits.low}),)
    if limits.high is not None and chances.above >= sure:
        return (Reason("above_high", {"limit": limits.high}),)
    return ()


def _bound(
    qualifier: Qualifier, limits: _Limits, chances: Conformance, thresholds: Thresholds
) -> tuple[VerdictWord, tuple[Reason, ...]]:
    """Judge a value that is only known to lie above (``>``) or below (``<``) a number.

    The true value lies farther out than the number. So the number decides where it is beyond the
    limit on its own side already, or where it has passed the only limit that there is.
    """
    ahead, behind = (limits.high, limits.low) if qualifier == ">" else (limits.low, limits.high)
    if ahead is None and behind is not None and chances.within >= thresholds.inside:
        return "inside", (Reason("within", limits.stated),)
    beyond = _beyond(limits, chances, thresholds)
    wanted: ReasonCode = "above_high" if qualifier == ">" else "below_low"
    if beyond and beyond[0].code == wanted:
        return "outside", beyond
    return "not_judged", ()


def _decide(
    u: float, limits: _Limits, chances: Conformance, thresholds: Thresholds
) -> tuple[VerdictWord, tuple[Reason, ...]]:
    if chances.within >= thresholds.inside:
        return "inside", (Reason("within", limits.stated),)
    beyond = _beyond(limits, chances, thresholds)
    if beyond:
        return "outside", beyond
    low, high = limits.low, limits.high
    reasons: list[Reason] = []
    if low is not None and high is not None and chances.within <= thresholds.outside:
        width = {"width": high - low, "standard_uncertainty": u}
        reasons.append(Reason("too_uncertain", width))
    # The limit that more of the probability lies beyond, and the other one too if that alone
    # would have kept the value from being inside.
    spare = 1.0 - thresholds.inside
    if low is not None and (chances.below >= chances.above or chances.below > spare):
        reasons.append(Reason("straddles_low", {"limit": low}))
    if high is not None and (chances.above > chances.below or chances.above > spare):
        reasons.append(Reason("straddles_high", {"limit": high}))
    return "too_close_to_call", tuple(reasons)


def _how_far(number: float, u: float, limits: _Limits) -> Reason:
    """Return the distance to the nearest limit, in the unit and in standard uncertainties."""
    side, limit = min(limits.stated.items(), key=lambda item: abs(number - item[1]))
    distance = abs(number - limit)
    data: dict[str, float | str] = {"side": side, "limit": limit, "distance": distance}
    if u > 0.0:
        data["standard_uncertainties"] = distance / u
    return Reason("how_far", data)

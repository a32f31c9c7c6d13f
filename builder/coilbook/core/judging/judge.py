"""One reduced value against one claim: the word, the probability and what it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from coilbook.core.judging.conformity import probabilities
from coilbook.core.judging.verdict import ReasonCode, Verdict, VerdictWord
from coilbook.core.reduction.reduced_value import Flag, ReducedValue
from coilbook.core.seen import Calibration, ClaimSeen, Qualifier, ThresholdsSeen

#: Flags of a value that a verdict passes on, and the code that each becomes.
PASSED_ON: dict[Flag, ReasonCode] = {
    "calibration_lapsed": "calibration_lapsed",
    "no_instrument": "no_instrument",
    "no_temperature": "temperature_assumed",
    "parallel_unknown": "parallel_unknown",
    "derived": "derived",
    "assumed_construction": "assumed_construction",
}


class DecidedAt(NamedTuple):
    """From which probability on a value is inside, and up to which it is outside."""

    inside: float
    outside: float


class Judged:
    """The verdicts on one piece's quantities, each reached once however often it is asked for."""

    def __init__(self, thresholds: ThresholdsSeen) -> None:
        self._thresholds = thresholds
        self._quantities: dict[tuple[str, str, int], dict[str, Verdict]] = {}

    def verdict(
        self, value: ReducedValue, claim: ClaimSeen, alternatives: Iterable[ClaimSeen] = ()
    ) -> Verdict:
        """Return :func:`judge`'s verdict.

        A category's depends on the alternatives, and is reached anew.
        """
        if claim.property.kind == "category":
            return judge(value, claim, self._thresholds, alternatives=alternatives)
        key = (value.component, value.property_id, value.line)
        of_value = self._quantities.setdefault(key, {})
        which = f"{claim.origin} {claim.row.claim_id}"
        verdict = of_value.get(which)
        if verdict is None:
            verdict = of_value[which] = judge(value, claim, self._thresholds)
        return verdict


_Codes = tuple[ReasonCode, ...]


def judge(
    value: ReducedValue,
    claim: ClaimSeen,
    thresholds: ThresholdsSeen,
    *,
    alternatives: Iterable[ClaimSeen] = (),
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

    Source: jcgm-106 for the probability; the words and their thresholds are this project's.
    """
    probability: float | None = None
    other: ClaimSeen | None = None
    number, u = value.value, value.standard_uncertainty
    word: VerdictWord = "not_judged"
    codes: _Codes
    if claim.property.kind == "category":
        word, codes, other = _category(value, claim, alternatives)
    elif number is None:
        codes = ("open_circuit",)
    elif "parallel_impossible" in value.flags:
        codes = ("parallel_impossible",)
    elif u is None:
        codes = ("no_uncertainty",)
    else:
        low, high = claim.breakable
        if low is None and high is None:
            codes = ("no_range",)
        else:
            chances = probabilities(number, u, low, high)
            if value.qualifier in ("<", ">"):
                word, codes = _bound(value.qualifier, low, high, chances, thresholds)
            else:
                probability = chances[1]
                word, codes = _decide(low, high, chances, thresholds)
    return Verdict(
        claim,
        value,
        word,
        probability,
        thresholds.inside,
        thresholds.outside,
        codes + _passed_on(value.flags, value.calibration),
        other,
    )


@cache
def _passed_on(flags: tuple[Flag, ...], calibration: Calibration) -> _Codes:
    """Return what else is to be known of a value with these flags."""
    passed_on = [code for flag, code in PASSED_ON.items() if flag in flags]
    if calibration == "lapsed" and "calibration_lapsed" not in flags:
        passed_on.append("calibration_lapsed")
    return tuple(passed_on)


def _category(
    value: ReducedValue, claim: ClaimSeen, alternatives: Iterable[ClaimSeen]
) -> tuple[VerdictWord, _Codes, ClaimSeen | None]:
    found, stated = value.category or "", claim.row.category or ""
    if found == stated:
        return "inside", ("category_same",), None
    for other in alternatives:
        if other.row.category == found:
            return "not_judged", ("category_alternative",), other
    return "outside", ("category_differs",), None


_Limit = float | None
_Chances = tuple[float, float, float]


def _beyond(low: _Limit, high: _Limit, chances: _Chances, thresholds: ThresholdsSeen) -> _Codes:
    """Return which limit the true value is beyond, if that is sure enough."""
    below, _, above = chances
    sure = 1.0 - thresholds.outside
    if low is not None and below >= sure:
        return ("below_low",)
    if high is not None and above >= sure:
        return ("above_high",)
    return ()


def _bound(
    qualifier: Qualifier, low: _Limit, high: _Limit, chances: _Chances, thresholds: ThresholdsSeen
) -> tuple[VerdictWord, _Codes]:
    """Judge a value that is only known to lie above (``>``) or below (``<``) a number.

    The true value lies farther out than the number. So the number decides where it is beyond the
    limit on its own side already, or where it has passed the only limit that there is.
    """
    ahead, behind = (high, low) if qualifier == ">" else (low, high)
    if ahead is None and behind is not None and chances[1] >= thresholds.inside:
        return "inside", ("within", "bound_only")
    wanted: ReasonCode = "above_high" if qualifier == ">" else "below_low"
    if _beyond(low, high, chances, thresholds) == (wanted,):
        return "outside", (wanted, "bound_only")
    return "not_judged", ("bound_only",)


_WITHIN: _Codes = ("within", "how_far")


def _decide(
    low: _Limit, high: _Limit, chances: _Chances, thresholds: ThresholdsSeen
) -> tuple[VerdictWord, _Codes]:
    below, within, above = chances
    if within >= thresholds.inside:
        return "inside", _WITHIN
    beyond = _beyond(low, high, chances, thresholds)
    if beyond:
        return "outside", (*beyond, "how_far")
    codes: list[ReasonCode] = []
    if low is not None and high is not None and within <= thresholds.outside:
        codes.append("too_uncertain")
    # The limit that more of the probability lies beyond, and the other one too if that alone
    # would have kept the value from being inside.
    spare = 1.0 - thresholds.inside
    if low is not None and (below >= above or below > spare):
        codes.append("straddles_low")
    if high is not None and (above > below or above > spare):
        codes.append("straddles_high")
    return "too_close_to_call", (*codes, "how_far")

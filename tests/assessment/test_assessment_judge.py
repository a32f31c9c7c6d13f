"""The word, the probability and the reasons of one value against one claim."""

from __future__ import annotations

from typing import Any

import assessment_bench as bench
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbook.core.judging.conformity import conformance
from coilbook.core.judging.judge import judge
from coilbook.core.judging.verdict import Verdict
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.records.contents import Claim
from coilbook.records.tables.models import Thresholds

BAND = bench.claim(low=7.5, high=9.0)
AT_MOST = bench.claim(high=9.0)
AT_LEAST = bench.claim(low=7.5)


def verdict(value: ReducedValue, claim: Claim = BAND, **about: Any) -> Verdict:
    """Return the verdict with the usual thresholds."""
    return judge(value, claim, Thresholds(), **about)


def codes(found: Verdict) -> list[str]:
    """Return the codes of a verdict's reasons."""
    return [reason.code for reason in found.reasons]


@pytest.mark.parametrize(
    ("number", "claim", "word", "reasons"),
    [
        (8.0, BAND, "inside", ["within", "how_far"]),
        (7.0, BAND, "outside", ["below_low", "how_far"]),
        (9.5, BAND, "outside", ["above_high", "how_far"]),
        (7.52, BAND, "too_close_to_call", ["straddles_low", "how_far"]),
        (7.45, BAND, "too_close_to_call", ["straddles_low", "how_far"]),
        (9.03, BAND, "too_close_to_call", ["straddles_high", "how_far"]),
        (1.0, AT_MOST, "inside", ["within", "how_far"]),
        (9.5, AT_MOST, "outside", ["above_high", "how_far"]),
        (9.0, AT_MOST, "too_close_to_call", ["straddles_high", "how_far"]),
        (20.0, AT_LEAST, "inside", ["within", "how_far"]),
        (7.0, AT_LEAST, "outside", ["below_low", "how_far"]),
        (7.5, AT_LEAST, "too_close_to_call", ["straddles_low", "how_far"]),
    ],
)
def test_a_number_against_limits(number: float, claim: Claim, word: str, reasons: Any) -> None:
    """Two limits or one: inside, outside and too close to call, each with its deciding reason."""
    found = verdict(bench.value(number, 0.05), claim)
    assert (found.word, codes(found)) == (word, reasons)
    expected = conformance(number, 0.05, low=claim.low, high=claim.high).within
    assert found.probability == expected


@pytest.mark.parametrize(
    ("z", "word"),
    [
        (1.6449, "inside"),
        (1.6448, "too_close_to_call"),
        (-1.6448, "too_close_to_call"),
        (-1.6449, "outside"),
    ],
)
def test_the_words_change_where_the_normal_table_says(z: float, word: str) -> None:
    """95 % and 5 % lie 1.64485 standard uncertainties within and beyond one limit.

    The quantile 1.64485 is that of any table of the standard normal distribution (from memory).
    """
    assert verdict(bench.value(9.0 - 0.1 * z, 0.1), AT_MOST).word == word


def test_how_far_is_told_from_the_nearest_limit() -> None:
    """Distance in the unit and in standard uncertainties; only in the unit where u is 0."""
    far = verdict(bench.value(8.8, 0.1)).reasons[-1]
    assert far.code == "how_far"
    assert far.data["side"] == "high"
    assert far.data["limit"] == 9.0
    assert far.data["distance"] == pytest.approx(0.2)
    assert far.data["standard_uncertainties"] == pytest.approx(2.0)
    assert verdict(bench.value(7.0, 0.1)).reasons[-1].data["side"] == "low"
    assert "standard_uncertainties" not in verdict(bench.value(8.8, 0.0)).reasons[-1].data


def test_no_uncertainty_is_a_sharp_comparison() -> None:
    """With u = 0 there is nothing to call: on the limit is inside, a hair beyond is outside."""
    assert verdict(bench.value(9.0, 0.0)).word == "inside"
    assert verdict(bench.value(9.0001, 0.0)).word == "outside"


def test_a_poor_measurement_in_a_narrow_range_is_not_outside() -> None:
    """In the middle of 8.0 to 8.1, ±1 conforms with 4 % only, yet nothing says it is beyond."""
    found = verdict(bench.value(8.05, 1.0), bench.claim(low=8.0, high=8.1))
    assert found.probability == pytest.approx(0.0399, abs=5e-5)  # 2 Φ(0.05) - 1, from scipy
    assert found.word == "too_close_to_call"
    assert codes(found) == ["too_uncertain", "straddles_low", "straddles_high", "how_far"]
    assert found.reasons[0].data["width"] == pytest.approx(0.1)
    assert found.reasons[0].data["standard_uncertainty"] == 1.0


@pytest.mark.parametrize("number", [8.04, 8.06])
def test_both_limits_are_named_where_either_would_spoil_it(number: float) -> None:
    """Off the middle, too, the farther limit is named if more than 5 % lies beyond it alone."""
    found = verdict(bench.value(number, 1.0), bench.claim(low=8.0, high=8.1))
    assert codes(found)[1:3] == ["straddles_low", "straddles_high"]


@given(
    number=st.floats(5.0, 12.0),
    u=st.floats(0.001, 3.0),
    inside=st.floats(0.5, 0.999),
    outside=st.floats(0.001, 0.5),
)
def test_words_follow_from_the_probability_and_the_printed_thresholds(
    number: float, u: float, inside: float, outside: float
) -> None:
    """Whoever reads the verdict can check its word by its own probability and thresholds."""
    found = judge(bench.value(number, u), BAND, Thresholds(inside=inside, outside=outside))
    assert (found.inside_at, found.outside_at) == (inside, outside)
    assert found.probability is not None
    assert (found.word == "inside") == (found.probability >= inside)
    if found.word == "outside":
        assert found.probability <= outside + 1e-12
        # Upon a limit, half of the probability lies beyond: enough where the threshold is 0.5.
        assert not 7.5 < number < 9.0
    if found.word == "too_close_to_call":
        assert {"straddles_low", "straddles_high"} & set(codes(found))
        assert found.probability > outside - 1e-12 or codes(found)[0] == "too_uncertain"


def test_thresholds_are_a_setting() -> None:
    """The same number is inside for one shop and too close to call for a stricter one."""
    number = bench.value(8.8, 0.1)
    assert judge(number, BAND, Thresholds(inside=0.95)).word == "inside"
    strict = judge(number, BAND, Thresholds(inside=0.99))
    assert (strict.word, strict.inside_at) == ("too_close_to_call", 0.99)


def test_a_limit_at_the_end_of_the_scale_excludes_nothing() -> None:
    """Of 0 to 1.2 only 1.2 can be broken: a coil difference of 0.01 ± 0.02 is inside."""
    claim = bench.claim(low=0.0, high=1.2)
    found = verdict(bench.value(0.01, 0.02), claim)
    assert found.word == "inside"
    assert found.reasons[0].data == {"high": 1.2}
    assert found.reasons[1].data["side"] == "high"
    assert verdict(bench.value(1.5, 0.02), claim).word == "outside"
    whole_scale = verdict(bench.value(5.0), bench.claim(low=0.0, high=2000.0))
    assert (whole_scale.word, codes(whole_scale)) == ("not_judged", ["no_range"])


def test_a_usual_value_alone_is_no_range() -> None:
    """Nothing can be inside a single figure; the difference from it is told instead."""
    found = verdict(bench.value(8.0), bench.claim(typical=7.8))
    assert (found.word, found.probability, codes(found)) == ("not_judged", None, ["no_range"])
    assert found.reasons[0].data["typical"] == 7.8
    assert found.reasons[0].data["difference"] == pytest.approx(0.2)


def test_an_open_circuit_is_not_judged() -> None:
    """There is no number to compare."""
    found = verdict(bench.value(None, None, qualifier="open"))
    assert (found.word, found.probability, codes(found)) == ("not_judged", None, ["open_circuit"])


@pytest.mark.parametrize(
    ("qualifier", "number", "claim", "word", "first"),
    [
        (">", 20.0, BAND, "outside", "above_high"),
        (">", 8.0, BAND, "not_judged", "bound_only"),
        (">", 5.0, BAND, "not_judged", "bound_only"),
        (">", 9.05, BAND, "not_judged", "bound_only"),
        (">", 20.0, AT_MOST, "outside", "above_high"),
        (">", 20.0, AT_LEAST, "inside", "within"),
        (">", 7.0, AT_LEAST, "not_judged", "bound_only"),
        (">", 5.0, AT_MOST, "not_judged", "bound_only"),
        ("<", 5.0, BAND, "outside", "below_low"),
        ("<", 8.0, BAND, "not_judged", "bound_only"),
        ("<", 20.0, BAND, "not_judged", "bound_only"),
        ("<", 5.0, AT_LEAST, "outside", "below_low"),
        ("<", 5.0, AT_MOST, "inside", "within"),
        ("<", 20.0, AT_LEAST, "not_judged", "bound_only"),
        ("<", 20.0, AT_MOST, "not_judged", "bound_only"),
    ],
)
def test_a_bound_decides_only_where_it_can(
    qualifier: Any, number: float, claim: Claim, word: str, first: str
) -> None:
    """A bound beyond its own side's limit is outside; one past an only limit is inside."""
    found = verdict(bench.value(number, 0.05, qualifier=qualifier), claim)
    assert (found.word, codes(found)[0], found.probability) == (word, first, None)
    bound = next(reason for reason in found.reasons if reason.code == "bound_only")
    assert bound.data == {"qualifier": qualifier, "bound": number}


def test_categories_are_the_same_or_differ() -> None:
    """A word is inside if it is the claim's; a probability there is none."""
    claim = bench.claim(category="2")
    same = verdict(bench.value(None, None, category="2"), claim)
    assert (same.word, same.probability, codes(same)) == ("inside", None, ["category_same"])
    other = verdict(bench.value(None, None, category="5"), claim)
    assert (other.word, other.probability, codes(other)) == ("outside", None, ["category_differs"])
    assert other.reasons[0].data == {"stated": "2", "found": "5"}


def test_a_category_that_a_like_claim_names_is_not_outside() -> None:
    """Where practice is 2 or 5, one claim each, a 5 is not outside the claim of 2; a 4 is."""
    two, five = bench.claim("two", category="2"), bench.claim("five", category="5")
    found = verdict(bench.value(None, None, category="5"), two, alternatives=[two, five])
    assert (found.word, codes(found)) == ("not_judged", ["category_alternative"])
    assert found.reasons[0].data == {"stated": "2", "found": "5", "claim_id": "five"}
    four = bench.value(None, None, category="4")
    assert verdict(four, two, alternatives=[two, five]).word == "outside"


def test_a_value_that_contradicts_its_record_is_not_judged() -> None:
    """Read above the resistance said to be in parallel, it is not a resistance of the pair."""
    found = verdict(bench.value(8.0, flags=("parallel_impossible",)))
    assert (found.word, codes(found)) == ("not_judged", ["parallel_impossible"])
    assert codes(verdict(bench.value(8.0, None))) == ["no_uncertainty"]


@pytest.mark.parametrize(
    ("flag", "code"),
    [
        ("calibration_lapsed", "calibration_lapsed"),
        ("no_instrument", "no_instrument"),
        ("no_temperature", "temperature_assumed"),
        ("parallel_unknown", "parallel_unknown"),
        ("derived", "derived"),
        ("assumed_construction", "assumed_construction"),
    ],
)
def test_what_stands_against_a_value_stands_in_its_verdict(flag: Any, code: str) -> None:
    """Each flag of the value becomes a reason, after the one that decided."""
    found = verdict(bench.value(8.0, flags=(flag,)))
    assert codes(found) == ["within", "how_far", code]


def test_a_lapsed_calibration_is_told_once() -> None:
    """By its flag, by its calibration or by both, it is one reason."""
    by_state = verdict(bench.value(8.0, calibration="lapsed"))
    both = verdict(bench.value(8.0, calibration="lapsed", flags=("calibration_lapsed",)))
    assert codes(by_state) == codes(both) == ["within", "how_far", "calibration_lapsed"]

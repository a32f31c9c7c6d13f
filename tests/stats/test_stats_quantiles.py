"""Order statistics against published values, independent libraries and the laws they must obey."""

from __future__ import annotations

import statistics
import tomllib
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from scipy.stats import mstats

from coilbook.errors import OutOfDomain
from coilbook.stats.quantiles import median_interval, median_ranks, percentile_rank, quantiles

PUBLISHED: dict[str, list[dict[str, Any]]] = tomllib.loads(
    Path(__file__).with_name("published_stats.toml").read_text(encoding="utf-8")
)

samples = st.lists(
    st.floats(-1e6, 1e6, allow_nan=False, allow_subnormal=False), min_size=1, max_size=60
)


def half_last_digit(printed: str) -> float:
    """Return half of what one count of the last printed digit is worth."""
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    return 0.5 * 10.0**exponent


@pytest.mark.parametrize("row", PUBLISHED["quantiles"], ids=lambda row: f"type{row['type']}")
def test_quantiles_meet_values_from_outside(row: dict[str, Any]) -> None:
    """Types 6 and 7 give the digits that another program gave; the file names the source."""
    found = quantiles(row["sample"], row["at"], row["type"])
    for got, printed in zip(found, row["expected"], strict=True):
        assert got == pytest.approx(float(printed), abs=half_last_digit(printed))


@pytest.mark.parametrize("row", PUBLISHED["percentile_ranks"])
@pytest.mark.parametrize("kind", ["strict", "weak", "mean"])
def test_percentile_ranks_meet_values_from_outside(row: dict[str, Any], kind: Any) -> None:
    """The three kinds of percentile rank give the digits that another program gave."""
    found = percentile_rank(row["sample"], row["of"], kind)
    assert found == pytest.approx(float(row[kind]), abs=half_last_digit(row[kind]))


@pytest.mark.parametrize("row", PUBLISHED["median_ranks"], ids=lambda row: f"n{row['n']}")
def test_median_ranks_meet_values_from_outside(row: dict[str, Any]) -> None:
    """The ranks of a 95 % interval are the ones of the binomial table."""
    found = median_ranks(row["n"])
    assert found is not None
    assert [found.low, found.high] == row["ranks"]


# scipy names a type by two plotting constants; (0, 0) is type 6 and (1, 1) type 7.
@pytest.mark.parametrize(("kind", "alpha", "beta"), [(6, 0.0, 0.0), (7, 1.0, 1.0)])
@given(sample=samples, p=st.floats(0.0, 1.0))
def test_quantiles_agree_with_another_library(
    kind: int, alpha: float, beta: float, sample: list[float], p: float
) -> None:
    """Quantiles by scipy, which share no code with those by numpy, come out the same."""
    expected = float(mstats.mquantiles(sample, [p], alphap=alpha, betap=beta)[0])
    assert quantiles(sample, [p], kind)[0] == pytest.approx(expected, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(("kind", "method"), [(6, "exclusive"), (7, "inclusive")])
@given(sample=samples.filter(lambda s: len(s) >= 4))
def test_quartiles_agree_with_the_standard_library(
    kind: int, method: Any, sample: list[float]
) -> None:
    """Python's own statistics module gives the same quartiles.

    From four values on: with fewer it extrapolates type 6 beyond the extremes, which the type does
    not do.
    """
    expected = statistics.quantiles(sample, n=4, method=method)
    found = quantiles(sample, (0.25, 0.5, 0.75), kind)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-6)


@given(sample=samples, value=st.floats(-1e6, 1e6), from_sample=st.booleans())
@pytest.mark.parametrize("kind", ["strict", "weak", "mean"])
def test_percentile_rank_agrees_with_another_library(
    kind: Any, sample: list[float], value: float, from_sample: bool
) -> None:
    """The percentileofscore of scipy gives the same rank, for values in the sample and others."""
    value = sample[0] if from_sample else value
    expected = float(scipy_stats.percentileofscore(sample, value, kind=kind))
    assert percentile_rank(sample, value, kind) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_median_ranks_are_the_innermost_that_reach_their_confidence(confidence: float) -> None:
    """By scipy's binomial distribution: the stated coverage is exact, and one rank in misses it."""

    def coverage(n: int, rank: int) -> float:
        return float(1.0 - 2.0 * scipy_stats.binom.cdf(rank - 1, n, 0.5))

    for n in range(1, 301):
        found = median_ranks(n, confidence)
        if found is None:
            assert coverage(n, 1) < confidence
            continue
        assert found.low + found.high == n + 1
        assert found.confidence == pytest.approx(coverage(n, found.low), abs=1e-12)
        assert found.confidence >= confidence
        if found.low < n // 2:
            assert coverage(n, found.low + 1) < confidence


@pytest.mark.parametrize("n", [1000, 1001, 1002, 4096, 20_001])
@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.999])
def test_median_ranks_of_many_are_those_of_whole_numbers(n: int, confidence: float) -> None:
    """Outcomes counted one by one (binomial coefficients of Python's integers) give the same."""
    ranks = median_ranks(n, confidence)
    assert ranks is not None
    # 1 - 2 P(B < rank) of both ranks, without dividing before the end.
    total, below, term = 2**n, 0, 1
    for outcome in range(ranks.low):
        below += term
        term = term * (n - outcome) // (outcome + 1)
    wanted = Fraction(confidence)
    assert Fraction(total - 2 * below, total) >= wanted
    assert Fraction(total - 2 * (below + term), total) < wanted
    assert ranks.high == n + 1 - ranks.low
    assert ranks.confidence == pytest.approx((total - 2 * below) / total, abs=1e-12)


def test_no_interval_of_a_median_below_six() -> None:
    """With five values even the extremes hold the median with 93.75 % only (1 - 2/32)."""
    assert [median_ranks(n) for n in range(1, 6)] == [None] * 5
    assert median_interval([1.0, 2.0, 3.0, 4.0, 5.0]) is None
    assert median_interval([6.0, 2.0, 3.0, 4.0, 5.0, 1.0]) == (1.0, 6.0, 0.96875)


@given(sample=st.lists(st.floats(-1e6, 1e6), min_size=6, max_size=80))
def test_median_interval_agrees_with_another_library(sample: list[float]) -> None:
    """The interval of a median by order statistics that scipy gives has the same ends.

    scipy gives each side 2.5 % at the most, which for p = 1/2 is the same rule.
    """
    expected = scipy_stats.quantile_test(sample, q=0.0, p=0.5).confidence_interval(0.95)
    found = median_interval(sample)
    assert found is not None
    assert (found.low, found.high) == (expected.low, expected.high)


@pytest.mark.parametrize("n", [6, 10, 25])
def test_median_interval_covers_as_often_as_it_says(n: int) -> None:
    """20 000 samples of a skewed distribution: the share that covers is the stated confidence."""
    draws = np.sort(np.random.default_rng(20260314).exponential(size=(20_000, n)), axis=1)
    ranks = median_ranks(n)
    assert ranks is not None
    true_median = np.log(2.0)
    covered = (draws[:, ranks.low - 1] <= true_median) & (true_median <= draws[:, ranks.high - 1])
    spread = np.sqrt(ranks.confidence * (1.0 - ranks.confidence) / len(draws))
    assert abs(covered.mean() - ranks.confidence) < 4.0 * spread


@given(sample=samples, p=st.floats(0.0, 1.0), q=st.floats(0.0, 1.0), kind=st.integers(1, 9))
def test_quantiles_rise_and_stay_within_the_sample(
    sample: list[float], p: float, q: float, kind: int
) -> None:
    """Every type rises with p and never leaves the sample's extremes."""
    low, high = quantiles(sample, sorted((p, q)), kind)
    slack = 1e-9 * max(abs(x) for x in sample)
    assert min(sample) - slack <= low <= high + slack <= max(sample) + 2 * slack


@given(sample=samples, p=st.floats(0.0, 1.0))
@pytest.mark.parametrize("kind", [6, 7])
def test_quantiles_turn_round_with_the_sample(kind: int, sample: list[float], p: float) -> None:
    """The sample mirrored, a quantile at p is the mirrored one at 1 - p."""
    (one,) = quantiles(sample, [p], kind)
    (other,) = quantiles([-x for x in sample], [1.0 - p], kind)
    assert other == pytest.approx(-one, rel=1e-9, abs=1e-6)


@given(sample=samples, value=st.floats(-1e6, 1e6))
def test_mean_rank_is_mirrored_by_the_mirrored_sample(sample: list[float], value: float) -> None:
    """Mean ranks from below and from above sum to 100 %, ties included."""
    above = percentile_rank([-x for x in sample], -value)
    assert percentile_rank(sample, value) + above == pytest.approx(100.0)


def test_bad_input_is_told() -> None:
    """No values, values that are no numbers, and types or fractions that do not exist."""
    with pytest.raises(OutOfDomain, match="no values"):
        quantiles([], [0.5])
    with pytest.raises(OutOfDomain, match="not all numbers"):
        quantiles([1.0, float("nan")], [0.5])
    with pytest.raises(OutOfDomain, match="type 10"):
        quantiles([1.0], [0.5], 10)
    with pytest.raises(OutOfDomain, match="fractions from 0 to 1"):
        quantiles([1.0], [50.0])
    with pytest.raises(OutOfDomain, match="no values"):
        percentile_rank([], 1.0)
    with pytest.raises(OutOfDomain, match="no percentile rank"):
        percentile_rank([1.0], float("nan"))
    with pytest.raises(OutOfDomain, match="confidence 95"):
        median_ranks(10, 95)
    with pytest.raises(OutOfDomain, match="0 values"):
        median_ranks(0)

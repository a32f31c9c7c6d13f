"""Intervals of quantiles, Harrell–Davis quantiles and reference intervals."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from scipy.stats import mstats

from coilbook.errors import OutOfDomain
from coilbook.stats.intervals import (
    harrell_davis,
    quantile_interval,
    quantile_ranks,
    reference_interval,
)
from coilbook.stats.quantiles import median_ranks, quantiles

PUBLISHED: dict[str, list[dict[str, Any]]] = tomllib.loads(
    Path(__file__).with_name("published_stats.toml").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("row", PUBLISHED["reference_ranks"])
def test_ranks_of_a_reference_limit_meet_the_standard(row: dict[str, Any]) -> None:
    """CLSI EP28 (recalled): at n = 120 the 90 % interval of the 2.5 % limit is ranks (1, 7)."""
    low = quantile_ranks(row["n"], 0.025, 0.90)
    high = quantile_ranks(row["n"], 0.975, 0.90)
    assert low is not None
    assert high is not None
    assert [low.low, low.high] == row["ranks"]
    assert [row["n"] + 1 - high.high, row["n"] + 1 - high.low] == row["ranks"]


def test_below_119_a_reference_limit_has_no_interval() -> None:
    """0.975^118 > 5 % >= 0.975^119: one value fewer and the extreme leaves out too much."""
    assert 0.975**118 > 0.05 >= 0.975**119
    assert quantile_ranks(118, 0.025, 0.90) is None
    assert quantile_ranks(119, 0.025, 0.90) is not None


def test_ranks_of_the_median_are_those_of_its_own_function() -> None:
    """At p = 1/2 the floats give what the median's ranks give in whole numbers."""
    for n in range(1, 400):
        assert quantile_ranks(n, 0.5) == pytest.approx(median_ranks(n), abs=1e-12) or (
            quantile_ranks(n, 0.5) is median_ranks(n) is None
        )


@pytest.mark.parametrize("p", [0.025, 0.25, 0.5, 0.75, 0.975])
@pytest.mark.parametrize("confidence", [0.90, 0.95])
def test_ranks_leave_out_no_more_than_half_the_risk_on_each_side(
    p: float, confidence: float
) -> None:
    """By scipy's binomial distribution: both tails keep their half, and one rank in breaks it."""
    tail = (1.0 - confidence) / 2.0
    for n in range(1, 260):
        found = quantile_ranks(n, p, confidence)
        count = scipy_stats.binom(n, p)
        if found is None:
            assert count.cdf(0) > tail or count.sf(n - 1) > tail
            continue
        assert count.cdf(found.low - 1) <= tail < count.cdf(found.low)
        assert count.sf(found.high - 1) <= tail < count.sf(found.high - 2)
        held = count.cdf(found.high - 1) - count.cdf(found.low - 1)
        assert found.confidence == pytest.approx(held, abs=1e-12)


@given(sample=st.lists(st.floats(-1e6, 1e6), min_size=13, max_size=60))
@pytest.mark.parametrize("p", [0.25, 0.75])
def test_quartile_intervals_agree_with_another_library(p: float, sample: list[float]) -> None:
    """The interval of a quartile by order statistics that scipy gives has the same ends."""
    expected = scipy_stats.quantile_test(sample, q=0.0, p=p).confidence_interval(0.95)
    found = quantile_interval(sample, p)
    assert found is not None
    assert (found.low, found.high) == (expected.low, expected.high)


def test_quartiles_have_an_interval_from_13_on() -> None:
    """0.75^12 > 2.5 % >= 0.75^13: with twelve values even the extremes do not hold a quartile."""
    assert 0.75**12 > 0.025 >= 0.75**13
    assert quantile_interval(range(12), 0.25) is None
    assert quantile_interval(range(13), 0.25) is not None


@given(
    sample=st.lists(st.floats(-1e6, 1e6, allow_subnormal=False), min_size=2, max_size=60),
    p=st.floats(0.01, 0.99),
)
def test_harrell_davis_agrees_with_another_library(sample: list[float], p: float) -> None:
    """The hdquantiles of scipy give the same quantile."""
    expected = float(mstats.hdquantiles(sample, [p])[0])
    assert harrell_davis(sample, [p])[0] == pytest.approx(expected, rel=1e-9, abs=1e-6)


def test_harrell_davis_keeps_its_digits_beside_a_large_offset() -> None:
    """A billion added to every value moves the quantile by a billion, to the float's last digits.

    The reference is exact arithmetic's law; scipy's sum of weighted values loses digits here.
    """
    sample = np.random.default_rng(3).normal(size=40)
    (plain,) = harrell_davis(sample, [0.3])
    (moved,) = harrell_davis(sample + 1e9, [0.3])
    assert moved - 1e9 == pytest.approx(plain, abs=4e-7)


def test_harrell_davis_varies_less_than_one_order_statistic() -> None:
    """Why it is given at all: over 4000 normal samples of 15, its lower quartile scatters less."""
    draws = np.random.default_rng(20260314).normal(size=(4000, 15))
    smooth = np.std([harrell_davis(row, [0.25])[0] for row in draws])
    plain = np.std(np.quantile(draws, 0.25, axis=1))
    assert smooth < 0.97 * plain


def test_a_reference_interval_is_the_standard_s() -> None:
    """The values 1 … 120: limits at the ranks 0.025 · 121 and 0.975 · 121, (1, 7) about the low."""
    found = reference_interval(np.arange(1.0, 121.0))
    assert (found.low, found.high) == pytest.approx((3.025, 117.975), abs=1e-12)
    assert found.low_interval[:2] == (1.0, 7.0)
    assert found.high_interval[:2] == (114.0, 120.0)
    assert min(found.low_interval.confidence, found.high_interval.confidence) >= 0.90
    assert (found.share, found.quantile_type) == (0.95, 6)
    expected = quantiles(range(1, 121), (0.025, 0.975), 6)
    assert (found.low, found.high) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("p", "n", "confidence"), [(0.25, 13, 0.95), (0.75, 40, 0.95), (0.025, 120, 0.90)]
)
def test_quantile_intervals_cover_as_often_as_they_say(p: float, n: int, confidence: float) -> None:
    """20 000 samples of a skewed distribution: the share that covers is the stated confidence."""
    ranks = quantile_ranks(n, p, confidence)
    assert ranks is not None
    draws = np.sort(np.random.default_rng(20260314).exponential(size=(20_000, n)), axis=1)
    truth = -math.log1p(-p)
    covered = (draws[:, ranks.low - 1] <= truth) & (truth <= draws[:, ranks.high - 1])
    spread = math.sqrt(ranks.confidence * (1.0 - ranks.confidence) / len(draws))
    assert abs(covered.mean() - ranks.confidence) < 4.0 * spread


def test_bad_input_is_told() -> None:
    """Too few values, fractions in percent, and values that are no numbers."""
    with pytest.raises(OutOfDomain, match="119 values"):
        reference_interval(range(119))
    with pytest.raises(OutOfDomain, match="quantile 25"):
        quantile_interval(range(20), 25)
    with pytest.raises(OutOfDomain, match="0 values"):
        quantile_ranks(0, 0.5)
    with pytest.raises(OutOfDomain, match="between 0 and 1"):
        harrell_davis([1.0, 2.0], [1.0])
    with pytest.raises(OutOfDomain, match="not all numbers"):
        harrell_davis([1.0, float("inf")], [0.5])

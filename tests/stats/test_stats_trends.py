"""The trend over the years: against another library, by both of its ways, and by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from coilbook.errors import OutOfDomain
from coilbook.stats import trends
from coilbook.stats.trends import trend
from counted import peak_bytes_of

points = st.lists(
    st.tuples(st.integers(1950, 1965), st.integers(-20, 20)), min_size=4, max_size=40
).filter(lambda rows: len({year for year, _ in rows}) > 1)


@given(rows=points, halves=st.booleans())
def test_slope_and_interval_agree_with_another_library(
    rows: list[tuple[int, int]], halves: bool
) -> None:
    """The theilslopes of scipy give the same slope, and the same interval unless values tie.

    With ties on both sides scipy leaves two terms out of the variance of Kendall's score, and ours
    must then hold its interval.
    """
    years = [year / 2 if halves else float(year) for year, _ in rows]
    values = [value / 8 for _, value in rows]
    with np.errstate(invalid="ignore"):
        expected = scipy_stats.theilslopes(values, years, alpha=0.95, method="joint")
    # Short of those terms the variance may come out below 0; then it gives no interval.
    assume(math.isfinite(expected.low_slope))
    found = trend(years, values)
    assert found.slope == pytest.approx(float(expected.slope), abs=1e-12)
    at_zero = found.level - found.slope * found.pivot_year
    assert at_zero == pytest.approx(float(expected.intercept), abs=1e-8)
    if len(set(values)) == len(values) or len(set(years)) == len(years):
        assert found.slope_low == pytest.approx(float(expected.low_slope), abs=1e-12)
        assert found.slope_high == pytest.approx(float(expected.high_slope), abs=1e-12)
    else:
        assert found.slope_low <= expected.low_slope + 1e-12
        assert found.slope_high >= expected.high_slope - 1e-12


@given(
    rows=st.lists(
        st.tuples(st.integers(1950, 1965), st.floats(-9.0, 9.0, allow_subnormal=False)),
        min_size=8,
        max_size=40,
        unique_by=lambda row: row[1],
    ).filter(lambda rows: len({year for year, _ in rows}) > 1)
)
def test_the_interval_is_another_library_s_where_no_values_tie(
    rows: list[tuple[int, float]],
) -> None:
    """Years tie, values do not: the interval of scipy's theilslopes, to the last digits."""
    years, values = [float(year) for year, _ in rows], [value for _, value in rows]
    expected = scipy_stats.theilslopes(values, years, alpha=0.95)
    found = trend(years, values)
    assert found.slope_low == pytest.approx(float(expected.low_slope), abs=1e-12)
    assert found.slope_high == pytest.approx(float(expected.high_slope), abs=1e-12)


@given(rows=points)
def test_kendall_s_tau_agrees_with_another_library(rows: list[tuple[int, int]]) -> None:
    """The kendalltau of scipy gives the same tau-b and p-value, ties and all."""
    years, values = [float(year) for year, _ in rows], [float(value) for _, value in rows]
    found = trend(years, values)
    if len(set(values)) == 1:
        assert (found.tau, found.p_value, found.slope, found.seen) == (0.0, 1.0, 0.0, False)
        return
    expected = scipy_stats.kendalltau(years, values, variant="b", method="asymptotic")
    assert found.tau == pytest.approx(float(expected.statistic), abs=1e-12)
    assert found.p_value == pytest.approx(float(expected.pvalue), rel=1e-9, abs=1e-15)


@given(rows=points)
def test_slopes_counted_are_the_slopes_listed(rows: list[tuple[int, int]]) -> None:
    """The way for many values, which lists no slope, picks the same slopes by rank."""
    years = np.array([float(year) for year, _ in rows])
    values = np.array([value / 8 for _, value in rows])
    slopes = trends.Slopes(years, values)
    every = slopes.ranked(tuple(range(1, slopes.count + 1)))
    assert list(every) == sorted(every)
    assert len(every) == sum(a != b for i, a in enumerate(years) for b in years[:i])
    for rank in {1, slopes.count // 2 + 1, slopes.count}:
        assert slopes.sought(rank) == pytest.approx(every[rank - 1], abs=1e-11)
        assert slopes.not_above(every[rank - 1] + 1e-9) == sum(
            slope <= every[rank - 1] + 1e-9 for slope in every
        )


def test_a_straight_line_is_found_and_its_band_is_narrow() -> None:
    """Values on a line, one wild: the slope is the line's, and the band closes on it."""
    years = np.repeat(np.arange(1957.0, 1966.0), 4)
    values = 7.0 + 0.1 * (years - 1957.0)
    values[5] = 40.0
    found = trend(years, values)
    assert found.slope == pytest.approx(0.1, abs=1e-12)
    assert found.seen
    assert (found.n, found.distinct_years, found.pivot_year) == (36, 9, 1961.0)
    assert found.level == pytest.approx(7.4, abs=1e-12)
    assert [point.year for point in found.band] == list(range(1957, 1966))
    for point in found.band:
        assert point.low <= point.middle <= point.high
        assert point.high - point.low < 1e-9


def test_band_and_slope_cover_as_often_as_they_say() -> None:
    """500 archives of 24 pieces with heavy tails and values rounded: slope >= 95 %, band too.

    The band must hold the whole true line at once. Both may do better, never worse than four
    standard errors below.
    """
    draw = np.random.default_rng(20260314)
    slope_held = band_held = false_alarms = 0
    rounds = 500
    years = np.repeat(np.arange(1955.0, 1963.0), 3)
    for _ in range(rounds):
        values = np.round(7.5 + 0.05 * (years - 1955.0) + 0.2 * draw.standard_t(3, 24), 2)
        found = trend(years, values)
        slope_held += found.slope_low <= 0.05 <= found.slope_high
        band_held += all(
            point.low <= 7.5 + 0.05 * (point.year - 1955.0) <= point.high for point in found.band
        )
        false_alarms += trend(years, values - 0.05 * years).seen
    least = 0.95 - 4.0 * math.sqrt(0.95 * 0.05 / rounds)
    assert slope_held / rounds >= least
    assert band_held / rounds >= least
    assert false_alarms / rounds <= 1.0 - least


def test_the_slopes_of_a_large_group_are_never_listed() -> None:
    """6,000 pieces have 18 million slopes, 144 MB if they stood in a list: 1 MB is held at once.

    How long 20,000 take, the benchmark of Python's parts tells.
    """
    draw = np.random.default_rng(2)
    years = draw.integers(1950, 1970, 6_000).astype(float)
    values = 8.0 + 0.02 * (years - 1960.0) + draw.normal(0.0, 0.3, 6_000)
    found, held = peak_bytes_of(lambda: trend(years, values))
    assert held < 100 * values.nbytes
    assert found.slope_low < 0.02 < found.slope_high
    assert found.slope_high - found.slope_low < 0.015


def test_bad_input_is_told() -> None:
    """Three values, one year, lists of two lengths, a confidence in percent."""
    with pytest.raises(OutOfDomain, match="at least four"):
        trend([1957.0, 1958.0, 1959.0], [1.0, 2.0, 3.0])
    with pytest.raises(OutOfDomain, match="more than one year"):
        trend([1957.0] * 5, [1.0, 2.0, 3.0, 4.0, 5.0])
    with pytest.raises(OutOfDomain, match="5 years and 4 values"):
        trend([1.0, 2.0, 3.0, 4.0, 5.0], [1.0, 2.0, 3.0, 4.0])
    with pytest.raises(OutOfDomain, match="confidence 95"):
        trend([1.0, 2.0, 3.0, 4.0], [1.0, 2.0, 3.0, 4.0], 95)

"""Tolerance intervals: factors, ranks, sizes, and whether they hold what they promise."""

from __future__ import annotations

import math
import tomllib
import warnings
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats as scipy_stats

from coilbook.errors import OutOfDomain
from coilbook.stats.tolerance import (
    free_rank,
    normal_factor,
    normal_factor_one_sided,
    normal_statistic,
    tolerance_free,
    tolerance_normal,
    wilks_size,
)

with warnings.catch_warnings():
    # It looks its version up by a way that newer Pythons warn of.
    warnings.simplefilter("ignore")
    from toleranceinterval import oneside, twoside

PUBLISHED: dict[str, list[dict[str, Any]]] = tomllib.loads(
    Path(__file__).with_name("published_stats.toml").read_text(encoding="utf-8")
)
SHARES = [(0.95, 0.95), (0.90, 0.95), (0.95, 0.99), (0.5, 0.6), (0.99, 0.9)]


def half_last_digit(printed: str) -> float:
    """Return half of what one count of the last printed digit is worth."""
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    return 0.5 * 10.0**exponent


@pytest.mark.parametrize("row", PUBLISHED["normal_factors"], ids=lambda row: f"n{row['n']}")
def test_two_sided_factors_meet_published_values(row: dict[str, Any]) -> None:
    """The exact factors have the printed digits; the file names the source."""
    found = normal_factor(row["n"], row["coverage"], row["confidence"])
    assert found == pytest.approx(float(row["k"]), abs=half_last_digit(row["k"]))


@pytest.mark.parametrize("row", PUBLISHED["normal_factors_one_sided"])
def test_one_sided_factors_meet_published_values(row: dict[str, Any]) -> None:
    """The factor from the noncentral t distribution has the printed digits."""
    found = normal_factor_one_sided(row["n"], row["coverage"], row["confidence"])
    assert found == pytest.approx(float(row["k"]), abs=half_last_digit(row["k"]))


@pytest.mark.parametrize("row", PUBLISHED["howe_factors"])
def test_the_factor_is_not_the_approximate_one(row: dict[str, Any]) -> None:
    """Howe's formula, written out here, gives its printed digits, and ours is off them."""
    n, p, c = row["n"], row["coverage"], row["confidence"]
    chi = scipy_stats.chi2.ppf(1.0 - c, n - 1)
    z = scipy_stats.norm.ppf((1.0 + p) / 2.0)
    howe = z * math.sqrt((n - 1) * (1.0 + 1.0 / n) / chi)
    assert howe == pytest.approx(float(row["k"]), abs=half_last_digit(row["k"]))
    assert normal_factor(n, p, c) - howe > 0.005


@pytest.mark.parametrize("row", PUBLISHED["wilks_sizes"])
def test_distribution_free_sizes_meet_published_values(row: dict[str, Any]) -> None:
    """One-sided and two-sided sizes are the printed ones."""
    shares = row["coverage"], row["confidence"]
    assert wilks_size(*shares, 1) == row["one_sided"]
    assert wilks_size(*shares, 2) == row["two_sided"]
    assert free_rank(row["two_sided"] - 1, *shares) is None
    found = free_rank(row["two_sided"], *shares)
    assert found is not None
    assert found[0] == 1


@pytest.mark.parametrize(("coverage", "confidence"), SHARES)
@pytest.mark.parametrize("n", [2, 3, 8, 20, 92, 300])
def test_factors_agree_with_another_library(n: int, coverage: float, confidence: float) -> None:
    """The package toleranceinterval, by its own quadrature, gives the same exact factor."""
    expected = twoside.normal_factor(n, coverage, confidence, method="exact")
    assert normal_factor(n, coverage, confidence) == pytest.approx(float(expected), rel=1e-6)


@pytest.mark.parametrize(("coverage", "confidence"), SHARES)
@pytest.mark.parametrize("n", [2, 3, 8, 20, 92, 300, 1000])
def test_one_sided_factors_agree_with_other_libraries(
    n: int, coverage: float, confidence: float
) -> None:
    """The bound of toleranceinterval, and the noncentral t distribution of scipy.stats.

    A sample of n with mean 0 and standard deviation 1 has the factor itself for its bound.
    """
    k = normal_factor_one_sided(n, coverage, confidence)
    delta = scipy_stats.norm.ppf(coverage) * math.sqrt(n)
    assert scipy_stats.nct.cdf(k * math.sqrt(n), n - 1, delta) == pytest.approx(
        confidence, abs=1e-8
    )
    sample = np.arange(n) - (n - 1) / 2.0
    sample /= sample.std(ddof=1)
    assert k == pytest.approx(float(oneside.normal(sample, coverage, confidence)[0]), rel=1e-6)


@pytest.mark.parametrize(("coverage", "confidence"), SHARES)
@pytest.mark.parametrize("n", [2, 5, 20, 100, 5000])
def test_factors_solve_the_exact_equation(n: int, coverage: float, confidence: float) -> None:
    """Put back into the equation, by scipy's noncentral chi-square and adaptive quadrature."""
    from scipy.integrate import quad

    k = normal_factor(n, coverage, confidence)

    def under(t: float) -> float:
        squared = scipy_stats.ncx2.ppf(coverage, 1, t * t / n) if t else None
        if squared is None:
            squared = scipy_stats.chi2.ppf(coverage, 1)
        density = scipy_stats.norm.pdf(t)
        return float(2.0 * density * scipy_stats.chi2.sf((n - 1) * squared / k**2, n - 1))

    assert quad(under, 0.0, 8.0, epsabs=1e-10)[0] == pytest.approx(confidence, abs=1e-7)


@pytest.mark.parametrize(("coverage", "confidence"), SHARES)
def test_free_ranks_are_the_innermost(coverage: float, confidence: float) -> None:
    """By scipy's beta distribution of the share between two order statistics, one in misses."""
    for n in range(2, 400):
        found = free_rank(n, coverage, confidence)
        rank = found[0] if found else 0

        def reached(r: int, n: int = n) -> float:
            # The share between ranks r and n + 1 - r is Beta(n + 1 - 2r, 2r).
            return float(scipy_stats.beta.sf(coverage, n + 1 - 2 * r, 2 * r))

        if found:
            assert found[1] == pytest.approx(reached(rank), abs=1e-10)
            assert found[1] >= confidence
        if rank < n // 2:
            assert reached(rank + 1) < confidence


def test_intervals_are_made_of_their_factor_or_rank() -> None:
    """Mean ± k s, or the values of two ranks, with what was asked for and reached beside them."""
    sample = np.random.default_rng(5).normal(8.0, 0.3, size=30)
    found = tolerance_normal(sample)
    k = normal_factor(30)
    assert found.low == pytest.approx(sample.mean() - k * sample.std(ddof=1), abs=1e-12)
    assert found.high == pytest.approx(sample.mean() + k * sample.std(ddof=1), abs=1e-12)
    assert (found.coverage, found.confidence, found.reached) == (0.95, 0.95, 0.95)
    assert (found.method, found.factor, found.rank) == ("normal", k, None)
    assert tolerance_free(range(92)) is None
    free = tolerance_free(range(93))
    assert free is not None
    assert (free.low, free.high, free.method, free.rank) == (0.0, 92.0, "distribution_free", 1)
    assert free.reached >= 0.95


def test_normal_tolerance_intervals_hold_what_they_promise() -> None:
    """20 000 normal samples of 8: 95 % of the intervals hold 95 % of the family, by simulation."""
    draws = np.random.default_rng(20260314).normal(size=(20_000, 8))
    mean, spread = draws.mean(axis=1), draws.std(axis=1, ddof=1)
    k = normal_factor(8)
    law = scipy_stats.norm
    held = law.cdf(mean + k * spread) - law.cdf(mean - k * spread) >= 0.95
    assert abs(held.mean() - 0.95) < 4.0 * math.sqrt(0.95 * 0.05 / len(draws))


def test_free_tolerance_intervals_hold_what_they_promise() -> None:
    """20 000 samples of 93 from a skewed family: the share that holds is the stated one."""
    draws = np.random.default_rng(20260314).exponential(size=(20_000, 93))
    found = free_rank(93)
    assert found is not None
    share = np.exp(-draws.min(axis=1)) - np.exp(-draws.max(axis=1))
    spread = math.sqrt(found[1] * (1.0 - found[1]) / len(draws))
    assert abs((share >= 0.95).mean() - found[1]) < 4.0 * spread


@pytest.mark.parametrize("n", [8, 20, 90])
def test_the_normal_statistic_agrees_with_another_library(n: int) -> None:
    """The statistic of scipy's Anderson–Darling test, times the factor for small samples."""
    sample = np.random.default_rng(n).gamma(3.0, size=n)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", FutureWarning)
        plain = float(scipy_stats.anderson(sample, dist="norm").statistic)
    expected = plain * (1.0 + 0.75 / n + 2.25 / n**2)
    assert normal_statistic(sample) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("n", [8, 30])
def test_normal_samples_are_called_something_else_in_5_percent(n: int) -> None:
    """The critical value 0.752 (Stephens, recalled) is exceeded in 5 % of 8000 normal samples."""
    draws = np.random.default_rng(20260314).normal(size=(8000, n))
    share = np.mean([normal_statistic(row) >= 0.752 for row in draws])
    assert share == pytest.approx(0.05, abs=0.010)


def test_bad_input_is_told() -> None:
    """One value, shares in percent, sizes beyond reason, values all alike."""
    with pytest.raises(OutOfDomain, match="1 values"):
        normal_factor(1)
    with pytest.raises(OutOfDomain, match="coverage of 95"):
        tolerance_normal([1.0, 2.0, 3.0], 95, 0.95)
    with pytest.raises(OutOfDomain, match="order statistics"):
        normal_factor_one_sided(1001)
    with pytest.raises(OutOfDomain, match="Ask for less"):
        wilks_size(0.9999999, 0.95)
    with pytest.raises(OutOfDomain, match="needs 8"):
        normal_statistic([8.0] * 9)
    with pytest.raises(OutOfDomain, match="needs 8"):
        normal_statistic([8.0, 9.0])

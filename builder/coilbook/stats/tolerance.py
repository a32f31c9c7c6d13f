"""Tolerance intervals: where a named share of a family lies, with a named confidence."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from scipy.optimize import brentq
from scipy.special import bdtr, gammaincc, log_ndtr, nctdtrit, ndtr, ndtri

from coilbook.errors import OutOfDomain
from coilbook.stats.quantiles import Values, require_sample

#: Share of the family that a tolerance interval holds, and the confidence that it does.
TOLERANCE_COVERAGE = 0.95
TOLERANCE_CONFIDENCE = 0.95
#: Level of the test for a normal distribution, and what its statistic reaches there.
NORMAL_LEVEL = 0.05
NORMAL_CRITICAL = 0.752

ToleranceMethod = Literal["normal", "distribution_free"]

#: The standard normal holds less than 1e-16 beyond this, which is where integrals are cut.
_FAR = 8.5
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(160)


@dataclass(frozen=True, slots=True)
class ToleranceInterval:
    """An interval that holds at least ``coverage`` of a family with ``confidence``.

    ``reached`` is the confidence reached: that asked for with a normal distribution, more between
    order statistics. ``factor`` is k, for a normal distribution; ``rank`` is r, of the order
    statistics r from below and r from above.
    """

    low: float
    high: float
    coverage: float
    confidence: float
    reached: float
    method: ToleranceMethod
    factor: float | None = None
    rank: int | None = None


@cache
def normal_factor(
    n: int, coverage: float = TOLERANCE_COVERAGE, confidence: float = TOLERANCE_CONFIDENCE
) -> float:
    r"""Return the exact factor k of a two-sided tolerance interval for normal data, mean ± k s.

    Formula: 2 \int_0^\infty \varphi(t) \, P\left( \chi^2_{n-1} > \frac{(n-1) \, r^2}{k^2} \right)
        dt = c, \quad \Phi(t/\sqrt{n} + r) - \Phi(t/\sqrt{n} - r) = p
    Arguments: n n [1], coverage p [1], confidence c [1]
    Returns: k [1]
    Validity: independent values from one normal distribution, n >= 2. Solved by quadrature over all
        means the sample might have had, without Howe's approximation.
    Errors: OutOfDomain for n < 2, or a share that is not between 0 and 1.
    Source: iso-16269-6 annex F (recalled)
    """
    _require_shares(n, coverage, confidence)
    t = _FAR * (_NODES + 1.0) / 2.0
    offset = t / math.sqrt(n)
    low = np.maximum(0.0, offset + ndtri(coverage))
    high = offset + ndtri((1.0 + coverage) / 2.0)
    # Half-widths that hold the share about a mean so far off: bisected, since both ends are known.
    for _ in range(60):
        middle = (low + high) / 2.0
        short = ndtr(offset + middle) - ndtr(offset - middle) < coverage
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    weight = _WEIGHTS * _FAR * np.exp(-(t**2) / 2.0) / math.sqrt(2.0 * math.pi)
    half_chi = (n - 1) * ((low + high) / 2.0) ** 2 / 2.0

    def miss(k: float) -> float:
        return float(weight @ gammaincc((n - 1) / 2.0, half_chi / k**2)) - confidence

    top = 1.0
    while miss(top) < 0.0:
        top *= 2.0
    return float(brentq(miss, top * 1e-3, top, xtol=1e-13, rtol=1e-13))


@cache
def normal_factor_one_sided(
    n: int, coverage: float = TOLERANCE_COVERAGE, confidence: float = TOLERANCE_CONFIDENCE
) -> float:
    r"""Return the factor k of a one-sided tolerance limit for normal data, mean + k s.

    Formula: k = \frac{t_{n-1,\,c}(\delta)}{\sqrt{n}}, \quad \delta = z_p \sqrt{n}
    Arguments: n n [1], coverage p [1], confidence c [1]
    Returns: k [1]
    Validity: independent values from one normal distribution, 2 <= n <= 1000; t is the quantile of
        the noncentral t distribution.
    Errors: OutOfDomain for another n, or a share that is not between 0 and 1.
    Source: iso-16269-6 annex A (recalled)
    """
    _require_shares(n, coverage, confidence)
    if n > 1000:
        raise OutOfDomain(
            f"A one-sided factor was asked for n = {n}. Above 1000 use order statistics."
        )
    noncentrality = float(ndtri(coverage)) * math.sqrt(n)
    return float(nctdtrit(n - 1.0, noncentrality, confidence)) / math.sqrt(n)


@cache
def wilks_size(
    coverage: float = TOLERANCE_COVERAGE,
    confidence: float = TOLERANCE_CONFIDENCE,
    sides: Literal[1, 2] = 2,
) -> int:
    r"""Return how many values a distribution-free tolerance interval from the extremes needs.

    Formula: 1 - p^n \ge c for one side, 1 - n p^{n-1} + (n - 1) p^n \ge c for two
    Arguments: coverage p [1], confidence c [1], sides [1]
    Returns: n [1]
    Validity: independent values from one continuous distribution, of any shape; at most a million.
    Errors: OutOfDomain for a share that is not between 0 and 1, or that more than a million need.
    Source: common practice
    """
    _require_shares(2, coverage, confidence)
    most = 1_000_000
    found = bisect_left(
        range(sides, most + 1), confidence, key=lambda n: float(bdtr(n - sides, n, coverage))
    )
    if found > most - sides:
        raise OutOfDomain(f"A coverage of {coverage} needs over a million values. Ask for less.")
    return sides + found


@cache
def free_rank(
    n: int, coverage: float = TOLERANCE_COVERAGE, confidence: float = TOLERANCE_CONFIDENCE
) -> tuple[int, float] | None:
    r"""Return the rank r of a distribution-free tolerance interval, and the confidence it reaches.

    Formula: P(B \le n - 2 r) \ge c, \quad B \sim \mathrm{Bin}(n, p)
    Arguments: n n [1], coverage p [1], confidence c [1]
    Returns: the largest r [1] and the left side [1]; None where n is too small for r = 1
    Validity: as :func:`wilks_size`; the interval runs between the ranks r and n + 1 - r
    Errors: OutOfDomain for n < 2, or a share that is not between 0 and 1
    Source: iso-16269-6 annex G (recalled)
    """
    _require_shares(n, coverage, confidence)
    # The confidence falls as r rises: the last r that reaches it.
    rank = bisect_left(
        range(1, n // 2 + 1),
        True,
        key=lambda r: float(bdtr(n - 2 * r, n, coverage)) < confidence,
    )
    return (rank, float(bdtr(n - 2 * rank, n, coverage))) if rank else None


def tolerance_normal(
    values: Values,
    coverage: float = TOLERANCE_COVERAGE,
    confidence: float = TOLERANCE_CONFIDENCE,
) -> ToleranceInterval:
    r"""Return the two-sided tolerance interval for normal data.

    Formula: \bar{x} \pm k \, s with k from :func:`normal_factor`
    Arguments: values x [any one unit], coverage p [1], confidence c [1]
    Returns: the interval [the values' unit] with coverage and confidence
    Validity: as :func:`normal_factor`; see :func:`normal_statistic` for whether data are normal
    Errors: OutOfDomain for fewer than two values, one that is no number, or a bad share
    Source: as :func:`normal_factor`
    """
    sample = require_sample(values, "tolerance interval")
    k = normal_factor(sample.size, coverage, confidence)
    mean, spread = float(sample.mean()), float(sample.std(ddof=1))
    low, high = mean - k * spread, mean + k * spread
    return ToleranceInterval(low, high, coverage, confidence, confidence, "normal", factor=k)


def tolerance_free(
    values: Values,
    coverage: float = TOLERANCE_COVERAGE,
    confidence: float = TOLERANCE_CONFIDENCE,
) -> ToleranceInterval | None:
    """Return the distribution-free tolerance interval between two order statistics.

    Formula: [x_{(r)}, x_{(n+1-r)}] with r from :func:`free_rank`
    Arguments: values x [any one unit], coverage p [1], confidence c [1]
    Returns: the interval [the values' unit], or None where n is too small (under 93 at 95/95)
    Validity: as :func:`free_rank`
    Errors: OutOfDomain for fewer than two values, one that is no number, or a bad share
    Source: as :func:`free_rank`
    """
    ordered = np.sort(require_sample(values, "tolerance interval"))
    found = free_rank(ordered.size, coverage, confidence)
    if found is None:
        return None
    rank, reached = found
    low, high = float(ordered[rank - 1]), float(ordered[-rank])
    return ToleranceInterval(
        low, high, coverage, confidence, reached, "distribution_free", rank=rank
    )


def normal_statistic(values: Values) -> float:
    r"""Return Anderson and Darling's statistic of how far data are from a normal distribution.

    Formula: A^* = \left( -n - \frac{1}{n} \sum_{i=1}^{n} (2 i - 1) \left[ \ln \Phi(z_i) +
        \ln(1 - \Phi(z_{n+1-i})) \right] \right) \left( 1 + \frac{0.75}{n} + \frac{2.25}{n^2}
        \right)
    Arguments: values x [any one unit], with z their distances from the mean in standard deviations
    Returns: A* [1]
    Validity: n >= 8, mean and standard deviation taken from the data. A normal distribution exceeds
        ``NORMAL_CRITICAL`` (0.752) in 5 % of samples.
    Errors: OutOfDomain for fewer than 8 values, one that is no number, or all of one value.
    Source: stephens-1986 table 4.7, case 3 (recalled)
    """
    ordered = np.sort(require_sample(values, "test for a normal distribution"))
    n = ordered.size
    spread = float(ordered.std(ddof=1)) if n > 1 else 0.0
    if n < 8 or ordered[0] == ordered[-1]:
        raise OutOfDomain(
            "A test for a normal distribution needs 8 values that are not all one. "
            "List the values instead."
        )
    z = (ordered - ordered.mean()) / spread
    weight = 2.0 * np.arange(1, n + 1) - 1.0
    squared = -n - float(weight @ (log_ndtr(z) + log_ndtr(-z[::-1]))) / n
    return squared * (1.0 + 0.75 / n + 2.25 / n**2)


def _require_shares(n: int, coverage: float, confidence: float) -> None:
    if n < 2 or not 0.0 < coverage < 1.0 or not 0.0 < confidence < 1.0:
        raise OutOfDomain(
            f"No tolerance interval can be asked of {n} values for a coverage of {coverage} at "
            f"confidence {confidence}. Give at least two values, and fractions between 0 and 1."
        )

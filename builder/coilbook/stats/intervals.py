"""Quantiles with their intervals, the Harrell–Davis quantile, and reference intervals."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from scipy.special import bdtr, bdtrc, betainc

from coilbook.errors import OutOfDomain
from coilbook.stats.quantiles import Values, quantiles, require_sample
from coilbook.stats.summary import SMALLEST

#: Confidence that the interval of a quantile must reach.
QUANTILE_CONFIDENCE = 0.95
#: The share that a reference interval holds, and the confidence of the interval of each limit.
REFERENCE_SHARE = 0.95
REFERENCE_CONFIDENCE = 0.90
#: CLSI EP28 takes the limits at the ranks p (n + 1): type 6 of Hyndman and Fan.
REFERENCE_QUANTILE_TYPE = 6


class QuantileRanks(NamedTuple):
    """Ranks (from 1) of two order statistics about a quantile, and how surely they hold it."""

    low: int
    high: int
    confidence: float


class QuantileInterval(NamedTuple):
    """The interval of a quantile [unit of the values], and how surely it holds it."""

    low: float
    high: float
    confidence: float


@dataclass(frozen=True, slots=True)
class ReferenceInterval:
    """The interval that holds ``share`` of a family, with an interval for each of its limits."""

    low: float
    high: float
    low_interval: QuantileInterval
    high_interval: QuantileInterval
    share: float = REFERENCE_SHARE
    quantile_type: int = REFERENCE_QUANTILE_TYPE


@cache
def quantile_ranks(
    n: int, p: float, confidence: float = QUANTILE_CONFIDENCE
) -> QuantileRanks | None:
    r"""Return the innermost ranks that leave out a quantile on each side with half the risk.

    Formula: P(B \le r - 1) \le \tfrac{1 - c}{2}, \quad P(B \ge s) \le \tfrac{1 - c}{2}, \quad
        B \sim \mathrm{Bin}(n, p)
    Arguments: n n [1], p p [1], confidence c [1]
    Returns: r, s and P(r \le B < s) [1]
    Validity: independent values from one continuous distribution, of any shape; with ties the
        confidence is at least what is stated. None where even the extremes are not enough: a
        quartile needs n = 13 at 95 %, a limit at 2.5 % needs n = 119 at 90 %.
    Errors: OutOfDomain for n < 1, or a p or confidence that is not between 0 and 1.
    Source: common practice
    """
    if n < 1 or not 0.0 < p < 1.0 or not 0.0 < confidence < 1.0:
        raise OutOfDomain(
            f"No interval can be asked of {n} values for the quantile {p} at confidence "
            f"{confidence}. Give at least one value, and fractions between 0 and 1."
        )
    tail = (1.0 - confidence) / 2.0
    low = bisect_right(range(n), tail, key=lambda k: float(bdtr(k, n, p)))
    high = 1 + bisect_left(range(n), -tail, key=lambda k: -float(bdtrc(k, n, p)))
    if low < 1 or high > n:
        return None
    return QuantileRanks(low, high, float(bdtr(high - 1, n, p) - bdtr(low - 1, n, p)))


def quantile_interval(
    values: Values, p: float, confidence: float = QUANTILE_CONFIDENCE
) -> QuantileInterval | None:
    """Return the interval of a quantile between two order statistics.

    Formula: [x_{(r)}, x_{(s)}] with r and s from :func:`quantile_ranks`
    Arguments: values x [any one unit], p p [1], confidence c [1]
    Returns: the interval [the values' unit] with its confidence, or None where n is too small
    Validity: as :func:`quantile_ranks`; no shape of distribution is assumed
    Errors: OutOfDomain for an empty sample, a value that is no number, a bad p or confidence
    Source: as :func:`quantile_ranks`
    """
    ordered = np.sort(require_sample(values, "quantile's interval"))
    ranks = quantile_ranks(ordered.size, p, confidence)
    if ranks is None:
        return None
    low, high = ordered[ranks.low - 1], ordered[ranks.high - 1]
    return QuantileInterval(float(low), float(high), ranks.confidence)


def harrell_davis(values: Values, probabilities: Sequence[float]) -> tuple[float, ...]:
    r"""Return Harrell–Davis quantiles: every value counts, the near ones most.

    Formula: Q(p) = \sum_{i=1}^{n} x_{(i)} \left[ I_{i/n}(a, b) - I_{(i-1)/n}(a, b) \right], \quad
        a = (n + 1) p, \quad b = (n + 1)(1 - p)
    Arguments: values x [any one unit], probabilities p [1]
    Returns: Q(p) [the values' unit]
    Validity: n >= 1, 0 < p < 1. I is the regularised incomplete beta function. It varies less from
        sample to sample than one or two order statistics do, and gives way more to an outlier.
    Errors: OutOfDomain for an empty sample, a value that is no number, or a p that is not inside.
    Source: harrell-davis-1982 equation 1
    """
    ordered = np.sort(require_sample(values, "quantile"))
    if not all(0.0 < p < 1.0 for p in probabilities):
        raise OutOfDomain(
            f"A Harrell–Davis quantile was asked for at {list(probabilities)}. "
            "Use fractions between 0 and 1."
        )
    n = ordered.size
    steps = np.arange(n + 1) / n
    # Measured from the middle, so that a common offset costs no digits.
    middle = float(ordered[n // 2])
    return tuple(
        middle
        + float(np.diff(betainc((n + 1.0) * p, (n + 1.0) * (1.0 - p), steps)) @ (ordered - middle))
        for p in probabilities
    )


def reference_interval(values: Values) -> ReferenceInterval:
    r"""Return the central 95 % reference interval, each limit with its 90 % interval.

    Formula: limits x_{(0.025 (n + 1))} and x_{(0.975 (n + 1))}, between ranks in proportion; each
        limit's interval from :func:`quantile_ranks` with c = 0.90
    Arguments: values x [any one unit]
    Returns: the limits and their intervals [the values' unit]
    Validity: n >= 120; no shape of distribution is assumed. Outliers are kept.
    Errors: OutOfDomain for fewer values, or a value that is no number.
    Source: clsi-ep28 nonparametric method (recalled)
    """
    sample = require_sample(values, "reference interval")
    needs = SMALLEST["reference_interval"]
    if sample.size < needs:
        raise OutOfDomain(
            f"A reference interval was asked of {sample.size} values. It needs {needs}: "
            "list the values, or give a tolerance interval."
        )
    tail = (1.0 - REFERENCE_SHARE) / 2.0
    low, high = quantiles(sample, (tail, 1.0 - tail), REFERENCE_QUANTILE_TYPE)
    about_low = quantile_interval(sample, tail, REFERENCE_CONFIDENCE)
    about_high = quantile_interval(sample, 1.0 - tail, REFERENCE_CONFIDENCE)
    assert about_low is not None, "119 values are enough for the interval of a limit"
    assert about_high is not None, "119 values are enough for the interval of a limit"
    return ReferenceInterval(low, high, about_low, about_high)

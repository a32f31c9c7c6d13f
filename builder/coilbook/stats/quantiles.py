"""Order statistics: quantiles of a named type, the median's interval, percentile ranks."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from functools import cache
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import betainc

from coilbook.errors import OutOfDomain

Values = Sequence[float] | npt.NDArray[np.float64]
RankKind = Literal["strict", "weak", "mean"]
_Method = Literal[
    "inverted_cdf",
    "averaged_inverted_cdf",
    "closest_observation",
    "interpolated_inverted_cdf",
    "hazen",
    "weibull",
    "linear",
    "median_unbiased",
    "normal_unbiased",
]

#: The type of quantile that is given wherever none is named.
QUANTILE_TYPE = 7
#: numpy's names for the nine types of Hyndman and Fan.
_METHODS: MappingProxyType[int, _Method] = MappingProxyType(
    {
        1: "inverted_cdf",
        2: "averaged_inverted_cdf",
        3: "closest_observation",
        4: "interpolated_inverted_cdf",
        5: "hazen",
        6: "weibull",
        7: "linear",
        8: "median_unbiased",
        9: "normal_unbiased",
    }
)

#: Confidence that the interval of a median must reach.
MEDIAN_CONFIDENCE = 0.95


class MedianRanks(NamedTuple):
    """Ranks (from 1) of the two order statistics about a median, and how surely they hold it."""

    low: int
    high: int
    confidence: float


class MedianInterval(NamedTuple):
    """The interval of a median [unit of the values], and how surely it holds it."""

    low: float
    high: float
    confidence: float


def quantiles(
    values: Values, probabilities: Sequence[float], kind: int = QUANTILE_TYPE
) -> tuple[float, ...]:
    r"""Return quantiles of a sample, of a type named after Hyndman and Fan.

    Formula: Q(p) = x_{(j)} + \gamma (x_{(j+1)} - x_{(j)}), \quad j + \gamma = (n - 1) p + 1
    Arguments: values x [any one unit], probabilities p [1]
    Returns: Q(p) [the values' unit]
    Validity: n >= 1, 0 <= p <= 1. The formula is that of type 7; type 6 takes (n + 1) p for the
        position, held within 1 and n.
    Errors: OutOfDomain for an empty sample, a value that is no number, a p or type that is not one.
    Source: hyndman-fan-1996 definitions 6 and 7
    """
    if kind not in _METHODS:
        raise OutOfDomain(f"There is no quantile type {kind}. Use one from 1 to 9.")
    sample = require_sample(values, "quantile")
    if not all(0.0 <= p <= 1.0 for p in probabilities):
        raise OutOfDomain(
            f"A quantile was asked for at {list(probabilities)}. Use fractions from 0 to 1."
        )
    found = np.quantile(sample, np.asarray(probabilities), method=_METHODS[kind])
    return tuple(float(q) for q in found)


@cache
def median_ranks(n: int, confidence: float = MEDIAN_CONFIDENCE) -> MedianRanks | None:
    r"""Return the innermost pair of ranks that holds the median with the confidence asked for.

    Formula: 1 - 2 \sum_{i=0}^{r-1} \binom{n}{i} 2^{-n} \ge c
    Arguments: n n [1], confidence c [1]
    Returns: r [1]
    Validity: independent values from one continuous distribution, of any shape; with ties the
        confidence is at least what is stated. The median then lies between the values of ranks r
        and n + 1 - r; under n = 6 there is no such pair at 95 %.
    Errors: OutOfDomain for n < 1 or a confidence outside 0 to 1.
    Source: common practice

    Reckoned in whole numbers up to n = 1000, so exact before the last division. Beyond, where these
    get long, by the incomplete beta function, to some 14 digits.
    """
    if n < 1 or not 0.0 < confidence < 1.0:
        raise OutOfDomain(
            f"No interval can be asked of {n} values at confidence {confidence}. "
            "Give at least one value and a confidence between 0 and 1."
        )
    if n > _IN_WHOLE_NUMBERS:
        return _ranks_of_many(n, confidence)
    found: MedianRanks | None = None
    total, below, term = 2**n, 0, 1
    for rank in range(1, n // 2 + 1):
        below += term  # outcomes with B <= rank - 1
        reached = (total - 2 * below) / total
        if reached < confidence:
            break
        found = MedianRanks(rank, n + 1 - rank, reached)
        term = term * (n - rank + 1) // rank
    return found


#: Up to so many values the median's ranks are reckoned in whole numbers.
_IN_WHOLE_NUMBERS = 1000


def _ranks_of_many(n: int, confidence: float) -> MedianRanks | None:
    def reached(rank: int) -> float:
        return 1.0 - 2.0 * float(betainc(n + 1 - rank, rank, 0.5))

    # The confidence falls as the ranks move inwards.
    within = bisect_left(range(1, n // 2 + 1), True, key=lambda rank: reached(rank) < confidence)
    return MedianRanks(within, n + 1 - within, reached(within)) if within else None


def median_interval(values: Values, confidence: float = MEDIAN_CONFIDENCE) -> MedianInterval | None:
    """Return the interval of the median between two order statistics.

    Formula: [x_{(r)}, x_{(n+1-r)}] with r from :func:`median_ranks`
    Arguments: values x [any one unit], confidence [1]
    Returns: the interval [the values' unit] with its confidence, or None where n is too small
    Validity: as :func:`median_ranks`; no shape of distribution is assumed
    Errors: OutOfDomain for an empty sample, a value that is no number, or a bad confidence
    Source: as :func:`median_ranks`
    """
    ordered = np.sort(require_sample(values, "median's interval"))
    ranks = median_ranks(ordered.size, confidence)
    if ranks is None:
        return None
    low, high = ordered[ranks.low - 1], ordered[ranks.high - 1]
    return MedianInterval(float(low), float(high), ranks.confidence)


def percentile_rank(values: Values, value: float, kind: RankKind = "mean") -> float:
    r"""Return where a value stands in a sample, in percent.

    Formula: P = 100 \frac{n_{<} + n_{\le}}{2 n}
    Arguments: values x [any one unit], value v [the same unit]
    Returns: P [%]
    Validity: n >= 1, with n< values below v and n≤ values not above it. This is the mean rank; the
        strict rank counts n< alone, the weak one n≤. The sample must not hold the value's own
        piece.
    Errors: OutOfDomain for an empty sample or a value that is no number.
    Source: common practice
    """
    sample = require_sample(values, "percentile rank")
    if not math.isfinite(value):
        raise OutOfDomain(f"{value} has no percentile rank. Give a number.")
    strict = 100.0 * float(np.count_nonzero(sample < value)) / sample.size
    weak = 100.0 * float(np.count_nonzero(sample <= value)) / sample.size
    if kind == "strict":
        return strict
    return weak if kind == "weak" else (strict + weak) / 2.0


def require_sample(values: Values, what: str) -> npt.NDArray[np.float64]:
    """Return a sample as an array; OutOfDomain if it is empty or not all numbers."""
    sample = np.asarray(values, dtype=np.float64)
    if sample.size == 0:
        raise OutOfDomain(f"No {what} can be taken of no values. Give at least one.")
    if not np.isfinite(sample).all():
        raise OutOfDomain(f"A {what} was asked of values that are not all numbers. Leave them out.")
    return sample

"""Spread that a few odd values cannot move, and the odd values by a named rule."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri, stdtrit

from coilbook.errors import OutOfDomain
from coilbook.stats.quantiles import Values, require_sample

#: What makes each spread that of a normal distribution: 1.482602 and 2.219144.
MAD_CONSISTENCY = 1.0 / float(ndtri(0.75))
QN_CONSISTENCY = 1.0 / (math.sqrt(2.0) * float(ndtri(0.625)))
#: Qn's factors for n = 2 to 9.
_QN_SMALL = (0.399, 0.994, 0.512, 0.844, 0.611, 0.857, 0.669, 0.872)

#: The one rule by which a value is called an outlier, and its level.
OUTLIER_RULE = "generalised-esd"
OUTLIER_LEVEL = 0.05
#: No more outliers are looked for than this share of the values, and than this many.
OUTLIER_SHARE = 0.2
OUTLIERS_AT_MOST = 50


@dataclass(frozen=True, slots=True)
class Outliers:
    """Which values stand out, by place in the sample, and by which rule.

    ``level`` is the rule's chance of flagging anything in a clean normal sample; ``looked_for`` is
    how many there could have been at the most. They are flagged and kept, never removed.
    """

    indices: tuple[int, ...]
    looked_for: int
    rule: str = OUTLIER_RULE
    level: float = OUTLIER_LEVEL


def median_absolute_deviation(values: Values) -> float:
    r"""Return the median distance from the median, scaled to a normal standard deviation.

    Formula: \mathrm{MAD} = 1.4826 \; \mathrm{med} \, |x_i - \mathrm{med} \, x|
    Arguments: values x [any one unit]
    Returns: MAD [the values' unit]
    Validity: n >= 1. Half of the values may be anything. No factor for small samples is applied: at
        n = 10 it comes out some 7 % low.
    Errors: OutOfDomain for an empty sample or a value that is no number.
    Source: common practice
    """
    sample = require_sample(values, "spread")
    return MAD_CONSISTENCY * float(np.median(np.abs(sample - np.median(sample))))


def qn(values: Values) -> float:
    r"""Return Qn: the spread by the small differences between all pairs of values.

    Formula: Q_n = d_n \cdot 2.2191 \cdot \{ |x_i - x_j| ; i < j \}_{(k)}, \quad k =
        \binom{\lfloor n/2 \rfloor + 1}{2}
    Arguments: values x [any one unit]
    Returns: Q_n [the values' unit]
    Validity: n >= 2. Half of the values may be anything, and no centre is needed. d_n makes it
        unbiased for small normal samples: tabled to n = 9, then n / (n + 1.4) for odd n and
        n / (n + 3.8) for even n.
    Errors: OutOfDomain for fewer than two values, or one that is no number.
    Source: rousseeuw-croux-1993 section 3; d_n after croux-rousseeuw-1992 section 4 (recalled)
    """
    ordered = np.sort(require_sample(values, "spread"))
    n = ordered.size
    if n < 2:
        raise OutOfDomain("A spread was asked of one value. Give at least two.")
    correction = _QN_SMALL[n - 2] if n <= 9 else n / (n + (1.4 if n % 2 else 3.8))
    return correction * QN_CONSISTENCY * _pair_difference(ordered, math.comb(n // 2 + 1, 2))


def _pair_difference(ordered: npt.NDArray[np.float64], k: int) -> float:
    """Return the k-th smallest difference between pairs of sorted values, in O(n log n).

    Differences are never listed: those up to a limit are counted by one search for each value, and
    the limit is halved in on until the k-th is all that is left.
    """
    ordered = ordered - ordered[0]
    places = np.arange(1, ordered.size + 1)

    def last_within(limit: float) -> npt.NDArray[np.intp]:
        return np.searchsorted(ordered, ordered + limit, side="right")

    def enough(limit: float) -> bool:
        return int((last_within(limit) - places).sum()) >= k

    if enough(0.0):
        return 0.0
    low, high = 0.0, float(ordered[-1])
    while low < (middle := (low + high) / 2.0) < high:
        low, high = (low, middle) if enough(middle) else (middle, high)
    return float((ordered[last_within(high) - 1] - ordered).max())


def critical_deviate(n: int, tail: float) -> float:
    r"""Return how far, in standard deviations, the farthest of n normal values may lie.

    Formula: G = \frac{n - 1}{\sqrt{n}} \sqrt{\frac{t^2}{n - 2 + t^2}}, \quad t = t_{n-2, 1-q}
    Arguments: n n [1], tail q [1]
    Returns: G [1]
    Validity: n >= 3; q is the level shared out among the n values: level / n for a test of one
        named side, level / (2 n) for both. Mean and standard deviation are of all n values.
    Errors: OutOfDomain for n < 3 or a tail that is not between 0 and 1/2.
    Source: nist-sematech 1.3.5.17.1, Grubbs' test
    """
    if n < 3 or not 0.0 < tail < 0.5:
        raise OutOfDomain(
            f"An outlier was looked for among {n} values with a tail of {tail}. "
            "Give at least three values, and a tail between 0 and 1/2."
        )
    t_squared = float(stdtrit(n - 2.0, tail)) ** 2
    return (n - 1) / math.sqrt(n) * math.sqrt(t_squared / (n - 2 + t_squared))


def outliers(values: Values, level: float = OUTLIER_LEVEL) -> Outliers:
    r"""Flag values that are too far out for a normal sample, by the generalised ESD test.

    Formula: R_i = \frac{\max |x - \bar{x}|}{s}, flag the first i values taken off where i is the
        last with R_i > G(n - i + 1, \tfrac{\alpha}{2 (n - i + 1)}), G from
        :func:`critical_deviate`
    Arguments: values x [any one unit], level \alpha [1]
    Returns: places of the flagged values in the sample [1]
    Validity: n >= 8, the rest of the values about normal; a skewed family has more flagged. At most
        a fifth of the values, and fifty, are looked for: more odd ones than that are no outliers
        but another kind of piece. Under n = 10 this is Grubbs' test of both sides, whose level is
        exact; from there on, 6 to 7 % of clean samples have a value flagged at a level of 5 %.
    Errors: OutOfDomain for fewer than 8 values, one that is no number, or a bad level.
    Source: rosner-1983; nist-sematech 1.3.5.17.3

    Chosen among the usual rules because its level holds for the group as a whole, whatever n: a
    fixed cut of so many deviations flags some clean piece in most large groups. It finds several
    outliers that hide one another, which Grubbs' test alone does not.
    """
    sample = require_sample(values, "search for outliers")
    n = sample.size
    if n < 8 or not 0.0 < level < 1.0:
        raise OutOfDomain(
            f"Outliers were looked for among {n} values at level {level}. "
            "Give at least 8 values, and a level between 0 and 1."
        )
    looked_for = min(OUTLIERS_AT_MOST, max(1, int(OUTLIER_SHARE * n)))
    order = np.argsort(sample, kind="stable")
    ordered = sample[order]
    taken: list[int] = []
    flagged = 0
    first, last = 0, n  # what is left is a run of the sorted values: only its ends come off
    for count in range(1, looked_for + 1):
        left = ordered[first:last]
        mean, spread = float(left.mean()), float(left.std(ddof=1))
        if spread == 0.0 or left[0] == left[-1]:
            break
        below, above = mean - float(left[0]), float(left[-1]) - mean
        if below > above:
            taken.append(int(order[first]))
            first += 1
        else:
            last -= 1
            taken.append(int(order[last]))
        if max(below, above) / spread > critical_deviate(left.size, level / (2 * left.size)):
            flagged = count
    return Outliers(tuple(sorted(taken[:flagged])), looked_for, level=level)

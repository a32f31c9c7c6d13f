"""How a property moves over the years: the median of all slopes, with a band."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from coilbook.errors import OutOfDomain
from coilbook.stats.intervals import quantile_interval
from coilbook.stats.quantiles import Values, require_sample

TREND_CONFIDENCE = 0.95
#: A trend is told where at least so many distinct years are met; how many pieces it takes is in
#: the table of coilbook.stats.summary, like all such numbers.
TREND_DISTINCT_YEARS = 5
#: Only pieces dated to within so many years count: a wide guess at a year flattens every slope.
TREND_YEARS_WIDE = 5.0
#: Up to so many pairs of values all slopes are listed; beyond, they are counted unlisted.
_PAIRS_LISTED = 2_000_000

_Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """The line at one year, and the band about it [unit of the values]."""

    year: float
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Trend:
    """A robust straight line over the years.

    ``slope``, ``slope_low`` and ``slope_high`` are per year. The line passes through ``level`` at
    ``pivot_year``. ``tau`` is Kendall's tau-b, ``p_value`` that of no trend at all, two-sided.
    ``band`` holds the whole true line with ``confidence``: it is of the line, not of the pieces.
    """

    n: int
    distinct_years: int
    slope: float
    slope_low: float
    slope_high: float
    pivot_year: float
    level: float
    tau: float
    p_value: float
    band: tuple[TrendPoint, ...]
    confidence: float = TREND_CONFIDENCE

    @property
    def seen(self) -> bool:
        """Whether the data show a trend: one as strong comes by chance in under 5 % of cases."""
        return self.p_value < 1.0 - self.confidence


class Slopes:
    """All slopes between pairs of points of different years: counted, or picked by rank."""

    def __init__(self, years: _Floats, values: _Floats) -> None:
        self.years, self.values = years, values
        self.codes = np.unique(years, return_inverse=True)[1].astype(np.int64)
        n = years.size
        self.pairs = n * (n - 1) // 2
        self.count = self.pairs - _tied(years, 2)

    def not_above(self, slope: float) -> int:
        """Return how many slopes are not above one, in O(n log n).

        The slope of two points is not above ``slope`` where what is left of the later one after
        ``slope * year`` is taken off is not above that of the earlier one. Sorted by what is left,
        the later year then stands first: such pairs are counted as one counts a disorder.
        """
        left = self.values - slope * self.years
        return _disorder(self.codes[np.lexsort((-self.codes, left))])

    def ranked(self, ranks: tuple[int, ...]) -> tuple[float, ...]:
        """Return the slopes of these ranks, from 1."""
        if self.pairs <= _PAIRS_LISTED:
            return tuple(float(self._listed[rank - 1]) for rank in ranks)
        return tuple(self.sought(rank) for rank in ranks)

    @cached_property
    def _listed(self) -> _Floats:
        later, earlier = np.nonzero(self.codes[:, None] > self.codes[None, :])
        run = self.years[later] - self.years[earlier]
        return np.sort((self.values[later] - self.values[earlier]) / run)

    def sought(self, rank: int) -> float:
        """Return the slope of one rank without listing any, to 1e-13 of the steepest."""
        high = float(np.ptp(self.values) / np.diff(np.unique(self.years)).min())
        low = -high
        # 45 halvings leave 1e-13 of what the steepest slope could be.
        for _ in range(45):
            middle = (low + high) / 2.0
            low, high = (low, middle) if self.not_above(middle) >= rank else (middle, high)
        return high


def trend(years: Values, values: Values, confidence: float = TREND_CONFIDENCE) -> Trend:
    r"""Return the robust straight line of values over years, with a band.

    Formula: b = \mathrm{med}_{t_i < t_j} \frac{x_j - x_i}{t_j - t_i}; its interval between the
        slopes of ranks \tfrac{1}{2} (M \mp z \sqrt{\mathrm{Var}(S)}), M slopes, S Kendall's score
    Arguments: years t [year], values x [any one unit], confidence c [1]
    Returns: the line, its interval and band [the values' unit, per year for slopes]
    Validity: n >= 4 values that do not all fall in one year, independent, about one straight line.
        Up to 29 % of them may be anything. Variances are corrected for ties; the normal
        approximation of S is good from about n = 10 on.
    Errors: OutOfDomain for too few values or years, lists of two lengths, what is no number.
    Source: sen-1968; Kendall's tau-b and the variance of S with ties: common practice

    The band holds the whole line at once: it is made of the interval of the slope and that of the
    median of what the line leaves over, each missed half as often as the band may be (Bonferroni).
    """
    t, x = require_sample(years, "trend"), require_sample(values, "trend")
    if not 0.0 < confidence < 1.0:
        raise OutOfDomain(f"A trend was asked at confidence {confidence}. Use one within 0 to 1.")
    if t.size != x.size or t.size < 4 or t.min() == t.max():
        raise OutOfDomain(
            f"A trend was asked of {t.size} years and {x.size} values. "
            "Give at least four of each, one year for each value, and more than one year."
        )
    slopes = Slopes(t, x)
    count = slopes.count
    spread = math.sqrt(max(0.0, _score_variance(t, x)))  # 0 but for rounding, of one value alone
    outer = _rank_pair(count, spread, confidence)
    inner = _rank_pair(count, spread, (1.0 + confidence) / 2.0)
    ranks = ((count + 1) // 2, count // 2 + 1, *outer, *inner)
    one, other, slope_low, slope_high, steep_low, steep_high = slopes.ranked(ranks)
    slope = (one + other) / 2.0
    pivot = float(np.median(t))
    rest = x - slope * (t - pivot)
    level = float(np.median(rest))
    about = quantile_interval(rest, 0.5, (1.0 + confidence) / 2.0)
    level_low, level_high = (about.low, about.high) if about else (rest.min(), rest.max())
    tau, p_value = _kendall(t, x, slopes)
    band = tuple(
        TrendPoint(
            float(year),
            float(level_low + min(steep_low * off, steep_high * off)),
            level + slope * off,
            float(level_high + max(steep_low * off, steep_high * off)),
        )
        for year, off in ((year, float(year) - pivot) for year in np.unique(t))
    )
    return Trend(
        n=t.size,
        distinct_years=len(band),
        slope=slope,
        slope_low=slope_low,
        slope_high=slope_high,
        pivot_year=pivot,
        level=level,
        tau=tau,
        p_value=p_value,
        band=band,
        confidence=confidence,
    )


def _rank_pair(count: int, spread: float, confidence: float) -> tuple[int, int]:
    """Return the ranks of the two slopes that hold the true one, within what slopes there are."""
    reach = float(ndtri((1.0 + confidence) / 2.0)) * spread
    low = max(round((count - reach) / 2.0), 1)
    high = min(round((count + reach) / 2.0) + 1, count)
    return low, high


def _ties(values: _Floats) -> _Floats:
    counts = np.unique(values, return_counts=True)[1]
    return counts[counts > 1].astype(np.float64)


def _tied(values: _Floats, among: int) -> int:
    """Return the pairs (or threes) of values that are one and the same."""
    return sum(math.comb(int(count), among) for count in _ties(values))


def _score_variance(t: _Floats, x: _Floats) -> float:
    """Return the variance of Kendall's score where there is no trend, ties on both sides counted.

    All three terms: without the last two, which libraries leave out of the interval of a slope,
    ties on both sides make the interval too narrow.
    """
    n = float(t.size)

    def part(sizes: _Floats) -> float:
        return float((sizes * (sizes - 1.0) * (2.0 * sizes + 5.0)).sum())

    whole = n * (n - 1.0) * (2.0 * n + 5.0)
    return (
        (whole - part(_ties(t)) - part(_ties(x))) / 18.0
        + 2.0 * _tied(t, 2) * _tied(x, 2) / (n * (n - 1.0))
        + 4.0 * _tied(t, 3) * _tied(x, 3) / (n * (n - 1.0) * (n - 2.0))
    )


def _kendall(t: _Floats, x: _Floats, slopes: Slopes) -> tuple[float, float]:
    """Return Kendall's tau-b and the two-sided p-value of no trend, ties corrected for."""
    tied_t, tied_x = _tied(t, 2), _tied(x, 2)
    if tied_x == slopes.pairs:
        return 0.0, 1.0
    codes_x = np.unique(x, return_inverse=True)[1]
    falling_or_level = slopes.not_above(0.0)
    both = _tied((slopes.codes * t.size + codes_x).astype(np.float64), 2)
    level = tied_x - both  # of one value in two years: a slope of 0
    score = slopes.count - 2 * falling_or_level + level
    tau = score / math.sqrt((slopes.pairs - tied_t) * (slopes.pairs - tied_x))
    variance = _score_variance(t, x)
    return tau, float(2.0 * ndtr(-abs(score) / math.sqrt(variance)))


def _disorder(codes: npt.NDArray[np.int64]) -> int:
    """Return how many pairs of whole numbers stand in falling order.

    Bit by bit from the highest: numbers alike in all higher bits are a run, in their old order, and
    each 0 in it is out of order with every 1 before it.
    """
    found = 0
    for bit in reversed(range(int(codes.max()).bit_length())):
        # In runs already: a stable sort by this bit too makes the runs of the next.
        ones = (codes >> bit) & 1
        before = np.cumsum(ones)
        above = codes >> (bit + 1)
        starts = np.flatnonzero(np.diff(above, prepend=-1))
        lengths = np.diff(starts, append=codes.size)
        base = np.repeat(before[starts] - ones[starts], lengths)
        found += int((before - base)[ones == 0].sum())
        codes = codes[np.argsort(codes >> bit, kind="stable")]
    return found

"""All that may be said of one group beyond its summary, and what may not, with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from coilbook.stats.intervals import (
    QuantileInterval,
    ReferenceInterval,
    harrell_davis,
    quantile_interval,
    reference_interval,
)
from coilbook.stats.robust import Outliers, median_absolute_deviation, outliers, qn
from coilbook.stats.summary import SMALLEST, Item, Member, Summary, allowed
from coilbook.stats.tolerance import (
    NORMAL_CRITICAL,
    ToleranceInterval,
    normal_statistic,
    tolerance_free,
    tolerance_normal,
    wilks_size,
)
from coilbook.stats.trends import TREND_DISTINCT_YEARS, TREND_YEARS_WIDE, Trend, trend

WhyWithheld = Literal[
    "too_few",  # it takes ``needs`` values
    "too_few_dated",  # it takes ``needs`` closely dated pieces
    "too_few_years",  # it takes pieces of ``needs`` different years
    "not_normal",  # it takes a normal distribution, or ``needs`` values of any
    "all_one_value",  # there is no spread to reckon with
]


@dataclass(frozen=True, slots=True)
class Withheld:
    """One thing that is not said of a group: why, what it has and what it would need."""

    item: Item
    why: WhyWithheld
    has: int
    needs: int


@dataclass(frozen=True, slots=True)
class Detail:
    """What is said of a group beside its summary [values in the summary's unit].

    What is None is in ``withheld`` with its reason. ``smooth_quartiles`` are Harrell and Davis's.
    ``mad`` and ``qn`` are standard deviations as a normal distribution would have them.
    ``outliers`` names the rule, its level and how many were looked for; ``outlier_pieces`` are
    those it flags. They are kept in every figure.
    """

    n: int
    lower_quartile_interval: QuantileInterval | None
    upper_quartile_interval: QuantileInterval | None
    smooth_quartiles: tuple[float, float, float] | None
    mad: float | None
    qn: float | None
    outliers: Outliers | None
    outlier_pieces: tuple[str, ...]
    tolerance: ToleranceInterval | None
    reference: ReferenceInterval | None
    trend: Trend | None
    withheld: tuple[Withheld, ...]


def detail_of(summary: Summary) -> Detail:
    """Return all that may be said of a group: see :data:`coilbook.stats.summary.SMALLEST`.

    Formula: each as its own function has it, at its usual coverage, confidence and level
    Validity: a tolerance interval is distribution-free where n allows (93 at 95/95); under that it
        is a normal one, if Anderson and Darling's test at 5 % has nothing against that. A trend
        takes pieces dated to within ``TREND_YEARS_WIDE`` years, in ``TREND_DISTINCT_YEARS``
        different years.
    Errors: none of its own
    """
    values = np.array([member.value for member in summary.members], dtype=np.float64)
    n = values.size
    said = allowed(n)
    withheld = [
        Withheld(item, "too_few", n, least) for item, least in SMALLEST.items() if item not in said
    ]
    drawn = "distribution" in said
    odd = outliers(values) if "outliers" in said else None
    quartiles = "quartile_intervals" in said
    tolerance = _tolerance(values, withheld) if "tolerance_interval" in said else None
    smooth = harrell_davis(values, (0.25, 0.5, 0.75)) if drawn else None
    return Detail(
        n=n,
        lower_quartile_interval=quantile_interval(values, 0.25) if quartiles else None,
        upper_quartile_interval=quantile_interval(values, 0.75) if quartiles else None,
        smooth_quartiles=None if smooth is None else (smooth[0], smooth[1], smooth[2]),
        mad=median_absolute_deviation(values) if "spread" in said else None,
        qn=qn(values) if "spread" in said else None,
        outliers=odd,
        outlier_pieces=tuple(summary.members[i].piece_id for i in odd.indices) if odd else (),
        tolerance=tolerance,
        reference=reference_interval(values) if "reference_interval" in said else None,
        trend=_trend(summary.members, withheld) if "trend" in said else None,
        withheld=tuple(withheld),
    )


def _tolerance(
    values: npt.NDArray[np.float64], withheld: list[Withheld]
) -> ToleranceInterval | None:
    free = tolerance_free(values)
    if free is not None:
        return free
    why: WhyWithheld | None = None
    if values.min() == values.max():
        why = "all_one_value"
    elif normal_statistic(values) >= NORMAL_CRITICAL:
        why = "not_normal"
    if why is None:
        return tolerance_normal(values)
    withheld.append(Withheld("tolerance_interval", why, values.size, wilks_size()))
    return None


def _trend(members: tuple[Member, ...], withheld: list[Withheld]) -> Trend | None:
    dated = [
        (m.year, m.value)
        for m in members
        if m.year is not None and m.years_wide <= TREND_YEARS_WIDE
    ]
    different = len({year for year, _ in dated})
    least = SMALLEST["trend"]
    if len(dated) < least:
        withheld.append(Withheld("trend", "too_few_dated", len(dated), least))
        return None
    if different < TREND_DISTINCT_YEARS:
        withheld.append(Withheld("trend", "too_few_years", different, TREND_DISTINCT_YEARS))
        return None
    return trend([year for year, _ in dated], [value for _, value in dated])

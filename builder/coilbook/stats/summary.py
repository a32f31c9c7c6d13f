"""What stats hands to the later rooms: groups of comparable values and their summaries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from coilbook.core.observing.peers import SMALLEST_DRAWN, SMALLEST_FOR_TAILS, GroupKey
from coilbook.core.reduction.reduced_value import Flag
from coilbook.core.seen import ArchiveKind

#: Why a value is in no group; data, worded by the templates.
WhyLeftOut = Literal["rewound", "open_circuit", "bound_only", "no_uncertainty"] | Flag
QUANTILE_TYPE = 7
#: What may be said of a group, beside the list of its values and its extremes.
Item = Literal[
    "distribution",
    "median_interval",
    "quartile_intervals",
    "tails",
    "spread",
    "outliers",
    "tolerance_interval",
    "reference_interval",
    "trend",
]

#: From how many values on each of them is said. Below 8 the values are listed, nothing else.
SMALLEST: Mapping[Item, int] = MappingProxyType(
    {
        "distribution": SMALLEST_DRAWN,
        "median_interval": 8,
        "spread": 8,
        "outliers": 8,
        # Up to 92 only where nothing speaks against a normal distribution.
        "tolerance_interval": 8,
        # With fewer, not even the extremes hold a quartile with 95 %.
        "quartile_intervals": 13,
        # From here on at least one value is expected beyond each of the 5 % and 95 % quantiles
        # (n / 20 >= 1). With fewer, they would only tell the extremes again, under a name that
        # promises more.
        "tails": SMALLEST_FOR_TAILS,
        # Of dated pieces; they must also fall in enough different years.
        "trend": 20,
        "reference_interval": 120,
    }
)


def allowed(n: int) -> tuple[Item, ...]:
    """Return what may be said of a group of n values, in the order of :data:`SMALLEST`."""
    return tuple(item for item, least in SMALLEST.items() if n >= least)


@dataclass(frozen=True, slots=True)
class Member:
    """One value of a group: a piece is in a group once.

    ``year`` is the middle of its span of years, and ``years_wide`` how wide that span is.
    """

    piece_id: str
    value: float
    standard_uncertainty: float
    year: float | None
    years_wide: float = 0.0


@dataclass(frozen=True, slots=True)
class LeftOut:
    """One value that could not enter its family's groups, and why."""

    family_id: str
    piece_id: str
    component: str
    property_id: str
    why: WhyLeftOut


@dataclass(frozen=True, slots=True)
class Summary:
    """A group summarised, values in ``unit``.

    Quantiles follow the type of Hyndman and Fan named in ``quantile_type``. The median's interval
    runs between two order statistics and covers at least ``median_confidence``. What is None is not
    said of so few values (:data:`SMALLEST`). ``drawable`` is False below n = 8: then list the
    members instead. More is said by :func:`coilbook.stats.detail_of`.
    """

    key: GroupKey
    kind: ArchiveKind
    unit: str
    members: tuple[Member, ...]
    n: int
    minimum: float
    lower_quartile: float
    median: float
    upper_quartile: float
    maximum: float
    low_5: float | None
    high_95: float | None
    median_interval: tuple[float, float] | None
    median_confidence: float | None
    quantile_type: int = QUANTILE_TYPE

    @property
    def drawable(self) -> bool:
        """Whether n is large enough for a distribution to be drawn."""
        return self.n >= SMALLEST_DRAWN

"""What stats hands to the later rooms: groups of comparable values and their summaries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from coilbook.core.observing.peers import SMALLEST_DRAWN, SMALLEST_FOR_TAILS, GroupKey
from coilbook.core.reduction.reduced_value import Flag
from coilbook.core.seen import ArchiveKind

if TYPE_CHECKING:
    from coilbook.stats.quantiles import MedianInterval

#: Why a value is in no group; data, worded by the templates.
WhyLeftOut = Literal["rewound", "open_circuit", "bound_only", "no_uncertainty"] | Flag
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


@dataclass(frozen=True)
class Summary:
    """A group summarised, values in ``unit``; each figure is reckoned when it is first asked for.

    So a group costs nothing to have: of most that an archive makes, one command asks nothing, and
    numpy alone takes longer to load than one piece to measure.

    Quantiles follow the type of Hyndman and Fan named in ``quantile_type``. The median's interval
    runs between two order statistics and covers at least ``median_confidence``. What is None is not
    said of so few values (:data:`SMALLEST`). ``drawable`` is False below n = 8: then list the
    members instead. More is said by :func:`coilbook.stats.detail.detail_of`.
    """

    key: GroupKey
    kind: ArchiveKind
    unit: str
    members: tuple[Member, ...]

    @property
    def n(self) -> int:
        """How many values there are."""
        return len(self.members)

    @cached_property
    def _quantiles(self) -> tuple[float, ...]:
        from coilbook.stats.quantiles import quantiles

        probabilities = (0.0, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0)
        return quantiles([member.value for member in self.members], probabilities)

    @cached_property
    def _interval(self) -> MedianInterval | None:
        from coilbook.stats.quantiles import median_interval

        if "median_interval" not in allowed(self.n):
            return None
        return median_interval([member.value for member in self.members])

    @property
    def minimum(self) -> float:
        """The smallest value."""
        return self._quantiles[0]

    @property
    def lower_quartile(self) -> float:
        """The value with a quarter of the others below it."""
        return self._quantiles[2]

    @property
    def median(self) -> float:
        """The value in the middle."""
        return self._quantiles[3]

    @property
    def upper_quartile(self) -> float:
        """The value with a quarter of the others above it."""
        return self._quantiles[4]

    @property
    def maximum(self) -> float:
        """The largest value."""
        return self._quantiles[6]

    @property
    def low_5(self) -> float | None:
        """The 5 % quantile, of enough values."""
        return self._quantiles[1] if "tails" in allowed(self.n) else None

    @property
    def high_95(self) -> float | None:
        """The 95 % quantile, of enough values."""
        return self._quantiles[5] if "tails" in allowed(self.n) else None

    @property
    def median_interval(self) -> tuple[float, float] | None:
        """The two values between which the median of all such pieces lies."""
        found = self._interval
        return (found.low, found.high) if found is not None else None

    @property
    def median_confidence(self) -> float | None:
        """How surely it lies there."""
        return self._interval.confidence if self._interval is not None else None

    @property
    def quantile_type(self) -> int:
        """The type of the quantiles, as Hyndman and Fan number them."""
        from coilbook.stats.quantiles import QUANTILE_TYPE

        return QUANTILE_TYPE

    @property
    def drawable(self) -> bool:
        """Whether n is large enough for a distribution to be drawn."""
        return self.n >= SMALLEST_DRAWN

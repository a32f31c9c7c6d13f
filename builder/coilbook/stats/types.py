"""What stats hands to the later rooms: groups of comparable values and their summaries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilbook.measures.types import Flag

ArchiveKind = Literal["measured", "invented"]
#: Why a value is in no group; data, worded by the templates.
WhyLeftOut = Literal["rewound", "open_circuit", "bound_only", "no_uncertainty"] | Flag
QUANTILE_TYPE = 7
SMALLEST_DRAWN = 8
#: From here on at least one value is expected beyond each of the 5 % and 95 % quantiles (n / 20
#: >= 1). With fewer, they would only tell the extremes again, under a name that promises more.
SMALLEST_FOR_TAILS = 20


@dataclass(frozen=True, slots=True)
class GroupKey:
    """Which values belong together; None stands for every period, or every position."""

    family_id: str
    property_id: str
    component: str
    period_id: str | None = None
    position: str | None = None


@dataclass(frozen=True, slots=True)
class Member:
    """One value of a group: a piece is in a group once."""

    piece_id: str
    value: float
    standard_uncertainty: float
    year: float | None


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
    runs between two order statistics and covers at least ``median_confidence``; it is None where n
    is too small for one. ``drawable`` is False below n = 8: then list the members instead.
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

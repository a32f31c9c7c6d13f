"""Statistics of groups: what is usual, from how many, and how surely."""

from coilbook.stats.groups import Summaries, one_kind, periods_within, summarise, summary_of
from coilbook.stats.quantiles import median_interval, median_ranks, percentile_rank, quantiles
from coilbook.stats.types import (
    QUANTILE_TYPE,
    SMALLEST_DRAWN,
    ArchiveKind,
    GroupKey,
    LeftOut,
    Member,
    Summary,
    WhyLeftOut,
)

__all__ = [
    "QUANTILE_TYPE",
    "SMALLEST_DRAWN",
    "ArchiveKind",
    "GroupKey",
    "LeftOut",
    "Member",
    "Summaries",
    "Summary",
    "WhyLeftOut",
    "median_interval",
    "median_ranks",
    "one_kind",
    "percentile_rank",
    "periods_within",
    "quantiles",
    "summarise",
    "summary_of",
]

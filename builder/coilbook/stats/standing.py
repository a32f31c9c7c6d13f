"""Where a value stands among its peers, looked up and not reckoned anew for each piece."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right

from coilbook.stats.types import Standing, Summary


class Ranked:
    """A group sorted once, from which one piece at a time can be left out.

    To leave one out of a sorted list is to skip one place: quartiles of the others are then read
    off, where reckoning them anew costs time in proportion to the group for every piece in it.
    """

    def __init__(self, summary: Summary) -> None:
        self._key, self._unit = summary.key, summary.unit
        self._own = {member.piece_id: member.value for member in summary.members}
        self._values = sorted(self._own.values())

    def standing(self, value: float, without: str) -> Standing | None:
        """Return where a value stands among all but one piece; None if nobody else is there.

        Formula: as :func:`coilbook.stats.quantiles.percentile_rank` (mean) and
        :func:`coilbook.stats.quantiles.quantiles` (type 7)
        Arguments: value [the group's unit]; a piece that is no member leaves the group as it is
        """
        values = self._values
        own = self._own.get(without)
        n = len(values) - (own is not None)
        if n < 1:
            return None
        below = bisect_left(values, value)
        not_above = bisect_right(values, value)
        skipped = len(values)
        if own is not None:
            skipped = bisect_left(values, own)
            below -= own < value
            not_above -= own <= value

        def quantile(p: float) -> float:
            place = (n - 1) * p
            lower = math.floor(place)
            upper = min(lower + 1, n - 1)
            one, other = values[lower + (lower >= skipped)], values[upper + (upper >= skipped)]
            share = place - lower
            # From the nearer end, as numpy does, so that both ways give the same digits.
            if share >= 0.5:
                return other - (other - one) * (1.0 - share)
            return one + (other - one) * share

        return Standing(
            key=self._key,
            unit=self._unit,
            n=n,
            percentile=(100.0 * below / n + 100.0 * not_above / n) / 2.0,
            minimum=quantile(0.0),
            lower_quartile=quantile(0.25),
            median=quantile(0.5),
            upper_quartile=quantile(0.75),
            maximum=quantile(1.0),
        )

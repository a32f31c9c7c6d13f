"""Where a value stands among its peers, looked up and not reckoned anew for each piece."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right

from coilbook.core.observing.peers import GroupSeen, Standing

_QUARTILES = (0.0, 0.25, 0.5, 0.75, 1.0)


class Ranked:
    """A group sorted once, from which one piece at a time can be left out.

    To leave one out of a sorted list is to skip one place: quartiles of the others are then read
    off, where reckoning them anew costs time in proportion to the group for every piece in it.

    ``numbers`` gives each piece of an archive a number, the same in all of its groups: a group then
    keeps two arrays where a dictionary by piece would be as large as all of the readings.
    """

    def __init__(self, summary: GroupSeen, numbers: dict[str, int]) -> None:
        self._key, self._unit = summary.key, summary.unit
        self._numbers = numbers
        members = sorted(
            (numbers.setdefault(member.piece_id, len(numbers)), member.value)
            for member in summary.members
        )
        self._pieces = [number for number, _ in members]
        self._own = [value for _, value in members]
        self._values = sorted([value for _, value in members])
        self._of_all = self._quartiles(len(self._values), len(self._values))
        self._without = self._without_each()

    def standing(self, value: float, without: str) -> Standing | None:
        """Return where a value stands among all but one piece; None if nobody else is there.

        Formula: as :func:`coilbook.stats.quantiles.percentile_rank` (mean) and
        :func:`coilbook.stats.quantiles.quantiles` (type 7)
        Arguments: value [the group's unit]; a piece that is no member leaves the group as it is
        """
        values = self._values
        n = len(values)
        below = not_above = bisect_left(values, value)
        # Mostly the value is in the group, and once.
        if below < n and values[below] == value:
            not_above = below + 1
            if not_above < n and values[not_above] == value:
                not_above = bisect_right(values, value, not_above)
        quartiles = self._of_all
        number = self._numbers.get(without, -1)
        at = bisect_left(self._pieces, number)
        if at < n and self._pieces[at] == number:
            own = self._own[at]
            n -= 1
            if n < 1:
                return None
            below -= own < value
            not_above -= own <= value
            skipped = below if own == value else bisect_left(values, own)
            places, found = self._without
            quartiles = found[bisect_right(places, skipped)]
        return Standing(
            self._key,
            self._unit,
            n,
            (100.0 * below / n + 100.0 * not_above / n) / 2.0,
            *quartiles,
        )

    def _without_each(self) -> tuple[list[int], list[tuple[float, ...]]]:
        """Return the quartiles that are left with each place skipped, as steps over the places.

        Skipping a place moves what lies above it down by one. The quartiles rest on a few places
        only, so that they change at those alone.
        """
        n = len(self._values) - 1
        if n < 1:
            return [], [()]
        rests_on: set[int] = set()
        for p in _QUARTILES:
            lower = math.floor((n - 1) * p)
            rests_on |= {lower + 1, min(lower + 1, n - 1) + 1}
        places = sorted(rests_on)
        return places, [self._quartiles(n, skipped) for skipped in (places[0] - 1, *places)]

    def _quartiles(self, n: int, skipped: int) -> tuple[float, ...]:
        """Return the extremes and quartiles of n values: all of them but the one skipped."""
        values = self._values

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

        return tuple(quantile(p) for p in _QUARTILES)

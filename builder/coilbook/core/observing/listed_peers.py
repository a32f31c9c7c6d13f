"""The peers that a page has: each family's values as lists, with the groups that each is in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from coilbook.core.observing.peers import (
    SMALLEST_DRAWN,
    SMALLEST_FOR_TAILS,
    GroupKey,
    Standing,
)
from coilbook.core.observing.rank import Ranked
from coilbook.core.seen import ArchiveKind


class ListedMember(NamedTuple):
    """One value of a list; whose it is, is not told."""

    piece_id: str
    value: float


class ListedGroup(NamedTuple):
    """The values of one group, in order of size."""

    key: GroupKey
    unit: str
    members: tuple[ListedMember, ...]


class ListedPeers:
    """Groups out of lists.

    ``values`` has by property and part its numbers in order of size, and for each the place of its
    group in ``groups``, which has the periods that hold a piece's whole span of years, and its
    position.
    """

    def __init__(
        self,
        kind: ArchiveKind,
        groups: Sequence[tuple[Sequence[str], str | None]],
        values: Mapping[str, tuple[Sequence[float], Sequence[int]]],
    ) -> None:
        self.kind = kind
        self._groups = groups
        self._values = values
        self._ranked: dict[GroupKey, Ranked] = {}
        self._lists: dict[GroupKey, list[float]] = {}

    def of(self, key: GroupKey) -> list[float]:
        """Return a group's values in order of size; kept, since every key asks for the same."""
        if key not in self._lists:
            self._lists[key] = self._listed(key)
        return self._lists[key]

    def _listed(self, key: GroupKey) -> list[float]:
        found = self._values.get(f"{key.property_id}|{key.component}")
        if found is None:
            return []
        numbers, places = found
        return [
            number
            for number, place in zip(numbers, places, strict=True)
            if self._is_in(self._groups[place], key)
        ]

    def _is_in(self, group: tuple[Sequence[str], str | None], key: GroupKey) -> bool:
        in_time = key.period_id is None or key.period_id in group[0]
        return in_time and (key.position is None or key.position == group[1])

    def standing(self, key: GroupKey, value: float, without: str) -> Standing | None:
        """Return where a value stands in a group; ``without`` is in none of them."""
        ranked = self._ranked.get(key)
        if ranked is None:
            members = tuple([ListedMember(str(at), v) for at, v in enumerate(self.of(key))])
            if not members:
                return None
            ranked = Ranked(ListedGroup(key, "", members), {})
            self._ranked[key] = ranked
        return ranked.standing(value, without)


def quantile_of(ordered: Sequence[float], p: float) -> float:
    """Return a quantile of values in order of size, of type 7: as ``quantiles`` of stats/."""
    place = (len(ordered) - 1) * p
    lower = math.floor(place)
    upper = min(lower + 1, len(ordered) - 1)
    one, other = ordered[lower], ordered[upper]
    share = place - lower
    # From the nearer end, as numpy does, so that both ways give the same digits.
    if share >= 0.5:
        return other - (other - one) * (1.0 - share)
    return one + (other - one) * share


def summary_told(ordered: Sequence[float]) -> dict[str, Any] | None:
    """Return what a strip draws of a group's values in order of size; None of no values."""
    n = len(ordered)
    if n == 0:
        return None
    tails = n >= SMALLEST_FOR_TAILS
    return {
        "n": n,
        "drawable": n >= SMALLEST_DRAWN,
        "minimum": ordered[0],
        "low_5": quantile_of(ordered, 0.05) if tails else None,
        "lower_quartile": quantile_of(ordered, 0.25),
        "median": quantile_of(ordered, 0.5),
        "upper_quartile": quantile_of(ordered, 0.75),
        "high_95": quantile_of(ordered, 0.95) if tails else None,
        "maximum": ordered[n - 1],
    }

"""The pieces that a value is placed among: which they are, and where it stands among them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple, Protocol

from coilbook.core.seen import ArchiveKind, PeriodSeen, PieceRowSeen, ReferenceSeen
from coilbook.errors import KindsMixed

#: From so many values on a distribution is drawn, and a place among them given.
SMALLEST_DRAWN = 8
#: From here on at least one value is expected beyond each of the 5 % and 95 % quantiles.
SMALLEST_FOR_TAILS = 20


class GroupKey(NamedTuple):
    """Which values belong together; None stands for every period, or every position."""

    family_id: str
    property_id: str
    component: str
    period_id: str | None = None
    position: str | None = None


class Standing(NamedTuple):
    """Where a value stands among the others of a group, values in ``unit``; n >= 1 others."""

    key: GroupKey
    unit: str
    n: int
    percentile: float
    minimum: float
    lower_quartile: float
    median: float
    upper_quartile: float
    maximum: float


class MemberSeen(Protocol):
    """One value of a group, with its piece."""

    @property
    def piece_id(self) -> str: ...

    @property
    def value(self) -> float: ...


class GroupSeen(Protocol):
    """A group's values, in one unit."""

    @property
    def key(self) -> GroupKey: ...

    @property
    def unit(self) -> str: ...

    @property
    def members(self) -> Sequence[MemberSeen]: ...


class PeersSeen(Protocol):
    """An archive's groups, as far as one piece is placed among them."""

    @property
    def kind(self) -> ArchiveKind: ...

    def standing(self, key: GroupKey, value: float, without: str) -> Standing | None: ...


def periods_within(piece: PieceRowSeen, reference: ReferenceSeen) -> tuple[PeriodSeen, ...]:
    """Return the periods that hold a piece's whole span of years, earliest first.

    An undated piece is in none: its years may be any.
    """
    first, last = piece.year_first, piece.year_last
    if first is None or last is None:
        return ()
    return tuple(
        period
        for period in reference.periods_of(piece.family_id)
        if period.first_year <= first and last <= period.last_year
    )


def one_kind(kinds: Iterable[ArchiveKind]) -> ArchiveKind:
    """Return the one kind that all of these are.

    Errors: KindsMixed where they differ: what is invented never meets what is measured.
    """
    found = sorted(set(kinds))
    if len(found) != 1:
        raise KindsMixed(
            f"Records of kinds {' and '.join(found)} cannot go into one statistic. "
            "Keep each archive's records and summaries apart."
        )
    return found[0]

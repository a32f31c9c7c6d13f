"""Groups of comparable values, by family, property, component, period and position."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Mapping
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple, get_args

from coilbook.core.observing.peers import GroupKey, Standing, one_kind, periods_within
from coilbook.core.observing.rank import Ranked
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import Flag, ReducedValue
from coilbook.core.seen import ArchiveKind
from coilbook.errors import OutOfDomain, UnknownPiece
from coilbook.records.contents import Piece, PublicArchive, Reference
from coilbook.records.tables.cells import Component
from coilbook.records.tables.models import PieceRow
from coilbook.stats.summary import LeftOut, Member, Summary, WhyLeftOut

if TYPE_CHECKING:
    from coilbook.stats.detail import Detail

#: Flags that keep a value out of every group; :func:`summarise` says why.
_KEPT_OUT: tuple[Flag, ...] = (
    "calibration_lapsed",
    "parallel_impossible",
    "parallel_unknown",
    "assumed_construction",
)


class Summaries:
    """Every group of one archive, summarised, in the order of the reference.

    ``kind`` is the archive's. ``left_out`` has every quantity that did not enter, with its reason.
    """

    def __init__(
        self, kind: ArchiveKind, summaries: Iterable[Summary], left_out: Iterable[LeftOut] = ()
    ) -> None:
        self._by_key = {summary.key: summary for summary in summaries}
        self.kind = one_kind((kind, *(summary.kind for summary in self._by_key.values())))
        self.left_out = tuple(left_out)
        self._details: dict[GroupKey, Detail] = {}
        self._ranked: dict[GroupKey, Ranked] = {}
        self._numbers: dict[str, int] = {}
        self._without = ""
        self._standing: dict[tuple[GroupKey, float], Standing | None] = {}

    def get(self, key: GroupKey) -> Summary | None:
        """Return a group's summary, or None of a group without a member."""
        return self._by_key.get(key)

    def of_family(self, family_id: str) -> tuple[Summary, ...]:
        """Return the summaries of one family, in the order of the reference."""
        return tuple(s for s in self._by_key.values() if s.key.family_id == family_id)

    def left_out_of(self, family_id: str) -> tuple[LeftOut, ...]:
        """Return what did not enter the groups of one family, in the order of the archive."""
        return tuple(left for left in self.left_out if left.family_id == family_id)

    def peers(self, key: GroupKey, without: str) -> Summary | None:
        """Return a group summarised without one piece, or None if nobody else is in it.

        A piece that is no member (a rewound one, say) leaves the group as it is.
        """
        summary = self._by_key.get(key)
        if summary is None:
            return None
        others = tuple(m for m in summary.members if m.piece_id != without)
        if len(others) == summary.n:
            return summary
        return summary_of(key, summary.kind, summary.unit, others) if others else None

    def standing(self, key: GroupKey, value: float, without: str) -> Standing | None:
        """Return where a value stands in a group without one piece, or None if nobody else is in.

        It says what :meth:`peers` and :func:`percentile_rank` would, but at once however large the
        group: it sorts a group once and then looks places up.
        """
        # One piece is asked for again and again: for its place, and by what is observed of it.
        if without != self._without:
            self._without, self._standing = without, {}
        asked = key, value
        if asked not in self._standing:
            ranked = self._ranked.get(key)
            if ranked is None:
                summary = self._by_key.get(key)
                if summary is None:
                    return None
                ranked = self._ranked[key] = Ranked(summary, self._numbers)
            self._standing[asked] = ranked.standing(value, without)
        return self._standing[asked]

    def detail(self, key: GroupKey) -> Detail | None:
        """Return all that may be said of a group, reckoned when first asked for."""
        summary = self._by_key.get(key)
        if summary is None:
            return None
        if key not in self._details:
            from coilbook.stats.detail import detail_of

            self._details[key] = detail_of(summary)
        return self._details[key]


def summary_of(key: GroupKey, kind: ArchiveKind, unit: str, members: tuple[Member, ...]) -> Summary:
    """Summarise one group: extremes, quartiles, median and its interval [all in ``unit``].

    Formula: see :func:`coilbook.stats.quantiles.quantiles` (type 7) and
    :func:`coilbook.stats.quantiles.median_interval`
    Validity: at least one member. What is given from which n on is in
    :data:`coilbook.stats.summary.SMALLEST`.
    Errors: OutOfDomain for a group without members
    """
    if not members:
        raise OutOfDomain("A group was summarised that nobody is in. Give at least one value.")
    return Summary(key, kind, unit, members)


def summarise(
    archive: PublicArchive, measured: Mapping[str, MeasuredPiece], reference: Reference
) -> Summaries:
    """Summarise what an archive measured, group by group.

    A group is a family, a quantity and a component, over every period or one, and every position or
    one; each group with at least one member gets a summary. A piece counts once in a group, by the
    value that stands for it (``MeasuredPiece.best``). It is in a period if its whole span of years
    lies within it; an undated piece, or one whose span crosses a boundary, is only in the group
    over every period.

    What enters, and what does not:

    - Rewound pieces never enter. Repaired ones do (lead, cover and the like, on the first winding),
      and so do those whose state is unknown.
    - Bounds and open circuits do not: no number stands for them.
    - A value off an instrument past its calibration does not: how far off it is, nobody knows.
    - A value read above the resistance said to be in parallel does not: its record contradicts
      itself. Nor does one with an unknown path in parallel: it is a lower bound.
    - A value that rests on the family's usual wire and bobbin (turns from a resistance) does not:
      the group would show the assumption, and one error in it moves every member alike.
    - A value whose temperature or instrument is not known does enter. An assumed temperature's
      uncertainty is large but honest; the group is of values and weighs none of them.

    ``Summaries.left_out`` lists all that did not enter.

    Errors: UnknownPiece where ``measured`` lacks a piece of the archive.
    """
    return summaries_of(
        archive.settings.kind,
        (_gathered_from(piece, measured, reference) for piece in archive.pieces.values()),
        reference,
    )


def _gathered_from(
    piece: Piece, measured: Mapping[str, MeasuredPiece], reference: Reference
) -> Gathered:
    piece_id = piece.row.piece_id
    if piece_id not in measured:
        raise UnknownPiece(
            f"Piece {piece_id} has not been measured. Measure every piece, then summarise."
        )
    return gather(piece.row, measured[piece_id], reference)


class Gathered(NamedTuple):
    """What one piece brings to its archive's groups; as small as can be, to be handed about.

    ``values`` are component, property, value and standard uncertainty [the property's unit] of what
    enters, ``left_out`` are component, property and reason of what does not. ``periods`` hold the
    piece's whole span of years, whose middle is ``year``.
    """

    piece_id: str
    family_id: str
    position: str
    periods: tuple[str, ...]
    year: float | None
    years_wide: float
    values: tuple[tuple[str, str, float, float], ...]
    left_out: tuple[tuple[str, str, WhyLeftOut], ...]


def gather(piece: PieceRow, measured: MeasuredPiece, reference: Reference) -> Gathered:
    """Return what a piece brings to its archive's groups, by the rules of :func:`summarise`."""
    values: list[tuple[str, str, float, float]] = []
    left_out: list[tuple[str, str, WhyLeftOut]] = []
    for (component, property_id), value in measured.best.items():
        if reference.properties[property_id].kind != "quantity":
            continue
        entry = _entry(piece, value)
        if isinstance(entry, tuple):
            values.append((component, property_id, *entry))
        else:
            left_out.append((component, property_id, entry))
    first, last = piece.year_first, piece.year_last
    return Gathered(
        piece.piece_id,
        piece.family_id,
        piece.position or "",
        tuple([period.period_id for period in periods_within(piece, reference)]),
        (first + last) / 2.0 if first is not None and last is not None else None,
        float(last - first) if first is not None and last is not None else 0.0,
        tuple(values),
        tuple(left_out),
    )


def summaries_of(
    kind: ArchiveKind, gathered: Iterable[Gathered], reference: Reference
) -> Summaries:
    """Summarise what the pieces of one archive bring, each by :func:`gather`, in their order.

    So an archive can be measured in shares, by several processes, and summarised as a whole.
    """
    members: list[Member] = []
    left_out: list[LeftOut] = []
    #: Of each sort of member, their places in the list: members of one sort are in the same groups.
    sorts: dict[_Sort, array[int]] = {}
    for one in gathered:
        for component, property_id, why in one.left_out:
            left_out.append(LeftOut(one.family_id, one.piece_id, component, property_id, why))
        for component, property_id, value, u in one.values:
            sort = (one.family_id, property_id, component, one.periods, one.position)
            places = sorts.get(sort)
            if places is None:
                places = sorts[sort] = array("l")
            places.append(len(members))
            members.append(Member(one.piece_id, value, u, one.year, one.years_wide))

    groups = _grouped(sorts)
    return Summaries(
        kind,
        (
            summary_of(
                key,
                kind,
                reference.properties[key.property_id].unit or "",
                # In the archive's order, whatever sorts they are of.
                tuple([members[place] for place in sorted(chain(*groups[key]))]),
            )
            for key in sorted(groups, key=_Order(reference))
        ),
        left_out,
    )


#: Family, property, component, the periods that hold the piece's years, and position or "".
_Sort = tuple[str, str, str, tuple[str, ...], str]


def _grouped(sorts: Mapping[_Sort, array[int]]) -> dict[GroupKey, list[array[int]]]:
    """Return every group with its members' places, as those of the sorts that are in it.

    A group is over all periods or in one, and over all positions or at one. No sort is in a group
    twice: a piece within two periods counts once over all periods.
    """
    groups: dict[GroupKey, list[array[int]]] = {}
    for (family_id, property_id, component, periods, position), places in sorts.items():
        for period_id in (None, *periods):
            for at in (None, position) if position else (None,):
                key = GroupKey(family_id, property_id, component, period_id, at)
                groups.setdefault(key, []).append(places)
    return groups


def _entry(piece: PieceRow, value: ReducedValue) -> tuple[float, float] | WhyLeftOut:
    """Return a value with its uncertainty, or the first reason that keeps it out of its groups."""
    if piece.state == "rewound":
        return "rewound"
    if value.value is None:
        return "open_circuit"
    for flag in _KEPT_OUT:
        if flag in value.flags:
            return flag
    if value.calibration == "lapsed":
        return "calibration_lapsed"
    if not value.comparable:
        return "bound_only"
    if value.standard_uncertainty is None:
        return "no_uncertainty"
    return value.value, value.standard_uncertainty


class _Order:
    """The order of groups: as the reference's files have it, the widest group first."""

    def __init__(self, reference: Reference) -> None:
        self._families = {
            family_id: (index, {name: i for i, name in enumerate(family.positions)})
            for index, (family_id, family) in enumerate(reference.families.items())
        }
        self._properties = {name: i for i, name in enumerate(reference.properties)}
        self._components = {name: i for i, name in enumerate(get_args(Component))}
        self._periods = {
            period.period_id: index
            for family_id in reference.families
            for index, period in enumerate(reference.periods_of(family_id))
        }

    def __call__(self, key: GroupKey) -> tuple[int, int, int, int, int, str]:
        family, positions = self._families[key.family_id]
        position = key.position or ""
        return (
            family,
            self._properties[key.property_id],
            self._components[key.component],
            -1 if key.period_id is None else self._periods[key.period_id],
            # A position that the family does not list comes after those that it does.
            -1 if key.position is None else positions.get(position, len(positions)),
            position,
        )

"""The front of the core for a page: its tables from plain rows, and a piece told by them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from coilbook.core.judging.claims import breakable_limits
from coilbook.core.observing.assess import assess
from coilbook.core.observing.listed_peers import ListedPeers, summary_told
from coilbook.core.observing.peers import GroupKey
from coilbook.core.observing.told import told
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.seen import (
    ArchiveKind,
    BobbinSeen,
    ClaimOrigin,
    ClaimRowSeen,
    ClaimSeen,
    FamilySeen,
    FeatureSeen,
    MagnetSeen,
    PeriodSeen,
    PieceSeen,
    PropertySeen,
    ReferenceSeen,
    ThresholdsSeen,
    WireSeen,
)


@dataclass(frozen=True, slots=True)
class ListedClaim:
    """A claim as a page has it: its numbers are read already."""

    row: ClaimRowSeen
    property: PropertySeen
    origin: ClaimOrigin
    low: float | None
    typical: float | None
    high: float | None
    breakable: tuple[float | None, float | None]


def listed_claim(
    row: ClaimRowSeen,
    property: PropertySeen,
    origin: ClaimOrigin,
    numbers: tuple[float | None, float | None, float | None],
) -> ListedClaim:
    """Return a claim from its row and its numbers: low, typical, high."""
    low, typical, high = numbers
    limits = breakable_limits(low, high, property)
    return ListedClaim(row, property, origin, low, typical, high, limits)


class ListedReference:
    """The documented side from plain rows, each list in the order of its file."""

    def __init__(
        self,
        properties: Sequence[PropertySeen],
        families: Sequence[FamilySeen],
        periods: Sequence[PeriodSeen],
        features: Sequence[FeatureSeen],
        wires: Sequence[WireSeen],
        bobbins: Sequence[BobbinSeen],
        magnets: Sequence[MagnetSeen],
        claims: Sequence[ClaimSeen],
    ) -> None:
        self.properties = {row.property_id: row for row in properties}
        self.families = {row.family_id: row for row in families}
        self.features = {row.feature_id: row for row in features}
        self.wires = {row.wire_id: row for row in wires}
        self.bobbins = {row.bobbin_id: row for row in bobbins}
        self.magnets = {row.magnet_id: row for row in magnets}
        self.claims = tuple(claims)
        self._periods = periods

    def periods_of(self, family_id: str) -> tuple[PeriodSeen, ...]:
        """Return the periods of a family, earliest first."""
        mine = [period for period in self._periods if period.family_id == family_id]
        return tuple(sorted(mine, key=lambda period: (period.first_year, period.last_year)))

    def claims_on(self, family_id: str, property_id: str) -> tuple[ClaimSeen, ...]:
        """Return the claims of a property of a family, of every period and position."""
        return tuple(
            [
                claim
                for claim in self.claims
                if claim.row.family_id == family_id and claim.row.property_id == property_id
            ]
        )


@dataclass(frozen=True, slots=True)
class ListedSettings:
    """An archive's settings, as far as a piece is judged by them."""

    kind: ArchiveKind
    thresholds: ThresholdsSeen


@dataclass(frozen=True, slots=True)
class ListedArchive:
    """An archive's settings and its own claims."""

    settings: ListedSettings
    claims: tuple[ClaimSeen, ...]


def listed_archive(
    kind: ArchiveKind, thresholds: ThresholdsSeen, claims: Sequence[ClaimSeen]
) -> ListedArchive:
    """Return an archive from plain rows."""
    return ListedArchive(ListedSettings(kind, thresholds), tuple(claims))


def piece_told(
    piece: PieceSeen,
    reference: ReferenceSeen,
    archive: ListedArchive,
    peers: ListedPeers,
    workings: bool = True,
) -> Mapping[str, Any]:
    """Return all that is said of a piece, with the peers that each value is placed among."""
    measured = measure_piece(piece, reference)
    assessment = assess(piece, measured, archive, reference, peers)
    data = told(measured, assessment, workings)
    for value in data["values"]:
        for place in value["places"]:
            key = GroupKey(
                piece.row.family_id,
                value["property_id"],
                value["component"],
                place["period_id"],
                place["position"],
            )
            ordered = peers.of(key)
            place["peers_sorted"] = ordered
            place["summary"] = summary_told(ordered)
    return data


def listed_peers(
    kind: ArchiveKind,
    groups: Sequence[tuple[Sequence[str], str | None]],
    values: Sequence[tuple[str, tuple[Sequence[float], Sequence[int]]]],
) -> ListedPeers:
    """Return an archive's peers from plain lists: see :class:`ListedPeers`."""
    return ListedPeers(kind, groups, dict(values))

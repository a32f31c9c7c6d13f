"""A piece against every period of its family and of the families it may be taken for.

Each period is held against everything that was measured and seen. What comes out says which
periods nothing speaks against; it never dates a piece and authenticates nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from operator import itemgetter
from typing import Literal, NamedTuple

from coilbook.core.judging.claims import Held, PeriodsHeld, claims_of, ids_of
from coilbook.core.judging.judge import Judged
from coilbook.core.judging.verdict import Verdict, VerdictWord
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import (
    ArchiveSeen,
    ClaimSeen,
    FamilySeen,
    FeatureSeen,
    PeriodSeen,
    PieceSeen,
    ReferenceSeen,
)

CellWord = Literal["consistent", "not_consistent", "too_close_to_call", "not_measured", "no_claim"]

#: What a rewinding replaces: of a rewound piece these say nothing of its period.
WINDING_PROPERTIES = frozenset(
    {
        "coil-resistance",
        "pair-resistance",
        "coil-difference",
        "coil-imbalance",
        "coil-turns",
        "pair-turns",
        "coil-inductance",
        "pair-inductance",
        "coil-inductance-ratio",
        "pair-inductance-ratio",
        "coil-quality",
        "pair-quality",
        "coil-extra-loss",
        "pair-extra-loss",
        "pair-loss-surplus",
        "self-capacitance",
        "resonant-frequency",
        "wire-gauge",
        "wire-insulation",
        "wire-mass",
        "winding-sense",
        "potting",
    }
)

Key = tuple[str, str]


class Cell(NamedTuple):
    """One property of one part against one period, with the verdicts that it rests on.

    Where practice disagrees, one claim that agrees is enough for ``consistent``.
    """

    component: str
    property_id: str
    word: CellWord
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, slots=True)
class FeatureCell:
    """One feature seen against one period: ``no_claim`` where the feature has no years."""

    feature_id: str
    word: CellWord


class PeriodRow(NamedTuple):
    """One period against everything that was measured and seen.

    ``contradictions`` counts what is not consistent, of both, and ``agreements`` what is.
    """

    family_id: str
    period_id: str
    cells: tuple[Cell, ...]
    features: tuple[FeatureCell, ...]
    contradictions: int
    agreements: int


@dataclass(frozen=True, slots=True)
class Span:
    """The years that all features with years agree on; an end that nothing limits is None.

    ``conflicts`` are pairs of features that cannot both be original, the earlier one first; with
    any of them there are no years that all agree on, and both ends are None.
    """

    first_year: int | None
    last_year: int | None
    rests_on: tuple[str, ...]
    conflicts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Consistency:
    """All periods that a piece was held against, those with the fewest contradictions first.

    ``left_out`` are properties that say nothing since the piece was rewound.
    """

    piece_id: str
    rows: tuple[PeriodRow, ...]
    span: Span
    left_out: tuple[str, ...]

    @property
    def open_rows(self) -> tuple[PeriodRow, ...]:
        """Return the periods that nothing speaks against."""
        return tuple(row for row in self.rows if not row.contradictions)


def consistency(
    piece: PieceSeen,
    measured: MeasuredPiece,
    archive: ArchiveSeen,
    reference: ReferenceSeen,
    judged: Judged | None = None,
) -> Consistency:
    """Hold a piece against each period of its family and of the families near it.

    A cell joins the claims for that period and the family's claims for all years, at the piece's
    position where it is known: ``consistent`` if the value is inside any of them,
    ``not_consistent`` if it is outside every one that could be decided, else ``too_close_to_call``.
    Turns and whatever else rests on an assumed construction are left out: they repeat the
    resistance. Of a rewound piece nothing of the winding counts.

    Rows come in the order of their contradictions, then of how much agrees, the piece's own family
    before its likes, and by year.
    """
    rewound = piece.row.state == "rewound"
    best: dict[Key, ReducedValue] = {}
    left_out: dict[str, None] = {}
    for key, value in measured.best.items():
        if rewound and key[1] in WINDING_PROPERTIES:
            left_out[key[1]] = None
        elif "assumed_construction" not in value.flags:
            best[key] = value
    features = [reference.features[f] for f in piece.row.features if f in reference.features]
    held = claims_of(reference, archive).held(piece.family, piece.row.position)
    layout = _layout(held, tuple(best), rewound)
    rows = layout.rows(best, features, judged or Judged(archive.settings.thresholds))
    return Consistency(
        piece.row.piece_id, rows, feature_span(features, piece.family), tuple(left_out)
    )


class _LaidOut(NamedTuple):
    """One period: which of a piece's cells are its own, and those of what was not read."""

    held: Held
    own: tuple[int, ...]
    unread: tuple[Cell, ...]


class _Layout:
    """Which claims the values of a piece meet in which period, the same for all pieces alike.

    Periods mostly share their claims. So every pair of a value and of claims is held once, and each
    period takes its cells from these by their places.
    """

    def __init__(self, periods: Sequence[Held], keys: Sequence[Key], rewound: bool) -> None:
        read = {property_id for _, property_id in keys}
        met: dict[tuple[int, tuple[str, ...]], tuple[int, Sequence[ClaimSeen]]] = {}
        places: dict[tuple[int, tuple[str, ...]], int] = {}
        self._periods: list[_LaidOut] = []
        for held in periods:
            own = []
            for at, (_, property_id) in enumerate(keys):
                claims = held.claims.get(property_id, ())
                which = (at, ids_of(claims))
                met.setdefault(which, (at, claims))
                own.append(places.setdefault(which, len(places)))
            unread = tuple(
                Cell("", property_id, "not_measured")
                for property_id in held.claims
                if property_id not in read and not (rewound and property_id in WINDING_PROPERTIES)
            )
            self._periods.append(_LaidOut(held, tuple(own), unread))
        self._keys = tuple(keys)
        self._met = tuple(met.values())

    def rows(
        self, best: Mapping[Key, ReducedValue], features: Sequence[FeatureSeen], judged: Judged
    ) -> tuple[PeriodRow, ...]:
        """Return a piece's rows, those with the fewest contradictions first."""
        values = tuple(best.values())
        cells = [self._cell(at, values[at], claims, judged) for at, claims in self._met]
        words = [cell.word for cell in cells]
        ordered: list[tuple[tuple[int, int, int, int], PeriodRow]] = []
        for (order, family, period, _), own, unread in self._periods:
            seen = tuple(_feature_cell(feature, family, period) for feature in features)
            said = [words[place] for place in own]
            said += [feature.word for feature in seen]
            against, agreeing = said.count("not_consistent"), said.count("consistent")
            row = PeriodRow(
                family.family_id,
                period.period_id,
                (*[cells[place] for place in own], *unread),
                seen,
                against,
                agreeing,
            )
            ordered.append(((against, -agreeing, order, period.first_year), row))
        ordered.sort(key=itemgetter(0))
        return tuple([row for _, row in ordered])

    def _cell(
        self, at: int, value: ReducedValue, claims: Sequence[ClaimSeen], judged: Judged
    ) -> Cell:
        verdicts = tuple([judged.verdict(value, claim, claims) for claim in claims])
        component, property_id = self._keys[at]
        return Cell(component, property_id, joined([v.word for v in verdicts]), verdicts)


#: So many layouts are kept of one family and position; an archive has a few ways to read a piece.
_LAYOUTS = 512


def _layout(held: PeriodsHeld, keys: tuple[Key, ...], rewound: bool) -> _Layout:
    which = (keys, rewound)
    found = held.made.get(which)
    if not isinstance(found, _Layout):
        if len(held.made) >= _LAYOUTS:
            held.made.clear()
        found = held.made[which] = _Layout(held.periods, keys, rewound)
    return found


def joined(words: Iterable[VerdictWord]) -> CellWord:
    """Return what several verdicts on one value come to: one that agrees is enough."""
    found = list(words)
    if "inside" in found:
        return "consistent"
    if "too_close_to_call" in found:
        return "too_close_to_call"
    return "not_consistent" if "outside" in found else "no_claim"


def _feature_cell(feature: FeatureSeen, family: FamilySeen, period: PeriodSeen) -> FeatureCell:
    """Hold a feature's years against a period's; a family it is not met on decides nothing."""
    first, last = feature.first_year, feature.last_year
    strange = bool(feature.families) and family.family_id not in feature.families
    if strange or (first is None and last is None):
        return FeatureCell(feature.feature_id, "no_claim")
    early = last is not None and last < period.first_year
    late = first is not None and first > period.last_year
    return FeatureCell(feature.feature_id, "not_consistent" if early or late else "consistent")


def feature_span(features: Sequence[FeatureSeen], family: FamilySeen) -> Span:
    """Return the years that the features' own years leave, within the family's.

    Without any feature that has years the span is open at both ends and rests on nothing.
    """
    dated = [f for f in features if f.first_year is not None or f.last_year is not None]
    conflicts = []
    for one, other in combinations(dated, 2):
        for early, late in ((one, other), (other, one)):
            if (
                early.last_year is not None
                and late.first_year is not None
                and early.last_year < late.first_year
            ):
                conflicts.append((early.feature_id, late.feature_id))
    rests_on = tuple(f.feature_id for f in dated)
    if conflicts or not dated:
        return Span(None, None, rests_on, tuple(conflicts))
    first = max([family.first_year, *(f.first_year for f in dated if f.first_year is not None)])
    last = min([family.last_year, *(f.last_year for f in dated if f.last_year is not None)])
    return Span(first, last, rests_on, ())

"""A piece against every period of its family and of the families it may be taken for.

Each period is held against everything that was measured and seen. What comes out says which
periods nothing speaks against; it never dates a piece and authenticates nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Literal

from coilbook.assessment.claims import ByProperty, claims_of
from coilbook.assessment.judge import Judged
from coilbook.assessment.types import Verdict, VerdictWord
from coilbook.measures.types import MeasuredPiece, ReducedValue
from coilbook.records.models import Family, Feature, Period
from coilbook.records.types import Archive, Claim, Piece, PublicArchive, Reference

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


@dataclass(frozen=True, slots=True)
class Cell:
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


@dataclass(frozen=True, slots=True)
class PeriodRow:
    """One period against everything that was measured and seen."""

    family_id: str
    period_id: str
    cells: tuple[Cell, ...]
    features: tuple[FeatureCell, ...]

    def _count(self, word: CellWord) -> int:
        words = [cell.word for cell in self.cells]
        words += [feature.word for feature in self.features]
        return words.count(word)

    @property
    def contradictions(self) -> int:
        """Return how many cells are not consistent."""
        return self._count("not_consistent")

    @property
    def agreements(self) -> int:
        """Return how many cells are consistent."""
        return self._count("consistent")


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
    piece: Piece,
    measured: MeasuredPiece,
    archive: PublicArchive | Archive,
    reference: Reference,
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
    look = _Look(
        best,
        features,
        frozenset(property_id for _, property_id in best),
        judged or Judged(archive.settings.thresholds),
        rewound,
    )
    claims = claims_of(reference, archive)
    ordered: list[tuple[tuple[int, int, int, int], PeriodRow]] = []
    for order, family in enumerate(_families(piece.family, reference)):
        for period in reference.periods_of(family.family_id):
            mine = claims.of(family.family_id, frozenset((period.period_id,)), piece.row.position)
            row = look.at(family, period, mine)
            place = (row.contradictions, -row.agreements, order, period.first_year)
            ordered.append((place, row))
    ordered.sort(key=lambda placed: placed[0])
    rows = tuple(row for _, row in ordered)
    return Consistency(
        piece.row.piece_id, rows, feature_span(features, piece.family), tuple(left_out)
    )


def _families(family: Family, reference: Reference) -> tuple[Family, ...]:
    near = (reference.families[f] for f in family.near if f in reference.families)
    return (family, *near)


@dataclass(frozen=True, slots=True)
class _Look:
    """What was measured and seen of one piece, to be held against one period after another."""

    best: Mapping[Key, ReducedValue]
    features: Sequence[Feature]
    read: frozenset[str]
    judged: Judged
    rewound: bool
    #: Periods often share their claims: a value is held against the same ones once.
    made: dict[tuple[int, int], Cell] = field(default_factory=dict)

    def at(self, family: Family, period: Period, claims: ByProperty) -> PeriodRow:
        cells = [
            self._cell(component, property_id, value, claims.get(property_id, ()))
            for (component, property_id), value in self.best.items()
        ]
        cells += [
            Cell("", property_id, "not_measured")
            for property_id in claims
            if property_id not in self.read
            and not (self.rewound and property_id in WINDING_PROPERTIES)
        ]
        return PeriodRow(
            family.family_id,
            period.period_id,
            tuple(cells),
            tuple(_feature_cell(feature, family, period) for feature in self.features),
        )

    def _cell(
        self, component: str, property_id: str, value: ReducedValue, claims: Sequence[Claim]
    ) -> Cell:
        key = (id(value), id(claims))
        if key not in self.made:
            verdicts = tuple(self.judged.verdict(value, claim, claims) for claim in claims)
            word = joined(verdict.word for verdict in verdicts)
            self.made[key] = Cell(component, property_id, word, verdicts)
        return self.made[key]


def joined(words: Iterable[VerdictWord]) -> CellWord:
    """Return what several verdicts on one value come to: one that agrees is enough."""
    found = set(words)
    if "inside" in found:
        return "consistent"
    if "too_close_to_call" in found:
        return "too_close_to_call"
    return "not_consistent" if "outside" in found else "no_claim"


def _feature_cell(feature: Feature, family: Family, period: Period) -> FeatureCell:
    """Hold a feature's years against a period's; a family it is not met on decides nothing."""
    first, last = feature.first_year, feature.last_year
    strange = bool(feature.families) and family.family_id not in feature.families
    if strange or (first is None and last is None):
        return FeatureCell(feature.feature_id, "no_claim")
    early = last is not None and last < period.first_year
    late = first is not None and first > period.last_year
    return FeatureCell(feature.feature_id, "not_consistent" if early or late else "consistent")


def feature_span(features: Sequence[Feature], family: Family) -> Span:
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

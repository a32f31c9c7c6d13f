"""A piece against every claim that applies to it, and its place among its peers."""

from __future__ import annotations

from collections.abc import Iterator

from coilbook.assessment.judge import judge
from coilbook.assessment.types import Assessment, Place, Reason, Verdict
from coilbook.measures.types import MeasuredPiece, ReducedValue
from coilbook.records.models import Period, PieceRow
from coilbook.records.types import Archive, Claim, Piece, PublicArchive, Reference
from coilbook.stats import (
    SMALLEST_DRAWN,
    GroupKey,
    Summaries,
    one_kind,
    percentile_rank,
    periods_within,
)


def assess(
    piece: Piece,
    measured: MeasuredPiece,
    archive: PublicArchive | Archive,
    reference: Reference,
    summaries: Summaries,
) -> Assessment:
    """Say all that can be said of one piece: verdicts against claims, and places among peers.

    Each value that stands for the piece (``MeasuredPiece.best``) is judged against each claim, of
    the reference or the archive's own, that applies:

    - the same family and property;
    - no period, or one that the piece's years touch. An undated piece is judged against the claims
      of every period, with the reason ``undated``: which of them it fits is what its owner asks;
    - no position, or the piece's. Where the piece's is not known the claim applies, with the reason
      ``position_unknown``.

    The thresholds are those of the archive's settings. A rewound piece is judged and placed like
    any other, with the reason ``rewound``: the verdicts say nothing of its first winding.

    Errors: KindsMixed where the summaries are of another kind than the archive.
    """
    one_kind((archive.settings.kind, summaries.kind))
    applicable = _applicable(piece.row, archive, reference)
    return Assessment(
        piece_id=piece.row.piece_id,
        periods=tuple(period.period_id for period in _touched(piece.row, reference)),
        verdicts=tuple(_verdicts(piece.row, measured, applicable, archive)),
        places=tuple(_places(piece.row, measured, reference, summaries)),
    )


def _touched(piece: PieceRow, reference: Reference) -> tuple[Period, ...]:
    first, last = piece.year_first, piece.year_last
    if first is None or last is None:
        return ()
    return tuple(
        period
        for period in reference.periods_of(piece.family_id)
        if period.first_year <= last and first <= period.last_year
    )


def _applicable(
    piece: PieceRow, archive: PublicArchive | Archive, reference: Reference
) -> dict[str, list[Claim]]:
    """Return the claims that apply to a piece, by property: the reference's, then the archive's."""
    undated = piece.year_first is None
    touched = {period.period_id for period in _touched(piece, reference)}
    applicable: dict[str, list[Claim]] = {}
    for claim in (*reference.claims, *archive.claims):
        row = claim.row
        if (
            row.family_id == piece.family_id
            and (row.period_id is None or undated or row.period_id in touched)
            and (row.position is None or piece.position in (None, row.position))
        ):
            applicable.setdefault(row.property_id, []).append(claim)
    return applicable


def _verdicts(
    piece: PieceRow,
    measured: MeasuredPiece,
    applicable: dict[str, list[Claim]],
    archive: PublicArchive | Archive,
) -> Iterator[Verdict]:
    for (_, property_id), value in measured.best.items():
        claims = applicable.get(property_id, [])
        for claim in claims:
            yield judge(
                value,
                claim,
                archive.settings.thresholds,
                alternatives=(other for other in claims if _scope(other) == _scope(claim)),
                circumstances=_circumstances(piece, claim),
            )


def _scope(claim: Claim) -> tuple[str | None, str | None]:
    return claim.row.period_id, claim.row.position


def _circumstances(piece: PieceRow, claim: Claim) -> Iterator[Reason]:
    if piece.state == "rewound":
        yield Reason("rewound")
    if piece.year_first is None and claim.row.period_id is not None:
        yield Reason("undated")
    if piece.position is None and claim.row.position is not None:
        yield Reason("position_unknown")


def _places(
    piece: PieceRow, measured: MeasuredPiece, reference: Reference, summaries: Summaries
) -> Iterator[Place]:
    """Place each number among its peers, itself left out.

    Peers share family, property and component; the period too, where the piece lies wholly within
    just one; and the position, where that leaves enough of them. A value that contradicts its own
    record has no place.
    """
    within = periods_within(piece, reference)
    period_id = within[0].period_id if len(within) == 1 else None
    for (component, property_id), value in measured.best.items():
        if value.value is None or not value.comparable or "parallel_impossible" in value.flags:
            continue
        keys = [GroupKey(piece.family_id, property_id, component, period_id)]
        if piece.position is not None:
            keys.insert(
                0, GroupKey(piece.family_id, property_id, component, period_id, piece.position)
            )
        yield _place(piece.piece_id, value, value.value, keys, summaries)


def _place(
    piece_id: str, value: ReducedValue, number: float, keys: list[GroupKey], summaries: Summaries
) -> Place:
    """Place a number in the first of these groups that is large enough, else in the last."""
    for key in keys:
        peers = summaries.peers(key, without=piece_id)
        if peers is not None and peers.n >= SMALLEST_DRAWN:
            others = [member.value for member in peers.members]
            return Place(key, value, peers.n, percentile_rank(others, number), peers.median)
    if peers is None:
        return Place(keys[-1], value, 0, None, None)
    return Place(keys[-1], value, peers.n, None, peers.median)

"""A piece against every claim that applies to it, and its place among its peers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from coilbook.core.judging.claims import ByProperty, claims_of
from coilbook.core.judging.consistency import consistency
from coilbook.core.judging.judge import Judged
from coilbook.core.judging.verdict import ReasonCode, Verdict
from coilbook.core.observing.findings import findings
from coilbook.core.observing.headline import lead
from coilbook.core.observing.next_reading import next_readings
from coilbook.core.observing.peers import (
    SMALLEST_DRAWN,
    GroupKey,
    PeersSeen,
    one_kind,
    periods_within,
)
from coilbook.core.observing.said import Assessment, Place
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.seen import (
    ArchiveSeen,
    ClaimSeen,
    PeriodSeen,
    PieceRowSeen,
    PieceSeen,
    ReferenceSeen,
)


def assess(
    piece: PieceSeen,
    measured: MeasuredPiece,
    archive: ArchiveSeen,
    reference: ReferenceSeen,
    summaries: PeersSeen,
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
    judged = Judged(archive.settings.thresholds)
    touched = tuple(period.period_id for period in _touched(piece.row, reference))
    periods = None if piece.row.year_first is None else frozenset(touched)
    applicable = claims_of(reference, archive).of(piece.row.family_id, periods, piece.row.position)
    said = Assessment(
        piece_id=piece.row.piece_id,
        periods=touched,
        verdicts=tuple(_verdicts(piece.row, measured, applicable, judged)),
        places=tuple(_places(piece.row, measured, reference, summaries)),
    )
    consistent = consistency(piece, measured, archive, reference, judged)
    found = findings(piece, measured, said, consistent, summaries, reference)
    return replace(
        said,
        consistency=consistent,
        findings=found,
        next_readings=next_readings(piece, consistent, archive, reference),
        lead=lead(piece, measured, said.verdicts, said.places, found),
    )


def _touched(piece: PieceRowSeen, reference: ReferenceSeen) -> tuple[PeriodSeen, ...]:
    first, last = piece.year_first, piece.year_last
    if first is None or last is None:
        return ()
    return tuple(
        period
        for period in reference.periods_of(piece.family_id)
        if period.first_year <= last and first <= period.last_year
    )


def _verdicts(
    piece: PieceRowSeen, measured: MeasuredPiece, applicable: ByProperty, judged: Judged
) -> Iterator[Verdict]:
    plain = piece.state != "rewound" and piece.year_first is not None and piece.position is not None
    for (_, property_id), value in measured.best.items():
        claims = applicable.get(property_id, ())
        for claim in claims:
            if claim.property.kind == "category":
                alike = [other for other in claims if _scope(other) == _scope(claim)]
                verdict = judged.verdict(value, claim, alike)
            else:
                verdict = judged.verdict(value, claim)
                if verdict.word == "outside":
                    verdict = _unless_another_position_has_it(verdict, claims, judged)
            if not plain:
                codes = (*verdict.codes, *_circumstances(piece, claim))
                verdict = verdict._replace(codes=codes)
            yield verdict


def _unless_another_position_has_it(
    verdict: Verdict, claims: Sequence[ClaimSeen], judged: Judged
) -> Verdict:
    """Return a verdict of outside, or none where a claim for another position holds the value.

    A family may have been made in two sizes, of which one is stated for a position: of a piece that
    is inside one of the two, that it is outside the other says nothing.
    """
    row = verdict.claim.row
    for other in claims:
        elsewhere = other.row.period_id == row.period_id and other.row.position != row.position
        if elsewhere and judged.verdict(verdict.value, other).word == "inside":
            codes: tuple[ReasonCode, ...] = ("range_alternative", *verdict.codes)
            return verdict._replace(word="not_judged", codes=codes, other=other)
    return verdict


def _scope(claim: ClaimSeen) -> tuple[str | None, str | None]:
    return claim.row.period_id, claim.row.position


def _circumstances(piece: PieceRowSeen, claim: ClaimSeen) -> Iterator[ReasonCode]:
    if piece.state == "rewound":
        yield "rewound"
    if piece.year_first is None and claim.row.period_id is not None:
        yield "undated"
    if piece.position is None and claim.row.position is not None:
        yield "position_unknown"


def _places(
    piece: PieceRowSeen, measured: MeasuredPiece, reference: ReferenceSeen, summaries: PeersSeen
) -> Iterator[Place]:
    """Place each number among its peers, itself left out.

    Peers share family, property and component; the period too, where the piece lies wholly within
    just one; and the position, where that leaves enough of them. A value that contradicts its own
    record has no place.
    """
    within = periods_within(piece, reference)
    period_id = within[0].period_id if len(within) == 1 else None
    family_id, position = piece.family_id, piece.position
    for (component, property_id), value in measured.best.items():
        number = value.value
        if number is None or not value.comparable or "parallel_impossible" in value.flags:
            continue
        # The first of these groups that is large enough, else the last.
        if position is not None:
            key = GroupKey(family_id, property_id, component, period_id, position)
            peers = summaries.standing(key, number, piece.piece_id)
            if peers is not None and peers.n >= SMALLEST_DRAWN:
                yield Place(key, value, peers.n, peers.percentile, peers.median)
                continue
        key = GroupKey(family_id, property_id, component, period_id)
        peers = summaries.standing(key, number, piece.piece_id)
        if peers is None:
            yield Place(key, value, 0, None, None)
        else:
            percentile = peers.percentile if peers.n >= SMALLEST_DRAWN else None
            yield Place(key, value, peers.n, percentile, peers.median)

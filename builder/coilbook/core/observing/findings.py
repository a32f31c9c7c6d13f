"""What a piece's figures point to: named observations, each with what could explain it.

An observation is data: what was seen, what was expected, how far apart they are in standard
deviations of what is known, what could explain it and what to read next. Nothing is called a fault
that is only unusual, and several may hold at once. The words are the templates'.

Each kind is looked for by one function of :data:`LOOKED_FOR`. What these say of themselves becomes
a page, through :mod:`coilbook.assessment.rules`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from coilbook.core.judging.consistency import Consistency
from coilbook.core.observing import about_paths, about_the_rest, about_windings
from coilbook.core.observing.look import Look
from coilbook.core.observing.peers import PeersSeen, periods_within
from coilbook.core.observing.said import Assessment, Finding, FindingCode
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.seen import PieceSeen, ReferenceSeen

#: Observations on the record of a piece and not on the piece.
ABOUT_THE_RECORD: frozenset[FindingCode] = frozenset({"calibration_lapsed", "temperature_decisive"})

#: What is looked for, in this order.
LOOKED_FOR: tuple[Callable[[Look], Iterator[Finding]], ...] = (
    about_windings.open_coils,
    about_paths.closure,
    about_paths.losses,
    about_windings.gauges,
    about_windings.resistances,
    about_windings.imbalance,
    about_the_rest.fields,
    about_the_rest.ceilings,
    about_the_rest.dates,
    about_the_rest.calibrations,
    about_the_rest.temperatures,
)


def findings(
    piece: PieceSeen,
    measured: MeasuredPiece,
    assessment: Assessment,
    consistent: Consistency,
    summaries: PeersSeen,
    reference: ReferenceSeen,
) -> tuple[Finding, ...]:
    """Return every observation that holds of a piece, the strongest first.

    Peers are the archive's pieces of the same family, itself left out, from
    :data:`coilbook.core.observing.look.SMALLEST_PEERS` on; what a rewinding explains is not held
    against a rewound piece.
    """
    within = periods_within(piece.row, reference)
    among = (within[0].period_id, None) if len(within) == 1 else (None,)
    look = Look(piece, measured, assessment, consistent, summaries, reference, among)
    found = [finding for looked_for in LOOKED_FOR for finding in looked_for(look)]
    return tuple(sorted(found, key=lambda f: (-f.strength, not f.fault)))

"""The word that leads a piece's page: typical, unusual, or that nobody can tell; and why."""

from __future__ import annotations

from collections import Counter
from typing import Literal

from coilbook.core.judging.consistency import WINDING_PROPERTIES, Key, joined
from coilbook.core.judging.verdict import Verdict, VerdictWord
from coilbook.core.observing.findings import ABOUT_THE_RECORD
from coilbook.core.observing.said import Finding, Lead, LeadReason, Place
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.seen import PieceSeen

#: From so many decided values on a piece may be called typical. Fewer agree by chance too often:
#: a range that holds nine sound pieces in ten also holds most unsound ones.
SMALLEST_DECIDED = 3
#: A place among the peers counts as usual within these percentiles.
MIDDLE = (5.0, 95.0)


def lead(
    piece: PieceSeen,
    measured: MeasuredPiece,
    verdicts: tuple[Verdict, ...],
    places: tuple[Place, ...],
    findings: tuple[Finding, ...],
) -> Lead:
    """Say of a piece that it is typical, unusual, or that it cannot be told.

    unusual: a value is outside everything documented that decides it, or an observation holds that
    is one of the piece (and not of its record). typical: neither, and at least
    :data:`SMALLEST_DECIDED` values are inside something documented. Else it cannot be told: too
    little was read, all of it was too close to call, or nothing is documented to hold it against.

    Where practice disagrees, one claim that agrees is enough. Values that rest on an assumed
    construction do not count, nor does the winding of a rewound piece. Places among peers are told
    beside it and decide nothing: of many values of a sound piece, some lie far out by chance.
    """
    rewound = piece.row.state == "rewound"

    words: dict[Key, list[VerdictWord]] = {}
    for verdict in verdicts:
        value = verdict.value
        winding = rewound and value.property_id in WINDING_PROPERTIES
        if not winding and "assumed_construction" not in value.flags:
            words.setdefault((value.component, value.property_id), []).append(verdict.word)
    cells = {key: joined(found) for key, found in words.items()}
    tally = Counter(cells.values())
    decided = tally["consistent"] + tally["not_consistent"]
    reasons = [
        LeadReason("outside", {"component": component, "property_id": property_id})
        for (component, property_id), word in cells.items()
        if word == "not_consistent"
    ]
    told = [finding for finding in findings if finding.code not in ABOUT_THE_RECORD]
    reasons += [_of(finding, "finding") for finding in told]
    beside = _beside(places, findings, rewound, decided, tally["consistent"])
    if reasons:
        return Lead("unusual", (*reasons, *beside))
    if decided >= SMALLEST_DECIDED:
        return Lead("typical", beside)
    if not measured.best:
        why = LeadReason("nothing_read")
    elif not decided and tally["too_close_to_call"]:
        why = LeadReason("all_too_close", {"close": float(tally["too_close_to_call"])})
    elif not decided:
        why = LeadReason("nothing_documented")
    else:
        data = {"decided": float(decided), "needs": float(SMALLEST_DECIDED)}
        why = LeadReason("too_few_decided", data)
    return Lead("cannot_tell", (why, *beside))


def _beside(
    places: tuple[Place, ...],
    findings: tuple[Finding, ...],
    rewound: bool,
    decided: int,
    inside: int,
) -> tuple[LeadReason, ...]:
    """Return what is told beside the reasons that decided."""
    told: list[LeadReason] = []
    if decided:
        told.append(LeadReason("decided", {"inside": float(inside), "decided": float(decided)}))
    percentiles = [place.percentile for place in places if place.percentile is not None]
    if percentiles:
        usual = sum(MIDDLE[0] <= percentile <= MIDDLE[1] for percentile in percentiles)
        told.append(LeadReason("placed", {"usual": usual, "placed": len(percentiles)}))
    if rewound:
        told.append(LeadReason("winding_left_out"))
    told += [_of(finding, "record") for finding in findings if finding.code in ABOUT_THE_RECORD]
    return tuple(told)


def _of(finding: Finding, code: Literal["finding", "record"]) -> LeadReason:
    return LeadReason(
        code,
        {
            "finding": finding.code,
            "component": finding.component,
            "property_id": finding.property_id,
        },
    )

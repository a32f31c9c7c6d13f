"""Observations on what lies across a coil, and on what shorts it.

See :mod:`coilbook.assessment.findings`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilbook.assessment.look import (
    CLOSURE,
    HINT,
    LOSS,
    ONE_SIDED,
    PATHS_KOHM,
    RATIO,
    TOGETHER,
    Look,
)
from coilbook.assessment.types import ExplanationCode, Finding, FindingCode, NextCode

SHORT: tuple[ExplanationCode, ...] = ("shorted_turns", "shorted_layers_by_damp")


def closure(look: Look) -> Iterator[Finding]:
    """Tell of coils that do not make their pair, and of a path across it that would explain it.

    Tells: read_in_circuit, coils_do_not_add_up
    Rule: the coils do not add up where their sum and the pair lie apart by more than the
        expanded uncertainty (k = 2) of the difference. Something lay across the pair where they
        make CLOSURE standard uncertainties or more above it, no reading is marked as made in
        circuit, and the path that would explain it lies within PATHS_KOHM kΩ.
    Cannot tell: a path across from another temperature or a slip in one reading; anything where
        not both coils and the pair were read; 500 kΩ across with a meter good to half a percent.
    """
    found, closed = look.measured.closure, look.closed
    if found is None or closed is None:
        return
    a, b, off = closed
    marked = any(
        reading.row.circuit == "in_circuit"
        for reading in look.piece.readings
        if reading.property.reduction == "copper"
    )
    paths = paths_kohm(a, b, found.pair_kohm) if off >= CLOSURE and not marked else None
    if paths is not None and PATHS_KOHM[0] <= min(paths) <= max(paths) <= PATHS_KOHM[1]:
        yield Finding(
            "read_in_circuit",
            "pair",
            "pair-resistance",
            off,
            False,
            ("across_the_pair", "other_temperature", "misread"),
            "free_the_leads",
            {
                "difference": -found.difference_kohm,
                "path_kohm": min(paths),
                "path_most_kohm": max(paths),
            },
        )
    if not found.closes:
        yield Finding(
            "coils_do_not_add_up",
            "pair",
            "pair-resistance",
            2.0 * found.normalised_error,
            False,
            ("misread", "other_temperature", "across_the_pair", "broken_joint"),
            "read_both_coils_and_the_pair",
            {"sum": found.sum_kohm, "pair": found.pair_kohm},
        )


def paths_kohm(a: float, b: float, pair: float) -> tuple[float, float] | None:
    """Return what would have to lie across a pair, kΩ, for its coils to read so much above it.

    First, if all three were read in circuit: what two points of the three show is one side of a
    triangle of coil, coil and path beside the other two, so that with x = (A + P - B)/2,
    y = (A + B - P)/2 and z = (B + P - A)/2 the path is (x y + y z + z x)/y (the star of the
    triangle). Then, if the coils were read free and the pair alone in circuit, it is
    P (A + B)/(A + B - P). None where no path can do it.
    """
    x, y, z = (a + pair - b) / 2.0, (a + b - pair) / 2.0, (b + pair - a) / 2.0
    if min(x, y, z) <= 0.0:
        return None
    return (x * y + y * z + z * x) / y, pair * (a + b) / (2.0 * y)


def losses(look: Look) -> Iterator[Finding]:
    """Tell of losses beyond the copper that are high beside the peers: a short, or a path.

    Turns that are shorted and a path across the coil both take power. A short takes inductance
    with it; a path hides resistance, and so raises inductance over resistance squared.

    Tells: turns_shorted, losses_high
    Rule: the loss beyond the copper (of quality factor, inductance and resistance) lies ONE_SIDED
        standard deviations or more above the middle of at least SMALLEST_PEERS peers. Where the
        coils make HINT to CLOSURE standard uncertainties more than their pair, which alone says
        nothing, the pair's loss and this count together: their sum, over the root of two, is then
        TOGETHER or more. It is put down to shorted turns only where the coils add up to their pair,
        so that nothing can lie across; else it stays open. Where no quality factor was read,
        inductance over resistance squared so far below the middle is taken for shorted turns, with
        less right.
    Cannot tell: a short from a path where not both coils and the pair were read; a short of a few
        turns in a hundred, which hides among the peers; thin wire or another core where no quality
        factor was read.
    """
    off = None if look.closed is None else look.closed[2]
    closes = off is not None and -CLOSURE < off < HINT
    hinted = off is not None and HINT <= off < CLOSURE
    # The coils and their pair say already what takes the power.
    told = off is not None and off >= CLOSURE
    for component, ratio_id in RATIO.items():
        ratio, loss = look.standing(component, ratio_id), look.standing(component, LOSS[component])
        if loss is not None:
            (z, peers), property_id = loss, LOSS[component]
        elif ratio is not None:
            (z, peers), property_id = (-ratio[0], ratio[1]), ratio_id
        else:
            continue
        number = look.number(component, property_id)
        least = ONE_SIDED
        if loss is not None and component == "pair" and off is not None and hinted:
            z, least = max(z, (z + off) / math.sqrt(2.0)), TOGETHER
        if z < least or number is None or (loss is not None and told):
            continue
        code: FindingCode = "turns_shorted"
        explanations: tuple[ExplanationCode, ...] = (*SHORT, "other_gauge", "different_core")
        # A quality factor that was read, and has too few peers, is not asked for again.
        unread = look.number(component, LOSS[component]) is None
        step: NextCode = "read_quality" if unread else "look_at_the_wire"
        if loss is not None and closes:
            explanations, step = (*SHORT, "different_core"), "look_at_the_wire"
        elif loss is not None:
            code = "losses_high"
            explanations = ("across_the_pair", *SHORT, "different_core")
            step = "free_the_leads"
        yield Finding(
            code,
            component,
            property_id,
            z,
            # Only where nothing can lie across does a loss speak of the coil alone.
            loss is not None and closes,
            explanations,
            step,
            {"seen": number[0], "usual": peers.median, "n": float(peers.n)},
        )

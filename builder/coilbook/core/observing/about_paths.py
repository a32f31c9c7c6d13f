"""Observations on what lies across a coil, and on what shorts it.

See :mod:`coilbook.core.observing.findings`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilbook.core.observing.look import (
    CLOSURE,
    COILS,
    HINT,
    LOSS,
    LOSSES,
    ONE_SIDED,
    PATHS_KOHM,
    RATIO,
    SURPLUS,
    TOGETHER,
    Look,
    PathSigns,
)
from coilbook.core.observing.said import ExplanationCode, Finding, FindingCode, NextCode

SHORT: tuple[ExplanationCode, ...] = ("shorted_turns", "shorted_layers_by_damp")


def closure(look: Look) -> Iterator[Finding]:
    """Tell of coils that do not make their pair, and of a path across it that would explain it.

    Resistances in series add, and so do losses. A path across the pair takes more of the pair's
    resistance than of its coils', and adds more to the pair's loss than to theirs.

    Tells: read_in_circuit, coils_do_not_add_up
    Rule: the coils do not add up where their sum and the pair lie apart by more than the
        expanded uncertainty (k = 2) of the difference. Something lay across the pair where the
        resistances of the coils make CLOSURE standard uncertainties or more above the pair's; or
        the pair's loss lies as far above that of its coils, in standard deviations of at least
        SMALLEST_PEERS peers, or without them of SURPLUS_SPREAD about nothing; where both are known,
        where their sum over the root of two is BOTH or more, or the resistances alone make ALONE.
        No reading is marked as made in circuit, and the path that would explain it lies within
        PATHS_KOHM kΩ.
    Cannot tell: a path across from another temperature or a slip in one reading, where no quality
        factors were read; a path where not both coils and the pair were read; 500 kΩ across by
        resistances alone with a meter good to half a percent.
    """
    signs = look.path
    if signs is not None and signs.told and not _marked(look):
        yield from _across(look, signs)
    found = look.measured.closure
    if found is not None and look.closed is not None and not found.closes:
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


def _marked(look: Look) -> bool:
    """Return whether any resistance of the piece is marked as read in circuit."""
    return any(
        reading.row.circuit == "in_circuit"
        for reading in look.piece.readings
        if reading.property.reduction == "copper"
    )


def _across(look: Look, signs: PathSigns) -> Iterator[Finding]:
    """Tell of a path across the pair by what speaks for it most: the resistances, or the losses."""
    found, closed = look.measured.closure, look.closed
    by_losses = signs.surplus is not None and (signs.off is None or signs.surplus > signs.off)
    if by_losses:
        property_id, seen = SURPLUS, _of_losses(look)
        explanations: tuple[ExplanationCode, ...] = ("across_the_pair", "misread", "different_core")
    else:
        assert found is not None
        assert closed is not None
        property_id, paths = "pair-resistance", paths_kohm(closed[0], closed[1], found.pair_kohm)
        seen = paths and (paths, {"difference": -found.difference_kohm})
        explanations = ("across_the_pair", "other_temperature", "misread")
    if seen is None or not PATHS_KOHM[0] <= min(seen[0]) <= max(seen[0]) <= PATHS_KOHM[1]:
        return
    paths, data = seen
    yield Finding(
        "read_in_circuit",
        "pair",
        property_id,
        signs.strength,
        False,
        explanations,
        "free_the_leads",
        {**data, "path_kohm": min(paths), "path_most_kohm": max(paths)},
    )


def _of_losses(look: Look) -> tuple[tuple[float, float], dict[str, float]] | None:
    """Return the paths, kΩ, that would make so much of a pair's losses, and what is seen of them.

    A path R across a pair of reactance X and loss resistance r adds (X² - r²)/R to the latter, and
    a quarter of that to each coil's where the coils are read in circuit too. So the surplus over
    what is usual is half of it over X, or all of it where the coils were read with their leads
    free. A quality factor of 1 or less shows no path.
    """
    number, surplus = look.number("pair", SURPLUS), look.surplus
    henry, quality = look.number("pair", "pair-inductance"), look.number("pair", "pair-quality")
    if number is None or surplus is None or henry is None or quality is None:
        return None
    _, usual, peers = surplus
    hertz = quality[1].test_frequency_hz
    if number[0] <= usual or hertz is None or quality[0] <= 1.0:
        return None
    x_kohm = 2.0 * math.pi * hertz * henry[0] / 1000.0
    most = x_kohm * (1.0 - 1.0 / quality[0] ** 2) / (number[0] - usual)
    data = {"seen": number[0]}
    if peers:
        data |= {"usual": usual, "n": float(peers)}
    return (most / 2.0, most), data


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
    Rule: the loss beyond the copper (of quality factor, inductance and resistance) lies LOSSES
        standard deviations or more above the middle of at least SMALLEST_PEERS peers. It is put
        down to shorted turns only where coils and pair show no sign of a path across (they make
        less than HINT of it together), and from ONE_SIDED standard deviations on; else it stays
        open. Where they show a sign that says nothing alone, it and the loss count together: their
        sum over the root of two is then TOGETHER or more. Of a pair that was read, a coil's own
        loss counts from ONE_SIDED on. Where no quality factor was read, inductance over
        resistance squared, as far as ONE_SIDED below the middle, stands for it with less right.
    Cannot tell: a short from a path where not both coils and the pair were read; either where no
        quality factor was read and a resistance hides it among the peers'; a short of a few
        turns in a hundred, which hides among the peers; thin wire or another core where no quality
        factor was read.
    """
    signs = look.path
    closes = signs is not None and -CLOSURE < signs.strength < HINT
    hinted = signs is not None and signs.strength >= HINT
    # What lies across is on record, or is told already.
    said = signs is not None and signs.told and (_marked(look) or any(_across(look, signs)))
    widest = ("pair",) if look.standing("pair", LOSS["pair"]) is not None else COILS
    for component, ratio_id in RATIO.items():
        ratio, loss = look.standing(component, ratio_id), look.standing(component, LOSS[component])
        if loss is not None:
            (z, peers), property_id = loss, LOSS[component]
        elif ratio is not None:
            (z, peers), property_id = (-ratio[0], ratio[1]), ratio_id
        else:
            continue
        number = look.number(component, property_id)
        may_be_path = loss is not None and not closes and component in widest
        least = LOSSES if may_be_path else ONE_SIDED
        if may_be_path and hinted and z < least and signs is not None and not signs.told:
            z, least = (z + signs.strength) / math.sqrt(2.0), TOGETHER
        # The coils and their pair say already, and better, what takes the power.
        told = signs is not None and said and z <= signs.strength
        if z < least or number is None or told:
            continue
        code: FindingCode = "turns_shorted" if closes else "losses_high"
        explanations = SHORT if closes else ("across_the_pair", *SHORT)
        step: NextCode = "look_at_the_wire" if closes else "free_the_leads"
        if loss is None:
            explanations = (*explanations, "other_gauge")
            # A quality factor that was read, and has too few peers, is not asked for again.
            if closes and look.number(component, LOSS[component]) is None:
                step = "read_quality"
        yield Finding(
            code,
            component,
            property_id,
            z,
            # Only where nothing can lie across does a loss speak of the coil alone.
            loss is not None and closes,
            (*explanations, "different_core"),
            step,
            {"seen": number[0], "usual": peers.median, "n": float(peers.n)},
        )

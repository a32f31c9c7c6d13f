"""Observations on windings; see :mod:`coilbook.core.observing.findings`."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilbook.core.judging.verdict import Verdict
from coilbook.core.observing.look import (
    IMBALANCE_RANK,
    ONE_SIDED,
    RATIO,
    RESISTANCE,
    UNUSUAL,
    Look,
    standard_uncertainty,
)
from coilbook.core.observing.said import ExplanationCode, Finding


def open_coils(look: Look) -> Iterator[Finding]:
    """Tell of windings with no way through; open insulation is as it should be.

    Tells: open_coil
    Rule: the resistance of a coil or of the pair was read as an open circuit.
    Cannot tell: whether the wire is broken or only its joint, nor where.
    """
    for (component, property_id), value in look.measured.best.items():
        if value.qualifier == "open" and RESISTANCE.get(component) == property_id:
            yield Finding(
                "open_coil",
                component,
                property_id,
                math.inf,
                True,
                ("broken_joint", "broken_wire"),
                "read_at_the_joint",
            )


def gauges(look: Look) -> Iterator[Finding]:
    """Tell of turns that the window cannot hold, in the wire that is assumed.

    Tells: gauge_cannot_fit
    Rule: the turns that a resistance stands for in the family's usual wire fill more than the
        window of its usual bobbin, even with the layers nested.
    Cannot tell: which gauge it is instead; wire thicker than is usual, whose turns always fit.
    """
    for turns in look.measured.turns:
        if turns.fit.fits == "cannot_fit":
            ratio = turns.fit.ratio
            excess = (turns.fit.ratio_nested - 1.0) / turns.fit.ratio_nested
            yield Finding(
                "gauge_cannot_fit",
                turns.component,
                "coil-turns",
                excess * ratio.value / ratio.standard_uncertainty,
                False,
                ("other_gauge", "other_bobbin", "rewound_coil"),
                "weigh_the_wire",
                {"fill_percent": 100.0 * ratio.value, "turns": turns.turns},
            )


def resistances(look: Look) -> Iterator[Finding]:
    """Tell of a resistance beyond what is documented and measured, or far from its peers.

    Where the pair stands for both coils, its coils are not told of again.

    Tells: resistance_outside_everything, resistance_unusual
    Rule: beyond everything where every documented range that decides has it outside and it lies
        beyond all of at least SMALLEST_PEERS peers; unusual where it lies UNUSUAL standard
        deviations or more from their middle.
    Cannot tell: fewer turns from a path across the pickup or from shorts, unless the inductance
        was read too; anything of a rewound piece, or of a family with fewer peers.
    """
    if look.rewound:
        return
    told = False
    for component, property_id in RESISTANCE.items():
        number = look.number(component, property_id)
        if number is None or (told and component != "coil"):
            continue
        standing = look.standing(component, property_id)
        ratio = look.standing(component, RATIO[component])
        outside = _outside_all(look.assessment.verdicts_of(number[1]))
        if standing is None:
            continue
        z, peers = standing
        low = z < 0.0
        explained: tuple[ExplanationCode, ...]
        if ratio is not None and low and ratio[0] >= ONE_SIDED:
            explained = ("across_the_pair", "other_gauge", "rewound_coil")
        elif low:
            explained = ("fewer_turns", "across_the_pair", "shorted_turns", "rewound_coil")
        else:
            explained = ("more_turns", "other_gauge", "rewound_coil", "other_temperature")
        data = {"seen": number[0], "usual": peers.median, "n": float(peers.n)}
        beyond = not peers.minimum <= number[0] <= peers.maximum
        if outside and beyond:
            yield Finding(
                "resistance_outside_everything",
                component,
                property_id,
                abs(z),
                False,
                explained,
                "free_the_leads" if low else "look_at_the_wire",
                {**data, "minimum": peers.minimum, "maximum": peers.maximum},
            )
            told = True
        elif abs(z) >= UNUSUAL:
            yield Finding(
                "resistance_unusual",
                component,
                property_id,
                abs(z),
                False,
                explained,
                "free_the_leads" if low else "read_inductance",
                data,
            )
            told = True


def imbalance(look: Look) -> Iterator[Finding]:
    """Tell of coils that differ more than nearly all of their peers' do.

    Tells: imbalance_unusual
    Rule: IMBALANCE_RANK of 100 peers, of at least SMALLEST_PEERS, have less, and the value less
        its expanded uncertainty lies above their upper quartile.
    Cannot tell: coils that left the bench uneven, as many did, from one that was exchanged.
    """
    standing = look.standing("pair", "coil-imbalance")
    number = look.number("pair", "coil-imbalance")
    if look.rewound or standing is None or number is None:
        return
    z, peers = standing
    # An imbalance is lopsided: its rank says more than its distance from the middle.
    surely = number[0] - 2.0 * standard_uncertainty(number[1]) > peers.upper_quartile
    if peers.percentile >= IMBALANCE_RANK and surely:
        yield Finding(
            "imbalance_unusual",
            "pair",
            "coil-imbalance",
            z,
            False,
            ("uneven_winding", "coil_exchanged", "rewound_coil", "shorted_turns"),
            "read_inductance",
            {"seen": number[0], "usual": peers.median, "n": float(peers.n)},
        )


def _outside_all(verdicts: tuple[Verdict, ...]) -> bool:
    """Whether there are verdicts that decided, and each of them says outside."""
    words = {verdict.word for verdict in verdicts if verdict.word != "not_judged"}
    return words == {"outside"}

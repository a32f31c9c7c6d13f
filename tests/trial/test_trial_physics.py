"""The trial's own physics, against values and solvers from outside the project."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from trial_physics import (
    Coil,
    Former,
    direct_ohm,
    impedance_ohm,
    mutual_ohm,
    through_the_junction,
    warmth,
    wound_ohm,
)

#: A coil of a humbucker as the trial winds them.
COIL = Coil(5000.0, 4000.0, 8.7e-8, 0.45, 8.0e-5, 6.0e-11)
HERTZ = 1000.0


def test_a_coil_of_five_thousand_turns_is_near_four_kilohms() -> None:
    """Practice's figure (common practice, no source): 5000 turns of 42 AWG are about 4 kΩ.

    That the layered sum itself is right is held against the volume of the winding: in the limit of
    thin layers all turns have the mean turn's length (Pappus's theorem).
    """
    former = Former(64.0, 4.8, 6.4)
    assert wound_ohm(former, 5000, 0.0635, 0.071, 1.0, 0.0) == pytest.approx(4000.0, rel=0.02)

    turns, wire = 200_000, 0.01
    build = turns * wire * wire / former.height
    mean_turn = 2.0 * (former.length - former.width) + math.pi * (former.width + build)
    pappus = turns * mean_turn / 1000.0 / 58.0e6 / (math.pi * (wire / 2000.0) ** 2)
    assert wound_ohm(former, turns, wire, wire, 1.0, 0.0) == pytest.approx(pappus, rel=2e-3)


def test_copper_warms_as_the_standard_says() -> None:
    """IEC 60028 (from memory): 0.393 % for each kelvin at 20 °C; R(25)/R(20) = 1.01965."""
    assert warmth(25.0) == pytest.approx(1.01965, abs=5e-6)


@pytest.mark.parametrize("share", [0.01, 0.05, 0.2])
def test_shorted_turns_reflect_what_the_meshes_say(share: float) -> None:
    """The written-out impedance is the one that a linear solver finds for the three loops."""
    coil = replace(COIL, shorted=share, short_coupling=0.93, contact_ohm=4.0)
    jw = 2j * math.pi * HERTZ * coil.henry_per_turn2
    live, dead = coil.turns * (1.0 - share), coil.turns * share
    meshes = np.array(
        [
            [coil.ohm * (1 - share) + jw * live**2, jw * 0.45 * live, jw * 0.93 * live * dead],
            [jw * 0.45 * live, coil.henry_per_turn2 / coil.metal_s + jw, jw * 0.45 * dead],
            [jw * 0.93 * live * dead, jw * 0.45 * dead, coil.ohm * share + 4 + jw * dead**2],
        ]
    )
    current = np.linalg.solve(meshes, np.array([1.0, 0.0, 0.0], dtype=complex))[0]
    assert impedance_ohm(coil, HERTZ, 20.0) == pytest.approx(1.0 / current, rel=1e-9)
    assert direct_ohm(coil, 20.0) == pytest.approx(coil.ohm * (1.0 - share))


def test_a_perfect_short_cancels_the_flux_that_it_couples() -> None:
    """With next to no copper in the short, the leakage 1 - k² of the inductance is left.

    The textbook result for a transformer with its secondary shorted.
    """
    alone = replace(COIL, metal_coupling=0.0)
    shorted = replace(alone, ohm=1e-6, shorted=0.5, short_coupling=0.9)
    henry = impedance_ohm(shorted, HERTZ, 20.0).imag / (2.0 * math.pi * HERTZ)
    assert henry == pytest.approx(alone.henry_per_turn2 * 2500.0**2 * (1.0 - 0.81), rel=1e-6)


def test_a_path_over_the_pair_lies_beside_each_coil_through_the_other() -> None:
    """Ohm's law: a coil with the other one and the path beside it, worked out for 4 + 4 kΩ, 10 kΩ.

    4 k beside 14 k is 56/18 k.
    """
    seen = through_the_junction(4000.0 + 0j, 4000.0 + 0j, 0j, 10_000.0)
    assert seen.real == pytest.approx(56_000.0 / 18.0)
    assert through_the_junction(4000.0 + 0j, 4000.0 + 0j, 0j, None) == 4000.0


def test_metal_that_two_coils_share_acts_as_the_meshes_say() -> None:
    """The pair in series, written out, is what a linear solver finds for two coils and two loops.

    One loop of metal is reached by both coils, the other by each alone: of what the metal reflects
    into each coil the shared loop makes the given share.
    """
    shared, coupling = 0.3, 0.03
    jw = 2j * math.pi * HERTZ * COIL.henry_per_turn2
    n, k = COIL.turns, COIL.metal_coupling
    loop = COIL.henry_per_turn2 / COIL.metal_s + jw
    own = COIL.ohm + jw * n**2
    common, alone = jw * k * n * math.sqrt(shared), jw * k * n * math.sqrt(1.0 - shared)
    # One current through both coils, then the loop of both, then each coil's own.
    meshes = np.array(
        [
            [2.0 * own + 2.0 * jw * coupling * n**2, 2.0 * common, alone, alone],
            [2.0 * common, loop, 0.0, 0.0],
            [alone, 0.0, loop, 0.0],
            [alone, 0.0, 0.0, loop],
        ]
    )
    current = np.linalg.solve(meshes, np.array([1.0, 0.0, 0.0, 0.0], dtype=complex))[0]
    coil = impedance_ohm(COIL, HERTZ, 20.0)
    pair = 2.0 * coil + 2.0 * mutual_ohm(COIL, COIL, coupling, shared, HERTZ)
    assert pair == pytest.approx(1.0 / current, rel=1e-9)

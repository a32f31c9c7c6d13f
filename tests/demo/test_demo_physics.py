"""The generator's own physics, held against figures from outside the project."""

from __future__ import annotations

import math
from random import Random

import demo_pieces
import generate
import magpylib
import numpy as np
import pytest
from demo_physics import (
    Core,
    Winding,
    beside_ohm,
    coil_ohm,
    probed_hz,
    quality,
    resonance_hz,
    rod_face_mt,
    rod_row_mt,
    warm_ohm,
    wire_gram,
)
from demo_stories import plans
from demo_world import MAKES, WIRES

from coilbook.core.constants import BOBBIN_HALF_WIDTH_M
from coilbook.core.formulas import coil as closed
from coilbook.records import load_reference


def test_a_coil_laid_layer_by_layer() -> None:
    """5000 turns of 42 AWG on a 64 × 4.8 mm core, laid square.

    Source: the project's check values, 3970.8 Ω layer by layer, run there by another program.
    """
    ohm = coil_ohm(Core(64, 4.8, 6.4), Winding(5000, 0.0635, 0.071, 1.0, 0.0))
    assert ohm == pytest.approx(3970.8, abs=0.05)


def test_copper_and_a_parallel_path() -> None:
    """8000 Ω at 26 °C is 7815.706 Ω at 20 °C; 7800 Ω beside 500 kΩ and 250 kΩ.

    Source: arithmetic on IEC 60028's coefficient and Ohm's law, from the project's check values.
    """
    assert warm_ohm(7815.706, 26) == pytest.approx(8000, abs=0.001)
    assert beside_ohm(7800, 500e3) == pytest.approx(7680.189, abs=0.0005)
    assert beside_ohm(7800, 250e3) == pytest.approx(7564.003, abs=0.0005)


def test_the_field_of_a_rod() -> None:
    """A rod 4.8 × 16 mm, J = 1 T, at 1, 2 and 20 mm from its face.

    Source: the project's check values; formula and an independent field library agreed there.
    """
    for z_mm, millitesla in ((1, 302.782875), (2, 175.521751), (20, 2.454160)):
        assert rod_face_mt(1000, 16, 4.8, z_mm) == pytest.approx(millitesla, abs=1e-6)


def test_resonance() -> None:
    """At resonance the reactances of coil and capacitance are equal, by definition."""
    hertz = resonance_hz(4.4, 110e-12)
    assert 2 * math.pi * hertz * 4.4 == pytest.approx(1 / (2 * math.pi * hertz * 110e-12))


def test_a_probe_pulls_the_peak_down() -> None:
    """A source that rises with frequency, behind L and R, with C and the probe across the leads.

    The highest output of a fine sweep in complex numbers (numpy), with and without the probe.
    """
    hertz = np.linspace(5500.0, 7500.0, 400_001)
    s = 2j * np.pi * hertz
    for probe_f, probe_ohm in ((12e-12, 10e6), (47e-12, 1e6)):
        across = s * (110e-12 + probe_f) + 1.0 / probe_ohm
        sweep = hertz * np.abs(1.0 / (1.0 + (7800.0 + s * 4.4) * across))
        found = probed_hz(4.4, 7800.0, 110e-12, probe_f, probe_ohm)
        assert found == pytest.approx(hertz[sweep.argmax()], abs=0.02)
        assert found < 0.96 * resonance_hz(4.4, 110e-12)
    assert probed_hz(4.4, 1e-9, 110e-12, 0.0, math.inf) == resonance_hz(4.4, 110e-12)


def test_quality_without_losses_is_reactance_over_resistance() -> None:
    """2π · 1 kHz · 2.2 H over 6 kΩ is 2.3038; a core that loses takes some of it away."""
    assert quality(2.2, 6000.0, 1000.0, 0.0) == pytest.approx(2.3038, abs=5e-5)
    assert quality(2.2, 6000.0, 1000.0, 0.07) == pytest.approx(1 / (1 / 2.3038 + 0.07), abs=5e-5)


def test_the_field_over_a_row_of_rods() -> None:
    """A rod between two others, all one pole up: within 0.5 % of magpylib, from 0.5 to 3 mm."""
    for z_mm in (0.5, 1.5, 3.0):
        field = sum(
            magpylib.magnet.Cylinder(
                polarization=(0, 0, 1), dimension=(4.76e-3, 17e-3), position=(x, 0, -8.5e-3)
            ).getB((0, 0, z_mm / 1000))[2]
            for x in (-10.4e-3, 0.0, 10.4e-3)
        )
        assert rod_row_mt(17, 4.76, 10.4, z_mm) == pytest.approx(1000 * field, rel=0.005)


def test_the_mass_of_a_coils_wire() -> None:
    """5000 turns, 42 AWG, of copper alone: section times length times 8.89 g/cm³, by hand.

    The mean turn of 145.852 mm is that of the project's check values; 729.26 m in all.
    """
    winding = Winding(5000, 0.0635, 0.071, 1.0, 0.0)
    core = Core(64, 4.8, 6.4)
    copper = math.pi / 4 * 0.0635**2 * 729_260 * 8.89e-3
    assert wire_gram(core, winding, 0.0) == pytest.approx(copper, rel=1e-3)
    enamel = math.pi / 4 * (0.071**2 - 0.0635**2) * 729_260 * 1.2e-3
    assert wire_gram(core, winding, 1.2) == pytest.approx(copper + enamel, rel=1e-3)


def test_layers_and_the_closed_form_agree() -> None:
    """Each coil of the archive, laid here in layers, has the resistance of measures' closed form.

    Half a per cent is allowed: layers hold whole turns, and the last one is not full.
    """
    compared = 0
    for index, plan in enumerate(plans(generate.SEED)):
        name = f"lq-{index + 1:04d}"
        truth = demo_pieces.draw(name, plan, Random(f"{generate.SEED}/{name}/piece"))
        if {"open-coil", "shorted-turns"} & set(plan.stories):
            continue
        core = plan.make.core
        for coil in truth.coils:
            wound = coil.winding
            winding = closed.Winding(
                bare_diameter_m=wound.bare_mm / 1000,
                overall_diameter_m=wound.overall_mm / 1000,
                core_length_m=core.length_mm / 1000,
                core_width_m=core.width_mm / 1000,
                winding_height_m=core.height_mm / 1000,
                packing=wound.packing,
                stretch=wound.stretch,
            )
            expected = closed.coil_resistance_ohm(float(wound.turns), winding)
            assert coil.ohm == pytest.approx(expected, rel=0.005), name
            compared += 1
    assert compared > 300


def test_the_invented_world_stands_near_the_reference() -> None:
    """Bobbins lie within measures' tolerance of the reference's, and wires within the standard's.

    If the reference is mended so far that this fails, the truth has left its ground: move the
    world's figures too and write the archive again.
    """
    reference = load_reference().value
    assert reference is not None
    for make in MAKES:
        bobbin = reference.bobbins[reference.families[make.family_id].bobbin_id or ""]
        for ours, theirs in (
            (make.core.length_mm, bobbin.core_length_mm),
            (make.core.width_mm, bobbin.core_width_mm),
            (make.core.height_mm, bobbin.winding_height_mm),
        ):
            assert abs(ours - theirs) <= BOBBIN_HALF_WIDTH_M * 1000, make.family_id
    for stock in WIRES.values():
        wire = reference.wires[stock.wire_id]
        assert wire.bare_min_mm <= stock.bare[0]
        assert stock.bare[2] <= wire.bare_max_mm
        assert wire.overall_min_mm <= stock.overall[0]
        assert stock.overall[2] <= wire.overall_max_mm

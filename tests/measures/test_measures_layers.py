"""Layers, length and mass of a coil's wire, and turns by weight, against ways of others."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE

from coilbook.core.budgets.uncertainty import Contribution
from coilbook.core.formulas.coil import Winding, coil_resistance_ohm, turns_of_length, wire_length_m
from coilbook.core.formulas.layers import (
    coil_mass_kg,
    layer_count,
    mass_sensitivities,
    spool_length_m,
    turns_of_mass,
    turns_per_layer,
    wound_mass_kg_per_m,
)
from coilbook.core.formulas.wire import awg_diameter_m, wire_mass_kg_per_m
from coilbook.core.reduction.turns import (
    turns_from_mass_estimate,
    winding_half_widths,
    winding_of,
)
from coilbook.errors import OutOfDomain

#: 42 AWG nominal, single build, on a 64 × 4.8 mm core 6.4 mm high.
WORKED = Winding(63.5e-6, 71e-6, 64e-3, 4.8e-3, 6.4e-3)
POUND_KG, FOOT_M = 0.45359237, 0.3048

windings = st.builds(
    lambda bare, over, length, narrow, height, packing, stretch: Winding(
        bare, bare * over, length, length * narrow, height, packing, stretch
    ),
    st.floats(30e-6, 150e-6),
    st.floats(1.02, 1.4),
    st.floats(10e-3, 120e-3),
    st.floats(0.02, 0.95),
    st.floats(2e-3, 20e-3),
    st.floats(0.8, 1.3),
    st.floats(0.001, 0.1),
)


@pytest.mark.parametrize(
    ("awg", "pounds", "digit"),
    [(10, 31.43, 0.01), (36, 0.07568, 0.00001), (40, 0.02993, 0.00001)],
)
def test_bare_wire_weighs_what_handbooks_print(awg: int, pounds: float, digit: float) -> None:
    """Pounds per 1000 ft of bare copper; NBS Handbook 100, complete wire table, AWG.

    The figures are recalled, the handbook was not open. Its density is 8.89 g/cm³ as well, so the
    tolerance is one of its last digits (it rounds the diameters before it weighs).
    """
    per_1000_ft = wire_mass_kg_per_m(awg_diameter_m(awg)) * 1000.0 * FOOT_M / POUND_KG
    assert per_1000_ft == pytest.approx(pounds, abs=digit)


def test_mass_of_the_worked_coil_by_hand() -> None:
    """5000 turns of 145.852 mm are 729.26 m; 3.3 % of the metre's mass is insulation of 1.225.

    By hand: copper 0.0031669 mm² · 8.89 = 0.028154 g/m; coat (0.0039592 − 0.0031669) mm² · 1.225 =
    0.000971 g/m; 729.26 m · 0.029124 g/m = 21.239 g.
    """
    assert wire_length_m(5000.0, WORKED) == pytest.approx(729.26, abs=0.005)
    assert 1000.0 * wound_mass_kg_per_m(WORKED) == pytest.approx(0.029124, abs=5e-7)
    assert 1000.0 * coil_mass_kg(5000.0, WORKED) == pytest.approx(21.239, abs=0.001)


def test_layers_of_the_worked_coil_by_hand() -> None:
    """6.4 mm take 90.14 turns of 0.071 mm, and 5000 of them make 55.47 layers."""
    assert turns_per_layer(6.4e-3, 71e-6) == pytest.approx(90.14, abs=0.005)
    assert layer_count(5000.0, 6.4e-3, 71e-6) == pytest.approx(55.47, abs=0.005)


@given(turns=st.integers(500, 12_000), winding=windings)
def test_wire_laid_turn_by_turn_is_as_long_as_the_formula_says(
    turns: int, winding: Winding
) -> None:
    """Every turn at its own distance from the core, the build-up growing evenly: a plain sum."""
    distance = (np.arange(turns) + 0.5) * winding.build_up_per_turn_m
    around = 2.0 * (winding.core_length_m - winding.core_width_m) + 2.0 * np.pi * (
        winding.core_width_m / 2.0 + distance
    )
    assert wire_length_m(float(turns), winding) == pytest.approx(float(np.sum(around)), rel=1e-9)


@given(winding=windings, turns=st.floats(1.0, 30_000.0))
def test_there_and_back(winding: Winding, turns: float) -> None:
    """Turns to length and mass, and back to turns."""
    assert turns_of_length(wire_length_m(turns, winding), winding) == pytest.approx(turns, rel=1e-9)
    assert turns_of_mass(coil_mass_kg(turns, winding), winding) == pytest.approx(turns, rel=1e-9)


@given(winding=windings, turns=st.floats(1.0, 30_000.0))
def test_copper_is_neither_made_nor_lost_by_stretching(winding: Winding, turns: float) -> None:
    """With a coat as light as nothing, the coil weighs what left the spool did."""
    coil_kg = coil_mass_kg(turns, winding, insulation_kg_per_m3=1e-9)
    spool_kg = wire_mass_kg_per_m(winding.bare_diameter_m) * spool_length_m(turns, winding)
    assert coil_kg == pytest.approx(spool_kg, rel=1e-9)


@given(winding=windings, turns=st.floats(10.0, 20_000.0))
def test_mass_sensitivities_agree_with_finite_differences(winding: Winding, turns: float) -> None:
    """Every analytic derivative of ln m against a central difference of ln m itself."""
    densities = {"copper_kg_per_m3": 8890.0, "insulation_kg_per_m3": 1225.0}

    def log_mass(name: str, x: float) -> float:
        changed = {k: x if k == name else v for k, v in {"turns": turns, **densities}.items()}
        other = winding if name in changed else replace(winding, **{name: x})
        return math.log(coil_mass_kg(changed.pop("turns"), other, **changed))

    for name, analytic in mass_sensitivities(turns, winding).items():
        at = {"turns": turns, **densities}.get(name) or getattr(winding, name)
        step = 1e-5 * at
        slope = (log_mass(name, at + step) - log_mass(name, at - step)) / (2.0 * step)
        assert analytic * at == pytest.approx(slope * at, rel=1e-5, abs=1e-8), name


def test_formulas_take_arrays() -> None:
    """A numpy array gives, element by element, what the scalars give."""
    turns = np.array([100.0, 5000.0, 9000.0])
    mass = coil_mass_kg(turns, WORKED)
    assert mass.tolist() == [coil_mass_kg(float(n), WORKED) for n in turns]
    assert turns_of_mass(mass, WORKED) == pytest.approx(turns)
    assert spool_length_m(turns, WORKED)[1] == spool_length_m(5000.0, WORKED)


def test_monte_carlo_agrees_with_the_budget_of_turns_by_weight() -> None:
    """Half a million weighed coils drawn in numpy from the assumed ranges (JCGM 101).

    Each is solved by the quadratic's plain root, which is not the form that the code uses. The
    budget's straight line is held to 0.1 % of the turns and 1 % of the spread: what is left out is
    the curvature of 1/d² over ± 4 %.
    """
    rng = np.random.default_rng(20260315)
    wire, bobbin = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]
    winding, half = winding_of(wire, bobbin), winding_half_widths(wire)
    draw = {f: getattr(winding, f) + rng.uniform(-w, w, 500_000) for f, w in half.items()}
    copper = 8890.0 * (1.0 + rng.uniform(-0.005, 0.005, 500_000))
    coat = rng.uniform(1000.0, 1450.0, 500_000)
    weighed_kg = 1e-3 * rng.normal(21.0, 0.05, 500_000)
    bare = draw["bare_diameter_m"] ** 2 / (1.0 + draw["stretch"])
    over = draw["overall_diameter_m"]
    metre = np.pi / 4.0 * (copper * bare + coat * (over**2 - bare))
    core = 2.0 * (draw["core_length_m"] - draw["core_width_m"]) + np.pi * draw["core_width_m"]
    grow = np.pi * over**2 * draw["packing"] / draw["winding_height_m"]
    turns = (np.sqrt(core**2 + 4.0 * grow * weighed_kg / metre) - core) / (2.0 * grow)

    scale = Contribution("scale", 0.0, 0.05, 1.0, "g")
    estimate = turns_from_mass_estimate(21.0, (scale,), winding, half)
    assert estimate.value == pytest.approx(float(np.mean(turns)), rel=2e-3)
    assert estimate.standard_uncertainty == pytest.approx(float(np.std(turns)), rel=0.01)
    assert estimate.dominant is not None
    assert estimate.dominant.name == "bare diameter of the wire"


def test_resistance_and_mass_lean_on_the_diameter_against_each_other() -> None:
    """Thicker copper: less resistance, more mass, at the same turns."""
    thicker = replace(WORKED, bare_diameter_m=65e-6)
    assert coil_resistance_ohm(5000.0, thicker) < coil_resistance_ohm(5000.0, WORKED)
    assert coil_mass_kg(5000.0, thicker) > coil_mass_kg(5000.0, WORKED)


def test_a_coat_thinner_than_nothing_is_refused() -> None:
    """Diameters that were swapped are told, with the next step."""
    swapped = Winding(71e-6, 63.5e-6, 64e-3, 4.8e-3, 6.4e-3)
    with pytest.raises(OutOfDomain, match="Check both diameters"):
        coil_mass_kg(5000.0, swapped)

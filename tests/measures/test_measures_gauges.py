"""Whether wire fits a window, and which gauges readings leave: simulated coils with known wire."""

from __future__ import annotations

import math

import numpy as np
import pytest
from measures_bench import REFERENCE

from coilbook.core.budgets.combine import OVERALL
from coilbook.core.budgets.uncertainty import Contribution, Estimate
from coilbook.core.formulas.coil import coil_resistance_ohm
from coilbook.core.formulas.layers import coil_mass_kg
from coilbook.core.reduction.gauges import gauge_candidates, gauge_fits
from coilbook.core.reduction.turns import turns_estimate, winding_half_widths, winding_of

BOBBIN = REFERENCE.bobbins["humbucker-bobbin"]
WIRES = REFERENCE.wires
METER = (Contribution("instrument, digits", 0.0, 0.01, 1.0, "kΩ"),)
SCALE = (Contribution("instrument, digits", 0.0, 0.05, 1.0, "g"),)


def test_ratios_of_the_worked_window() -> None:
    """6.4 × 4.0 mm takes 5078 turns of 0.071 mm square, 5864 nested, 3880 at a fill of 0.6.

    The three figures were run apart from this project.
    """
    fit = gauge_fits(Estimate(5000.0, ()), WIRES["awg-42-single"], BOBBIN)
    assert 5000.0 / fit.ratio_square == pytest.approx(5078, abs=0.5)
    assert 5000.0 / fit.ratio_nested == pytest.approx(5864, abs=0.5)
    assert 5000.0 / fit.ratio_scatter == pytest.approx(3880, abs=0.5)


@pytest.mark.parametrize(
    ("turns", "word"),
    [(3000.0, "fits"), (5078.0, "fits"), (5900.0, "fits"), (6300.0, "only_if_nested"),
     (7000.0, "only_if_nested"), (7500.0, "cannot_fit"), (10_000.0, "cannot_fit")],
)  # fmt: skip
def test_only_what_is_sure_speaks_against_a_fit(turns: float, word: str) -> None:
    """The window is known to some 17 % (k = 2, most of it the wire's own tolerance).

    By hand: 5078 turns square, 5864 nested; over 1 - 0.176 they become 6163 and 7117.
    """
    fit = gauge_fits(Estimate(turns, ()), WIRES["awg-42-single"], BOBBIN)
    assert fit.fits == word
    relative = 2.0 * fit.ratio.standard_uncertainty / fit.ratio.value
    assert relative == pytest.approx(0.176, abs=0.001)


def test_fill_agrees_with_monte_carlo() -> None:
    """Windows filled by coils of 4.00 kΩ, drawn in numpy from the assumed ranges.

    The overall diameter enters the turns as well as the room that each takes; drawn once for both,
    the spread is what the budget says (within 2 %; the budget is a straight line).
    """
    rng, n = np.random.default_rng(20260317), 300_000
    wire = WIRES["awg-42-single"]
    winding, half = winding_of(wire, BOBBIN), winding_half_widths(wire)
    draw = {f: getattr(winding, f) + rng.uniform(-w, w, n) for f, w in half.items()}
    over, height = draw["overall_diameter_m"], draw["winding_height_m"]
    core = 2.0 * (draw["core_length_m"] - draw["core_width_m"]) + np.pi * draw["core_width_m"]
    grow = np.pi * over**2 * draw["packing"] / height
    metres = (
        (4000.0 + rng.normal(0.0, 10.0, n))
        * np.pi
        * draw["bare_diameter_m"] ** 2
        / (4.0 * draw["resistivity_ohm_m"] * (1.0 + draw["stretch"]))
    )
    turns = (np.sqrt(core**2 + 4.0 * grow * metres) - core) / (2.0 * grow)
    depth = 4.0e-3 + rng.uniform(-0.2e-3, 0.2e-3, n)
    fill = turns * over**2 / (height * depth)

    fit = gauge_fits(turns_estimate(4.0, METER, winding, half), wire, BOBBIN)
    assert fit.ratio.value == pytest.approx(float(np.mean(fill)), rel=0.005)
    assert fit.ratio.standard_uncertainty == pytest.approx(float(np.std(fill)), rel=0.02)
    assert sum(line.name == OVERALL for line in fit.ratio.contributions) == 1


def test_a_resistance_alone_leaves_several_gauges() -> None:
    """4.0 kΩ: 41 AWG cannot fit, 45 and 46 single would leave the window empty; 42 to 44 remain."""
    found = gauge_candidates(4.0, METER, BOBBIN, WIRES.values())
    assert [c.wire_id for c in found] == list(WIRES)
    left = {c.wire_id for c in found if c.consistent}
    assert {"awg-42-single", "awg-42-heavy", "awg-43-single", "awg-44-single"} <= left
    why = {c.wire_id: set(c.reasons) for c in found}
    assert why["awg-41-single"] == {"window_too_full"}
    assert why["awg-46-single"] == {"window_too_empty"}
    assert all(c.turns.standard_uncertainty > 0.0 for c in found)


def test_documented_turns_and_a_mass_narrow_it() -> None:
    """4400 to 5600 turns leave 42 AWG and its neighbour's edge; a mass leaves 42 AWG alone."""
    ranged = gauge_candidates(4.0, METER, BOBBIN, WIRES.values(), (4400.0, 5600.0))
    assert {c.wire_id for c in ranged if c.consistent} == {"awg-42-single", "awg-42-heavy"}
    reasons = {c.wire_id: set(c.reasons) for c in ranged}
    assert reasons["awg-44-single"] == {"turns_outside_range"}

    weighed = gauge_candidates(4.0, METER, BOBBIN, WIRES.values(), mass=(20.9, SCALE))
    left = [c for c in weighed if c.consistent]
    assert {c.wire_id for c in left} == {"awg-42-single", "awg-42-heavy"}
    assert all("mass_disagrees" in c.reasons for c in weighed if c not in left)
    # With the mass each is also much better known.
    alone = {c.wire_id: c.turns for c in ranged}
    assert all(
        c.turns.standard_uncertainty < 0.5 * alone[c.wire_id].standard_uncertainty for c in left
    )


def test_turns_that_were_counted_narrow_it() -> None:
    """A counter's 5000 ± 5 speaks against 44 AWG, and becomes the turns of those it suits."""
    counted = Estimate(5000.0, (Contribution("last digit written", 0.0, 5.0, 1.0, "turns"),))
    found = gauge_candidates(4.0, METER, BOBBIN, WIRES.values(), counted=counted)
    by_wire = {c.wire_id: c for c in found}
    assert by_wire["awg-42-single"].consistent
    assert by_wire["awg-42-single"].turns.value == pytest.approx(5000.0, abs=1.0)
    assert by_wire["awg-44-single"].reasons["turns_disagree"] == 5000.0


@pytest.mark.parametrize(
    "wire_id", ["awg-40-heavy", "awg-42-single", "awg-42-heavy", "awg-43-single"]
)
def test_the_true_wire_is_hardly_ever_ruled_out(wire_id: str) -> None:
    """300 simulated coils of a known wire, read and weighed: the true one stays in 95 % and more.

    Drawn from the assumed ranges; turns that fill three quarters of the window square.
    """
    rng = np.random.default_rng(20260318)
    wire = WIRES[wire_id]
    winding, half = winding_of(wire, BOBBIN), winding_half_widths(wire)
    turns = 0.75 * 6.4e-3 * 4e-3 / winding.overall_diameter_m**2
    kept = 0
    for _ in range(300):
        drawn = type(winding)(
            **{f: getattr(winding, f) + rng.uniform(-w, w) for f, w in half.items()}
        )
        kohm = coil_resistance_ohm(turns, drawn) / 1e3 + rng.normal(0.0, 0.01)
        coat, copper = rng.uniform(1000.0, 1450.0), 8890.0 * (1.0 + rng.uniform(-0.005, 0.005))
        gram = 1e3 * coil_mass_kg(turns, drawn, copper, coat) + rng.normal(0.0, 0.05)
        (candidate,) = gauge_candidates(kohm, METER, BOBBIN, [wire], mass=(gram, SCALE))
        kept += candidate.consistent
    assert kept >= 0.95 * 300


def test_a_window_filled_beyond_the_nested_lay_is_impossible_geometry() -> None:
    """The upper end of the fill is the nested lay's 2/√3 of the square one's (Thue, Fejes Tóth)."""
    window = [6.4e-3, 4.0e-3]
    nested = math.pi / (2.0 * math.sqrt(3.0)) / (math.pi / 4.0)
    fit = gauge_fits(Estimate(1000.0, ()), WIRES["awg-42-single"], BOBBIN)
    assert fit.ratio_square / fit.ratio_nested == pytest.approx(nested)
    assert window[0] * window[1] / 71e-6**2 == pytest.approx(1000.0 / fit.ratio_square)

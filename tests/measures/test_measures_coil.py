"""The pure formulas against other ways to the same answer: libraries, simulation, the way back."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE
from shapely.geometry import LineString, Point
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from coilbook.core.budgets.uncertainty import Estimate
from coilbook.core.constants import RHO_20_OHM_M
from coilbook.core.formulas.circuit import parallel_ohm, take_out_parallel_ohm
from coilbook.core.formulas.coil import (
    Winding,
    build_up_m,
    coil_resistance_ohm,
    coil_turns,
    mean_turn_m,
    racetrack_perimeter_m,
    resistance_sensitivities,
    wire_length_m,
)
from coilbook.core.formulas.copper import at_temperature, to_20c
from coilbook.core.formulas.pair import imbalance_percent, normalised_error
from coilbook.core.formulas.window import fill_ratio, layered_turns, scatter_turns
from coilbook.core.formulas.wire import awg_diameter_m, wire_resistance_ohm_per_m
from coilbook.core.reduction.turns import turns_estimate, winding_half_widths, winding_of
from coilbook.errors import OutOfDomain

#: 42 AWG nominal, single build, on a 64 × 4.8 mm core 6.4 mm high.
WORKED = Winding(63.5e-6, 71e-6, 64e-3, 4.8e-3, 6.4e-3)

windings = st.builds(
    lambda bare, over, length, narrow, height, packing, stretch: Winding(
        bare, bare * over, length, length * narrow, height, packing, stretch
    ),
    st.floats(30e-6, 150e-6),
    st.floats(1.02, 1.4),
    st.floats(10e-3, 120e-3),
    st.floats(0.02, 1.0),
    st.floats(2e-3, 20e-3),
    st.floats(0.8, 1.3),
    st.floats(0.0, 0.1),
)


@given(
    length_mm=st.floats(5.0, 120.0),
    narrow=st.floats(0.05, 1.0),
    offset_mm=st.floats(0.0, 12.0),
)
def test_perimeter_agrees_with_a_geometry_library(
    length_mm: float, narrow: float, offset_mm: float
) -> None:
    """Shapely buffers the core's middle line by half its width, and the offset more."""
    width_mm = length_mm * narrow
    radius_mm = width_mm / 2.0 + offset_mm
    straight_mm = length_mm - width_mm
    middle = LineString([(0.0, 0.0), (straight_mm, 0.0)]) if straight_mm > 1e-9 else Point(0.0, 0.0)
    drawn_mm = middle.buffer(radius_mm, quad_segs=500).exterior.length
    ours_mm = racetrack_perimeter_m(length_mm / 1e3, width_mm / 1e3, offset_mm / 1e3) * 1e3
    assert ours_mm == pytest.approx(drawn_mm, rel=1e-6)


def test_layer_by_layer_winding_agrees_with_the_closed_form() -> None:
    """Laying 5,000 turns one layer after another gives 3970.8 Ω; the mean turn gives 3970.2 Ω.

    Both figures were run apart from this project. The simulation knows nothing of the mean turn:
    layers of as many whole turns as the height takes, each at its own distance, the last one short.
    """
    per_layer = int(6.4 / 0.071)
    left, layer, wire_mm = 5000, 0, 0.0
    while left > 0:
        laid = min(per_layer, left)
        radius_mm = 2.4 + (layer + 0.5) * 0.071
        wire_mm += laid * (2.0 * (64.0 - 4.8) + 2.0 * math.pi * radius_mm)
        left -= laid
        layer += 1
    area_mm2 = math.pi * 0.0635**2 / 4.0
    simulated_ohm = wire_mm / 1000.0 / 58.0 / area_mm2
    assert simulated_ohm == pytest.approx(3970.8, abs=0.05)
    closed_ohm = coil_resistance_ohm(5000.0, WORKED)
    assert closed_ohm == pytest.approx(3970.2, abs=0.05)
    assert closed_ohm == pytest.approx(simulated_ohm, rel=3e-4)


@given(
    bare=st.floats(0.04, 0.1),
    coat=st.floats(1.05, 1.3),
    length_mm=st.floats(20.0, 80.0),
    narrow=st.floats(0.05, 1.0),
    height_mm=st.floats(4.0, 14.0),
    packing=st.floats(0.87, 1.2),
    turns=st.integers(500, 12_000),
)
def test_layer_by_layer_winding_agrees_on_any_bobbin(
    bare: float,
    coat: float,
    length_mm: float,
    narrow: float,
    height_mm: float,
    packing: float,
    turns: int,
) -> None:
    """Whole layers on random bobbins, and no more above the formula than unfilled layers explain.

    With n = floor(h/D) turns a layer the build-up is higher than the formula's by less than 1/n,
    since less than one turn's room a layer stays empty. A last layer of r turns adds
    π · pitch · r(n - r)/n of wire, at most π · pitch · n/4. Both can only lengthen the wire.
    """
    overall, width_mm = bare * coat, length_mm * narrow
    per_layer = int(height_mm / overall)
    pitch = overall * packing
    layers = [min(per_layer, turns - done) for done in range(0, turns, per_layer)]
    core = 2.0 * (length_mm - width_mm) + math.pi * width_mm
    wire_mm = sum(
        laid * (core + 2.0 * math.pi * (i + 0.5) * pitch) for i, laid in enumerate(layers)
    )
    simulated_ohm = wire_mm / 1000.0 / 58.0 / (math.pi * bare**2 / 4.0)
    winding = Winding(
        bare / 1e3, overall / 1e3, length_mm / 1e3, width_mm / 1e3, height_mm / 1e3, packing
    )
    build_mm = build_up_m(float(turns), overall / 1e3, height_mm / 1e3, packing) * 1e3
    mean_mm = mean_turn_m(float(turns), winding) * 1e3
    longest = math.pi * (build_mm / per_layer + pitch * per_layer / (4.0 * turns)) / mean_mm
    excess = simulated_ohm / coil_resistance_ohm(float(turns), winding) - 1.0
    assert -1e-12 <= excess <= longest


def test_trade_check_pair() -> None:
    """5,000 turns a coil come out near 4.0 kΩ, and two inside 7.5–9.0 kΩ (common practice).

    Through the family's own wire, bobbin and turns, at the assumed middle of packing and stretch,
    as on a square lay without stretch.
    """
    family = REFERENCE.families["full-size-humbucker"]
    assert (family.turns_per_coil, family.coils) == (5000, 2)
    assert family.wire_id is not None
    assert family.bobbin_id is not None
    usual = winding_of(REFERENCE.wires[family.wire_id], REFERENCE.bobbins[family.bobbin_id])
    for winding in (WORKED, usual):
        kohm = coil_resistance_ohm(5000.0, winding) / 1000.0
        assert abs(kohm - 4.0) < 0.1
        assert 7.5 < 2.0 * kohm < 9.0


@given(winding=windings, turns=st.floats(1.0, 30_000.0))
def test_turns_to_resistance_and_back(winding: Winding, turns: float) -> None:
    """The closed form undoes the forward formula over all that a pickup can be."""
    assert coil_turns(coil_resistance_ohm(turns, winding), winding) == pytest.approx(
        turns, rel=1e-10
    )


@given(winding=windings, turns=st.floats(10.0, 20_000.0))
def test_sensitivities_agree_with_finite_differences(winding: Winding, turns: float) -> None:
    """Every analytic derivative of ln R against a central difference of ln R itself."""
    analytic = resistance_sensitivities(turns, winding)

    def log_r(name: str, value: float) -> float:
        if name == "turns":
            return math.log(coil_resistance_ohm(value, winding))
        return math.log(coil_resistance_ohm(turns, replace(winding, **{name: value})))

    for name, derivative in analytic.items():
        # Length and width stay in order, and stretch above 0, whichever way the step goes.
        if name in ("core_length_m", "core_width_m") and (
            winding.core_width_m > 0.999 * winding.core_length_m
        ):
            continue
        at = turns if name == "turns" else getattr(winding, name)
        step = max(abs(at) * 1e-4, 1e-5 if name == "stretch" else 0.0)
        if name == "stretch" and at < step:
            at = step
        numeric = (log_r(name, at + step) - log_r(name, at - step)) / (2.0 * step)
        assert derivative == pytest.approx(numeric, rel=2e-5, abs=1e-9), name


@given(winding=windings, turns=st.floats(100.0, 12_000.0))
def test_turns_budget_agrees_with_an_independent_library(winding: Winding, turns: float) -> None:
    """Uncertainties carries the same inputs through the textbook root of the quadratic."""
    kohm = coil_resistance_ohm(turns, winding) / 1000.0
    wire = REFERENCE.wires["awg-42-single"]
    half = winding_half_widths(wire)
    got = turns_estimate(kohm, (), winding, half)

    def u(field: str) -> ufloat:
        return ufloat(getattr(winding, field), half[field] / math.sqrt(3.0))

    width = u("core_width_m")
    perimeter = 2.0 * (u("core_length_m") - width) + math.pi * width
    grow = u("overall_diameter_m") ** 2 * u("packing") / u("winding_height_m")
    metres = (
        kohm
        * 1000.0
        * (math.pi * u("bare_diameter_m") ** 2 / 4.0)
        / (u("resistivity_ohm_m") * (1.0 + u("stretch")))
    )
    root = usqrt(perimeter**2 + 4.0 * math.pi * grow * metres)
    expected = (root - perimeter) / (2.0 * math.pi * grow)
    assert got.value == pytest.approx(expected.nominal_value, rel=1e-6)
    assert got.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-5)


def _worked_budget(*fields: str) -> Estimate:
    wire, bobbin = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]
    half = winding_half_widths(wire)
    chosen = {field: half[field] for field in fields or half}
    return turns_estimate(4.0, (), winding_of(wire, bobbin), chosen)


def test_monte_carlo_agrees_with_the_full_turns_budget() -> None:
    """A million coils drawn from the assumed ranges (JCGM 101), solved one by one in numpy.

    With the diameters, packing and stretch alone it is the published 4954 ± 217 turns (run apart
    from this project); the linear budget says 4952 ± 216. The full budget adds bobbin and copper.

    Tolerances: a million draws fix the mean to 0.2 turns and the spread to 0.1 %; the curvature
    that a linear budget leaves out is 0.05 % of the value and too little of the spread to see.
    """
    rng = np.random.default_rng(20260314)
    wire, bobbin = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]
    winding, half = winding_of(wire, bobbin), winding_half_widths(wire)

    def simulate(*fields: str) -> tuple[float, float]:
        draw = {
            field: getattr(winding, field)
            + (rng.uniform(-half[field], half[field], 1_000_000) if field in fields else 0.0)
            for field in half
        }
        length, width = draw["core_length_m"], draw["core_width_m"]
        perimeter = 2.0 * (length - width) + np.pi * width
        grow = np.pi * draw["overall_diameter_m"] ** 2 * draw["packing"] / draw["winding_height_m"]
        area = np.pi * draw["bare_diameter_m"] ** 2 / 4.0
        metres = 4000.0 * area / (draw["resistivity_ohm_m"] * (1.0 + draw["stretch"]))
        turns = (np.sqrt(perimeter**2 + 4.0 * grow * metres) - perimeter) / (2.0 * grow)
        return float(np.mean(turns)), float(np.std(turns))

    few = ("bare_diameter_m", "overall_diameter_m", "packing", "stretch")
    mean, spread = simulate(*few)
    assert mean == pytest.approx(4954.0, abs=1.0)
    assert spread == pytest.approx(217.0, abs=1.0)
    linear = _worked_budget(*few)
    assert linear.value == pytest.approx(mean, rel=1e-3)
    assert linear.standard_uncertainty == pytest.approx(spread, rel=0.003)

    mean, spread = simulate(*half)
    full = _worked_budget()
    assert full.value == pytest.approx(mean, rel=1e-3)
    assert full.standard_uncertainty == pytest.approx(spread, rel=0.003)


def test_stretch_keeps_the_coppers_volume() -> None:
    """A coil stretched by s holds the same copper as the spool wire that went into it."""
    stretch = 0.03
    coil = replace(WORKED, stretch=stretch)
    laid_m = wire_length_m(5000.0, coil)
    from_spool_m = laid_m / (1.0 + stretch)
    spool_area = math.pi * coil.bare_diameter_m**2 / 4.0
    laid_area = coil.resistivity_ohm_m / (coil_resistance_ohm(5000.0, coil) / laid_m)
    assert laid_area * laid_m == pytest.approx(spool_area * from_spool_m, rel=1e-12)


def test_formulas_take_arrays() -> None:
    """A numpy array gives, element by element, what the scalars give."""
    turns = np.array([100.0, 5000.0, 9000.0])
    ohm = coil_resistance_ohm(turns, WORKED)
    assert ohm.tolist() == [coil_resistance_ohm(float(n), WORKED) for n in turns]
    assert coil_turns(ohm, WORKED) == pytest.approx(turns)
    assert mean_turn_m(turns, WORKED)[1] == mean_turn_m(5000.0, WORKED)
    assert build_up_m(turns, 71e-6, 6.4e-3)[1] == build_up_m(5000.0, 71e-6, 6.4e-3)
    warm = np.array([12.0, 20.0, 31.0])
    assert at_temperature(to_20c(ohm, warm), warm) == pytest.approx(ohm)


@given(ohm=st.floats(1.0, 1e5), path_ohm=st.floats(1e4, 1e6), temperature_c=st.floats(-40.0, 120.0))
def test_circuit_and_temperature_there_and_back(
    ohm: float, path_ohm: float, temperature_c: float
) -> None:
    """What is put in is taken out again, and what is warmed is cooled."""
    assert take_out_parallel_ohm(parallel_ohm(ohm, path_ohm), path_ohm) == pytest.approx(
        ohm, rel=1e-9
    )
    assert to_20c(at_temperature(ohm, temperature_c), temperature_c) == pytest.approx(
        ohm, rel=1e-12
    )


@given(
    height_mm=st.floats(2.0, 20.0), depth_mm=st.floats(1.0, 12.0), overall_mm=st.floats(0.03, 0.2)
)
def test_a_full_window_is_full(height_mm: float, depth_mm: float, overall_mm: float) -> None:
    """The turns that fit fill the window once; a square lay is the scatter of fill π/4."""
    sizes = (height_mm / 1e3, depth_mm / 1e3, overall_mm / 1e3)
    for packing in (1.0, math.sqrt(3.0) / 2.0, 1.2):
        assert fill_ratio(layered_turns(*sizes, packing), *sizes, packing) == pytest.approx(1.0)
    assert scatter_turns(*sizes, math.pi / 4.0) == pytest.approx(layered_turns(*sizes))


@given(
    height_mm=st.floats(2.0, 20.0), depth_mm=st.floats(1.0, 12.0), overall_mm=st.floats(0.03, 0.2)
)
def test_turns_counted_one_by_one_agree_with_the_window(
    height_mm: float, depth_mm: float, overall_mm: float
) -> None:
    """Circles counted row by row, square and nested, against the count by area.

    Square: less than one turn a row and one row are lost. Nested: the first row is one wire thick
    and each further one adds √3/2 of that; every second row starts half a wire in. The area's
    count is never below the circles', as its docstring says.
    """
    sizes = (height_mm / 1e3, depth_mm / 1e3, overall_mm / 1e3)
    row, deep = height_mm / overall_mm, depth_mm / overall_mm
    square = math.floor(row + 1e-9) * math.floor(deep + 1e-9)
    by_area = layered_turns(*sizes)
    assert (row - 1.0) * (deep - 1.0) - 1e-6 <= square <= by_area * (1.0 + 1e-9)

    pitch = math.sqrt(3.0) / 2.0
    layers = 1 + math.floor((deep - 1.0) / pitch + 1e-9)
    even, odd = math.floor(row + 1e-9), math.floor(row - 0.5 + 1e-9)
    nested = even * math.ceil(layers / 2) + odd * (layers // 2)
    by_area = layered_turns(*sizes, pitch)
    assert (row - 1.5) * (deep - 1.0) / pitch - 1e-6 <= nested <= by_area * (1.0 + 1e-9)


def test_gauge_halves_the_section_every_three_numbers() -> None:
    """The trade's rule (common practice): three gauges finer, about twice the resistance."""
    coarse = wire_resistance_ohm_per_m(awg_diameter_m(39))
    fine = wire_resistance_ohm_per_m(awg_diameter_m(42))
    assert fine / coarse == pytest.approx(2.0, rel=0.01)


def test_the_two_tables_of_diameters_differ_by_no_more_than_they_should() -> None:
    """Formula and rounded nominal table differ in resistance by up to about 3 %, never by more."""
    differences = []
    for wire in REFERENCE.wires.values():
        nominal = wire_resistance_ohm_per_m(wire.bare_nom_mm / 1e3)
        differences.append(abs(nominal / wire_resistance_ohm_per_m(awg_diameter_m(wire.awg)) - 1.0))
    assert 0.02 < max(differences) < 0.035


def test_imbalance_of_the_trades_example() -> None:
    """3.5 and 4.5 kΩ: 1 kΩ of a mean of 4 kΩ, 25 %, whichever coil is named first."""
    assert imbalance_percent(3500.0, 4500.0) == pytest.approx(25.0)
    assert imbalance_percent(4500.0, 3500.0) == pytest.approx(25.0)


def test_normalised_error_is_one_at_the_expanded_uncertainty() -> None:
    """A difference of exactly U = 2 u, either way, is the limit."""
    assert normalised_error(0.2, 0.1) == normalised_error(-0.2, 0.1) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: awg_diameter_m(-4), "-4 is not a gauge"),
        (lambda: wire_resistance_ohm_per_m(0.0), "bare_diameter_m must be above 0"),
        (lambda: wire_resistance_ohm_per_m(math.nan), "bare_diameter_m must be above 0"),
        (lambda: to_20c(8000.0, 200.0), "outside -60 to 150"),
        (lambda: to_20c(np.array([1.0]), np.array([200.0])), "outside -60 to 150"),
        (lambda: take_out_parallel_ohm(5e5, 5e5), "unsolder one lead"),
        (lambda: take_out_parallel_ohm(-1.0, 5e5), "not a measurement"),
        (lambda: racetrack_perimeter_m(4.8e-3, 64e-3), "longer side first"),
        (lambda: replace(WORKED, core_width_m=1.0), "Swap them"),
        (lambda: replace(WORKED, stretch=3.0), "0.03 for 3 %"),
        (lambda: coil_turns(0.0, WORKED), "resistance_ohm must be above 0"),
        (lambda: coil_turns(np.array([1.0, -1.0]), WORKED), "resistance_ohm must be above 0"),
        (lambda: scatter_turns(6.4e-3, 4e-3, 71e-6, 0.95), "0.907"),
        (lambda: imbalance_percent(0.0, 1.0), "resistance_a_ohm must be above 0"),
    ],
)
def test_outside_its_domain_a_formula_says_so(call: object, message: str) -> None:
    """Bad input earns a sentence with the next step, never a number."""
    with pytest.raises(OutOfDomain, match=message):
        call()  # type: ignore[operator]


def test_constants_are_the_standards() -> None:
    """1/58 Ω·mm²/m (IEC 60028; recalled, the printed page was not open)."""
    assert pytest.approx(0.017241379, abs=5e-10) == RHO_20_OHM_M * 1e6

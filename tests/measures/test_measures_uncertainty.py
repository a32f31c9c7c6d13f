"""Budgets through several readings, beside a library that tracks every correlation by itself."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from scipy.stats import uniform
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from coilbook.core.budgets.budget import Budget
from coilbook.core.budgets.uncertainty import Contribution, Estimate, expanded, rectangular
from coilbook.core.constants import ALPHA_20_PER_K, CONDUCTIVITY_HALF_WIDTH
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.turns import winding_half_widths, winding_of
from coilbook.records.contents import Reading

ROOT3 = math.sqrt(3.0)
WIRE, BOBBIN = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]

coils_kohm = st.floats(1.0, 10.0)
temperatures_c = st.floats(5.0, 35.0)
half_widths_k = st.floats(0.1, 5.0)
percents = st.floats(0.1, 3.0)
digit_counts = st.floats(0.5, 5.0)


def _coils(a: float, b: float, **conditions: Any) -> list[Reading]:
    return [
        reading(a, component="coil_a", line=2, **conditions),
        reading(b, component="coil_b", line=3, **conditions),
    ]


def _alpha() -> Any:
    return ufloat(ALPHA_20_PER_K, ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH / ROOT3)


def _seen(kohm: float, gain: Any, percent: float, digits: float) -> Any:
    """Return a reading as a library variable: the meter's gain, and what is the reading's own."""
    share = percent / 100.0 * kohm
    own = math.sqrt((share + digits * 0.01) ** 2 - share**2) / ROOT3
    return kohm * (1.0 + gain) + ufloat(0.0, own)


@given(
    a=coils_kohm,
    b=coils_kohm,
    temperature_c=temperatures_c,
    half_width_k=half_widths_k,
    percent=percents,
    digits=digit_counts,
)
def test_imbalance_counts_no_shared_error_as_cancelled(
    a: float, b: float, temperature_c: float, half_width_k: float, percent: float, digits: float
) -> None:
    """Two computations by the library: all errors apart, which is ours, and shared, never above.

    Gain, temperature and coefficient are one variable each for both coils in the second. There the
    imbalance loses them wholly, since they multiply both coils alike; we take no credit for that.
    """
    measured = measure_piece(
        piece(
            *_coils(
                a,
                b,
                temperature_c=temperature_c,
                half_width_k=half_width_k,
                instrument=meter(percent, digits),
            )
        ),
        REFERENCE,
    )
    ours = measured.best["pair", "coil-imbalance"]

    def imbalance(shared: bool) -> Any:
        def inputs() -> tuple[Any, Any, Any]:
            gain = ufloat(0.0, percent / 100.0 / ROOT3)
            return gain, ufloat(temperature_c, half_width_k / ROOT3), _alpha()

        both = inputs()
        at_20c = []
        for kohm in (a, b):
            gain, temperature, alpha = both if shared else inputs()
            warm = _seen(kohm, gain, percent, digits)
            at_20c.append(warm / (1.0 + alpha * (temperature - 20.0)))
        first, second = at_20c
        return 200.0 * (first - second) / (first + second)

    apart, together = imbalance(shared=False), imbalance(shared=True)
    assert ours.value == pytest.approx(abs(apart.nominal_value), rel=1e-9, abs=1e-9)
    assert ours.standard_uncertainty == pytest.approx(apart.std_dev, rel=1e-6)
    assert together.std_dev < apart.std_dev


@given(
    a=coils_kohm,
    b=coils_kohm,
    path_kohm=st.floats(100.0, 1000.0),
    tolerance=st.floats(1.0, 20.0),
    temperature_c=temperatures_c,
    half_width_k=half_widths_k,
    percent=percents,
    digits=digit_counts,
)
def test_turns_of_a_pair_from_readings_in_circuit(
    a: float,
    b: float,
    path_kohm: float,
    tolerance: float,
    temperature_c: float,
    half_width_k: float,
    percent: float,
    digits: float,
) -> None:
    """The whole way: out of circuit, to 20 °C, to turns, to the sum of both coils' turns.

    The library gets one variable for what the coils share (gain, temperature, copper, wire,
    bobbin, packing, stretch), two for what they do not, and the textbook root of the quadratic.
    """
    measured = measure_piece(
        piece(
            *_coils(
                a,
                b,
                circuit="in_circuit",
                parallel_ohm=path_kohm * 1000.0,
                parallel_tolerance=tolerance,
                temperature_c=temperature_c,
                half_width_k=half_width_k,
                instrument=meter(percent, digits),
            )
        ),
        REFERENCE,
    )
    winding, half = winding_of(WIRE, BOBBIN), winding_half_widths(WIRE)
    of = {field: ufloat(getattr(winding, field), half[field] / ROOT3) for field in half}
    gain = ufloat(0.0, percent / 100.0 / ROOT3)
    temperature, alpha = ufloat(temperature_c, half_width_k / ROOT3), _alpha()

    def turns(kohm: float) -> Any:
        path = ufloat(path_kohm, path_kohm * tolerance / 100.0 / ROOT3)
        warm = 1.0 / (1.0 / _seen(kohm, gain, percent, digits) - 1.0 / path)
        ohm = 1000.0 * warm / (1.0 + alpha * (temperature - 20.0))
        core = 2.0 * (of["core_length_m"] - of["core_width_m"]) + math.pi * of["core_width_m"]
        grow = math.pi * of["overall_diameter_m"] ** 2 * of["packing"] / of["winding_height_m"]
        area = math.pi * of["bare_diameter_m"] ** 2 / 4.0
        metres = ohm * area / (of["resistivity_ohm_m"] * (1.0 + of["stretch"]))
        return (usqrt(core**2 + 4.0 * grow * metres) - core) / (2.0 * grow)

    first, second = turns(a), turns(b)
    for component, theirs in (("coil_a", first), ("coil_b", second)):
        ours = measured.best[component, "coil-turns"]
        assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-9)
        assert ours.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-5)
    pair, theirs = measured.best["pair", "pair-turns"], first + second
    assert pair.value == pytest.approx(theirs.nominal_value, rel=1e-9)
    assert pair.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-5)


def test_monte_carlo_agrees_with_a_reading_in_circuit() -> None:
    """400,000 coils at 8.1 kΩ behind 500 kΩ ± 20 %, read at 24 ± 3 °C, drawn after JCGM 101.

    Tolerances: the draws fix the mean to 0.0001 kΩ and the spread to 0.1 %. What a linear budget
    leaves out is the curvature, here in the path: by four million draws 0.0022 kΩ of the mean and
    0.2 % of the spread.
    """
    measured = measure_piece(
        piece(
            *_coils(
                8.1,
                8.1,
                circuit="in_circuit",
                parallel_ohm=500_000.0,
                parallel_tolerance=20.0,
                temperature_c=24.0,
                half_width_k=3.0,
                instrument=meter(0.5, 2.0),
            )
        ),
        REFERENCE,
    )
    ours = measured.best["coil_a", "coil-resistance"]
    draw = np.random.default_rng(20260314)

    def within(value: float, half_width: float) -> Any:
        return value + draw.uniform(-half_width, half_width, 400_000)

    seen, path = within(8.1, 0.005 * 8.1 + 0.02), within(500.0, 100.0)
    alpha = within(ALPHA_20_PER_K, ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH)
    drawn = 1.0 / (1.0 / seen - 1.0 / path) / (1.0 + alpha * (within(24.0, 3.0) - 20.0))
    assert ours.value == pytest.approx(float(np.mean(drawn)), abs=0.003)
    assert ours.standard_uncertainty == pytest.approx(float(np.std(drawn)), rel=0.005)


@given(half_width=st.floats(1e-6, 1e6))
def test_rectangular_is_the_spread_of_a_uniform_distribution(half_width: float) -> None:
    """JCGM 100, 4.3.7, beside scipy's distribution between -a and +a."""
    spread = uniform(loc=-half_width, scale=2.0 * half_width).std()
    assert rectangular(half_width) == pytest.approx(spread, rel=1e-12)


@given(
    lines=st.lists(
        st.tuples(st.floats(-100.0, 100.0), st.floats(1e-3, 10.0)), min_size=1, max_size=8
    )
)
def test_an_estimate_sums_its_lines_as_the_library_does(lines: list[tuple[float, float]]) -> None:
    """JCGM 100, 5.1.2: uncorrelated lines with sensitivities of either sign; k = 2 doubles it."""
    budget = tuple(Contribution(f"line {i}", 0.0, u, c, "1") for i, (c, u) in enumerate(lines))
    estimate = Estimate(0.0, budget)
    theirs = sum(c * ufloat(0.0, u) for c, u in lines)
    assert estimate.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-9, abs=1e-12)
    assert expanded(estimate.standard_uncertainty) == pytest.approx(2.0 * theirs.std_dev)
    dominant = estimate.dominant
    assert dominant is not None
    assert dominant.effect == max(abs(c) * u for c, u in lines)
    assert replace(estimate, contributions=()).dominant is None
    # Kept small, carried on and joined, the lines are the same, and so is their sum.
    small = Budget.of(budget)
    assert tuple(small) == budget
    assert small == budget
    assert [small[-1], *small[:1]] == [budget[-1], budget[0]]
    twice = small.scaled(2.0) + budget
    theirs = sum((2.0 * c) * ufloat(0.0, u) for c, u in lines) + theirs
    assert len(twice) == 2 * len(budget)
    assert Estimate(0.0, twice).standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-9)

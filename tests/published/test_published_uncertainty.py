"""The GUM's worked examples, and two libraries of uncertainty run beside our budgets."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import metrolopy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student
from uncertainties import correlated_values, ufloat
from uncertainties.umath import cos, sin

from coilbook.core.budgets.uncertainty import (
    Contribution,
    Correlation,
    Estimate,
    effective_degrees_of_freedom,
    standard_uncertainty_of_mean,
)
from coilbook.measures.expansion import coverage_factor
from coilbook.measures.monte_carlo import propagate

with (Path(__file__).parent / "uncertainty.toml").open("rb") as _file:
    EXAMPLES = tomllib.load(_file)

H2 = EXAMPLES["h2"]
SETS = np.array([H2["voltage_v"], H2["current_ma"], H2["phase_rad"]]) * [[1.0], [1e-3], [1.0]]
MEANS = SETS.mean(axis=1)
COVARIANCE = np.cov(SETS) / SETS.shape[1]

#: Name → (value, its derivatives by V, I, φ), worked by hand from R = V/I cos φ and its kin.
RESULTS: dict[str, Callable[[float, float, float], tuple[float, tuple[float, float, float]]]] = {
    "resistance": lambda v, i, p: (
        v / i * math.cos(p),
        (math.cos(p) / i, -v / i**2 * math.cos(p), -v / i * math.sin(p)),
    ),
    "reactance": lambda v, i, p: (
        v / i * math.sin(p),
        (math.sin(p) / i, -v / i**2 * math.sin(p), v / i * math.cos(p)),
    ),
    "impedance": lambda v, i, p: (v / i, (1.0 / i, -v / i**2, 0.0)),
}


def _half(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def _h2(name: str) -> Estimate:
    value, by = RESULTS[name](*(float(mean) for mean in MEANS))
    lines = tuple(
        Contribution(
            quantity,
            float(mean),
            standard_uncertainty_of_mean([float(x) for x in readings]),
            derivative,
            unit,
            degrees_of_freedom=len(readings) - 1,
        )
        for quantity, unit, mean, readings, derivative in zip(
            ("V", "I", "φ"), ("V", "A", "rad"), MEANS, SETS, by, strict=True
        )
    )
    r = np.corrcoef(SETS)
    pairs = ((0, 1), (0, 2), (1, 2))
    return Estimate(value, lines, tuple(Correlation(a, b, float(r[a, b])) for a, b in pairs))


@pytest.mark.parametrize("name", RESULTS)
def test_h2_meets_the_printed_figures(name: str) -> None:
    """GUM H.2 with its correlations unrounded: value and standard uncertainty as printed.

    The data file says why the uncertainties are met to one last digit and not to half of it.
    """
    estimate = _h2(name)
    value, u = H2[name]
    assert estimate.value == pytest.approx(float(value), abs=_half(value))
    assert estimate.standard_uncertainty == pytest.approx(float(u), abs=H2["uncertainty_tolerance"])


@pytest.mark.parametrize("name", RESULTS)
def test_h2_agrees_with_two_libraries(name: str) -> None:
    """`uncertainties` and metrolopy get the covariance of the five sets and the bare formulas."""
    ours = _h2(name)
    v, i, p = correlated_values(MEANS, COVARIANCE)
    theirs = {"resistance": v / i * cos(p), "reactance": v / i * sin(p), "impedance": v / i}[name]
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert ours.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-6)
    gv, gi, gp = metrolopy.gummy.create(list(MEANS), covariance_matrix=COVARIANCE)
    made = {
        "resistance": lambda: gv / gi * np.cos(gp),
        "reactance": lambda: gv / gi * np.sin(gp),
        "impedance": lambda: gv / gi,
    }[name]()
    assert ours.standard_uncertainty == pytest.approx(float(made.u), rel=1e-6)


@pytest.mark.parametrize("name", RESULTS)
def test_h2_counts_the_sets_as_one_observation(name: str) -> None:
    """Five sets observed together leave four degrees of freedom, however they are combined."""
    assert _h2(name).effective_degrees_of_freedom == pytest.approx(4.0)


def test_h1_meets_the_printed_figures() -> None:
    """GUM H.1: combined 32 nm, 16 effective degrees of freedom, k = 2.92, U = 93 nm at 99 %."""
    h1 = EXAMPLES["h1"]
    estimate = Estimate(
        0.0,
        tuple(
            Contribution(f"line {n}", 0.0, effect, 1.0, "nm", degrees_of_freedom=freedom)
            for n, (effect, freedom) in enumerate(
                zip(h1["effects"], h1["degrees_of_freedom"], strict=True)
            )
        ),
    )
    assert estimate.standard_uncertainty == pytest.approx(float(h1["combined"]), abs=0.5)
    freedom = math.floor(estimate.effective_degrees_of_freedom)
    assert freedom == int(h1["effective"])
    factor = coverage_factor(0.99, freedom)
    assert factor == pytest.approx(float(h1["factor"]), abs=0.005)
    # The GUM multiplies the rounded 32 nm.
    assert factor * float(h1["combined"]) == pytest.approx(float(h1["expanded"]), abs=0.5)


@pytest.mark.parametrize(("freedom", "percent", "printed"), EXAMPLES["student"]["rows"])
def test_coverage_factor_meets_the_table(freedom: float, percent: float, printed: str) -> None:
    """The GUM's table of t, which prints 95.45 % beside 95 %; scipy's distribution agrees."""
    factor = coverage_factor(percent / 100.0, freedom)
    assert factor == pytest.approx(float(printed), abs=_half(printed))
    beside = student.ppf((1.0 + percent / 100.0) / 2.0, freedom)
    assert factor == pytest.approx(float(beside), rel=1e-9)


@pytest.mark.parametrize("shape", ["normal", "rectangular"])
def test_four_inputs_added_meet_the_supplement(shape: str) -> None:
    """JCGM 101, 9.2: four inputs of standard uncertainty 1, summed; ours from 200,000 draws.

    The ends of so many draws have a standard error of 0.008.
    """
    budget = [Contribution(f"x{n}", 0.0, 1.0, 1.0, "1", shape) for n in range(4)]
    drawn = propagate(
        lambda inputs: np.sum(np.array(list(inputs.values())), axis=0), budget, draws=200_000
    )
    end = float(EXAMPLES["additive"][shape])
    assert drawn.high == pytest.approx(end, abs=0.025)
    assert drawn.low == pytest.approx(-end, abs=0.025)
    assert drawn.standard_uncertainty == pytest.approx(2.0, abs=0.01)


effects = st.floats(0.01, 10.0)
signs = st.sampled_from([-1.0, 1.0])


@given(
    lines=st.lists(st.tuples(effects, signs, st.floats(2.0, 60.0)), min_size=2, max_size=6),
    r=st.floats(-0.95, 0.95),
)
def test_correlated_lines_sum_as_the_library_does(
    lines: list[tuple[float, float, float]], r: float
) -> None:
    """The first two of up to six inputs correlated: `uncertainties` with their covariance."""
    budget = tuple(
        Contribution(f"x{n}", 0.0, u, sign, "1", degrees_of_freedom=nu)
        for n, (u, sign, nu) in enumerate(lines)
    )
    ours = Estimate(0.0, budget, (Correlation(0, 1, r),))
    (u0, s0, _), (u1, s1, _) = lines[:2]
    first, second = correlated_values([0.0, 0.0], [[u0 * u0, r * u0 * u1], [r * u0 * u1, u1 * u1]])
    theirs = s0 * first + s1 * second + sum(s * ufloat(0.0, u) for u, s, _ in lines[2:])
    assert ours.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-6, abs=1e-9)


@settings(deadline=None, max_examples=40)
@given(lines=st.lists(st.tuples(effects, st.floats(2.0, 60.0)), min_size=1, max_size=6))
def test_effective_degrees_of_freedom_beside_metrolopy(lines: list[tuple[float, float]]) -> None:
    """Welch and Satterthwaite over random budgets, by a library that carries the freedoms along."""
    total: Any = sum(metrolopy.gummy(0.0, u=u, dof=nu) for u, nu in lines)
    ours = effective_degrees_of_freedom([u for u, _ in lines], [nu for _, nu in lines])
    # The library gives its own as it is and does not cut it down either.
    assert ours == pytest.approx(float(total.dof), rel=1e-6)

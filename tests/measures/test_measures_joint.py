"""Several estimates of one coil's turns made one: against other programs and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE
from scipy import stats
from uncertainties import ufloat

from coilbook.core.budgets.combine import BARE, STRETCH
from coilbook.core.budgets.joint import (
    best_weights,
    chi_square,
    combined_turns,
    covariance,
    joint_budget,
)
from coilbook.core.budgets.uncertainty import Contribution, Estimate
from coilbook.core.formulas.coil import coil_turns
from coilbook.core.formulas.layers import turns_of_mass
from coilbook.core.formulas.pair import normalised_error
from coilbook.core.reduction.turns import (
    turns_estimate,
    turns_from_mass_estimate,
    winding_half_widths,
    winding_of,
)
from coilbook.errors import OutOfDomain

WIRE, BOBBIN = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]
WINDING, HALF = winding_of(WIRE, BOBBIN), winding_half_widths(WIRE)
METER = Contribution("instrument, digits", 0.0, 0.01, 1.0, "kΩ")
SCALE = Contribution("instrument, digits", 0.0, 0.05, 1.0, "g")

effects = st.lists(st.floats(-50.0, 50.0), min_size=3, max_size=3)


def _coil(resistance_kohm: float = 4.0, mass_g: float = 20.9) -> dict[str, Estimate]:
    return {
        "resistance": turns_estimate(resistance_kohm, (METER,), WINDING, HALF),
        "mass": turns_from_mass_estimate(mass_g, (SCALE,), WINDING, HALF),
    }


@given(values=st.lists(st.floats(4000.0, 6000.0), min_size=3, max_size=3),
       shared=st.lists(effects, min_size=2, max_size=2),
       own=st.lists(st.floats(5.0, 80.0), min_size=3, max_size=3))  # fmt: skip
def test_weights_and_chi_square_agree_with_whitened_least_squares(
    values: list[float], shared: list[list[float]], own: list[float]
) -> None:
    """Generalised least squares the other way: whiten by Cholesky, then ordinary least squares.

    numpy's lstsq gives the constant, its residuals' square sum is the chi-square, and the inverse
    of the whitened design's square is the variance.
    """
    spread = np.array(shared).T
    v = spread @ spread.T + np.diag(np.square(own))
    x = np.array(values)
    white = np.linalg.inv(np.linalg.cholesky(v))
    design = white @ np.ones((3, 1))
    constant, residual, _, _ = np.linalg.lstsq(design, white @ x, rcond=None)
    weights = best_weights(v)
    assert np.sum(weights) == pytest.approx(1.0)
    assert weights @ x == pytest.approx(constant[0], rel=1e-8)
    assert weights @ v @ weights == pytest.approx(1.0 / float((design.T @ design)[0, 0]), rel=1e-6)
    assert chi_square(x, v) == pytest.approx(float(residual[0]), rel=1e-5, abs=1e-6)


def test_budget_of_the_combined_turns_agrees_with_uncertainties() -> None:
    """The uncertainties package, told which inputs the two estimates share, says the same.

    Each input of either budget is one ufloat, shared by name; both turns are built linearly from
    them and weighted with the weights found. Value, u and covariance must be ours.
    """
    estimates = _coil()
    inputs: dict[str, object] = {}
    built = []
    for name, estimate in estimates.items():
        total: object = estimate.value
        for line in estimate.contributions:
            key = f"{name} {line.name}" if line.name == METER.name else line.name
            x = inputs.setdefault(key, ufloat(0.0, line.standard_uncertainty))
            total = total + line.sensitivity * x
        built.append(total)
    theirs = np.array(uncertainties.covariance_matrix(built))
    ours = covariance([e.contributions for e in estimates.values()])
    assert ours == pytest.approx(theirs, rel=1e-9)
    assert theirs[0, 1] < 0.0  # the diameter's opposite signs outweigh all that they share

    both = combined_turns(estimates)
    weighted = sum(w * b for w, b in zip(both.weights.values(), built, strict=True))
    assert both.estimate.value == pytest.approx(weighted.nominal_value)
    assert both.estimate.standard_uncertainty == pytest.approx(weighted.std_dev, rel=1e-9)


def test_simulated_coils_scatter_as_the_combined_budget_says() -> None:
    """A hundred thousand coils of exactly 5000 turns, read and weighed; 95 % lie within U.

    The coils are drawn from the assumed ranges by formulas written here, read by a noisy meter and
    scale, and both readings turned into turns on the nominal winding and weighted. The spread must
    be the budget's within 3 % (the budget is a straight line at nominal), and both together must
    beat either alone more than two to one, as no two independent estimates could.
    """
    rng, n = np.random.default_rng(20260316), 100_000
    draw = {f: getattr(WINDING, f) + rng.uniform(-w, w, n) for f, w in HALF.items()}
    bare, over, stretch = draw["bare_diameter_m"], draw["overall_diameter_m"], draw["stretch"]
    core = 2.0 * (draw["core_length_m"] - draw["core_width_m"]) + np.pi * draw["core_width_m"]
    build = 5000.0 * over**2 * draw["packing"] / draw["winding_height_m"]
    metres = 5000.0 * (core + np.pi * build)
    ohm = draw["resistivity_ohm_m"] * (1.0 + stretch) * metres * 4.0 / (np.pi * bare**2)
    copper = 8890.0 * (1.0 + rng.uniform(-0.005, 0.005, n)) * bare**2 / (1.0 + stretch)
    coat = rng.uniform(1000.0, 1450.0, n) * (over**2 - bare**2 / (1.0 + stretch))
    kilogram = metres * np.pi / 4.0 * (copper + coat)
    by_ohm = coil_turns(ohm + rng.normal(0.0, 10.0, n), WINDING)
    by_mass = turns_of_mass(kilogram + rng.normal(0.0, 0.05e-3, n), WINDING)

    estimates = _coil(float(np.median(ohm)) / 1e3, float(np.median(kilogram)) * 1e3)
    both = combined_turns(estimates)
    found = both.weights["resistance"] * by_ohm + both.weights["mass"] * by_mass
    u = both.estimate.standard_uncertainty
    assert float(np.std(found)) == pytest.approx(u, rel=0.03)
    assert 0.94 < float(np.mean(np.abs(found - 5000.0) <= 2.0 * u)) < 0.98
    assert all(e.standard_uncertainty > 2.0 * u for e in estimates.values())


def test_common_inputs_appear_once_and_may_cancel() -> None:
    """The bare diameter is one line whose two sensitivities nearly cancel; meters stay apart."""
    both = combined_turns(_coil())
    names = [line.name for line in both.estimate.contributions]
    assert len(names) == len(set(names))
    assert "resistance: instrument, digits" in names
    assert "mass: instrument, digits" in names
    (bare,) = [line for line in both.estimate.contributions if line.name == BARE]
    alone = [line.effect for e in _coil().values() for line in e.contributions if line.name == BARE]
    assert bare.effect < 0.1 * min(alone)


def test_an_input_of_another_wire_is_not_shared() -> None:
    """The same name with another estimate is another input: two wires' own diameters."""
    thin = Contribution(BARE, 0.0635, 0.001, 2.0, "mm")
    thick = Contribution(BARE, 0.0711, 0.001, 2.0, "mm")
    budget = joint_budget((("a", 0.5, (thin,)), ("b", 0.5, (thick,))))
    assert len(budget) == 2
    assert covariance([(thin,), (thick,)])[0][1] == 0.0
    assert covariance([(thin,), (thin,)])[0][1] == pytest.approx(4e-6)


def test_estimates_that_do_not_agree_are_said_so() -> None:
    """A weighing of twice the wire is no chance: chi-square beyond its 95 % point (scipy).

    For two estimates chi-square is the square of the difference over its standard uncertainty,
    which is twice the normalised error.
    """
    good, bad = combined_turns(_coil(4.0, 20.9)), combined_turns(_coil(4.0, 41.8))
    assert good.agrees
    assert not bad.agrees
    assert bad.chi_square > stats.chi2.ppf(0.95, 1) > good.chi_square
    assert bad.probability == pytest.approx(stats.chi2.sf(bad.chi_square, 1), rel=1e-9)
    v = covariance([e.contributions for e in _coil(4.0, 41.8).values()])
    difference = np.diff([e.value for e in _coil(4.0, 41.8).values()])[0]
    u = float(np.sqrt(v[0][0] + v[1][1] - 2.0 * v[0][1]))
    assert bad.chi_square == pytest.approx((2.0 * normalised_error(difference, u)) ** 2)


def test_one_estimate_stays_what_it_is() -> None:
    """Alone it takes all the weight and agrees with itself."""
    (alone,) = (_coil()["resistance"],)
    both = combined_turns({"resistance": alone})
    assert both.weights == {"resistance": 1.0}
    assert both.estimate.value == alone.value
    assert both.estimate.standard_uncertainty == pytest.approx(alone.standard_uncertainty)
    assert (both.chi_square, both.agrees) == (0.0, True)


def test_covariances_without_an_inverse_still_give_weights() -> None:
    """An exact count takes all, and two estimates that are the same share.

    Two exact ones that differ can never agree.
    """
    exact = Estimate(5000.0, ())
    by_counter = combined_turns({**_coil(), "counter": exact})
    assert by_counter.estimate.value == pytest.approx(5000.0)
    assert by_counter.weights["counter"] == pytest.approx(1.0)
    assert by_counter.agrees

    same = Estimate(5000.0, (Contribution(STRETCH, 1.5, 0.9, 10.0, "%"),))
    twice = combined_turns({"a": same, "b": same})
    assert twice.weights == pytest.approx({"a": 0.5, "b": 0.5})
    assert twice.estimate.standard_uncertainty == pytest.approx(same.standard_uncertainty)
    assert twice.agrees

    apart = combined_turns({"a": exact, "b": Estimate(5001.0, ())})
    assert apart.chi_square == float("inf")
    assert not apart.agrees


def test_nothing_to_combine_is_refused() -> None:
    """No estimate, and a covariance that is none, each get a sentence."""
    with pytest.raises(OutOfDomain, match="Give at least one"):
        combined_turns({})
    with pytest.raises(OutOfDomain, match="square of finite numbers"):
        best_weights(np.array([[1.0, 2.0]]))
    with pytest.raises(OutOfDomain, match="square of finite numbers"):
        chi_square(np.array([1.0, 2.0]), np.array([[1.0, np.nan], [np.nan, 1.0]]))

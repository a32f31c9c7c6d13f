"""Each property reduced by itself: meter, leads, fixture, zero, bounds, and what a date takes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from uncertainties import ufloat

from coilbook.core.constants import (
    INPUT_CAPACITANCE_HALF_WIDTH,
    INPUT_RESISTANCE_HALF_WIDTH,
    LEADS_HALF_WIDTH,
    SMALLEST_ACROSS_OHM,
)
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.errors import OutOfDomain
from coilbook.records.contents import Piece, Reading

ROOT3 = math.sqrt(3.0)


def _flux(value: float, **more: object) -> Reading:
    made = reading(value, prop="pole-flux-density", component="magnet", step=1.0)
    return replace(made, instrument=meter(2.0, 1.0), **more)  # type: ignore[arg-type]


def _capacitance(value: float, fixture_f: float) -> Reading:
    made = reading(value, prop="self-capacitance", component="pickup", step=1.0)
    return replace(made, instrument=meter(1.0, 2.0), input_capacitance_f=fixture_f)


# --- resistance ----------------------------------------------------------------------------------


def test_meter_leads_and_path_come_out_from_the_outside_inwards() -> None:
    """A coil behind a pot, behind leads, across a meter's own resistance, comes back exactly.

    The circuit is put together by hand. Any other order would give another value.
    """
    coil, pot, leads, own, temperature = 7800.0, 250e3, 40.0, 1e6, 29.0
    warm = coil * (1.0 + 0.00393 * (temperature - 20.0))
    seen = 1.0 / (1.0 / (1.0 / (1.0 / warm + 1.0 / pot) + leads) + 1.0 / own)
    made = reading(
        seen / 1000.0,
        temperature_c=temperature,
        circuit="in_circuit",
        parallel_ohm=pot,
        instrument=meter(),
    )
    value = reduce_reading(replace(made, lead_resistance_ohm=leads, input_resistance_ohm=own))
    assert value.value == pytest.approx(coil / 1000.0, rel=1e-12)
    assert [s.code for s in value.steps] == ["meter", "leads", "parallel", "temperature"]
    for one, other in zip(value.steps, value.steps[1:], strict=False):
        assert one.after == other.before
    assert value.steps[0].data == {"parallel_kohm": 1000.0, "tolerance_percent": 5.0}
    assert value.steps[1].data == {"lead_ohm": leads}
    assert value.flags == ()


@given(
    kohm=st.floats(0.5, 30.0),
    leads_ohm=st.floats(0.01, 100.0),
    own_mohm=st.floats(0.5, 100.0),
    path_kohm=st.floats(100.0, 1000.0),
)
def test_the_whole_chain_agrees_with_an_independent_library(
    kohm: float, leads_ohm: float, own_mohm: float, path_kohm: float
) -> None:
    """The package uncertainties, with its own derivatives, finds value and uncertainty."""
    made = reading(
        kohm, circuit="in_circuit", parallel_ohm=path_kohm * 1000.0, instrument=meter(0.5, 2.0)
    )
    value = reduce_reading(
        replace(made, lead_resistance_ohm=leads_ohm, input_resistance_ohm=own_mohm * 1e6)
    )
    seen = ufloat(kohm, (0.005 * kohm + 0.02) / ROOT3)
    own = ufloat(own_mohm * 1e3, INPUT_RESISTANCE_HALF_WIDTH * own_mohm * 1e3 / ROOT3)
    leads = ufloat(leads_ohm / 1e3, LEADS_HALF_WIDTH * leads_ohm / 1e3 / ROOT3)
    path = ufloat(path_kohm, 0.1 * path_kohm / ROOT3)
    inside = 1.0 / (1.0 / seen - 1.0 / own) - leads
    expected = 1.0 / (1.0 / inside - 1.0 / path) / (1.0 + 0.00393 * ufloat(0.0, 1.0 / ROOT3))
    assert value.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert value.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-6)


def test_the_chain_agrees_with_drawing_it_at_random() -> None:
    """Half a million draws of a hard case (numpy, fixed seed): mean and spread within 1 %.

    A 20 Ω coil on poor leads, where these are most of the uncertainty.
    """
    made = reading(0.0203, step=1e-5, instrument=meter(0.1, 1.0))
    value = reduce_reading(replace(made, lead_resistance_ohm=0.4, input_resistance_ohm=1e4))
    rng = np.random.default_rng(20261125)

    def box(middle: float, half_width: float) -> np.ndarray:
        return rng.uniform(middle - half_width, middle + half_width, 500_000)

    seen = box(20.3, 0.001 * 20.3 + 0.01)
    inside = 1.0 / (1.0 / seen - 1.0 / box(1e4, 500.0)) - box(0.4, 0.2)
    drawn = inside / (1.0 + 0.00393 * box(0.0, 1.0)) / 1000.0
    assert value.value == pytest.approx(drawn.mean(), rel=1e-4)
    assert value.standard_uncertainty == pytest.approx(drawn.std(), rel=0.01)
    assert max(value.budget, key=lambda c: c.effect).name == "test leads and contacts"


def test_leads_as_large_as_the_reading_leave_an_upper_bound() -> None:
    """A short that reads less than its leads is something below what was read."""
    made = reading(0.0003, step=1e-4, instrument=meter())
    value = reduce_reading(replace(made, lead_resistance_ohm=0.5))
    assert (value.qualifier, value.value, value.flags) == ("<", 0.0003, ("above_reading",))
    assert not value.comparable


def test_a_reading_above_the_meters_own_resistance_is_impossible() -> None:
    """Told like a reading above a parallel path, and kept as a lower bound."""
    made = reading(8.0, instrument=meter())
    value = reduce_reading(replace(made, input_resistance_ohm=7000.0))
    assert (value.qualifier, value.value) == (">", 8.0)
    assert value.flags == ("parallel_impossible",)


def test_an_unknown_path_leaves_an_interval() -> None:
    """At least what was read; at most what a pot of 100 kΩ would hide, by the plain circuit."""
    warm = 7.0
    made = reading(warm, temperature_c=26.0, circuit="in_circuit", instrument=meter())
    value = reduce_reading(made)
    factor = 1.0 + 0.00393 * 6.0
    assert value.interval is not None
    low, high = value.interval
    assert low == value.value == pytest.approx(warm / factor)
    assert high is not None
    assert 1.0 / (1.0 / (high * factor) + 1e3 / SMALLEST_ACROSS_OHM) == pytest.approx(warm)
    (path,) = [s for s in value.steps if s.code == "path_unknown"]
    assert path.data == {"smallest_kohm": 100.0, "at_most": high}
    assert (value.qualifier, value.flags) == (">", ("parallel_unknown",))


@given(coil_kohm=st.floats(0.5, 30.0), path_kohm=st.floats(20.0, 1000.0))
def test_the_interval_holds_the_coil_whatever_lies_across(
    coil_kohm: float, path_kohm: float
) -> None:
    """The lower end holds for any path, the upper one for any of 100 kΩ or more."""
    seen = 1.0 / (1.0 / coil_kohm + 1.0 / path_kohm)
    value = reduce_reading(reading(seen, circuit="in_circuit", instrument=meter()))
    assert value.interval is not None
    low, high = value.interval
    assert low <= coil_kohm
    if path_kohm >= 100.0:
        assert high is not None
        assert coil_kohm <= high * (1.0 + 1e-9)


@pytest.mark.parametrize(
    ("kohm", "qualifier", "high"), [(100.0, "", None), (150.0, "", None), (8.0, ">", None)]
)
def test_an_interval_may_have_no_upper_end(kohm: float, qualifier: str, high: float | None) -> None:
    """Where the reading reaches 100 kΩ, or was a lower bound itself, nothing bounds it above."""
    value = reduce_reading(reading(kohm, qualifier=qualifier, circuit="in_circuit"))
    assert value.interval == (kohm, high)


def test_only_an_unknown_path_has_an_interval() -> None:
    """A plain value, a known path and an impossible one have none."""
    for circuit, path in (("free", None), ("in_circuit", 500e3), ("in_circuit", 5e3)):
        value = reduce_reading(reading(8.0, circuit=circuit, parallel_ohm=path))
        assert value.interval is None


# --- the others ----------------------------------------------------------------------------------


def test_the_fixture_is_taken_out_of_a_capacitance() -> None:
    """118 pF less a fixture of 6 pF ± 10 %; the package uncertainties has the same."""
    value = reduce_reading(_capacitance(118.0, 6e-12))
    expected = ufloat(118.0, (1.18 + 2.0) / ROOT3) - ufloat(
        6.0, INPUT_CAPACITANCE_HALF_WIDTH * 6.0 / ROOT3
    )
    assert value.value == pytest.approx(expected.nominal_value)
    assert value.standard_uncertainty == pytest.approx(expected.std_dev)
    (step,) = value.steps
    assert (step.code, step.data) == ("fixture", {"fixture": pytest.approx(6.0)})


def test_a_fixture_larger_than_the_reading_leaves_an_upper_bound() -> None:
    """What is left of 5 pF in a fixture of 6 pF is less than 5 pF."""
    value = reduce_reading(_capacitance(5.0, 6e-12))
    assert (value.qualifier, value.value, value.flags) == ("<", 5.0, ("above_reading",))


@pytest.mark.parametrize("zero", [1.0, -1.5, 0.0])
def test_the_zero_of_a_probe_is_taken_out_with_its_own_last_digit(zero: float) -> None:
    """49 mT with the probe at ``zero`` on its own; half of its last digit enters the budget."""
    value = reduce_reading(_flux(49.0, zero=zero, zero_step=0.5))
    expected = ufloat(49.0, (0.98 + 1.0) / ROOT3) - ufloat(zero, 0.25 / ROOT3)
    assert value.value == pytest.approx(expected.nominal_value)
    assert value.standard_uncertainty == pytest.approx(expected.std_dev)
    assert [s.code for s in value.steps] == ["zero"]
    assert value.comparable


def test_a_zero_as_large_as_the_reading_leaves_an_upper_bound() -> None:
    """2 mT shown by a probe that shows 3 mT of nothing: the field is at most 3 mT either way."""
    value = reduce_reading(_flux(2.0, zero=3.0, zero_step=1.0))
    assert (value.qualifier, value.value, value.flags) == ("<", 3.0, ("above_reading",))


def test_off_the_pole_a_field_is_a_lower_bound() -> None:
    """It is stronger at the face; the zero is taken out all the same."""
    value = reduce_reading(_flux(20.0, standoff_m=2e-3, zero=1.0, zero_step=1.0))
    assert (value.qualifier, value.value, value.flags) == (">", 19.0, ("standoff",))


def test_a_parallel_equivalent_is_an_upper_bound() -> None:
    """Ls = Lp Q²/(1 + Q²) is below Lp whatever Q is; a series equivalent is kept."""
    made = replace(reading(2.5, prop="coil-inductance", step=0.001), instrument=meter())
    series = reduce_reading(made)
    assert (series.value, series.qualifier, series.steps) == (2.5, "", ())
    value = reduce_reading(replace(made, equivalent="parallel"))
    assert (value.qualifier, value.value, value.flags) == ("<", 2.5, ("parallel_equivalent",))
    both = reduce_reading(replace(made, equivalent="parallel", qualifier=">"))
    assert (both.qualifier, both.value) == (">", 0.0)  # above a bound from above: nothing is known


@pytest.mark.parametrize("across", [{"input_capacitance_f": 12e-12}, {"input_resistance_ohm": 1e7}])
def test_a_peak_under_a_probe_is_a_lower_bound(across: dict[str, float]) -> None:
    """Capacitance and load both pull the peak down; a probe that says nothing leaves it alone."""
    made = reading(6.2, prop="resonant-frequency", component="pickup", step=0.01)
    assert reduce_reading(made).comparable
    value = reduce_reading(replace(made, **across))  # type: ignore[arg-type]
    assert (value.qualifier, value.value) == (">", 6.2)
    assert value.flags == ("no_instrument", "probe_across")


def test_insulation_is_kept_and_says_so() -> None:
    """A warm day changes nothing of it, leads and meter neither."""
    made = reading(
        60.0, prop="insulation-resistance", component="pickup", step=0.1, temperature_c=31.0
    )
    value = reduce_reading(replace(made, lead_resistance_ohm=0.3, instrument=meter()))
    assert (value.value, value.steps, value.flags) == (60.0, (), ("insulation",))


@pytest.mark.parametrize("prop", ["magnet-length", "pole-spacing"])
def test_lengths_are_kept(prop: str) -> None:
    """Ten kelvins do not show in a length."""
    part = "magnet" if prop == "magnet-length" else "pickup"
    value = reduce_reading(reading(63.5, prop=prop, component=part, temperature_c=31.0))
    assert (value.value, value.steps) == (63.5, ())


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_names_its_line(bad: float) -> None:
    """It is refused, with file and line, whatever the property."""
    with pytest.raises(OutOfDomain, match=r"readings\.csv:9: a value of"):
        reduce_reading(reading(bad, prop="pole-spacing", component="pickup", line=9))


# --- calibration ---------------------------------------------------------------------------------


def _lapsed_and_valid(prop: str) -> tuple[ReducedValue, ReducedValue]:
    parts = {"coil": "coil", "pole": "magnet", "self": "pickup", "resonant": "pickup"}
    part = parts[prop.partition("-")[0]]
    made = [
        reading(8.0, prop=prop, component=part, instrument=meter(), calibration=state)
        for state in ("lapsed", "valid")
    ]
    lapsed, valid = (reduce_reading(one) for one in made)
    return lapsed, valid


@pytest.mark.parametrize(
    "prop",
    [
        "coil-resistance",
        "coil-inductance",
        "self-capacitance",
        "resonant-frequency",
        "pole-flux-density",
    ],
)
def test_past_its_date_a_reading_loses_its_claim_and_keeps_its_value(prop: str) -> None:
    """Value and uncertainty are those of the last calibration; that nothing backs it is data."""
    lapsed, valid = _lapsed_and_valid(prop)
    assert lapsed.value == valid.value
    assert lapsed.standard_uncertainty == valid.standard_uncertainty
    assert valid.uncertainty_backed
    assert not lapsed.uncertainty_backed
    assert "calibration_lapsed" in lapsed.flags


def test_what_rests_on_a_lapsed_reading_is_not_backed_either() -> None:
    """Of two coils the one in calibration is backed; difference and imbalance are not."""
    made: Piece = piece(
        reading(4.1, component="coil_a", instrument=meter(), calibration="lapsed", line=2),
        reading(3.9, component="coil_b", instrument=meter(), line=3),
    )
    best = measure_piece(made, REFERENCE).best
    assert best["coil_b", "coil-resistance"].uncertainty_backed
    for prop in ("coil-difference", "coil-imbalance", "pair-resistance"):
        assert not best["pair", prop].uncertainty_backed

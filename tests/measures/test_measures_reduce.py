"""Readings reduced: order of steps, bounds, flags, budgets; and which reading stands for a part."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import meter, reading
from uncertainties import ufloat

from coilbook.core.constants import ALPHA_20_PER_K, CONDUCTIVITY_HALF_WIDTH
from coilbook.core.reduction.reduce import choose, reduce_reading
from coilbook.errors import OutOfDomain
from counted import calls_of

ROOT3 = math.sqrt(3.0)
#: Half as many again as it takes.
CALLS_AT_MOST = 150


def test_warm_reading_comes_to_20c() -> None:
    """8 kΩ at 26 °C is 7815.706 Ω at 20 °C (run independently; IEC 60028 coefficient)."""
    value = reduce_reading(reading(8.0, temperature_c=26.0, instrument=meter()))
    assert value.value == pytest.approx(7.815706, abs=5e-7)
    (step,) = value.steps
    assert (step.code, step.before, step.after) == ("temperature", 8.0, value.value)
    assert value.flags == ()
    assert value.comparable


def test_parallel_path_is_taken_out_before_the_temperature() -> None:
    """A coil of known truth, warmed, then put in parallel with a cold pot, comes back exactly.

    The other order gives another value, so the test would see it.
    """
    truth_ohm, path_ohm, temperature_c = 7800.0, 250_000.0, 31.0
    warm = truth_ohm * (1.0 + 0.00393 * (temperature_c - 20.0))
    seen = 1.0 / (1.0 / warm + 1.0 / path_ohm)
    value = reduce_reading(
        reading(
            seen / 1000.0,
            temperature_c=temperature_c,
            circuit="in_circuit",
            parallel_ohm=path_ohm,
            instrument=meter(),
        )
    )
    assert value.value == pytest.approx(truth_ohm / 1000.0, rel=1e-12)
    assert [step.code for step in value.steps] == ["parallel", "temperature"]
    assert value.steps[0].after == value.steps[1].before == pytest.approx(warm / 1000.0)
    cold_first = seen / (1.0 + 0.00393 * (temperature_c - 20.0))
    assert 1.0 / (1.0 / cold_first - 1.0 / path_ohm) != pytest.approx(truth_ohm, abs=1.0)


@given(
    kohm=st.floats(0.5, 30.0),
    temperature_c=st.floats(-5.0, 45.0),
    half_width_k=st.floats(0.01, 10.0),
    path_kohm=st.floats(100.0, 1000.0),
    tolerance=st.floats(0.01, 20.0),
    percent=st.floats(0.0, 5.0),
    digits=st.floats(0.5, 10.0),
    step=st.sampled_from([0.001, 0.01, 0.1]),
)
def test_budget_agrees_with_an_independent_library(
    kohm: float,
    temperature_c: float,
    half_width_k: float,
    path_kohm: float,
    tolerance: float,
    percent: float,
    digits: float,
    step: float,
) -> None:
    """The package uncertainties, with its own derivatives, finds our value and our uncertainty."""
    value = reduce_reading(
        reading(
            kohm,
            temperature_c=temperature_c,
            half_width_k=half_width_k,
            circuit="in_circuit",
            parallel_ohm=path_kohm * 1000.0,
            parallel_tolerance=tolerance,
            step=step,
            instrument=meter(percent, digits),
        )
    )
    seen = ufloat(kohm, (percent / 100.0 * kohm + digits * step) / ROOT3)
    path = ufloat(path_kohm, path_kohm * tolerance / 100.0 / ROOT3)
    temperature = ufloat(temperature_c, half_width_k / ROOT3)
    alpha = ufloat(ALPHA_20_PER_K, ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH / ROOT3)
    expected = 1.0 / (1.0 / seen - 1.0 / path) / (1.0 + alpha * (temperature - 20.0))
    assert value.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert value.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-6)


def test_accuracy_is_one_rectangular_limit() -> None:
    """0.5 % + 2 counts of 0.01 at 8 kΩ is ±0.06 kΩ, so u is 0.06/√3 (JCGM 100, 4.3.7)."""
    value = reduce_reading(reading(8.0, half_width_k=0.0, instrument=meter(0.5, 2.0)))
    assert value.standard_uncertainty == pytest.approx(0.06 / ROOT3, rel=1e-12)


def test_no_reading_is_known_better_than_its_last_digit() -> None:
    """An instrument without an accuracy, or of 0 digits, still leaves half a step."""
    bare = reduce_reading(reading(8.0, half_width_k=0.0, instrument=meter(0.0, 0.0)))
    assert bare.standard_uncertainty == pytest.approx(0.005 / ROOT3, rel=1e-12)
    assert bare.flags == ()


def test_without_an_instrument_only_the_digits_count() -> None:
    """The written digits give half a step, and the value is flagged."""
    value = reduce_reading(reading(8.0, half_width_k=0.0))
    assert value.standard_uncertainty == pytest.approx(0.005 / ROOT3, rel=1e-12)
    assert value.flags == ("no_instrument",)


def test_a_fraction_of_an_inch_has_the_graduation_of_its_rule() -> None:
    """1 15/16 in is good to 1/32 in, and 1 1/2 in no worse; 1/64 in is finer."""
    for text, part in (("1 15/16 in", 16), ("1 1/2 in", 16), ('1 63/64"', 64)):
        value = reduce_reading(
            reading(49.2, prop="pole-spacing", component="pickup", step=None, text=text)
        )
        assert value.standard_uncertainty == pytest.approx(25.4 / part / 2.0 / ROOT3)


def test_counted_things_are_exact() -> None:
    """Two magnets counted by eye are two: no uncertainty, and nothing to flag."""
    value = reduce_reading(reading(2.0, prop="magnet-count", component="pickup", step=1.0))
    assert (value.value, value.standard_uncertainty, value.flags) == (2.0, 0.0, ())


def test_temperature_not_written_is_assumed_and_flagged() -> None:
    """20 °C ± 6 K moves nothing, but brings 6/√3 K times 0.393 %/K."""
    value = reduce_reading(reading(8.0, temperature_c=None, instrument=meter(0.0, 0.5, "m")))
    assert value.value == 8.0
    assert value.flags == ("no_temperature",)
    (line,) = [c for c in value.budget if c.name.startswith("temperature of")]
    assert line.effect == pytest.approx(8.0 * 0.00393 * 6.0 / ROOT3)


def test_lapsed_calibration_is_flagged_and_keeps_the_stated_accuracy() -> None:
    """The uncertainty is that of the valid instrument; the flag is the only difference."""
    valid = reduce_reading(reading(8.0, instrument=meter()))
    lapsed = reduce_reading(reading(8.0, instrument=meter(), calibration="lapsed"))
    assert lapsed.standard_uncertainty == valid.standard_uncertainty
    assert lapsed.flags == ("calibration_lapsed",)


@pytest.mark.parametrize(
    ("qualifier", "parallel_ohm", "expected", "flag"),
    [
        ("", None, (">", 8.0), "parallel_unknown"),
        (">", None, (">", 8.0), "parallel_unknown"),
        ("<", None, (">", 0.0), "parallel_unknown"),
        ("", 8000.0, (">", 8.0), "parallel_impossible"),
        ("", 5000.0, (">", 8.0), "parallel_impossible"),
        ("<", 5000.0, (">", 0.0), "parallel_impossible"),
    ],
)
def test_in_circuit_with_nothing_to_take_out_leaves_a_lower_bound(
    qualifier: str, parallel_ohm: float | None, expected: tuple[str, float], flag: str
) -> None:
    """A coil has at least what it reads with something across it; an upper bound says nothing."""
    value = reduce_reading(
        reading(
            8.0,
            qualifier=qualifier,
            circuit="in_circuit",
            parallel_ohm=parallel_ohm,
            instrument=meter(),
        )
    )
    assert (value.qualifier, value.value) == expected
    assert value.flags == (flag,)
    assert not value.comparable


def test_bounds_are_reduced_and_stay_bounds() -> None:
    """< 8 kΩ at 26 °C is < 7.8157 kΩ at 20 °C."""
    for qualifier in ("<", ">"):
        value = reduce_reading(reading(8.0, qualifier=qualifier, temperature_c=26.0))
        assert value.qualifier == qualifier
        assert value.value == pytest.approx(7.815706, abs=5e-7)
        assert not value.comparable


def test_open_and_categories_pass_through() -> None:
    """Neither has a number; the word of a category stays."""
    broken = reduce_reading(reading(None, qualifier="open"))
    assert (broken.value, broken.standard_uncertainty, broken.qualifier) == (None, None, "open")
    word = reduce_reading(reading(None, prop="wire-gauge", category="42 AWG"))
    assert (word.value, word.category, word.comparable) == (None, "42 AWG", False)


def test_what_is_not_copper_keeps_its_value() -> None:
    """Flux density read on a hot day is not touched, and its temperature is not missed."""
    value = reduce_reading(
        reading(49.0, prop="pole-flux-density", component="magnet", temperature_c=None, step=1.0)
    )
    assert (value.value, value.steps, value.flags) == (49.0, (), ("no_instrument",))


def test_an_impossible_temperature_names_its_line() -> None:
    """400 °C is told with file and line, and not computed."""
    with pytest.raises(OutOfDomain, match=r"readings\.csv:7: 400"):
        reduce_reading(reading(8.0, temperature_c=400.0, line=7))


def test_choice_prefers_number_then_calibration_then_sharpness_then_date_then_order() -> None:
    """Each rule decides where all those before it are even."""
    base = reduce_reading(reading(8.0, instrument=meter()))
    bound = base._replace(qualifier=">", standard_uncertainty=0.001)
    lapsed = base._replace(flags=("calibration_lapsed",), standard_uncertainty=0.001)
    sharp = base._replace(standard_uncertainty=0.01)
    later = sharp._replace(date="2026-05-01")
    undated = sharp._replace(date="")
    assert choose([bound, lapsed]) is lapsed
    assert choose([bound, lapsed, base]) is base
    assert choose([bound, lapsed, base, sharp]) is sharp
    assert choose([bound, lapsed, base, sharp, later]) is later
    assert choose([undated, sharp]) is sharp
    assert choose([sharp, sharp._replace(line=9)]) is sharp


def test_flux_density_is_taken_as_found() -> None:
    """The earliest dated reading stands for the magnet, however sharp the one after a recharge."""
    found = reduce_reading(
        reading(30.0, prop="pole-flux-density", component="magnet", date="2024-01-01", step=5.0)
    )
    recharged = found._replace(value=55.0, standard_uncertainty=0.1, date="2024-02-01")
    undated = found._replace(value=60.0, date="")
    assert choose([undated, recharged, found]) is found


def test_the_latest_word_or_bound_stands_where_there_is_no_number() -> None:
    """Of two readings without a number the later is the newer state of the piece."""
    bound = reduce_reading(reading(9.0, qualifier=">", date="2024-01-01"))
    broken = reduce_reading(reading(None, qualifier="open", date="2024-02-01"))
    assert choose([bound, broken]) is broken


def test_a_reading_is_reduced_in_few_steps() -> None:
    """An archive has thousands of readings: one in circuit takes 96 calls, and no draw of numbers.

    :data:`CALLS_AT_MOST` leaves room for other ways to say the same, not for work done twice.
    """
    one = reading(
        8.0,
        temperature_c=26.0,
        circuit="in_circuit",
        parallel_ohm=500_000.0,
        instrument=meter(),
    )
    reduced, calls = calls_of(lambda: reduce_reading(one))
    assert reduced.standard_uncertainty is not None
    assert calls <= CALLS_AT_MOST

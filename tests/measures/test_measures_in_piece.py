"""Readings that other values of a piece settle: parallel inductance, probed peak, far-off field."""

from __future__ import annotations

import math
from dataclasses import replace

import magpylib
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from uncertainties import ufloat

from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.probe import DRIVE
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.core.reduction.reduce_in_piece import (
    at_the_face,
    best_of,
    reduce_readings,
    series_inductance,
    without_probe,
)
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.records.contents import Reading

ROOT3 = math.sqrt(3.0)
ROD = "staggered-rod-single-coil"
TWIN = "full-size-humbucker"
Best = dict[tuple[str, str], ReducedValue]


def _read(
    value: float, prop: str, part: str, *, percent: float = 0.5, line: int = 2, **more: object
) -> Reading:
    """Return a reading by an instrument of ``percent`` and half a thousandth of a count."""
    made = reading(value, prop=prop, component=part, step=1e-3, line=line)
    return replace(made, instrument=meter(percent, 0.5), **more)  # type: ignore[arg-type]


def _best(*readings: Reading) -> Best:
    return best_of([reduce_reading(one) for one in readings])


# --- inductance ----------------------------------------------------------------------------------


def _parallel(henry: float = 2.6, **more: object) -> Reading:
    return _read(henry, "coil-inductance", "coil", equivalent="parallel", **more)


@given(henry=st.floats(0.5, 15.0), q=st.floats(0.4, 15.0))
def test_series_inductance_agrees_with_an_independent_library(henry: float, q: float) -> None:
    """Lp and Q with their uncertainties through the package uncertainties."""
    made = _parallel(henry, test_frequency_hz=1000.0)
    quality = _read(q, "coil-quality", "coil", percent=2.0, test_frequency_hz=1000.0)
    value = series_inductance(reduce_reading(made), made, _best(quality))
    lp = ufloat(henry, (0.005 * henry + 0.5e-3) / ROOT3)
    of_q = ufloat(q, (0.02 * q + 0.5e-3) / ROOT3)
    expected = lp * of_q**2 / (1.0 + of_q**2)
    assert value.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert value.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-6)
    assert (value.qualifier, value.flags) == ("", ())
    (step,) = value.steps
    assert (step.code, step.before, step.after) == ("series", henry, value.value)
    assert step.data == {"quality": q}


@pytest.mark.parametrize(
    ("quality_hz", "settled"), [(1000.0, True), (1005.0, True), (None, True), (120.0, False)]
)
def test_the_quality_must_be_of_the_same_frequency(quality_hz: float | None, settled: bool) -> None:
    """Q changes with frequency: at another one it settles nothing."""
    made = _parallel(test_frequency_hz=1000.0)
    quality = _read(2.0, "coil-quality", "coil", test_frequency_hz=quality_hz)
    before = reduce_reading(made)
    value = series_inductance(before, made, _best(quality))
    assert value.comparable is settled
    if not settled:
        assert value == before


def test_without_a_quality_a_parallel_reading_stays_a_bound() -> None:
    """None at all, one of the other coil, and one that is a bound itself."""
    made = _parallel()
    before = reduce_reading(made)
    for other in (
        _read(2.0, "coil-quality", "coil_a"),
        _read(2.0, "coil-quality", "coil", qualifier=">"),
    ):
        assert series_inductance(before, made, _best(other)) == before
    assert series_inductance(before, made, {}) == before


def test_a_series_reading_and_its_bound_are_left_alone() -> None:
    """A series equivalent needs no Q; a parallel upper bound becomes a series upper bound."""
    plain = _read(2.6, "coil-inductance", "coil")
    best = _best(_read(2.0, "coil-quality", "coil"))
    assert series_inductance(reduce_reading(plain), plain, best) == reduce_reading(plain)
    bound = _parallel(qualifier="<")
    value = series_inductance(reduce_reading(bound), bound, best)
    assert (value.qualifier, value.value) == ("<", pytest.approx(2.6 * 0.8))


def test_a_quality_off_its_date_leaves_the_inductance_unbacked() -> None:
    """The uncertainty of the series value needs that of Q."""
    made = _parallel()
    quality = _read(2.0, "coil-quality", "coil", calibration="lapsed")
    value = series_inductance(reduce_reading(made), made, _best(quality))
    assert not value.uncertainty_backed


# --- peak ----------------------------------------------------------------------------------------

HENRY, OHM, PICO = 4.4, 7800.0, 110.0


def _seen_khz(pico: float, load_ohm: float) -> float:
    """Return where a fine sweep of plain impedances is highest, kHz."""
    hertz = np.linspace(3000.0, 12000.0, 900_001)
    s = 2j * np.pi * hertz
    admittance = s * pico * 1e-12 + 1.0 / load_ohm
    return float(hertz[np.abs(1.0 / (1.0 + (OHM + s * HENRY) * admittance)).argmax()] / 1000.0)


def _peak(khz: float) -> Reading:
    return _read(
        khz,
        "resonant-frequency",
        "pickup",
        percent=1.0,
        input_capacitance_f=12e-12,
        input_resistance_ohm=10e6,
    )


R = _read(OHM / 1000.0, "coil-resistance", "coil", line=3)
C = _read(PICO, "self-capacitance", "pickup", percent=1.0, line=4)
L = _read(HENRY, "coil-inductance", "coil", line=5)


@pytest.mark.parametrize("given_part", [C, L], ids=["capacitance", "inductance"])
def test_the_peak_without_the_probe_is_that_of_a_sweep(given_part: Reading) -> None:
    """A circuit swept by numpy with the probe across; what comes back is the sweep without it."""
    seen, alone = _seen_khz(PICO + 12.0, 10e6), _seen_khz(PICO, math.inf)
    made = _peak(seen)
    value = without_probe(reduce_reading(made), made, _best(R, given_part))
    assert value.value == pytest.approx(alone, abs=2e-5)
    assert (value.qualifier, value.flags) == ("", ())
    (step,) = value.steps
    assert step.code == "probe"
    assert step.data["probe_pf"] == pytest.approx(12.0)
    assert step.data["by"] == ("capacitance" if given_part is C else "inductance")


@pytest.mark.parametrize("given_part", [C, L], ids=["capacitance", "inductance"])
def test_the_peaks_budget_agrees_with_drawing_it_at_random(given_part: Reading) -> None:
    """Each input drawn within its limits and pushed through the circuit's own equations (numpy)."""
    made = _peak(6.87)
    value = without_probe(reduce_reading(made), made, _best(R, given_part))
    rng = np.random.default_rng(20261125)

    def box(middle: float, half_width: float) -> np.ndarray:
        return rng.uniform(middle - half_width, middle + half_width, 400_000)

    hertz = 1000.0 * box(6.87, 0.0687 + 0.5e-3)
    ohm = 1000.0 * box(7.8, 0.039 + 0.5e-3) / (1.0 + 0.00393 * box(0.0, 1.0))
    probe, load = box(12e-12, 1.2e-12), box(10e6, 0.5e6)
    w2 = (2.0 * np.pi * hertz) ** 2
    if given_part is C:
        own = 1e-12 * box(PICO, 1.1 + 0.5e-3)
        d = w2 + 0.5 / (load * (own + probe)) ** 2
        henry = (1 / (own + probe) + np.sqrt((own + probe) ** -2.0 - 2 * ohm**2 * d)) / (2 * d)
    else:
        henry = box(HENRY, 0.022 + 0.5e-3)
        e = w2 + 0.5 * (ohm / henry) ** 2
        own = (1 / henry + np.sqrt(henry**-2.0 - 2 * e / load**2)) / (2 * e) - probe
    drawn = np.sqrt(1 / (henry * own) - 0.5 * (ohm / henry) ** 2) / (2.0 * np.pi) / 1000.0
    own_lines = [line.effect for line in value.budget if line.name != DRIVE]
    assert value.value == pytest.approx(drawn.mean(), rel=1e-3)
    assert math.hypot(*own_lines) == pytest.approx(drawn.std(), rel=0.01)


def test_the_capacitance_is_asked_before_the_inductance() -> None:
    """An inductance read low down is not that near the peak."""
    made = _peak(6.5)
    value = without_probe(reduce_reading(made), made, _best(R, L, C))
    assert value.steps[0].data["by"] == "capacitance"


def test_the_pair_is_asked_of_two_coils() -> None:
    """Resistance and inductance of a pair settle the peak of a pickup of two coils."""
    made = _peak(_seen_khz(PICO + 12.0, 10e6))
    pair = (
        _read(OHM / 1000.0, "pair-resistance", "pair", line=3),
        _read(HENRY, "pair-inductance", "pair", line=5),
    )
    value = without_probe(reduce_reading(made), made, _best(*pair))
    assert value.value == pytest.approx(_seen_khz(PICO, math.inf), abs=2e-5)


@pytest.mark.parametrize(
    "known",
    [(), (C,), (R,), (R, replace(C, qualifier=">")), (R, _read(300.0, C.row.property_id, "coil"))],
)
def test_a_probed_peak_with_too_little_known_stays_a_bound(known: tuple[Reading, ...]) -> None:
    """Nothing, half of it, bounds, or a value of another part: at least what was read."""
    made = _peak(6.5)
    before = reduce_reading(made)
    assert without_probe(before, made, _best(*known)) == before
    assert before.flags == ("probe_across",)


def test_a_probe_that_accounts_for_all_of_the_peak_leaves_a_bound() -> None:
    """An inductance with which nothing is left for the winding's own capacitance."""
    made = _peak(6.5)
    before = reduce_reading(made)
    too_large = _read(60.0, "coil-inductance", "coil")
    assert without_probe(before, made, _best(R, too_large)) == before


# --- flux ----------------------------------------------------------------------------------------


def _field(**more: object) -> Reading:
    made = reading(20.0, prop="pole-flux-density", component="magnet", step=0.1, line=2)
    given = {"standoff_m": 2e-3, "standoff_step_m": 1e-4, "sensor_depth_m": 0.5e-3, **more}
    return replace(made, instrument=meter(2.0, 1.0), **given)  # type: ignore[arg-type]


DIAMETER = _read(4.76, "pole-diameter", "pickup", percent=0.0, line=3)
LENGTH = _read(17.0, "magnet-length", "magnet", percent=0.0, line=4)


def _on_axis(z_m: float) -> float:
    rod = magpylib.magnet.Cylinder(
        polarization=(0.0, 0.0, 1.0), dimension=(4.76e-3, 17e-3), position=(0.0, 0.0, -8.5e-3)
    )
    return float(rod.getB((0.0, 0.0, z_m))[2])


def test_a_field_read_off_a_rod_is_brought_to_touching() -> None:
    """By the ratio that magpylib finds for the rod, the spot 0.5 mm deep, the zero taken out."""
    made = _field(zero=1.0, zero_step=1.0)
    value = at_the_face(
        reduce_reading(made), made, REFERENCE.families[ROD], _best(DIAMETER, LENGTH)
    )
    assert value.value == pytest.approx(19.0 * _on_axis(0.5e-3) / _on_axis(2.5e-3), rel=1e-9)
    assert (value.qualifier, value.flags) == ("", ())
    assert [s.code for s in value.steps] == ["zero", "standoff"]
    assert value.steps[1].data["standoff_mm"] == 2.0


def test_the_fields_budget_agrees_with_drawing_it_at_random() -> None:
    """Every input drawn within its limits through the textbook's field of a rod (numpy)."""
    made = _field(zero=1.0, zero_step=1.0)
    value = at_the_face(
        reduce_reading(made), made, REFERENCE.families[ROD], _best(DIAMETER, LENGTH)
    )
    rng = np.random.default_rng(20261125)

    def box(middle: float, half_width: float) -> np.ndarray:
        return rng.uniform(middle - half_width, middle + half_width, 400_000)

    radius, length = box(4.76, 0.5e-3) / 2.0, box(17.0, 0.5e-3)
    depth, gap = box(0.5, 0.1), box(2.0, 0.1)

    def field(z: np.ndarray) -> np.ndarray:
        return (z + length) / np.hypot(z + length, radius) - z / np.hypot(z, radius)

    read = box(20.0, 0.4 + 0.1) - box(1.0, 0.5)
    drawn = read * field(depth) / field(depth + gap) * box(1.0, 0.006 * 4.0)
    assert value.value == pytest.approx(drawn.mean(), rel=0.002)
    assert value.standard_uncertainty == pytest.approx(drawn.std(), rel=0.02)


def test_a_depth_that_nobody_stated_widens_the_budget() -> None:
    """Half a millimetre, give or take as much, is taken."""
    best, family = _best(DIAMETER, LENGTH), REFERENCE.families[ROD]
    stated, unstated = _field(), _field(sensor_depth_m=0.0)
    sharp = at_the_face(reduce_reading(stated), stated, family, best)
    wide = at_the_face(reduce_reading(unstated), unstated, family, best)
    assert wide.value == pytest.approx(sharp.value)
    assert sharp.standard_uncertainty is not None
    assert wide.standard_uncertainty is not None
    assert wide.standard_uncertainty > sharp.standard_uncertainty


@pytest.mark.parametrize(
    ("family", "more", "known"),
    [
        (TWIN, {}, (DIAMETER, LENGTH)),  # screws over a bar
        ("horseshoe-lap-steel", {}, (DIAMETER, LENGTH)),  # rods of steel under a magnet apart
        (ROD, {"standoff_m": 6e-3}, (DIAMETER, LENGTH)),  # too far for what the neighbours do
        (ROD, {}, (DIAMETER,)),
        (ROD, {}, (LENGTH,)),
        (ROD, {"zero": 25.0, "zero_step": 1.0}, (DIAMETER, LENGTH)),  # nothing left of it
    ],
)
def test_what_cannot_be_brought_to_the_face_stays_a_bound(
    family: str, more: dict[str, object], known: tuple[Reading, ...]
) -> None:
    """No rod, too far off, or a size that nobody read."""
    made = _field(**more)
    before = reduce_reading(made)
    assert at_the_face(before, made, REFERENCE.families[family], _best(*known)) == before
    assert "standoff" in before.flags
    assert not before.comparable


def test_touching_is_left_as_read() -> None:
    """No gap, no step."""
    made = _field(standoff_m=0.0)
    before = reduce_reading(made)
    assert at_the_face(before, made, REFERENCE.families[ROD], _best(DIAMETER, LENGTH)) == before
    assert before.value == 20.0


# --- all together --------------------------------------------------------------------------------


def test_a_piece_is_settled_in_the_order_in_which_one_needs_another() -> None:
    """A parallel inductance first becomes a series one, then takes the probe out of the peak."""
    seen, alone = _seen_khz(PICO + 12.0, 10e6), _seen_khz(PICO, math.inf)
    q = 2.0
    made = piece(
        _peak(seen),
        _parallel(HENRY * (1.0 + 1.0 / q**2), line=3),
        replace(R, line=4),
        _read(q, "coil-quality", "coil", line=5),
        _field(),
        DIAMETER,
        LENGTH,
        reading(-3.0, prop="pickup-mass", component="pickup", line=9),
        family=ROD,
    )
    values, troubles = reduce_readings(made)
    assert [v.property_id for v in values] == [r.property.property_id for r in made.readings[:-1]]
    assert values[0].value == pytest.approx(alone, abs=2e-5)
    assert values[1].value == pytest.approx(HENRY, rel=1e-9)
    assert all(v.comparable for v in values)
    assert [(t.code, t.line) for t in troubles] == [("not_above_zero", 9)]
    measured = measure_piece(made, REFERENCE)
    assert measured.best["pickup", "resonant-frequency"] == values[0]
    assert measured.best["magnet", "pole-flux-density"].comparable

"""What probes and bridges do to what they read, held against plain circuits and a field library."""

from __future__ import annotations

import math

import magpylib
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from uncertainties import ufloat, umath

from coilbook.core.budgets.uncertainty import Contribution
from coilbook.core.constants import (
    FARTHEST_STANDOFF_M,
    INPUT_CAPACITANCE_HALF_WIDTH,
    INPUT_RESISTANCE_HALF_WIDTH,
    NEIGHBOURS_PER_M2,
)
from coilbook.core.formulas.inductor import (
    extra_loss,
    loss_surplus,
    parallel_inductance_h,
    quality_factor,
    series_inductance_h,
)
from coilbook.core.formulas.rods import RodMagnet
from coilbook.core.reduction.probe import (
    DRIVE,
    PROBE_CAPACITANCE,
    driven_peak_ratio,
    peak_by_capacitance_hz,
    peak_by_inductance_hz,
    standoff_ratio,
    standoff_sensitivities,
    thermal_expansion_m,
    unloaded_peak,
)
from coilbook.errors import OutOfDomain

#: A pickup of the check values, and the probe of the demo's bench.
HENRY, OHM, FARAD = 4.4, 7800.0, 110e-12
PROBE_F, PROBE_OHM = 12e-12, 10e6


def _voltage(hertz: float, farad: float, load_ohm: float, *, driven: bool) -> float:
    """Return the voltage at the leads by plain impedances: a source behind L and R, C and load.

    ``driven`` makes the source rise with frequency, as that of a coil in a field of steady size.
    """
    s = 2j * math.pi * hertz
    across = 1.0 / (s * farad + 1.0 / load_ohm)
    source = hertz if driven else 1.0
    return abs(source * across / (across + OHM + s * HENRY))


def _highest_hz(farad: float, load_ohm: float, *, driven: bool = False) -> float:
    """Return where scipy finds the highest output, to a millionth of it."""
    middle = 1.0 / (2.0 * math.pi * math.sqrt(HENRY * farad))
    found = minimize_scalar(
        lambda x: -_voltage(middle * x, farad, load_ohm, driven=driven),
        bounds=(0.5, 1.5),
        method="bounded",
        options={"xatol": 1e-9},
    )
    return float(middle * found.x)


@pytest.mark.parametrize("load_ohm", [10e6, 1e6, 250e3])
def test_the_probe_is_taken_out_of_a_peak_found_by_scipy(load_ohm: float) -> None:
    """The peak with the probe in a circuit of plain impedances, and that without, are scipy's."""
    seen = _highest_hz(FARAD + PROBE_F, load_ohm)
    alone = _highest_hz(FARAD, math.inf)
    assert alone > 1.04 * seen
    by_l = peak_by_inductance_hz(seen, HENRY, OHM, PROBE_F, load_ohm)
    by_c = peak_by_capacitance_hz(seen, FARAD, OHM, PROBE_F, load_ohm)
    assert by_l == pytest.approx(alone, rel=1e-6)
    assert by_c == pytest.approx(alone, rel=1e-6)


@pytest.mark.parametrize("load_ohm", [10e6, 1e6, 250e3])
def test_a_driven_pickup_moves_by_the_ratio_that_scipy_finds(load_ohm: float) -> None:
    """A source that rises with frequency: the ratio of the two peaks found by scipy."""
    seen = _highest_hz(FARAD + PROBE_F, load_ohm, driven=True)
    alone = _highest_hz(FARAD, math.inf, driven=True)
    ratio = driven_peak_ratio(HENRY, OHM, FARAD, PROBE_F, load_ohm)
    assert alone / seen == pytest.approx(ratio, rel=1e-6)


@given(
    henry=st.floats(0.5, 15.0),
    ohm=st.floats(2e3, 15e3),
    farad=st.floats(40e-12, 400e-12),
    probe_f=st.floats(1e-12, 40e-12),
    probe_ohm=st.floats(5e5, 1e8),
)
def test_peak_without_a_probe_agrees_with_an_independent_library(
    henry: float, ohm: float, farad: float, probe_f: float, probe_ohm: float
) -> None:
    """The package uncertainties, with its own derivatives, finds our budget, by L and by C.

    The peak is put there by the circuit itself, so that it also comes back.
    """
    omega2 = (
        1.0 / (henry * (farad + probe_f))
        - (ohm / henry) ** 2 / 2.0
        - 1.0 / (probe_ohm * (farad + probe_f)) ** 2 / 2.0
    )
    if omega2 < (2.0 * math.pi * 500.0) ** 2:
        return
    seen_hz = math.sqrt(omega2) / (2.0 * math.pi)
    f = ufloat(seen_hz, 0.004 * seen_hz)
    r, probe_c, probe_r = (
        ufloat(ohm, 0.002 * ohm),
        ufloat(probe_f, INPUT_CAPACITANCE_HALF_WIDTH * probe_f / math.sqrt(3.0)),
        ufloat(probe_ohm, INPUT_RESISTANCE_HALF_WIDTH * probe_ohm / math.sqrt(3.0)),
    )
    inductance, c = ufloat(henry, 0.005 * henry), ufloat(farad, 0.01 * farad)
    w2 = (2.0 * math.pi * f) ** 2

    def alone(inductance: object, own: object) -> object:
        square = 1.0 / (inductance * own) - (r / inductance) ** 2 / 2.0  # type: ignore[operator]
        return umath.sqrt(square) / (2.0 * math.pi)

    # By L: w² x² − x/L + … in x = the whole capacitance, its larger root; and likewise by C.
    e = w2 + (r / inductance) ** 2 / 2.0
    whole = (1 / inductance + umath.sqrt(1 / inductance**2 - 2.0 * e / probe_r**2)) / (2.0 * e)
    d = w2 + 1.0 / (probe_r * (c + probe_c)) ** 2 / 2.0
    of_c = (1 / (c + probe_c) + umath.sqrt(1 / (c + probe_c) ** 2 - 2.0 * r**2 * d)) / (2.0 * d)
    lines = {
        "peak": (Contribution("meter", seen_hz, 0.004 * seen_hz, 1.0, "Hz"),),
        "resistance": (Contribution("meter", ohm, 0.002 * ohm, 1.0, "Ω"),),
        "inductance": (Contribution("meter", henry, 0.005 * henry, 1.0, "H"),),
        "capacitance": (Contribution("meter", farad, 0.01 * farad, 1.0, "F"),),
    }
    for expected, given_parts in (
        (alone(inductance, whole - probe_c), {"inductance_h": henry}),
        (alone(of_c, c), {"capacitance_f": farad}),
    ):
        found = unloaded_peak(seen_hz, ohm, probe_f, probe_ohm, budgets=lines, **given_parts)  # type: ignore[arg-type]
        own = [line.effect for line in found.contributions if line.name != DRIVE]
        assert found.value == pytest.approx(expected.nominal_value, rel=1e-7)  # type: ignore[attr-defined]
        assert math.hypot(*own) == pytest.approx(expected.std_dev, rel=1e-5)  # type: ignore[attr-defined]


def test_two_ways_of_driving_differ_by_what_the_budget_allows() -> None:
    """The peak of a driven pickup lies within the limit that the budget gives to the drive.

    Seen under the probe by a driven pickup, brought back by our formula, held against scipy's peak
    of the driven pickup alone.
    """
    for load_ohm in (PROBE_OHM, 1e6):
        seen = _highest_hz(FARAD + PROBE_F, load_ohm, driven=True)
        alone = _highest_hz(FARAD, math.inf, driven=True)
        found = unloaded_peak(seen, OHM, PROBE_F, load_ohm, capacitance_f=FARAD)
        (drive,) = [line for line in found.contributions if line.name == DRIVE]
        assert 0.0 < abs(found.value - alone) <= drive.effect * math.sqrt(3.0) * 1.05


def test_a_probe_without_capacitance_or_load_brings_no_line_of_its_own() -> None:
    """Nothing across the pickup changes nothing, and only the drive's line is there, of nothing."""
    found = unloaded_peak(6000.0, OHM, 0.0, capacitance_f=FARAD)
    assert found.value == pytest.approx(6000.0, rel=1e-12)
    assert PROBE_CAPACITANCE not in [line.name for line in found.contributions]


def test_one_part_is_needed_and_nonsense_is_refused() -> None:
    """Neither or both parts, a probe that is all of the capacitance, a load below nothing."""
    with pytest.raises(OutOfDomain, match="one of inductance_h and capacitance_f"):
        unloaded_peak(6000.0, OHM, PROBE_F)
    with pytest.raises(OutOfDomain, match="one of inductance_h and capacitance_f"):
        unloaded_peak(6000.0, OHM, PROBE_F, inductance_h=HENRY, capacitance_f=FARAD)
    with pytest.raises(OutOfDomain, match="leaves nothing"):
        unloaded_peak(6000.0, OHM, 500e-12, inductance_h=HENRY)
    with pytest.raises(OutOfDomain, match="probe_ohm must be above 0"):
        driven_peak_ratio(HENRY, OHM, FARAD, PROBE_F, -1.0)
    with pytest.raises(OutOfDomain, match="higher than these parts can reach"):
        peak_by_capacitance_hz(500.0, 1e-6, 5e5, 1e-12, math.inf)


# --- inductance ----------------------------------------------------------------------------------


@given(henry=st.floats(1e-3, 50.0), ohm=st.floats(10.0, 1e5), hertz=st.floats(50.0, 2e4))
def test_both_equivalents_are_one_impedance(henry: float, ohm: float, hertz: float) -> None:
    """The admittance of R and L in series, by complex numbers, shows our parallel inductance."""
    omega = 2.0 * math.pi * hertz
    q = quality_factor(henry, ohm, hertz)
    admittance = 1.0 / complex(ohm, omega * henry)
    shown = -1.0 / (omega * admittance.imag)
    assert parallel_inductance_h(henry, q) == pytest.approx(shown, rel=1e-9)
    assert series_inductance_h(shown, q) == pytest.approx(henry, rel=1e-9)
    assert q == pytest.approx(admittance.imag / -admittance.real, rel=1e-9)


def test_direct_current_bounds_the_quality_from_above() -> None:
    """Loss beside the winding, here an eddy path on a coupled core, only takes Q away.

    Worked by hand with complex impedances: a secondary of 2 mH and 3 Ω, coupled by half.
    """
    omega = 2.0 * math.pi * 1000.0
    mutual = 0.5 * math.sqrt(HENRY * 2e-3)
    z = complex(OHM, omega * HENRY) + (omega * mutual) ** 2 / complex(3.0, omega * 2e-3)
    apparent_h = z.imag / omega
    assert z.imag / z.real < quality_factor(apparent_h, OHM, 1000.0)


# --- flux ----------------------------------------------------------------------------------------


def _row_mt(rod: RodMagnet, z_m: float, neighbours: int, pitch_m: float = 10.4e-3) -> float:
    """Return the field over the middle rod of a row, by magpylib, mT for J = 1 T."""
    field = sum(
        magpylib.magnet.Cylinder(
            polarization=(0.0, 0.0, 1.0),
            dimension=(rod.diameter_m, rod.along_m),
            position=(k * pitch_m, 0.0, -rod.along_m / 2.0),
        ).getB((0.0, 0.0, z_m))[2]
        for k in range(-neighbours, neighbours + 1)
    )
    return float(field) * 1e3


@pytest.mark.parametrize("length_mm", [13.0, 16.0, 17.0])
@pytest.mark.parametrize("gap_mm", [0.5, 1.0, 2.0, 3.0, 5.0])
def test_the_ratio_of_a_rod_is_that_of_an_independent_field_library(
    length_mm: float, gap_mm: float
) -> None:
    """Touching over held off, on the axis, by magpylib; a sensing spot 0.5 mm deep."""
    rod = RodMagnet(4.76e-3, length_mm / 1e3)
    gap, depth = gap_mm / 1e3, 0.5e-3
    expected = _row_mt(rod, depth, 0) / _row_mt(rod, depth + gap, 0)
    assert standoff_ratio(rod, gap, depth) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("pitch_mm", [10.0, 10.4, 11.0])
@pytest.mark.parametrize("gap_mm", [1.0, 2.0, 3.0, 4.0, 5.0])
def test_neighbours_move_the_ratio_by_no_more_than_is_allowed(
    gap_mm: float, pitch_mm: float
) -> None:
    """A row of five rods, by magpylib: within the share that the budget gives, up to 5 mm.

    At 5 mm more than half of it is used, so that the allowance is not idle.
    """
    rod = RodMagnet(4.76e-3, 17e-3)
    gap, depth = gap_mm / 1e3, 0.5e-3
    assert gap <= FARTHEST_STANDOFF_M
    row = _row_mt(rod, depth, 2, pitch_mm / 1e3) / _row_mt(rod, depth + gap, 2, pitch_mm / 1e3)
    share = abs(row / standoff_ratio(rod, gap, depth) - 1.0)
    allowed = NEIGHBOURS_PER_M2 * gap**2
    assert share <= 1.01 * allowed
    if gap_mm == 5.0:
        assert share > 0.6 * allowed


@given(
    diameter_mm=st.floats(3.0, 8.0),
    length_mm=st.floats(8.0, 25.0),
    gap_mm=st.floats(0.1, 5.0),
    depth_mm=st.floats(0.1, 1.5),
)
def test_stand_off_sensitivities_agree_with_an_independent_library(
    diameter_mm: float, length_mm: float, gap_mm: float, depth_mm: float
) -> None:
    """The package uncertainties differentiates the textbook's field of a rod by itself."""
    variables = {
        "diameter_m": ufloat(diameter_mm / 1e3, 1.0),
        "along_m": ufloat(length_mm / 1e3, 1.0),
        "standoff_m": ufloat(gap_mm / 1e3, 1.0),
        "sensor_depth_m": ufloat(depth_mm / 1e3, 1.0),
    }
    radius = variables["diameter_m"] / 2.0

    def field(z: object) -> object:
        far = z + variables["along_m"]  # type: ignore[operator]
        return far / umath.sqrt(far**2 + radius**2) - z / umath.sqrt(z**2 + radius**2)  # type: ignore[operator]

    depth = variables["sensor_depth_m"]
    ratio = umath.log(field(depth) / field(depth + variables["standoff_m"]))  # type: ignore[operator]
    rod = RodMagnet(diameter_mm / 1e3, length_mm / 1e3)
    found = standoff_sensitivities(rod, gap_mm / 1e3, depth_mm / 1e3)
    largest = max(abs(slope) for slope in found.values())
    for name, variable in variables.items():
        expected = ratio.derivatives[variable]
        assert found[name] == pytest.approx(expected, rel=1e-6, abs=1e-9 * largest)


def test_nothing_is_gained_by_no_stand_off() -> None:
    """Touching is touching, whatever the depth; a distance below nothing is refused."""
    rod = RodMagnet(4.8e-3, 16e-3)
    assert standoff_ratio(rod, 0.0, 0.7e-3) == 1.0
    with pytest.raises(OutOfDomain, match="standoff_m must be 0 or more"):
        standoff_ratio(rod, -1e-3, 0.0)


# --- lengths -------------------------------------------------------------------------------------


def test_a_bench_s_temperature_does_not_show_in_a_length() -> None:
    """Steel's 11.5 and aluminium-nickel-cobalt's 11 to 13 millionths (handbook values, recalled).

    130 mm is the longest plausible magnet, 10 K off is an unusual bench.
    """
    for per_k in (11e-6, 11.5e-6, 13e-6):
        assert thermal_expansion_m(130e-3, per_k, 10.0) < 0.02e-3
    assert thermal_expansion_m(60e-3, 100e-6, 10.0) == pytest.approx(0.06e-3)
    assert thermal_expansion_m(60e-3, 100e-6, -10.0) == pytest.approx(-0.06e-3)
    with pytest.raises(OutOfDomain, match="warmer_k must be finite"):
        thermal_expansion_m(60e-3, 100e-6, np.inf)


@given(
    henry=st.floats(0.5, 10.0),
    copper_ohm=st.floats(1e3, 15e3),
    more_ohm=st.floats(10.0, 10e3),
    hertz=st.floats(100.0, 2e3),
)
def test_loss_beyond_the_copper_is_the_rest_of_an_impedance(
    henry: float, copper_ohm: float, more_ohm: float, hertz: float
) -> None:
    """One complex impedance with two resistances: the second over the reactance comes back."""
    impedance = np.complex128(complex(copper_ohm + more_ohm, 2.0 * math.pi * hertz * henry))
    q = float(impedance.imag / impedance.real)
    ours = extra_loss(q, henry, copper_ohm, hertz)
    assert ours == pytest.approx(more_ohm / float(impedance.imag), rel=1e-6, abs=1e-9)


@given(
    henries=st.tuples(st.floats(0.5, 10.0), st.floats(0.5, 10.0)),
    ohms=st.tuples(st.floats(1e3, 15e3), st.floats(1e3, 15e3)),
    coupling=st.floats(-0.3, 0.3),
    across_ohm=st.floats(5e4, 1e6),
    hertz=st.floats(100.0, 2e3),
)
def test_a_pairs_loss_is_the_sum_of_its_coils(
    henries: tuple[float, float],
    ohms: tuple[float, float],
    coupling: float,
    across_ohm: float,
    hertz: float,
) -> None:
    """Two coupled impedances in series leave no surplus; a resistance across them leaves one."""
    w = 2.0 * math.pi * hertz
    coils = [
        np.complex128(complex(ohm, w * henry)) for ohm, henry in zip(ohms, henries, strict=True)
    ]
    pair = sum(coils) + 2j * w * coupling * math.sqrt(math.prod(henries))
    qualities = tuple(float(coil.imag / coil.real) for coil in coils)

    def surplus_of(seen: complex) -> float:
        return loss_surplus(seen.imag / seen.real, seen.imag / w, qualities, henries)

    assert surplus_of(pair) == pytest.approx(0.0, abs=1e-9)
    loaded = pair * across_ohm / (pair + across_ohm)
    expected = (loaded.real - sum(ohms)) / loaded.imag
    assert surplus_of(loaded) == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_nonsense_is_refused_by_name(bad: float) -> None:
    """Nothing, less than nothing, no number, without end: each argument in turn, by its name."""
    good: dict[object, dict[str, float]] = {
        quality_factor: {"inductance_h": 2.0, "resistance_ohm": 6e3, "frequency_hz": 1e3},
        series_inductance_h: {"parallel_h": 2.0, "quality": 2.0},
        parallel_inductance_h: {"series_h": 2.0, "quality": 2.0},
        thermal_expansion_m: {"length_m": 0.1, "expansion_per_k": 1e-5, "warmer_k": 3.0},
        driven_peak_ratio: {
            "inductance_h": HENRY,
            "resistance_ohm": OHM,
            "capacitance_f": FARAD,
            "probe_capacitance_f": PROBE_F,
            "probe_ohm": PROBE_OHM,
        },
        peak_by_inductance_hz: {
            "peak_hz": 6500.0,
            "inductance_h": HENRY,
            "resistance_ohm": OHM,
            "probe_capacitance_f": PROBE_F,
            "probe_ohm": PROBE_OHM,
        },
        peak_by_capacitance_hz: {
            "peak_hz": 6500.0,
            "capacitance_f": FARAD,
            "resistance_ohm": OHM,
            "probe_capacitance_f": PROBE_F,
            "probe_ohm": PROBE_OHM,
        },
    }
    fine = {("probe_ohm", math.inf), ("probe_capacitance_f", 0.0), ("warmer_k", 0.0)}
    fine |= {("warmer_k", -1.0)}
    for function, arguments in good.items():
        function(**arguments)  # type: ignore[operator]
        for name in arguments:
            if (name, bad) in fine:
                function(**arguments | {name: bad})  # type: ignore[operator]
                continue
            shown = (
                "load_ohm" if name == "probe_ohm" and function is not driven_peak_ratio else name
            )
            with pytest.raises(OutOfDomain, match=shown):
                function(**arguments | {name: bad})  # type: ignore[operator]

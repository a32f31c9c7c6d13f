"""Resonance beside scipy's filters, a circuit simulator, a library of uncertainties, simulation."""

from __future__ import annotations

import inspect
import math
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import optimize, signal
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from coilbook.core.budgets.uncertainty import Contribution
from coilbook.core.formulas import resonance as circuits
from coilbook.core.formulas.resonance import (
    band_edge_hz,
    capacitance_from_peak_f,
    inductance_from_peak_h,
    peak_frequency_estimate,
    peak_frequency_hz,
    peak_frequency_sensitivities,
    peak_height_db,
    total_capacitance_f,
    total_load_ohm,
    undamped_frequency_hz,
)
from coilbook.errors import OutOfDomain
from coilbook.measures import resonance
from coilbook.measures.formulas import document
from coilbook.measures.resonance import gain_db, gain_with_tone_db

INDUCTANCE = st.floats(0.5, 12.0)
RESISTANCE = st.floats(500.0, 20e3)
CAPACITANCE = st.floats(40e-12, 2e-9)
FINITE_LOAD = st.floats(20e3, 2e6)
LOAD = st.one_of(st.just(math.inf), FINITE_LOAD)
#: Down to loads so low that most circuits are overdamped.
ANY_LOAD = st.one_of(st.just(math.inf), st.floats(1e3, 2e6))


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD)
def test_the_gain_is_what_scipy_makes_of_the_same_transfer_function(
    inductance: float, resistance: float, capacitance: float, load: float
) -> None:
    """Over 100 Hz to 20 kHz the closed form agrees with scipy.signal.freqs, an outside library."""
    hertz = np.geomspace(100.0, 20e3, 200)
    denominator = [
        inductance * capacitance,
        resistance * capacitance + inductance / load,
        1.0 + resistance / load,
    ]
    _, response = signal.freqs([1.0], denominator, worN=2 * np.pi * hertz)
    ours = gain_db(hertz, inductance, resistance, capacitance, load)
    np.testing.assert_allclose(ours, 20 * np.log10(np.abs(response)), atol=1e-9)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD, st.floats(100.0, 500e3), st.floats(1e-9, 100e-9))
def test_the_gain_with_a_tone_path_is_what_scipy_makes_of_its_polynomials(
    inductance: float,
    resistance: float,
    capacitance: float,
    load: float,
    tone_resistance: float,
    tone_capacitance: float,
) -> None:
    """The tone path gives one more pole and a zero, multiplied out for scipy.signal."""
    lag = [tone_resistance * tone_capacitance, 1.0]
    across = np.polyadd(np.polymul([capacitance, 1.0 / load], lag), [tone_capacitance, 0.0])
    denominator = np.polyadd(lag, np.polymul([inductance, resistance], across))
    hertz = np.geomspace(20.0, 20e3, 200)
    _, response = signal.freqresp((lag, denominator), w=2 * np.pi * hertz)
    ours = gain_with_tone_db(
        hertz, inductance, resistance, capacitance, load, tone_resistance, tone_capacitance
    )
    np.testing.assert_allclose(ours, 20 * np.log10(np.abs(response)), atol=1e-7)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD, st.floats(0.0, 500e3))
def test_without_a_tone_capacitor_the_tone_path_is_not_there(
    inductance: float, resistance: float, capacitance: float, load: float, tone_resistance: float
) -> None:
    """The complex sum of admittances then equals the closed form, direct current included."""
    hertz = np.append(0.0, np.geomspace(20.0, 20e3, 200))
    parts = (inductance, resistance, capacitance, load)
    without = gain_with_tone_db(hertz, *parts, tone_resistance, 0.0)
    np.testing.assert_allclose(without, gain_db(hertz, *parts), atol=1e-9)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD, st.floats(1e-9, 100e-9))
def test_a_tone_control_turned_down_is_so_much_more_capacitance(
    inductance: float, resistance: float, capacitance: float, load: float, tone: float
) -> None:
    """With no resistance left its capacitor lies straight across the leads."""
    hertz = np.geomspace(20.0, 20e3, 200)
    down = gain_with_tone_db(hertz, inductance, resistance, capacitance, load, 0.0, tone)
    more = gain_db(hertz, inductance, resistance, capacitance + tone, load)
    np.testing.assert_allclose(down, more, atol=1e-9)


def _need_ngspice() -> str:
    """Return the simulator's command; skip without it, but never where a CI run stands for all."""
    command = shutil.which("ngspice")
    if command is None:
        reason = "ngspice is not on PATH: install it (Debian: apt-get install ngspice)"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return command


def test_the_response_is_that_of_an_independent_circuit_simulator(tmp_path: Path) -> None:
    """Twenty random circuits at 600 frequencies: ngspice solves the nodes, we the formula.

    Half are loaded, half not; half of each have a tone path. Agreement within 1e-6 dB.
    """
    command = _need_ngspice()
    draw = np.random.default_rng(20240611)
    lines, expected = ["pickups under load"], []
    hertz = np.linspace(50.0, 20e3, 600)
    for i in range(20):
        coil = (draw.uniform(0.5, 12.0), draw.uniform(500.0, 20e3), draw.uniform(40e-12, 2e-9))
        load = draw.uniform(50e3, 2e6) if i % 2 else math.inf
        tone = (draw.uniform(100.0, 500e3), draw.uniform(1e-9, 100e-9)) if i % 4 > 1 else None
        lines += [
            f"v{i} in{i} 0 dc 0 ac 1",
            f"r{i} in{i} a{i} {coil[1]!r}",
            f"l{i} a{i} out{i} {coil[0]!r}",
            f"c{i} out{i} 0 {coil[2]!r}",
        ]
        if math.isfinite(load):
            lines.append(f"rl{i} out{i} 0 {load!r}")
        if tone:
            lines += [f"rt{i} out{i} t{i} {tone[0]!r}", f"ct{i} t{i} 0 {tone[1]!r}"]
            expected.append(gain_with_tone_db(hertz, *coil, load, *tone))
        else:
            expected.append(gain_db(hertz, *coil, load))
    levels = " ".join(f"vdb(out{i})" for i in range(20))
    lines += [
        ".control",
        "set numdgt=15",
        "set wr_singlescale",
        "ac lin 600 50 20k",
        f"wrdata levels.txt {levels}",
        "quit",
        ".endc",
        ".end",
    ]
    (tmp_path / "pickups.cir").write_text("\n".join(lines) + "\n")
    run = subprocess.run(
        [command, "-b", "pickups.cir"], cwd=tmp_path, capture_output=True, text=True, timeout=600
    )
    assert (tmp_path / "levels.txt").exists(), run.stdout + run.stderr
    found = np.loadtxt(tmp_path / "levels.txt")
    assert found.shape == (600, 21)
    np.testing.assert_allclose(found[:, 0], hertz, rtol=1e-9)
    np.testing.assert_allclose(found[:, 1:].T, expected, rtol=0.0, atol=1e-6)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, ANY_LOAD)
def test_the_peak_is_where_a_search_finds_the_highest_point(
    inductance: float, resistance: float, capacitance: float, load: float
) -> None:
    """A search by scipy ends at the closed form's frequency and height, or at 0 Hz if damped."""
    coil = (inductance, resistance, capacitance, load)
    top = undamped_frequency_hz(inductance, capacitance)
    grid = np.linspace(0.0, top, 400)
    near = int(np.argmax(gain_db(grid, *coil)))
    peak, height = peak_frequency_hz(*coil), peak_height_db(*coil)
    if peak is None or height is None:
        assert peak is None
        assert height is None
        assert near == 0
        return
    searched = optimize.minimize_scalar(
        lambda hertz: -float(gain_db(hertz, *coil)),
        bounds=(grid[max(near - 1, 0)], grid[min(near + 1, 399)]),
        method="bounded",
        options={"xatol": 1e-9 * top},
    )
    assert height == pytest.approx(-searched.fun, abs=1e-9)
    assert height == pytest.approx(float(gain_db(peak, *coil)), abs=1e-9)
    # A flat top is found less sharply: dB differ there by less than a float can tell.
    assert peak == pytest.approx(searched.x, rel=1e-4, abs=3e-3 * top)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, ANY_LOAD)
def test_at_the_edge_the_gain_is_3_db_down_and_falls_from_there(
    inductance: float, resistance: float, capacitance: float, load: float
) -> None:
    """Where there is none, the output is more than 3 dB down at every frequency."""
    coil = (inductance, resistance, capacitance, load)
    edge = band_edge_hz(*coil)
    if edge is None:
        assert (gain_db(np.linspace(0.0, 20e3, 400), *coil) < -3.0).all()
        return
    assert gain_db(edge, *coil) == pytest.approx(-3.0, abs=1e-6)
    assert (gain_db(edge * np.geomspace(1.001, 10.0, 50), *coil) < -3.0).all()


@given(INDUCTANCE, RESISTANCE, CAPACITANCE)
def test_a_huge_load_is_no_load(inductance: float, resistance: float, capacitance: float) -> None:
    """At 1e15 Ω the response, peak and edge are those of the unloaded limit."""
    coil = (inductance, resistance, capacitance)
    hertz = np.geomspace(20.0, 20e3, 100)
    np.testing.assert_allclose(gain_db(hertz, *coil, 1e15), gain_db(hertz, *coil), atol=1e-6)
    assert gain_db(0.0, *coil) == 0.0
    for function in (peak_frequency_hz, peak_height_db, band_edge_hz):
        loaded, unloaded = function(*coil, 1e15), function(*coil)
        assert loaded is not None
        assert unloaded is not None
        assert loaded == pytest.approx(unloaded, rel=1e-6, abs=1e-6)


@given(INDUCTANCE, CAPACITANCE)
def test_without_loss_the_peak_is_the_undamped_resonance(
    inductance: float, capacitance: float
) -> None:
    """As resistance goes to nothing the peak goes to f0 from below."""
    peak = peak_frequency_hz(inductance, 1e-3, capacitance)
    assert peak == pytest.approx(undamped_frequency_hz(inductance, capacitance), rel=1e-9)


def test_strong_damping_leaves_no_peak() -> None:
    """Under a load of a few kΩ the output only falls: no frequency, no height, no derivative."""
    coil = (4.4, 7800.0, 610e-12, 5e3)
    assert peak_frequency_hz(*coil) is None
    assert peak_height_db(*coil) is None
    assert peak_frequency_estimate(*coil, {}) is None
    with pytest.raises(OutOfDomain, match="no peak"):
        peak_frequency_sensitivities(*coil)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE, LOAD, st.floats(0.0, 30e-12))
def test_parts_come_back_from_the_peak(
    inductance: float, resistance: float, capacitance: float, load: float, probe: float
) -> None:
    """There and back: the peak with a probe on gives the inductance and the capacitance again."""
    whole = capacitance + probe
    # Beyond this the other root is the part's own, as the docstrings say.
    assume(inductance > 1.01 * resistance**2 * whole)
    assume(whole > 1.01 * inductance / load**2)
    peak = peak_frequency_hz(inductance, resistance, whole, load)
    assume(peak is not None)
    assert peak is not None
    beside = {"probe_capacitance_f": probe, "resistance_ohm": resistance, "load_ohm": load}
    assert inductance_from_peak_h(peak, capacitance, **beside) == pytest.approx(
        inductance, rel=1e-6
    )
    assert capacitance_from_peak_f(peak, inductance, **beside) == pytest.approx(
        capacitance, rel=1e-6, abs=1e-16
    )


@given(INDUCTANCE, CAPACITANCE, st.floats(0.0, 30e-12))
def test_without_loss_the_parts_come_from_f0(
    inductance: float, capacitance: float, probe: float
) -> None:
    """Resistance and load left out, the inverse is that of the undamped resonance."""
    peak = undamped_frequency_hz(inductance, capacitance + probe)
    assert inductance_from_peak_h(peak, capacitance, probe) == pytest.approx(inductance)
    assert capacitance_from_peak_f(peak, inductance, probe) == pytest.approx(capacitance)


@given(INDUCTANCE, RESISTANCE, CAPACITANCE)
def test_a_field_of_steady_strength_peaks_at_f0(
    inductance: float, resistance: float, capacitance: float
) -> None:
    """What the docstring says of excitation by a coil: the made voltage rises with frequency."""
    f0 = undamped_frequency_hz(inductance, capacitance)
    hertz = f0 * np.linspace(0.9, 1.1, 2001)
    level = gain_db(hertz, inductance, resistance, capacitance) + 20.0 * np.log10(hertz)
    assert hertz[np.argmax(level)] == pytest.approx(f0, rel=1.01e-4)


def test_a_peak_out_of_reach_is_refused() -> None:
    """7.8 kΩ cannot peak at 1 MHz on 610 pF, nor 500 kΩ with 4.4 H; a probe cannot be all of it."""
    with pytest.raises(OutOfDomain, match="peak_hz is higher"):
        inductance_from_peak_h(1e6, 610e-12, resistance_ohm=7800.0)
    with pytest.raises(OutOfDomain, match="peak_hz is higher"):
        capacitance_from_peak_f(1e6, 4.4, load_ohm=500e3)
    with pytest.raises(OutOfDomain, match=r"probe_capacitance_f .* leaves nothing"):
        capacitance_from_peak_f(8000.0, 4.4, probe_capacitance_f=100e-12)


@given(st.lists(FINITE_LOAD, min_size=1, max_size=4), LOAD)
def test_loads_in_parallel(pots: list[float], amplifier: float) -> None:
    """Together below the least of them; the order does not matter; nothing connected is no load."""
    together = total_load_ohm(pots, amplifier)
    assert together <= min(*pots, amplifier) * (1.0 + 1e-12)
    assert together == pytest.approx(total_load_ohm(pots[::-1], amplifier))
    assert total_load_ohm([500e3, 500e3], 1e6) == pytest.approx(200e3)
    assert total_load_ohm([]) == math.inf


def test_capacitances_across_the_leads_add() -> None:
    """110 pF of its own, 500 of cable and 20 of an input are 630 pF; a bare pickup has its own."""
    assert total_capacitance_f(110e-12, 500e-12, 20e-12) == pytest.approx(630e-12)
    assert total_capacitance_f(110e-12) == 110e-12


def _budgets(parts: dict[str, tuple[float, float]]) -> dict[str, tuple[Contribution, ...]]:
    units = {"inductance_h": "H", "resistance_ohm": "Ω", "capacitance_f": "F", "load_ohm": "Ω"}
    return {
        name: (Contribution("reading", value, u, 1.0, units[name]),)
        for name, (value, u) in parts.items()
    }


@given(
    INDUCTANCE,
    st.floats(3e3, 15e3),
    st.floats(80e-12, 1.5e-9),
    st.floats(200e3, 2e6),
    st.tuples(*[st.floats(0.001, 0.1)] * 4),
)
def test_the_budget_is_what_the_uncertainties_library_propagates(
    inductance: float,
    resistance: float,
    capacitance: float,
    load: float,
    shares: tuple[float, float, float, float],
) -> None:
    """The library differentiates the biquadratic's vertex, written with a, b, c, by itself."""
    values = (inductance, resistance, capacitance, load)
    names = ("inductance_h", "resistance_ohm", "capacitance_f", "load_ohm")
    us = [share * value for share, value in zip(shares, values, strict=True)]
    peak = peak_frequency_hz(*values)
    assume(peak is not None)
    assert peak is not None
    assume(peak > 0.2 * undamped_frequency_hz(inductance, capacitance))
    l, r, c, p = (ufloat(value, u) for value, u in zip(values, us, strict=True))  # noqa: E741
    b, damping = l * c, r * c + l / p
    theirs = usqrt((1 + r / p) / b - damping**2 / (2 * b * b)) / (2 * math.pi)
    parts = dict(zip(names, zip(values, us, strict=True), strict=True))
    ours = peak_frequency_estimate(*values, _budgets(parts))
    assert ours is not None
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-9)
    assert ours.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-6)


@pytest.mark.parametrize("load", [500e3, 250e3, math.inf])
def test_the_interval_holds_95_percent_of_simulated_peaks(load: float) -> None:
    """20,000 pickups drawn about the worked one (JCGM 101's way): spread and coverage agree.

    2 % in inductance, 1 % in resistance, 5 % in capacitance, 10 % in the load: the spread of the
    drawn peaks is the stated uncertainty to within 3 %, and 94.5 to 96.5 % lie within k = 2.
    """
    parts = {
        "inductance_h": (4.4, 0.088),
        "resistance_ohm": (7800.0, 78.0),
        "capacitance_f": (610e-12, 30.5e-12),
    }
    if math.isfinite(load):
        parts["load_ohm"] = (load, 0.1 * load)
    estimate = peak_frequency_estimate(4.4, 7800.0, 610e-12, load, _budgets(parts))
    assert estimate is not None
    draw = np.random.default_rng(20240611)
    drawn = [draw.normal(value, u, 20_000) for value, u in parts.values()]
    peaks = np.array([peak_frequency_hz(*map(float, each)) for each in zip(*drawn, strict=True)])
    u = estimate.standard_uncertainty
    assert float(np.std(peaks)) == pytest.approx(u, rel=0.03)
    assert 0.945 < float(np.mean(np.abs(peaks - estimate.value) <= 2.0 * u)) < 0.965
    assert estimate.dominant is not None
    assert estimate.dominant.name == "capacitance: reading"


def test_a_budget_of_something_else_is_refused() -> None:
    """A mistyped part would be left out silently; it is named instead."""
    with pytest.raises(OutOfDomain, match="budgets names inductance, which is none of"):
        peak_frequency_estimate(4.4, 7800.0, 610e-12, 500e3, {"inductance": ()})


COIL = {"inductance_h": 4.4, "resistance_ohm": 7800.0, "capacitance_f": 610e-12, "load_ohm": 5e5}
TONE = {"tone_resistance_ohm": 250e3, "tone_capacitance_f": 22e-9}
OF_COIL = (
    peak_frequency_hz,
    peak_height_db,
    band_edge_hz,
    peak_frequency_sensitivities,
)
AT = {"frequency_hz": 1000.0}
BACK = {"probe_capacitance_f": 10e-12, "resistance_ohm": 7800.0, "load_ohm": 1e6}
GOOD: list[tuple[Callable[..., object], dict[str, float]]] = [
    *((function, COIL) for function in OF_COIL),
    (gain_db, AT | COIL),
    (gain_with_tone_db, AT | COIL | TONE),
    (undamped_frequency_hz, {"inductance_h": 4.4, "capacitance_f": 110e-12}),
    (total_capacitance_f, {"own_f": 110e-12, "cable_f": 500e-12, "input_f": 20e-12}),
    (inductance_from_peak_h, {"peak_hz": 6e3, "capacitance_f": 110e-12} | BACK),
    (capacitance_from_peak_f, {"peak_hz": 6e3, "inductance_h": 4.4} | BACK),
    (lambda pot, **more: total_load_ohm([pot], **more), {"pot": 500e3, "input_ohm": 1e6}),
]
#: Arguments that may be nothing at all, or without end.
MAY_BE_ZERO = {"frequency_hz", "probe_capacitance_f", "cable_f", "input_f", *TONE}
MAY_BE_INFINITE = {"load_ohm", "input_ohm", "pot"}


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(("function", "good"), GOOD)
def test_nonsense_is_refused_by_name(
    function: Callable[..., object], good: dict[str, float], bad: float
) -> None:
    """Each argument in turn: nothing, negative, no number or infinite is named with what to do."""
    function(**good)
    back = function in (inductance_from_peak_h, capacitance_from_peak_f)
    for name in good:
        zero_is_fine = name in MAY_BE_ZERO or (back and name == "resistance_ohm")
        if (bad == 0.0 and zero_is_fine) or (bad == math.inf and name in MAY_BE_INFINITE):
            function(**good | {name: bad})
            continue
        called = "pots_ohm" if name == "pot" else name
        with pytest.raises(OutOfDomain, match=rf"^{called} must be .* Check it and its unit\."):
            function(**good | {name: bad})


def test_one_bad_frequency_of_many_is_refused() -> None:
    """An array is looked through."""
    with pytest.raises(OutOfDomain, match=r"frequency_hz must be 0 or more, and is -1\.0"):
        gain_db([100.0, -1.0], **COIL)


def test_every_function_is_documented_for_the_methods_page() -> None:
    """Formula, arguments in the code's order with units, result, validity and source.

    The estimate applies a documented formula to budgets and is not one itself.
    """
    functions = [
        function
        for module in (resonance, circuits)
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__
        and not name.startswith("_")
        and function not in (peak_frequency_estimate, circuits.load_above_0, circuits.terms)
    ]
    assert len(functions) == 11
    for function in functions:
        arguments = [argument.name for argument in document(function, "resonance").arguments]
        assert arguments == list(inspect.signature(function).parameters)

"""The response of a piece beside ngspice, scipy, numpy's complex numbers, uncertainties, draws."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from scipy import optimize
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from coilbook.core.formulas.resonance import band_edge_hz, peak_frequency_hz
from coilbook.core.reduction.piece import measure_piece
from coilbook.errors import OutOfDomain
from coilbook.measures.resonance import gain_with_tone_db
from coilbook.measures.response import (
    EXAMPLE_LOADS,
    UNLOADED,
    Circuits,
    Load,
    inductance_without_capacitance_h,
    level_interval_db,
    levels_db,
    marks,
)
from coilbook.measures.response_of_piece import (
    TABLE_HZ,
    Missing,
    Response,
    frequencies_hz,
    response_of_piece,
)
from coilbook.records.contents import Piece

LOADS = (UNLOADED, *EXAMPLE_LOADS)


def _circuits(count: int) -> Circuits:
    draw = np.random.default_rng(20240611)
    return Circuits(
        draw.uniform(0.5, 12.0, count),
        draw.uniform(500.0, 20e3, count),
        draw.uniform(40e-12, 400e-12, count),
    )


def _level(circuits: Circuits, i: int, load: Load, hertz: Any) -> Any:
    """Return the level by the formula that ngspice and scipy check elsewhere, one at a time."""
    across = 1.0 / load.volume_ohm + 1.0 / load.input_ohm
    return gain_with_tone_db(
        hertz,
        float(circuits.inductance_h[i]),
        float(circuits.resistance_ohm[i]),
        float(circuits.capacitance_f[i]) + load.cable_f,
        1.0 / across if across else math.inf,
        load.tone_ohm if math.isfinite(load.tone_ohm) else 0.0,
        load.tone_f,
    )


def test_the_example_loads_are_what_a_circuit_simulator_makes_of_their_parts(
    tmp_path: Path,
) -> None:
    """Six circuits under each load at 600 frequencies, part by part in ngspice: within 1e-6 dB."""
    command = shutil.which("ngspice")
    if command is None:
        reason = "ngspice is not on PATH: install it (Debian: apt-get install ngspice)"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    circuits, hertz = _circuits(6), np.linspace(50.0, 20e3, 600)
    lines, names, expected = ["pickups under the example loads"], [], []
    for load in LOADS:
        expected.append(levels_db(circuits, load, hertz))
        for i in range(6):
            n = f"{load.code.replace('-', '')}x{i}"
            names.append(f"vdb(o{n})")
            lines += [
                f"v{n} s{n} 0 dc 0 ac 1",
                f"r{n} s{n} a{n} {float(circuits.resistance_ohm[i])!r}",
                f"l{n} a{n} o{n} {float(circuits.inductance_h[i])!r}",
                f"c{n} o{n} 0 {float(circuits.capacitance_f[i])!r}",
            ]
            if load.tone_f:
                lines += [
                    f"rv{n} o{n} 0 {load.volume_ohm!r}",
                    f"ri{n} o{n} 0 {load.input_ohm!r}",
                    f"ck{n} o{n} 0 {load.cable_f!r}",
                    f"rt{n} o{n} t{n} {load.tone_ohm!r}",
                    f"ct{n} t{n} 0 {load.tone_f!r}",
                ]
    lines += [
        ".control",
        "set numdgt=15",
        "set wr_singlescale",
        "ac lin 600 50 20k",
        f"wrdata levels.txt {' '.join(names)}",
        "quit",
        ".endc",
        ".end",
    ]
    (tmp_path / "loads.cir").write_text("\n".join(lines) + "\n")
    run = subprocess.run(
        [command, "-b", "loads.cir"], cwd=tmp_path, capture_output=True, text=True, timeout=600
    )
    assert (tmp_path / "levels.txt").exists(), run.stdout + run.stderr
    found = np.loadtxt(tmp_path / "levels.txt")
    assert found.shape == (600, 19)
    np.testing.assert_allclose(found[:, 1:].T, np.concatenate(expected), rtol=0.0, atol=1e-6)


@pytest.mark.parametrize("load", LOADS, ids=lambda load: load.code)
def test_peak_height_and_edge_are_where_scipy_finds_them(load: Load) -> None:
    """A bounded search for the top and a root for the edge, by scipy, for 40 circuits."""
    circuits = _circuits(40)
    found = marks(circuits, load)
    for i in range(40):

        def level(hertz: float, at: int = i) -> float:
            return float(_level(circuits, at, load, hertz))

        grid = np.geomspace(300.0, 100e3, 500)
        near = float(grid[int(np.argmax(_level(circuits, i, load, grid)))])
        top = optimize.minimize_scalar(
            lambda f: -level(f),
            bounds=(near / 1.02, near * 1.02),
            method="bounded",
            options={"xatol": 1e-5},
        )
        assert found.peak_hz[i] == pytest.approx(top.x, rel=1e-5)
        assert found.height_db[i] == pytest.approx(-top.fun, abs=1e-7)
        edge = optimize.brentq(lambda f: level(f) + 3.0, top.x, 1e6)
        assert found.edge_hz[i] == pytest.approx(edge, rel=1e-7)


def test_without_a_tone_path_the_closed_forms_are_met() -> None:
    """Peak and edge of whole columns are those of the single circuits' formulas."""
    circuits, load = _circuits(40), Load("plain", 250e3, 1e6, 500e-12)
    found = marks(circuits, load)
    for i in range(40):
        parts = (
            float(circuits.inductance_h[i]),
            float(circuits.resistance_ohm[i]),
            float(circuits.capacitance_f[i]) + 500e-12,
            1.0 / (1.0 / 250e3 + 1.0 / 1e6),
        )
        assert found.peak_hz[i] == pytest.approx(peak_frequency_hz(*parts), rel=1e-12)
        assert found.edge_hz[i] == pytest.approx(band_edge_hz(*parts), rel=1e-12)


def test_where_nothing_stands_out_there_is_no_number() -> None:
    """Under 5 kΩ all output falls from the start, and 3 dB are gone at once."""
    circuits = Circuits(np.array([5.0]), np.array([10e3]), np.array([100e-12]))
    for tone in ({}, {"tone_ohm": 500e3, "tone_f": 22e-9}):
        found = marks(circuits, Load("heavy", 5e3, cable_f=500e-12, **tone))
        assert np.isnan([found.peak_hz[0], found.height_db[0], found.edge_hz[0]]).all()


@pytest.mark.parametrize("load", LOADS, ids=lambda load: load.code)
def test_the_interval_is_that_of_the_ordered_levels(load: Load) -> None:
    """Numpy's sort of each frequency's own levels, 25 of 1000 left out at either end."""
    circuits, hertz = _circuits(1000), np.array([100.0, 2e3, 8e3])
    low, high = level_interval_db(circuits, load, hertz)
    for j, f in enumerate(hertz):
        ordered = np.sort([float(_level(circuits, i, load, f)) for i in range(1000)])
        assert low[j] == pytest.approx(ordered[25], abs=1e-9)
        assert high[j] == pytest.approx(ordered[974], abs=1e-9)


@given(st.floats(0.5, 12.0), st.floats(0.0, 20e3), st.floats(40e-12, 2e-9), st.floats(100.0, 20e3))
def test_an_inductance_comes_back_from_its_impedance(
    inductance: float, resistance: float, capacitance: float, hertz: float
) -> None:
    """The bridge's reading by numpy's complex impedance; the formula takes it back."""
    omega = 2.0 * np.pi * hertz
    assume(omega**2 * inductance * capacitance < 0.5)
    assume(resistance**2 * capacitance < 0.2 * inductance)
    coil = resistance + 1j * omega * inductance
    read = (1.0 / (1.0 / coil + 1j * omega * capacitance)).imag / omega
    back = inductance_without_capacitance_h(read, resistance, capacitance, hertz)
    assert float(back) == pytest.approx(inductance, rel=1e-9)
    if resistance == 0.0:
        apparent = inductance / (1.0 - omega**2 * inductance * capacitance)
        assert read == pytest.approx(apparent, rel=1e-9)


@pytest.mark.parametrize(
    "bad",
    [
        (0.0, 8e3, 1e-10, 1e3),
        (4.0, -1.0, 1e-10, 1e3),
        (4.0, 8e3, math.nan, 1e3),
        (4.0, 8e3, 1e-10, math.inf),
        (4.0, 200e3, 1e-9, 1e3),
    ],
)
def test_an_inductance_of_nonsense_is_refused(bad: tuple[float, ...]) -> None:
    """Parts that are none, and a reading that no inductance gives, are refused."""
    with pytest.raises(OutOfDomain):
        inductance_without_capacitance_h(*bad)
    with pytest.raises(OutOfDomain, match="inductance_h"):
        Circuits(np.array([0.0]), np.array([1.0]), np.array([1.0]))


# --- from records ---------------------------------------------------------------------------------


def _read(
    *,
    henry: float | None = 4.4,
    picofarad: float | None = 110.0,
    kilohertz: float | None = None,
    kohm: float | None = 8.0,
    test_hz: float | None = 1000.0,
    **more: Any,
) -> Piece:
    """Return a two-coil piece with these readings, each by a meter of 0.5 % and 2 digits."""
    given_ = (
        ("pair", "pair-resistance", kohm, 0.01),
        ("pair", "pair-inductance", henry, 0.001),
        ("pickup", "self-capacitance", picofarad, 1.0),
        ("pickup", "resonant-frequency", kilohertz, 0.01),
    )
    readings = [
        replace(
            reading(
                value,
                prop=prop,
                component=component,
                step=step,
                instrument=meter(),
                line=line,
                **more.get(prop.replace("-", "_"), {}),
            ),
            test_frequency_hz=test_hz if prop == "pair-inductance" else None,
        )
        for line, (component, prop, value, step) in enumerate(given_, 2)
        if value is not None or prop.replace("-", "_") in more
    ]
    return piece(*readings)


def _response(item: Piece) -> Response:
    return response_of_piece(item, measure_piece(item, REFERENCE))


def test_the_peak_and_its_budget_are_what_the_library_propagates() -> None:
    """Readings as ufloats through the textbook's formulas, the coil's own capacitance taken out.

    The library's derivatives are exact; ours are taken across one standard uncertainty.
    """
    item = _read()
    measured = measure_piece(item, REFERENCE)
    values = [
        ufloat(v.value, v.standard_uncertainty)
        for v in (
            measured.best["pair", "pair-inductance"],
            measured.best["pickup", "self-capacitance"],
            measured.best["pair", "pair-resistance"],
        )
    ]
    apparent, capacitance, resistance = values[0], values[1] * 1e-12, values[2] * 1e3
    k = (2 * math.pi * 1000.0) ** 2 * capacitance
    q = (2 * math.pi * 1000.0 * resistance * capacitance) ** 2
    b, c = 1 + 2 * k * apparent, apparent * (1 + q) + resistance**2 * capacitance
    inductance = 2 * c / (b + usqrt(b * b - 4 * k * (1 + k * apparent) * c))
    peak = usqrt(1 / (inductance * capacitance) - (resistance / inductance) ** 2 / 2) / (
        2 * math.pi
    )
    found = _response(item)
    estimate = found.curves[0].peak_estimate
    assert estimate is not None
    assert found.test_frequency_hz == 1000.0
    assert estimate.value == pytest.approx(peak.n, rel=1e-9)
    assert estimate.standard_uncertainty == pytest.approx(peak.s, rel=1e-3)
    assert found.parts[0].estimate.value == pytest.approx(inductance.n, rel=1e-9)
    assert found.parts[0].estimate.value < 4.4


@pytest.mark.parametrize("which", ["read", "inductance", "capacitance"])
def test_intervals_hold_what_plain_draws_hold(which: str) -> None:
    """A hundred thousand plain draws of numpy, by each reading's own shape, through the circuit.

    The peak and its 95 % ends agree within a tenth of its uncertainty, those of a level within 3 %.
    """
    item = {
        "read": _read(),
        "inductance": _read(henry=None, kilohertz=7.2),
        "capacitance": _read(picofarad=None, kilohertz=7.2),
    }[which]
    measured = measure_piece(item, REFERENCE)
    rng, size, drawn = np.random.default_rng(7), 100_000, {}
    for (_, prop), value in measured.best.items():
        if prop not in ("pair-inductance", "self-capacitance", "resonant-frequency",
                        "pair-resistance"):  # fmt: skip
            continue
        total = np.full(size, value.value)
        # An instrument's percent and digits are one rectangular limit.
        own = [line for line in value.budget if line.name.startswith("instrument, ")]
        others = [line for line in value.budget if not line.name.startswith("instrument, ")]
        limit = math.sqrt(3.0) * math.hypot(*(line.effect for line in own))
        total = total + rng.uniform(-limit, limit, size)
        for line in others:
            shape = (
                rng.normal(size=size)
                if line.distribution == "normal"
                else math.sqrt(3.0) * rng.uniform(-1.0, 1.0, size)
            )
            total = total + line.sensitivity * line.standard_uncertainty * shape
        drawn[prop] = total
    ohm = drawn["pair-resistance"] * 1e3
    if which == "inductance":
        farad = drawn["self-capacitance"] * 1e-12
        henry = 1.0 / ((2e3 * np.pi * drawn["resonant-frequency"]) ** 2 * farad)
    else:
        henry = drawn["pair-inductance"]
        farad = (
            drawn["self-capacitance"] * 1e-12
            if which == "read"
            else 1.0 / ((2e3 * np.pi * drawn["resonant-frequency"]) ** 2 * henry)
        )
        for _ in range(30):
            # The bridge's reading of a coil with its capacitance, solved by plain repetition.
            if which == "capacitance":
                farad = 1.0 / ((2e3 * np.pi * drawn["resonant-frequency"]) ** 2 * henry)
            impedance = 1.0 / (1.0 / (ohm + 2e3j * np.pi * henry) + 2e3j * np.pi * farad)
            henry = henry + drawn["pair-inductance"] - impedance.imag / (2e3 * np.pi)
    peak = np.sqrt(1.0 / (henry * farad) - (ohm / henry) ** 2 / 2.0) / (2.0 * np.pi)
    curve = _response(item).curves[0]
    spread = float(np.std(peak))
    ends = np.quantile(peak, [0.025, 0.975])
    assert curve.peak_hz.value == pytest.approx(np.mean(peak), abs=0.1 * spread)
    assert (curve.peak_hz.low, curve.peak_hz.high) == pytest.approx(tuple(ends), abs=0.1 * spread)
    assert curve.comparison is not None
    assert curve.comparison.drawn.standard_uncertainty == pytest.approx(spread, rel=0.03)
    hertz = frequencies_hz(curve.peak_hz.value)
    at = int(np.searchsorted(hertz, 5e3))
    omega = 2.0 * np.pi * hertz[at]
    level = -20 * np.log10(np.abs(1 + (ohm + 1j * omega * henry) * 1j * omega * farad))
    low, high = np.quantile(level, [0.025, 0.975])
    assert (curve.low_db[at], curve.high_db[at]) == pytest.approx((low, high), rel=0.03)


def test_a_part_that_follows_is_told_from_one_that_was_read() -> None:
    """Capacitance from inductance and peak, and inductance from capacitance and peak.

    By hand: 1/((2 pi 7000)^2 110e-12) = 4.6995 H; back from it 110 pF, the test frequency unknown.
    """
    found = _response(_read(henry=None, kilohertz=7.0))
    bases = {p.name: p.basis for p in found.parts}
    assert bases == {"inductance": "from_peak", "resistance": "read", "capacitance": "read"}
    assert found.parts[0].estimate.value == pytest.approx(4.6995, abs=5e-5)
    back = _response(_read(henry=4.6995, picofarad=None, kilohertz=7.0, test_hz=None))
    assert back.parts[2].basis == "from_peak"
    assert back.parts[2].estimate.value == pytest.approx(110e-12, rel=1e-4)
    assert back.test_frequency_hz is None
    assert back.agreement is None


def test_a_peak_beside_both_parts_is_held_against_them() -> None:
    """4.4 H and 110 pF make 7.2 kHz: read so it agrees, 10 % higher it does not."""
    near = _response(_read(kilohertz=7.3)).agreement
    assert near is not None
    assert near < 1.0
    far = _response(_read(kilohertz=8.0))
    assert far.agreement is not None
    assert far.agreement > 1.0
    assert len(far.curves) == 3


@pytest.mark.parametrize(
    ("item", "missing"),
    [
        (_read(picofarad=None), {("capacitance", "not_read"), ("resonance", "not_read")}),
        (_read(henry=None), {("inductance", "not_read"), ("resonance", "not_read")}),
        (_read(kohm=None), {("resistance", "not_read")}),
        (_read(pair_resistance={"circuit": "in_circuit"}), {("resistance", "bound")}),
        (_read(kohm=None, pair_resistance={"qualifier": "open"}), {("resistance", "open")}),
        (
            _read(self_capacitance={"qualifier": "<"}),
            {("capacitance", "bound"), ("resonance", "not_read")},
        ),
        (_read(picofarad=0.0), {("capacitance", "not_read"), ("resonance", "not_read")}),
        (_read(test_hz=200e3), {("inductance", "bound")}),
    ],
)
def test_a_reading_that_cannot_serve_is_named(item: Piece, missing: set[tuple[str, str]]) -> None:
    """No usual value is put in: the response says what is missing and why, and has no curve."""
    found = _response(item)
    assert {(m.name, m.why) for m in found.missing} == missing
    assert found.curves == found.parts == ()
    assert all(isinstance(m, Missing) for m in found.missing)


def test_what_stands_against_a_reading_stands_against_the_response() -> None:
    """A lapsed calibration of the bridge is carried over; the table's frequencies are all there."""
    found = _response(_read(pair_inductance={"calibration": "lapsed"}))
    assert "calibration_lapsed" in found.flags
    assert set(TABLE_HZ) <= set(found.frequencies_hz)


SOME = st.one_of(st.none(), st.just(0.0), st.floats(1e-9, 1e9))


@settings(max_examples=60)
@given(SOME, SOME, SOME, SOME, st.one_of(st.none(), st.floats(1.0, 1e6)))
def test_nothing_is_raised_for_odd_readings(
    henry: float | None,
    picofarad: float | None,
    kilohertz: float | None,
    kohm: float | None,
    test_hz: float | None,
) -> None:
    """Whatever is typed, a page can be made: either curves with numbers, or what is missing."""
    item = _read(henry=henry, picofarad=picofarad, kilohertz=kilohertz, kohm=kohm, test_hz=test_hz)
    with np.errstate(all="ignore"):
        found = _response(item)
    assert bool(found.curves) != bool(found.missing)

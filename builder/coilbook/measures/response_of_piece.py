"""A piece as a resonant circuit: its parts as read or inferred, and its response with uncertainty.

Every part rests on one or more readings. They are drawn at random together, through the whole
chain from reading to peak (JCGM 101); beside it the same chain is taken as a straight line
(JCGM 100).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from scipy.stats import qmc

from coilbook.core.budgets.budget import Lines
from coilbook.core.budgets.uncertainty import Contribution, Estimate
from coilbook.core.reduction.instrument import as_one_limit
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import Flag, ReducedValue
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray
from coilbook.measures.monte_carlo import Comparison, compare, drawn_result, standard_draws
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
from coilbook.records.contents import Piece

PartName = Literal["inductance", "resistance", "capacitance"]
InputName = Literal["inductance", "resistance", "capacitance", "resonance"]
#: Why a reading cannot serve; data, worded by the templates.
Why = Literal["not_read", "bound", "open"]
Basis = Literal["read", "from_peak"]

#: How many draws the peak rests on, and how many the band of the curve.
MARK_DRAWS = 1024
BAND_DRAWS = 128
#: The curve's span and points, and the frequencies of the table beside it.
SPAN_HZ = (100.0, 20e3)
POINTS = 44
TABLE_HZ = (100.0, 500.0, 1e3, 2e3, 3e3, 4e3, 5e3, 6e3, 8e3, 10e3, 15e3, 20e3)
#: Where the curve is looked at more closely, as shares of the unloaded peak's frequency.
_AROUND = (
    *(0.8, 0.85, 0.9, 0.93, 0.95, 0.965, 0.98, 0.99, 1.0),
    *(1.01, 1.02, 1.035, 1.05, 1.075, 1.1, 1.15, 1.2),
)
#: A drawn input never falls below this share of its value: nothing in a circuit is below nothing.
_FLOOR = 0.01
_SEED = 101
#: The share of the draws that every interval holds.
_LEVEL = 0.95
#: An unknown pair of inductance and capacitance settles in so many rounds; each takes off some 2 %.
_SETTLE = 4


@dataclass(frozen=True, slots=True)
class Missing:
    """A reading that the response would need, and why what there is cannot serve."""

    name: InputName
    why: Why


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the circuit, in SI units, with its budget; ``basis`` tells where it is from."""

    name: PartName
    estimate: Estimate
    unit: str
    basis: Basis


@dataclass(frozen=True, slots=True)
class Mark:
    """A figure read off the response: its value, and 95 % of the draws; ``value`` None if none."""

    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Curve:
    """The response under one load, at ``Response.frequencies_hz``, levels in dB.

    ``peak_estimate`` is the peak frequency by the straight line, with its budget;
    ``comparison`` holds it against the draws. Both are None where nothing stands out.
    """

    load: Load
    level_db: FloatArray
    low_db: FloatArray
    high_db: FloatArray
    peak_hz: Mark
    height_db: Mark
    edge_hz: Mark
    peak_estimate: Estimate | None
    comparison: Comparison | None


@dataclass(frozen=True, slots=True)
class Response:
    """What a piece's readings say of its response.

    ``missing`` tells what stands in the way; there are no curves then. ``test_frequency_hz`` is
    that of the inductance, None where it is not known: its own capacitance is then left in.
    ``read_peak`` is the resonant frequency as it was read, with ``agreement`` its normalised error
    against the parts where they do not rest on it.
    """

    parts: tuple[Part, ...]
    curves: tuple[Curve, ...]
    frequencies_hz: FloatArray
    missing: tuple[Missing, ...]
    test_frequency_hz: float | None
    read_peak: ReducedValue | None
    agreement: float | None
    flags: tuple[Flag, ...]

    @property
    def agrees(self) -> bool:
        """Whether the peak as read was held against the parts, and lies within its uncertainty."""
        return self.agreement is not None and self.agreement <= 1.0


@dataclass(frozen=True, slots=True)
class _Input:
    """One reading in SI units, its budget's effects likewise."""

    name: InputName
    value: float
    lines: Lines
    reading: ReducedValue

    @property
    def standard_uncertainty(self) -> float:
        return math.hypot(*(line.effect for line in self.lines))


@cache
def _ranks(draws: int, lines: int) -> FloatArray:
    """Return in what order each line's draws are taken, so that together they fill the space."""
    points = qmc.Sobol(lines, seed=_SEED).random(draws)
    return np.asarray(points.argsort(axis=0).argsort(axis=0))


@cache
def _unit_draws(shape: str, freedom: float, line: int, lines: int, draws: int) -> FloatArray:
    """Return the draws of one line of several, with mean 0 and standard uncertainty 1."""
    ordered = np.sort(standard_draws("response", shape, freedom, draws))
    return np.asarray(ordered[_ranks(draws, lines)[:, line]])


def _drawn(used: Mapping[InputName, _Input], draws: int) -> dict[InputName, FloatArray]:
    """Return draws of the readings together, the same in every run.

    They are taken in the order of Sobol's points: the ends of an interval then settle with a
    thousand draws about as well as with ten thousand in random order.
    """
    limits = {name: as_one_limit(one.lines) for name, one in used.items()}
    lines = sum(len(own) for own in limits.values())
    found: dict[InputName, FloatArray] = {}
    at = 0
    for name, one in used.items():
        values = np.full(draws, one.value)
        for c in limits[name]:
            unit = _unit_draws(c.distribution, c.degrees_of_freedom, at, lines, draws)
            values = values + c.sensitivity * c.standard_uncertainty * unit
            at += 1
        found[name] = np.maximum(values, _FLOOR * one.value)
    return found


_SOURCES: dict[InputName, tuple[str, str]] = {
    "inductance": ("inductance", "henry"),
    "resistance": ("resistance", "ohm"),
    "capacitance": ("self-capacitance", "farad"),
    "resonance": ("resonant-frequency", "hertz"),
}
_EstimateOf = Callable[[FloatArray], Estimate]
_UNITS: dict[PartName, str] = {"inductance": "H", "resistance": "Ω", "capacitance": "F"}


@cache
def _even_hz() -> FloatArray:
    return np.asarray(np.concatenate((np.geomspace(*SPAN_HZ, POINTS), TABLE_HZ)))


def frequencies_hz(peak_hz: float) -> FloatArray:
    """Return the frequencies of a piece's curves, rising: evenly, the table's, near the peak."""
    near = peak_hz * np.array(_AROUND) if math.isfinite(peak_hz) else np.array([])
    inside = near[(near > SPAN_HZ[0]) & (near < SPAN_HZ[1])]
    return np.asarray(np.unique(np.round(np.concatenate((_even_hz(), inside)))))


def _find(piece: Piece, measured: MeasuredPiece, name: InputName) -> _Input | Missing:
    """Return the reading that stands for an input, or why there is none."""
    word, unit = _SOURCES[name]
    whole = "pair" if piece.family.coils == 2 else "coil"
    key = (whole, f"{whole}-{word}") if name in ("inductance", "resistance") else ("pickup", word)
    found = measured.best.get(key)
    if found is None:
        return Missing(name, "not_read")
    if found.qualifier == "open":
        return Missing(name, "open")
    if not found.comparable or found.value is None:
        return Missing(name, "bound")
    factor = scale(found.unit, unit)
    value = found.value * factor
    if not (0.0 < value < math.inf):
        return Missing(name, "not_read")
    lines = tuple(
        Contribution(
            c.name,
            c.estimate,
            c.standard_uncertainty,
            c.sensitivity * factor,
            c.unit,
            c.distribution,
            c.degrees_of_freedom,
        )
        for c in found.budget
    )
    return _Input(name, value, lines, found)


def _circuits(inputs: Mapping[InputName, FloatArray], test_hz: float | None) -> Circuits:
    """Return the circuits that drawn readings stand for: the chain from reading to part.

    The peak of an unloaded winding in a field of steady strength is the undamped one (see
    ``inductance_from_peak_h``), so the partner of a known part is 1/((2 pi f)^2 times it).
    """
    resistance = inputs["resistance"]
    square = (2.0 * math.pi * inputs["resonance"]) ** 2 if "resonance" in inputs else None
    capacitance, inductance = inputs.get("capacitance"), inputs.get("inductance")
    if inductance is None:
        assert capacitance is not None
        assert square is not None
        return Circuits(1.0 / (square * capacitance), resistance, capacitance)
    apparent = inductance
    if capacitance is not None:
        if test_hz is not None:
            inductance = inductance_without_capacitance_h(
                apparent, resistance, capacitance, test_hz
            )
        return Circuits(inductance, resistance, capacitance)
    assert square is not None
    # Inductance and capacitance each need the other; they settle quickly.
    for _ in range(_SETTLE):
        capacitance = 1.0 / (square * inductance)
        if test_hz is None:
            break
        inductance = inductance_without_capacitance_h(apparent, resistance, capacitance, test_hz)
    assert capacitance is not None
    return Circuits(inductance, resistance, capacitance)


def response_of_piece(piece: Piece, measured: MeasuredPiece) -> Response:
    """Return a piece's response under no load and under each of the example loads.

    Resistance and inductance are those of the whole pickup (the pair of a two-coil one). Of
    inductance, self-capacitance and resonant frequency two are needed: the third follows, or is
    held against them. A bound, an open circuit or nothing at all cannot stand for a part, and no
    usual value is put in its place.
    """
    found = {name: _find(piece, measured, name) for name in _SOURCES}
    inputs = {name: one for name, one in found.items() if isinstance(one, _Input)}
    read_peak = inputs["resonance"].reading if "resonance" in inputs else None
    missing = _missing(found)
    if not missing:
        try:
            return _response(piece, inputs, read_peak)
        except OutOfDomain:
            # Readings that no circuit can have together, such as a test above resonance.
            missing = (Missing("inductance", "bound"),)
    return Response((), (), np.array([]), missing, None, read_peak, None, ())


def _missing(found: Mapping[InputName, _Input | Missing]) -> tuple[Missing, ...]:
    """Return what stands in the way of a response, in the order in which a bench would read it."""
    lacking = {name: one for name, one in found.items() if isinstance(one, Missing)}
    of_three = [lacking[n] for n in ("inductance", "capacitance", "resonance") if n in lacking]
    needed = of_three if len(of_three) > 1 else []
    return tuple([lacking["resistance"]] if "resistance" in lacking else []) + tuple(needed)


def _response(
    piece: Piece, inputs: dict[InputName, _Input], read_peak: ReducedValue | None
) -> Response:
    test_hz = None
    if "inductance" in inputs:
        test_hz = inputs["inductance"].reading.test_frequency_hz or None
    used = dict(inputs)
    if "inductance" in used and "capacitance" in used:
        used.pop("resonance", None)

    # Row 0 is the readings themselves; then each moved up and down by its uncertainty.
    values = {n: one.value for n, one in used.items()}
    steps = {n: min(one.standard_uncertainty, 0.1 * one.value) for n, one in used.items()}
    moved = {
        n: np.array([value, *(value + s * steps[n] * (n == m) for m in used for s in (1.0, -1.0))])
        for n, value in values.items()
    }
    rows = _circuits(moved, test_hz)
    draws = _circuits(_drawn(used, MARK_DRAWS), test_hz)
    band = _circuits(_drawn(used, BAND_DRAWS), test_hz)

    def estimate(row: FloatArray) -> Estimate:
        return Estimate(float(row[0]), _budget(used, steps, row))

    by_part: dict[PartName, FloatArray] = {
        "inductance": rows.inductance_h,
        "resistance": rows.resistance_ohm,
        "capacitance": rows.capacitance_f,
    }
    parts = tuple(
        Part(name, estimate(row), _UNITS[name], "read" if name in used else "from_peak")
        for name, row in by_part.items()
    )
    hertz = frequencies_hz(float(marks(rows, UNLOADED).peak_hz[0]))
    curves = tuple(
        _curve(load, hertz, rows, draws, band, estimate) for load in (UNLOADED, *EXAMPLE_LOADS)
    )
    flags: dict[Flag, None] = {}
    for one in used.values():
        flags.update(dict.fromkeys(one.reading.flags))
    agreement = None
    if read_peak is not None and "resonance" not in used:
        agreement = _agreement(inputs["resonance"], rows, estimate)
    return Response(parts, curves, hertz, (), test_hz, read_peak, agreement, tuple(flags))


def _budget(
    used: Mapping[InputName, _Input], steps: Mapping[InputName, float], row: FloatArray
) -> Lines:
    """Return the budget of a figure from its values at the readings and beside each of them."""
    lines: list[Contribution] = []
    for i, (name, one) in enumerate(used.items()):
        if not steps[name]:
            continue
        slope = float(row[1 + 2 * i] - row[2 + 2 * i]) / (2.0 * steps[name])
        if slope:
            lines += [
                Contribution(
                    f"{name}: {c.name}",
                    c.estimate,
                    c.standard_uncertainty,
                    slope * c.sensitivity,
                    c.unit,
                    c.distribution,
                    c.degrees_of_freedom,
                )
                for c in one.lines
            ]
    return tuple(lines)


def _agreement(peak: _Input, rows: Circuits, estimate: _EstimateOf) -> float | None:
    """Return how far the peak as read stands from the parts, as a share of its uncertainty."""
    undamped = 1.0 / (2.0 * math.pi * np.sqrt(rows.inductance_h * rows.capacitance_f))
    parts = estimate(undamped)
    uncertainty = math.hypot(parts.standard_uncertainty, peak.standard_uncertainty)
    return abs(peak.value - parts.value) / (2.0 * uncertainty) if uncertainty > 0.0 else None


def _curve(
    load: Load,
    hertz: FloatArray,
    rows: Circuits,
    draws: Circuits,
    band: Circuits,
    estimate: _EstimateOf,
) -> Curve:
    first = Circuits(rows.inductance_h[:1], rows.resistance_ohm[:1], rows.capacitance_f[:1])
    low, high = level_interval_db(band, load, hertz, _LEVEL)
    at_rows, at_draws = marks(rows, load), marks(draws, load)
    peak = _mark(at_rows.peak_hz, at_draws.peak_hz)
    peak_estimate = comparison = None
    # With draws that have no peak, no interval of the peak stands for all of them.
    if peak.low is not None and bool(np.isfinite(at_rows.peak_hz).all()):
        peak_estimate = estimate(at_rows.peak_hz)
        drawn = drawn_result(at_draws.peak_hz, _LEVEL)
        comparison = compare(peak_estimate.value, peak_estimate.standard_uncertainty, drawn)
    return Curve(
        load=load,
        level_db=levels_db(first, load, hertz)[0],
        low_db=low,
        high_db=high,
        peak_hz=peak,
        height_db=_mark(at_rows.height_db, at_draws.height_db),
        edge_hz=_mark(at_rows.edge_hz, at_draws.edge_hz),
        peak_estimate=peak_estimate,
        comparison=comparison,
    )


def _mark(at_rows: FloatArray, drawn: FloatArray) -> Mark:
    """Return a figure with the interval of its draws, if every draw has one."""
    value = float(at_rows[0])
    if not math.isfinite(value):
        return Mark(None, None, None)
    if not bool(np.isfinite(drawn).all()):
        return Mark(value, None, None)
    # As drawn_result counts them, without its mean and spread, which nobody asks for here.
    inside = round(_LEVEL * len(drawn))
    left = (len(drawn) - inside) // 2
    low, high = np.partition(drawn, (left, left + inside))[[left, left + inside]]
    return Mark(value, float(low), float(high))

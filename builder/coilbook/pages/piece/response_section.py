"""The response on the piece page: its parts, a plot with its band, and the same as tables."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from coilbook.core.budgets.uncertainty import expanded
from coilbook.measures.arrays import FloatArray
from coilbook.measures.response import Load
from coilbook.measures.response_of_piece import (
    Curve,
    Mark,
    Part,
    Response,
)
from coilbook.measures.whole_piece import LevelsAt, ReadPeak, WholePiece
from coilbook.pages import text
from coilbook.pages.drawn import figures

#: How far down the plot goes; a pickup is silent for the ear long before.
_LOWEST_DB = -30.0
_DASHES = ("solid", "dash", "dot")
_COLOURS = (figures.THIS, figures.INK, figures.SOFT)
_TICKS_HZ = (100, 300, 1000, 3000, 10000)
_PART_UNITS = {"H": ("H", 1.0), "Ω": ("kΩ", 1e-3), "F": ("pF", 1e12)}


@dataclass(frozen=True, slots=True)
class CircuitPartLine:
    """One part of the circuit: its value, and whether it was read or follows from the peak."""

    name: str
    value: str
    basis: str


@dataclass(frozen=True, slots=True)
class LoadText:
    """A load in words: the resistances and capacitances that hang on the leads."""

    code: str
    volume: str
    tone: str
    cable: str
    input: str


@dataclass(frozen=True, slots=True)
class MarkText:
    """A figure and 95 % of its draws as text; both empty where there is none."""

    value: str
    span: str


@dataclass(frozen=True, slots=True)
class CurveLine:
    """What one load makes of a pickup; its figures are empty where there is none.

    ``linear`` is the interval of the straight line, given only where it differs from the draws'.
    """

    load: LoadText
    peak: MarkText
    height: MarkText
    edge: MarkText
    linear: str


@dataclass(frozen=True, slots=True)
class LevelRow:
    """The level at one frequency under each load, with its interval."""

    frequency: str
    levels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MissingLine:
    """A reading that stands in the way, and why; both worded by the template."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class ResponseView:
    """A piece's response, or what is missing for it.

    ``read_peak`` is the resonant frequency as read, ``error`` its normalised error against the
    parts, empty where the parts rest on it.
    """

    parts: tuple[CircuitPartLine, ...]
    curves: tuple[CurveLine, ...]
    levels: tuple[LevelRow, ...]
    figure: figures.Figure | None
    missing: tuple[MissingLine, ...]
    test_frequency: str
    read_peak: str
    error: str
    agrees: bool
    flags: tuple[str, ...]


def _decimals(extent: float, most: int) -> int:
    if not 0.0 < extent < math.inf:
        return most
    return max(0, min(most, 1 - math.floor(math.log10(extent))))


def _shown(mark: Mark, unit: str, factor: float, most: int) -> MarkText:
    """Write a figure with 95 % of its draws, as far as it is known."""
    if mark.value is None:
        return MarkText("", "")
    if mark.low is None or mark.high is None:
        about = f"about {text.number(mark.value * factor, most - 1)}{text.unit_text(unit)}"
        return MarkText(about, "")
    digits = _decimals((mark.high - mark.low) / 2.0 * factor, most)
    value, low, high = (text.number(v * factor, digits) for v in (mark.value, mark.low, mark.high))
    return MarkText(f"{value}{text.unit_text(unit)}", f"{low} to {high}")


def _part(part: Part) -> CircuitPartLine:
    unit, factor = _PART_UNITS[part.unit]
    extent = expanded(part.estimate.standard_uncertainty) * factor
    most = 1 if unit == "pF" else 3
    digits = _decimals(extent, most)
    value = text.number(part.estimate.value * factor, digits)
    plus = f" ± {text.number(extent, digits)}" if extent > 0.0 else ""
    return CircuitPartLine(part.name, f"{value}{plus}{text.unit_text(unit)}", part.basis)


def _si(value: float, unit: str) -> str:
    """Write a resistance or a capacitance of a load with the usual prefix; empty for nothing."""
    if not 0.0 < value < math.inf:
        return ""
    prefixes = (("M", 1e6), ("k", 1e3), ("", 1.0), ("µ", 1e-6), ("n", 1e-9), ("p", 1e-12))
    name, size = next((n, s) for n, s in prefixes if value >= 0.999 * s)
    return f"{value / size:g}{text.unit_text(name + unit)}"


def load_text(load: Load) -> LoadText:
    """Return a load in words."""
    tone = ""
    if load.tone_f > 0.0:
        tone = f"{_si(load.tone_ohm, 'Ω')} with {_si(load.tone_f, 'F')}"
    return LoadText(
        load.code,
        _si(load.volume_ohm, "Ω"),
        tone,
        _si(load.cable_f, "F"),
        _si(load.input_ohm, "Ω"),
    )


def _curve_line(curve: Curve) -> CurveLine:
    linear = ""
    if curve.comparison is not None and not curve.comparison.agrees:
        low, high = curve.comparison.linear_low / 1e3, curve.comparison.linear_high / 1e3
        digits = _decimals((high - low) / 2.0, 3)
        linear = f"{text.number(low, digits)} to {text.number(high, digits)}"
    return CurveLine(
        load_text(curve.load),
        _shown(curve.peak_hz, "kHz", 1e-3, 3),
        _shown(curve.height_db, "dB", 1.0, 2),
        _shown(curve.edge_hz, "kHz", 1e-3, 3),
        linear,
    )


def _hertz(frequency_hz: float) -> str:
    if frequency_hz < 1000.0:
        return f"{frequency_hz:g}{text.unit_text('Hz')}"
    return f"{frequency_hz / 1e3:g}{text.unit_text('kHz')}"


def _level_row(row: LevelsAt) -> LevelRow:
    cells = []
    for one in row.levels:
        level, low, high = (text.number(db, 1) for db in one)
        cells.append(f"{level} ({low} to {high})" if low != high else level)
    return LevelRow(_hertz(row.frequency_hz), tuple(cells))


def _peak_text(read: ReadPeak) -> str:
    extent = expanded(read.standard_uncertainty_hz) / 1e3
    digits = _decimals(extent, 3)
    plus = f" ± {text.number(extent, digits)}" if extent > 0.0 else ""
    return f"{text.number(read.frequency_hz / 1e3, digits)}{plus}{text.unit_text('kHz')}"


def _numbers(values: FloatArray, decimals: int) -> list[float]:
    return [float(v) for v in np.round(values, decimals)]


def _band(curve: Curve, hertz: list[float]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "none",
        "x": [*hertz, *reversed(hertz)],
        "y": [*_numbers(curve.high_db, 2), *reversed(_numbers(curve.low_db, 2))],
        "showlegend": False,
        "fill": "toself",
        "fillcolor": figures.BAND,
        "hoverinfo": "skip",
    }


def _curve(at: int, curve: Curve, hertz: list[float]) -> dict[str, Any]:
    name = _label(curve.load)
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": hertz,
        "y": _numbers(curve.level_db, 2),
        "line": {"color": _COLOURS[at], "width": 2, "dash": _DASHES[at]},
        "hovertemplate": f"{name}, %{{x}} Hz: %{{y}} dB<extra></extra>",
    }


def _diamond(frequency_hz: float, level_db: float) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "peak as read",
        "x": [round(frequency_hz)],
        "y": [round(level_db, 2)],
        "marker": {"symbol": "diamond-open", "size": 13, "color": figures.THIS},
        "hovertemplate": "peak as read: %{x} Hz<extra></extra>",
    }


def _layout(top_db: float) -> dict[str, Any]:
    return {
        "height": 400,
        "margin": {"l": 56, "r": 16, "t": 28, "b": 92},
        "showlegend": True,
        "legend": {"orientation": "h", "x": 0, "y": -0.28, "yanchor": "top"},
        "xaxis": figures.axis_of(
            "frequency",
            type="log",
            range=[2.0, math.log10(20e3)],
            tickvals=list(_TICKS_HZ),
            ticktext=[_hertz(t) for t in _TICKS_HZ],
            tickangle=0,
        ),
        "yaxis": figures.axis_of("level, dB", range=[_LOWEST_DB, max(6.0, top_db + 4.0)]),
    }


def _caption(response: Response, read: ReadPeak | None) -> str:
    told = [
        f"{_label(curve.load)}, peak {_shown(curve.peak_hz, 'kHz', 1e-3, 3).value or 'none'}"
        for curve in response.curves
    ]
    caption = (
        "Output over what the winding makes, which is 0 dB. Unbroken: "
        f"{told[0]}; dashes: {told[1]}; dots: {told[2]}. Shaded: 95 % of what the readings allow."
    )
    if read is not None:
        peak = f"{read.frequency_hz / 1e3:.2f}{text.unit_text('kHz')}"
        caption += f" The diamond is the peak as read, {peak}."
    return caption


def _figure(response: Response, read: ReadPeak | None, *, invented: bool) -> figures.Figure:
    """Draw each load's curve over its band, all bands first so that no band hides a curve."""
    hertz = _numbers(response.frequencies_hz, 0)
    bands = [_band(curve, hertz) for curve in response.curves]
    lines = [_curve(at, curve, hertz) for at, curve in enumerate(response.curves)]
    if read is not None and read.level_db is not None:
        lines.append(_diamond(read.frequency_hz, read.level_db))
    return figures.figure(
        "plot-response",
        "Response",
        _caption(response, read),
        bands + lines,
        _layout(max(float(np.max(c.high_db)) for c in response.curves)),
        invented=invented,
    )


def _label(load: Load) -> str:
    volume = load_text(load).volume
    return f"{volume} volume" if volume else "no load"


def view(whole: WholePiece, *, invented: bool) -> ResponseView | None:
    """Return a piece's response; None where next to nothing of it was read.

    With one reading missing the page says which; with none of inductance, capacitance and resonant
    frequency the pickup was not measured for it, and nothing is said.
    """
    response, read = whole.response, whole.read_peak
    if len(response.missing) > 2 and response.read_peak is None:
        return None
    return ResponseView(
        parts=tuple(_part(p) for p in response.parts),
        curves=tuple(_curve_line(c) for c in response.curves),
        levels=tuple(_level_row(row) for row in whole.response_levels),
        figure=_figure(response, read, invented=invented) if response.curves else None,
        missing=tuple(MissingLine(m.name, m.why) for m in response.missing),
        test_frequency=_hertz(response.test_frequency_hz) if response.test_frequency_hz else "",
        read_peak=_peak_text(read) if read is not None else "",
        error=text.number(response.agreement, 2) if response.agreement is not None else "",
        agrees=response.agrees,
        flags=tuple(response.flags),
    )

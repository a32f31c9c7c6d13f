"""Distribution plots as plain Plotly dicts: no template, no id of chance, colours by role.

A colour is written ``var:--cb-…``; the page's script puts the scheme's own colour in its place.
Every figure has a caption that says what it shows, and stands beside a table of the same values.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from coilbook.pages.drawn.strips import Axis, Band, nice_axis
from coilbook.pages.text import number, quantity, unit_text
from coilbook.records.tables.models import Property
from coilbook.stats.summary import Member, Summary

INK = "var:--cb-ink"
SOFT = "var:--cb-soft"
RULE = "var:--cb-rule"
BAND = "var:--cb-band"
BAND_LINE = "var:--cb-bandline"
BOX = "var:--cb-box"
THIS = "var:--cb-copper"


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure ready for a page: its id there, its JSON (safe inside a script tag), its words."""

    dom_id: str
    title: str
    json: str
    caption: str


@dataclass(frozen=True, slots=True)
class YearBand:
    """A documented band over a span of years."""

    first_year: int
    last_year: int
    band: Band


def figure(
    dom_id: str,
    title: str,
    caption: str,
    data: list[dict[str, Any]],
    layout: dict[str, Any],
    *,
    invented: bool,
) -> Figure:
    """Return a figure with what all have in common; an invented archive's says so in the plot."""
    layout = {
        "autosize": True,
        "height": 340,
        "margin": {"l": 56, "r": 16, "t": 28, "b": 48},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"color": SOFT, "size": 12},
        "showlegend": False,
        "hovermode": "closest",
        "dragmode": False,
        **layout,
    }
    if invented:
        layout["annotations"] = [
            {
                "text": "◇ invented records",
                "xref": "paper",
                "yref": "paper",
                "x": 1,
                "y": 1.02,
                "xanchor": "right",
                "yanchor": "bottom",
                "showarrow": False,
                "font": {"size": 11, "color": SOFT},
            }
        ]
    text = json.dumps({"data": data, "layout": layout}, ensure_ascii=False, separators=(",", ":"))
    # Inside a script element only "</" can end it; as \u003c it is the same JSON.
    return Figure(dom_id, title, text.replace("<", "\\u003c"), caption)


def axis_of(title: str, **more: Any) -> dict[str, Any]:
    """Return an axis with its title, in the site's colours, that cannot be dragged."""
    return {
        "title": {"text": title},
        "gridcolor": RULE,
        "linecolor": INK,
        "tickcolor": SOFT,
        "zeroline": False,
        "ticks": "outside",
        "fixedrange": True,
        **more,
    }


def _rectangle(x0: float | str, x1: float | str, band: Band, *, across: bool) -> dict[str, Any]:
    """Return a band as a shape; ``across`` puts its values on x over the plot's whole height."""
    line = {"color": BAND_LINE, "width": 1, "dash": "solid" if band.solid else "dot"}
    shape: dict[str, Any] = {
        "type": "rect",
        "layer": "below",
        "fillcolor": BAND,
        "opacity": 0.65,
        "line": line,
    }
    if across:
        return {**shape, "xref": "x", "yref": "paper", "x0": x0, "x1": x1, "y0": 0.12, "y1": 1}
    return {**shape, "xref": "x", "yref": "y", "x0": x0, "x1": x1, "y0": band.low, "y1": band.high}


def _axis_title(prop: Property, part: str) -> str:
    unit = unit_text(prop.unit).strip() or "number"
    at = " at 20 °C" if prop.reduction == "copper" else ""
    return f"{part + ': ' if part else ''}{prop.name.lower()}{at}, {unit}"


def bin_width(values: Sequence[float]) -> float:
    """Return a histogram's bin width by the rule of Freedman and Diaconis, as a round number.

    Formula: h = 2 IQR n^(-1/3), down to the next 1, 2 or 5 times a power of ten.
    Validity: a tenth of the range stands in where the IQR is zero.
    """
    ordered = sorted(values)
    n = len(ordered)
    iqr = ordered[(3 * n) // 4] - ordered[n // 4]
    raw = 2 * iqr / n ** (1 / 3) or (ordered[-1] - ordered[0]) / 10 or abs(ordered[0]) / 10 or 1.0
    power = 10.0 ** math.floor(math.log10(raw))
    return max(m * power for m in (1.0, 2.0, 5.0) if m * power <= raw * (1 + 1e-9))


def histogram(
    dom_id: str,
    summary: Summary,
    prop: Property,
    bands: Sequence[Band],
    *,
    part: str = "",
    this: Member | None = None,
    invented: bool,
) -> Figure:
    """Draw the values as a histogram over a rug, behind them the documented bands."""
    values = [m.value for m in summary.members]
    width = bin_width(values)
    ends = [e for b in bands for e in (b.low, b.high) if e is not None]
    axis = nice_axis([*values, *ends, *([this.value] if this else [])])
    data = _bins_and_rug(summary, axis, width, unit_text(prop.unit), this)
    shapes = [
        _rectangle(b.low, b.high, b, across=True)
        for b in bands
        if b.low is not None and b.high is not None
    ]
    layout = {
        "xaxis": axis_of(_axis_title(prop, part), range=[axis.low, axis.high], anchor="y2"),
        "yaxis": axis_of("pieces", domain=[0.12, 1], rangemode="tozero"),
        "yaxis2": {"domain": [0, 0.1], "visible": False, "fixedrange": True, "range": [-1.4, 1]},
        "shapes": shapes,
        "bargap": 0,
    }
    bins = f"{number(width, _decimals(width))}{unit_text(prop.unit)}"
    caption = (
        f"{summary.n} pieces in bins of {bins}; the ticks below "
        f"are the pieces themselves. Median {quantity(summary.median, prop)}, middle half "
        f"{quantity(summary.lower_quartile, prop)} to {quantity(summary.upper_quartile, prop)}."
    )
    if shapes:
        caption += " Shaded: documented ranges."
    if this is not None:
        caption += f" The diamond is this piece, {quantity(this.value, prop)}."
    return figure(dom_id, "How the values are spread", caption, data, layout, invented=invented)


def _bins_and_rug(
    summary: Summary, axis: Axis, width: float, unit: str, this: Member | None
) -> list[dict[str, Any]]:
    """Return the bars of a histogram, a tick for each value below them, and this piece's mark."""
    values = [m.value for m in summary.members]
    data: list[dict[str, Any]] = [
        {
            "type": "histogram",
            "x": values,
            "xbins": {
                "start": math.floor(axis.low / width) * width,
                "end": math.ceil(axis.high / width) * width + width,
                "size": width,
            },
            "marker": {"color": BOX, "line": {"color": "var:--cb-paper", "width": 1}},
            "opacity": 0.75,
            "hovertemplate": f"%{{x}}{unit}: %{{y}}<extra></extra>",
        },
        {
            "type": "scatter",
            "mode": "markers",
            "x": values,
            "y": [0] * len(values),
            "yaxis": "y2",
            "text": [m.piece_id for m in summary.members],
            "marker": {"symbol": "line-ns-open", "size": 9, "color": SOFT},
            "hovertemplate": f"%{{text}}: %{{x}}{unit}<extra></extra>",
        },
    ]
    if this is not None:
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "x": [this.value],
                "y": [0],
                "yaxis": "y2",
                "text": [this.piece_id],
                "marker": {"symbol": "diamond", "size": 15, "color": THIS},
                "hovertemplate": f"this piece, %{{text}}: %{{x}}{unit}<extra></extra>",
            }
        )
    return data


def by_year(
    dom_id: str,
    summary: Summary,
    prop: Property,
    bands: Sequence[YearBand],
    *,
    part: str = "",
    this: Member | None = None,
    invented: bool,
) -> Figure | None:
    """Draw each dated value against the middle of its years, the documented bands as steps."""
    dated = [m for m in summary.members if m.year is not None]
    if len(dated) < 2:
        return None
    unit = unit_text(prop.unit)
    data: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "markers",
            "x": [m.year for m in dated],
            "y": [m.value for m in dated],
            "text": [m.piece_id for m in dated],
            "error_y": {
                "type": "data",
                "array": [round(2 * m.standard_uncertainty, 6) for m in dated],
                "color": RULE,
                "thickness": 1,
                "width": 0,
            },
            "marker": {"color": BOX, "size": 7, "opacity": 0.8},
            "hovertemplate": f"%{{text}}, %{{x:.0f}}: %{{y}}{unit}<extra></extra>",
        }
    ]
    if this is not None and this.year is not None:
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "x": [this.year],
                "y": [this.value],
                "text": [this.piece_id],
                "marker": {"symbol": "diamond", "size": 14, "color": THIS},
                "hovertemplate": f"this piece, %{{text}}: %{{y}}{unit}<extra></extra>",
            }
        )
    layout = {
        "xaxis": axis_of("year, the middle of what is known", tickformat="d"),
        "yaxis": axis_of(_axis_title(prop, part)),
        "shapes": [
            _rectangle(b.first_year - 0.5, b.last_year + 0.5, b.band, across=False)
            for b in bands
            if b.band.low is not None and b.band.high is not None
        ],
    }
    caption = (
        f"{len(dated)} dated pieces, each with its expanded uncertainty (k = 2). "
        "Shaded steps: what is documented for those years."
    )
    return figure(dom_id, "Value against year", caption, data, layout, invented=invented)


def coil_against_coil(
    dom_id: str,
    coil_a: Summary,
    coil_b: Summary,
    prop: Property,
    *,
    this: tuple[float, float] | None = None,
    invented: bool,
) -> Figure | None:
    """Draw coil B against coil A with the line of equal coils; None with fewer than two pieces."""
    b_of = {m.piece_id: m.value for m in coil_b.members}
    both = [(m.piece_id, m.value, b_of[m.piece_id]) for m in coil_a.members if m.piece_id in b_of]
    if len(both) < 2:
        return None
    unit = unit_text(prop.unit)
    axis = nice_axis([v for _, a, b in both for v in (a, b)] + list(this or ()))
    ends = [axis.low, axis.high]
    data: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "x": ends,
            "y": ends,
            "line": {"color": SOFT, "width": 1, "dash": "dash"},
            "hoverinfo": "skip",
        },
        {
            "type": "scatter",
            "mode": "markers",
            "x": [a for _, a, _ in both],
            "y": [b for _, _, b in both],
            "text": [piece for piece, _, _ in both],
            "marker": {"color": BOX, "size": 7, "opacity": 0.8},
            "hovertemplate": f"%{{text}}: A %{{x}}, B %{{y}}{unit}<extra></extra>",
        },
    ]
    if this is not None:
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "x": [this[0]],
                "y": [this[1]],
                "marker": {"symbol": "diamond", "size": 14, "color": THIS},
                "hovertemplate": f"this piece: A %{{x}}, B %{{y}}{unit}<extra></extra>",
            }
        )
    layout = {
        "height": 420,
        "xaxis": axis_of(_axis_title(prop, "coil A"), range=ends),
        "yaxis": axis_of(_axis_title(prop, "coil B"), range=ends, scaleanchor="x"),
    }
    caption = (
        f"{len(both)} pieces with both coils read. On the broken line the coils are equal; "
        "the farther from it, the less hum they cancel."
    )
    return figure(dom_id, "Coil against coil", caption, data, layout, invented=invented)


def _decimals(step: float) -> int:
    return max(0, -math.floor(math.log10(step) + 1e-9))

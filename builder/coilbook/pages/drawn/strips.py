"""Range strips: documented bands, the archive's box and this piece on one aligned axis, as SVG.

A strip is built from plain numbers; its colours are classes that the site's css fills, and its
words (``label``) say all that the picture says.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from coilbook.pages.text import number
from coilbook.stats.summary import Summary

WIDTH = 430.0
_MARGIN = 14.0
_LANE = 26.0
_AXIS = 18.0


@dataclass(frozen=True, slots=True)
class Axis:
    """A linear axis from ``low`` to ``high`` with ticks at multiples of ``step``."""

    low: float
    high: float
    step: float

    def at(self, value: float) -> float:
        """Return the place of a value on the strip, clipped to the axis."""
        share = (value - self.low) / (self.high - self.low)
        return _MARGIN + min(1.0, max(0.0, share)) * (WIDTH - 2 * _MARGIN)

    @property
    def ticks(self) -> list[float]:
        """Return the ticks from the low end to the high end."""
        count = round((self.high - self.low) / self.step)
        return [self.low + i * self.step for i in range(count + 1)]

    def tick_text(self, value: float) -> str:
        """Write a tick with just the decimals that the step needs."""
        decimals = max(0, -math.floor(math.log10(self.step) + 1e-9))
        return number(value, decimals)


def nice_axis(values: Iterable[float], *, wanted: int = 6) -> Axis:
    """Return an axis that holds all values, with a step of 1, 2 or 5 times a power of ten."""
    finite = [v for v in values if math.isfinite(v)]
    low, high = (min(finite), max(finite)) if finite else (0.0, 1.0)
    if high - low < 1e-9 * max(1.0, abs(high)):  # one value; below 1e-9 it is drawn as zero
        half = 0.5 * max(abs(low), abs(high)) if max(abs(low), abs(high)) >= 1e-9 else 0.5
        low, high = low - half, high + half
    raw = (high - low) / wanted
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return Axis(first * step, last * step, step)


@dataclass(frozen=True, slots=True)
class Band:
    """A documented range; None for an open end. ``solid`` tells a published one."""

    low: float | None
    high: float | None
    typical: float | None
    solid: bool
    own: bool = False


@dataclass(frozen=True, slots=True)
class PieceMark:
    """The piece of the page: its value and expanded uncertainty."""

    value: float
    extent: float


@dataclass(frozen=True, slots=True)
class Lane:
    """One line of a strip: the archive's summary of one component, and this piece."""

    summary: Summary | None = None
    mark: PieceMark | None = None


def _band_svg(axis: Axis, band: Band, top: float, height: float) -> str:
    kind = "cb-band"
    if not band.solid:
        kind += " cb-band-soft"
    if band.own:
        kind += " cb-band-own"
    parts = []
    if band.low is not None or band.high is not None:
        left = axis.at(band.low) if band.low is not None else _MARGIN / 2
        right = axis.at(band.high) if band.high is not None else WIDTH - _MARGIN / 2
        width = max(right - left, 1.5)
        parts.append(
            f'<rect class="{kind} cb-fill" x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" '
            f'height="{height:.1f}"/>'
        )
        edges = [x for x, end in ((left, band.low), (left + width, band.high)) if end is not None]
        bottom = top + height
        path = "".join(f"M{x:.1f} {top:.1f}V{bottom:.1f}" for x in edges)
        path += "".join(f"M{left:.1f} {y:.1f}H{left + width:.1f}" for y in (top, bottom))
        parts.append(f'<path class="{kind} cb-edge" d="{path}"/>')
    if band.typical is not None:
        x = axis.at(band.typical)
        parts.append(
            f'<path class="{kind} cb-typical" d="M{x:.1f} {top - 2:.1f}V{top + height + 2:.1f}"/>'
        )
    return "".join(parts)


def _box_svg(axis: Axis, summary: Summary, middle: float) -> str:
    if not summary.drawable:
        path = "".join(f"M{axis.at(m.value):.1f} {middle - 5:.1f}v10" for m in summary.members)
        return f'<path class="cb-rug" d="{path}"/>'
    low = summary.low_5 if summary.low_5 is not None else summary.minimum
    high = summary.high_95 if summary.high_95 is not None else summary.maximum
    left, right = axis.at(summary.lower_quartile), axis.at(summary.upper_quartile)
    median = axis.at(summary.median)
    return (
        f'<path class="cb-whisker" d="M{axis.at(low):.1f} {middle:.1f}H{axis.at(high):.1f}"/>'
        f'<rect class="cb-box" x="{left:.1f}" y="{middle - 5:.1f}" '
        f'width="{max(right - left, 1.0):.1f}" height="10"/>'
        f'<path class="cb-median" d="M{median:.1f} {middle - 7:.1f}v14"/>'
    )


def _mark_svg(axis: Axis, mark: PieceMark, middle: float) -> str:
    x = axis.at(mark.value)
    left, right = axis.at(mark.value - mark.extent), axis.at(mark.value + mark.extent)
    return (
        f'<path class="cb-this-line" d="M{left:.1f} {middle:.1f}H{right:.1f}"/>'
        f'<path class="cb-this" d="M{x:.1f} {middle - 8:.1f}l7 8l-7 8l-7 -8z"/>'
    )


def strip(
    axis: Axis, bands: Sequence[Band], lanes: Sequence[Lane], label: str, *, ticks: bool
) -> str:
    """Draw a strip: bands over its whole height, then each lane's box and mark.

    Bands that overlap are drawn ever slimmer, so that every one's edges stay visible.
    ``label`` becomes the picture's text for those who cannot see it.
    """
    body = max(1, len(lanes)) * _LANE + 8
    height = body + (_AXIS if ticks else 0)
    parts = [
        f'<svg class="cb-strip" viewBox="0 0 {WIDTH:.0f} {height:.0f}" width="{WIDTH:.0f}" '
        f'height="{height:.0f}" role="img" aria-label="{escape(label, quote=True)}">'
    ]
    for index, band in enumerate(bands):
        inset = 4 + min(index, 4) * 3.0
        parts.append(_band_svg(axis, band, inset, body - 2 * inset))
    for index, lane in enumerate(lanes):
        middle = 4 + _LANE * (index + 0.5)
        parts.append(
            f'<path class="cb-base" d="M{_MARGIN / 2:.0f} {middle:.1f}H{WIDTH - _MARGIN / 2:.0f}"/>'
        )
        if lane.summary is not None:
            parts.append(_box_svg(axis, lane.summary, middle))
        if lane.mark is not None:
            parts.append(_mark_svg(axis, lane.mark, middle))
    if ticks:
        for tick in axis.ticks:
            x = axis.at(tick)
            words = axis.tick_text(tick)
            reach = 3.4 * len(words)  # half of a tick's text, so that it stays on the strip
            x_text = min(max(x, reach), WIDTH - reach)
            parts.append(
                f'<path class="cb-tick" d="M{x:.1f} {body - 1:.0f}v4"/>'
                f'<text x="{x_text:.1f}" y="{body + 14:.0f}" text-anchor="middle">{words}</text>'
            )
    parts.append("</svg>")
    return "".join(parts)

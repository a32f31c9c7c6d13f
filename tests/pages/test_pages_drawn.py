"""Strips, axes and figures: what is drawn is where the numbers say."""

from __future__ import annotations

import json
import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from pages_helpers import make_property

from coilbook.core.observing.peers import GroupKey
from coilbook.pages.drawn import figures
from coilbook.pages.drawn.strips import WIDTH, Axis, Band, Lane, PieceMark, nice_axis, strip
from coilbook.stats.groups import summary_of
from coilbook.stats.summary import Member, Summary

KEY = GroupKey("full-size-humbucker", "pair-resistance", "pair")
VALUES = st.floats(-1e5, 1e5, allow_nan=False)


def group(values: list[float], years: list[float | None] | None = None) -> Summary:
    """Return a summary of some values, a piece each."""
    when = years or [1959.0] * len(values)
    members = tuple(
        Member(f"p-{i}", v, 0.02, y) for i, (v, y) in enumerate(zip(values, when, strict=True))
    )
    return summary_of(KEY, "invented", "kΩ", members)


@given(st.lists(VALUES, min_size=1, max_size=30))
@example([5e-324])
@example([-1e-310, 1e-310])
@example([1e-9])
def test_an_axis_holds_every_value_with_few_round_ticks(values: list[float]) -> None:
    """All values lie on the axis, and its ticks are few multiples of 1, 2 or 5 times a power."""
    axis = nice_axis(values)
    slack = 1e-6 * max(1.0, abs(axis.low), abs(axis.high))
    assert axis.low - slack <= min(values)
    assert max(values) <= axis.high + slack
    assert 2 <= len(axis.ticks) <= 16
    mantissa = axis.step / 10 ** math.floor(math.log10(axis.step) + 1e-9)
    assert min(abs(mantissa - m) for m in (1, 2, 5, 10)) < 1e-6


@given(st.integers(-3, 4), st.sampled_from([1.0, 2.0, 5.0]), st.integers(-40, 40))
def test_a_ticks_text_is_the_tick(power: int, mantissa: float, start: int) -> None:
    """What stands under a tick is its value, not a rounding of it."""
    step = mantissa * 10.0**power
    axis = Axis(start * step, (start + 6) * step, step)
    for tick in axis.ticks:
        words = axis.tick_text(tick).replace("\N{MINUS SIGN}", "-")
        shown = float(words.replace("\N{NARROW NO-BREAK SPACE}", ""))
        assert shown == pytest.approx(tick, abs=step * 1e-6)


def test_a_strip_draws_each_layer_where_its_number_is() -> None:
    """Band edges, median and diamond stand at their values on the axis; the words are there too."""
    axis = Axis(7.0, 9.0, 0.5)
    summary = group([7.5 + 0.05 * i for i in range(20)])
    drawn = strip(
        axis,
        [Band(7.5, 8.5, None, False)],
        [Lane(summary, PieceMark(8.0, 0.1))],
        'a "label"',
        ticks=True,
    )
    root = ElementTree.fromstring(drawn)
    assert root.attrib["aria-label"] == 'a "label"'
    band = next(e for e in root.iter("rect") if "cb-fill" in e.attrib["class"])
    assert float(band.attrib["x"]) == pytest.approx(axis.at(7.5), abs=0.1)
    assert float(band.attrib["width"]) == pytest.approx(axis.at(8.5) - axis.at(7.5), abs=0.1)
    paths = {e.attrib["class"]: e.attrib["d"] for e in root.iter("path")}
    assert paths["cb-median"].startswith(f"M{axis.at(summary.median):.1f} ")
    assert paths["cb-this"].startswith(f"M{axis.at(8.0):.1f} ")
    assert [t.text for t in root.iter("text")] == ["7.0", "7.5", "8.0", "8.5", "9.0"]


def test_below_eight_a_strip_draws_single_ticks_and_no_box() -> None:
    """A small sample is shown value by value, never as a distribution."""
    drawn = strip(Axis(7.0, 9.0, 0.5), [], [Lane(group([7.5, 8.0, 8.2]))], "x", ticks=False)
    root = ElementTree.fromstring(drawn)
    classes = [e.attrib["class"] for e in root.iter() if "class" in e.attrib]
    assert "cb-box" not in classes
    rug = next(e for e in root.iter("path") if e.attrib["class"] == "cb-rug")
    assert rug.attrib["d"].count("M") == 3


def test_a_value_off_the_axis_stays_on_the_strip() -> None:
    """Clipping keeps a mark visible at the edge."""
    axis = Axis(7.0, 9.0, 0.5)
    assert 0 <= axis.at(-50) < axis.at(7.5) < axis.at(50) <= WIDTH


@given(st.lists(st.floats(1.0, 20.0), min_size=8, max_size=80))
def test_a_histograms_bins_hold_every_value(values: list[float]) -> None:
    """From first to last bin edge no value falls out."""
    figure = figures.histogram("h", group(values), make_property(), [], invented=False)
    bins = json.loads(figure.json)["data"][0]["xbins"]
    assert bins["start"] <= min(values) + 1e-9
    assert max(values) <= bins["end"] + 1e-9


def test_the_bin_width_follows_freedman_and_diaconis() -> None:
    """Within the rounding to 1, 2 or 5 it is what numpy's own estimator of that name gives.

    Source: numpy.histogram_bin_edges(bins="fd"), after Freedman and Diaconis (1981).
    """
    rng = np.random.default_rng(7)
    for n in (20, 60, 200):
        values = rng.normal(8.0, 0.4, n)
        edges = np.histogram_bin_edges(values, bins="fd")
        ratio = figures.bin_width(list(values)) / (edges[1] - edges[0])
        assert 0.35 < ratio < 1.2


def test_figures_are_plain_and_safe_inside_a_page() -> None:
    """No template, no raw "<", colours by role only, and the invented mark when it is due."""
    summary = group([7.5 + 0.05 * i for i in range(20)], [1957.0 + i % 5 for i in range(20)])
    prop = make_property()
    band = Band(7.5, 9.0, None, False)
    drawn = [
        figures.histogram("a", summary, prop, [band], invented=True),
        figures.by_year("b", summary, prop, [figures.YearBand(1957, 1958, band)], invented=True),
        figures.coil_against_coil("c", summary, summary, prop, this=(8.0, 8.1), invented=True),
    ]
    for figure in drawn:
        assert figure is not None
        assert "<" not in figure.json
        content = json.loads(figure.json)
        assert "template" not in content["layout"]
        assert "invented" in content["layout"]["annotations"][0]["text"]
        colours = set(re.findall(r'"color":"([^"]+)"', figure.json))
        assert colours
        assert all(c.startswith("var:--cb-") for c in colours)


def test_no_year_plot_without_years() -> None:
    """With fewer than two dated pieces there is nothing to draw against years."""
    summary = group([7.5] * 9, [None] * 9)
    assert figures.by_year("b", summary, make_property(), [], invented=False) is None

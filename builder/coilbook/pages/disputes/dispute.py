"""What an item of the page on parting is made of, and the few ways in which it writes numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from coilbook.pages import text
from coilbook.pages.drawn import figures
from coilbook.pages.page import Book

#: More points than this make a curve, which is drawn without marks.
MOST_MARKS = 15


@dataclass(frozen=True, slots=True)
class Sum:
    """One step of the arithmetic: what it is of, the figures put in, and what comes out."""

    what: str
    sum: str
    result: str


@dataclass(frozen=True, slots=True)
class DisputeRow:
    """A row of an item's table; ``href`` leads from its head to what it is about, if anything."""

    head: str
    cells: tuple[str, ...]
    href: str = ""


@dataclass(frozen=True, slots=True)
class Cited:
    """A source that an item rests on, with the place in it and how it was checked."""

    words: str
    href: str
    checked: str


@dataclass(frozen=True, slots=True)
class Link:
    """A page that an item touches."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class Item:
    """One place where practice and the standard part; ``code`` is worded by the template."""

    code: str
    practice: text.Evidence
    cited: tuple[Cited, ...]
    sums: tuple[Sum, ...]
    rows: tuple[DisputeRow, ...]
    figure: figures.Figure
    touches: tuple[Link, ...]
    facts: Mapping[str, str] = field(default_factory=dict)


def practice() -> text.Evidence:
    """Return the mark of common practice."""
    return text.evidence("common_practice", None, None)


def cited(book: Book, source_id: str, locator: str) -> Cited:
    """Return a source by its id; the reference must have it."""
    source = book.reference.sources[source_id]
    return Cited(f"{source.title}, {locator}", f"sources/index.html#{source_id}", source.checked)


def method(name: str, words: str) -> Link:
    """Return a link to a formula by its name in the code."""
    return Link(words, f"methods/index.html#{name.replace('_', '-')}")


def family(book: Book, family_id: str, property_id: str) -> Link:
    """Return a link to a family's claims on a property."""
    found = book.reference.families[family_id]
    prop = book.reference.properties[property_id]
    # A word has no heading of its own on the family's page, but a line under one for all of them.
    place = property_id if prop.kind == "quantity" else "materials"
    return Link(
        f"{found.name}: {text.lower_first(prop.name)}",
        f"families/{family_id}/index.html#{place}",
    )


def signed(value: float, decimals: int) -> str:
    """Write a number with its sign, nothing for none."""
    words = text.number(value, decimals)
    return f"+{words}" if value > 0 and float(f"{value:.{decimals}f}") != 0 else words


def percent(value: float, decimals: int = 1) -> str:
    """Write a signed percentage."""
    return f"{signed(value, decimals)}{text.unit_text('%')}"


def with_unit(value: float, decimals: int, unit: str) -> str:
    """Write a number with its unit."""
    return f"{text.number(value, decimals)}{text.unit_text(unit)}"


def lines(
    code: str,
    title: str,
    caption: str,
    x: list[Any],
    series: Mapping[str, list[float | None]],
    axes: tuple[str, str],
    **layout: Any,
) -> figures.Figure:
    """Draw series over the same x, each with its own mark and dash, so that no colour is needed.

    A curve of many points has no marks.
    """
    marks = ("circle", "square-open", "diamond", "triangle-up-open")
    dashes = ("solid", "dash", "dot", "dashdot")
    colours = (figures.THIS, figures.INK, figures.BOX, figures.SOFT)
    data: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines+markers" if len(x) <= MOST_MARKS else "lines",
            "name": name,
            "x": x,
            "y": values,
            "line": {"color": colours[i], "width": 2, "dash": dashes[i]},
            "marker": {"symbol": marks[i], "size": 8, "color": colours[i]},
        }
        for i, (name, values) in enumerate(series.items())
    ]
    return _drawn(code, title, caption, data, axes, layout)


def bars(
    code: str,
    title: str,
    caption: str,
    names: list[str],
    values: list[float],
    axis: str,
    **layout: Any,
) -> figures.Figure:
    """Draw one value for each row of a table as a bar that lies, the first on top.

    A bar is marked with its row's number: names would leave no room for it on a phone.
    """
    numbers = [str(place) for place, _ in enumerate(names, start=1)]
    data: list[dict[str, Any]] = [
        {
            "type": "bar",
            "orientation": "h",
            "x": values,
            "y": numbers,
            "text": names,
            "textposition": "none",
            "marker": {"color": figures.BOX},
            "hovertemplate": "%{text}: %{x}<extra></extra>",
        }
    ]
    height = 120 + 22 * len(names)
    more = {
        "height": max(340, height),
        "margin": {"l": 56, "r": 16, "t": 28, "b": 48},
        "yaxis": figures.axis_of("row of the table", autorange="reversed", type="category"),
        "showlegend": False,
        **layout,
    }
    return _drawn(code, title, caption, data, (axis, ""), more)


def _drawn(
    code: str,
    title: str,
    caption: str,
    data: list[dict[str, Any]],
    axes: tuple[str, str],
    layout: Mapping[str, Any],
) -> figures.Figure:
    whole = {
        "height": 380,
        "margin": {"l": 56, "r": 16, "t": 28, "b": 92},
        "showlegend": True,
        "legend": {"orientation": "h", "x": 0, "y": -0.28, "yanchor": "top"},
        "xaxis": figures.axis_of(axes[0]),
        "yaxis": figures.axis_of(axes[1]),
        **layout,
    }
    # Documented figures and arithmetic alone: no record of an archive, invented or not, is in them.
    return figures.figure(f"plot-{code}", title, caption, data, whole, invented=False)

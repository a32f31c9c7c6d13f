"""Drawings measured back from their SVG against the data, read here from the CSV files alone.

Nothing of the package reads the data on this side: sizes are taken from the tables as text, and
lengths as people write them are turned into mm here (the inch is 25.4 mm by definition).
"""

from __future__ import annotations

import csv
import itertools
import re
import xml.etree.ElementTree as ET
from fractions import Fraction

import pytest
from test_pages_render import book_of

from coilbook.pages.drawn import silhouette as drawing
from coilbook.pages.page import Book
from coilbook.resources import dataset_dir
from small_archive import write_archive

#: What a drawing may differ from the data, in mm.
TOLERANCE_MM = 0.05
_REFERENCE = dataset_dir() / "reference"


def _rows(name: str) -> list[dict[str, str]]:
    with (_REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


FAMILIES = {row["family_id"]: row for row in _rows("families")}
BOBBINS = {row["bobbin_id"]: row for row in _rows("bobbins")}
CLAIMS = _rows("claims")


def _mm(written: str) -> float:
    """Return a length in mm: ``49.2 mm``, ``2 1/16 in``, ``3/16"``."""
    match = re.fullmatch(r'(?:(\d+(?:\.\d+)?)(?![/\d]))?\s*(?:(\d+/\d+))?\s*(mm|in|")', written)
    assert match, written
    size = float(match[1] or 0) + float(Fraction(match[2] or 0))
    return size if match[3] == "mm" else 25.4 * size


def _usual(family_id: str, property_id: str) -> float | None:
    """Return the usual length of the first claim that gives one, or the middle of its range."""
    for row in CLAIMS:
        if (row["family_id"], row["property_id"]) == (family_id, property_id):
            if row["typical"]:
                return _mm(row["typical"])
            if row["low"] and row["high"]:
                return (_mm(row["low"]) + _mm(row["high"])) / 2
    return None


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Return a book of the committed reference with a few invented pieces."""
    return book_of(write_archive(tmp_path_factory.mktemp("drawn") / "archive", kind="invented"))


def _shapes(svg: str) -> dict[str, list[dict[str, float]]]:
    """Return the shapes of a drawing by class, each with its numbers."""
    found: dict[str, list[dict[str, float]]] = {}
    for shape in ET.fromstring(svg):
        if shape.tag in ("rect", "circle"):
            numbers = {k: float(v) for k, v in shape.attrib.items() if k != "class"}
            found.setdefault(shape.attrib["class"], []).append(numbers)
    return found


def _near(measured: float, data: float | str) -> None:
    assert abs(measured - float(data)) <= TOLERANCE_MM, (measured, data)


def _inside(svg: str) -> None:
    """Every rectangle and circle lies within the part that is shown."""
    left, top, width, height = map(float, ET.fromstring(svg).attrib["viewBox"].split())
    for shapes in _shapes(svg).values():
        for s in shapes:
            x, w = (s["x"], s["width"]) if "x" in s else (s["cx"] - s["r"], 2 * s["r"])
            y, h = (s["y"], s["height"]) if "y" in s else (s["cy"] - s["r"], 2 * s["r"])
            assert left <= x
            assert x + w <= left + width
            assert top <= y
            assert y + h <= top + height


@pytest.mark.parametrize("family_id", [f for f, row in FAMILIES.items() if row["bobbin_id"]])
def test_a_family_with_a_bobbin_is_drawn_from_its_data(family_id: str, book: Book) -> None:
    """Core, winding window, poles and magnets measure what the tables say, to 0.05 mm."""
    row = FAMILIES[family_id]
    bobbin = BOBBINS[row["bobbin_id"]]
    family = book.reference.families[family_id]
    length, width = float(bobbin["core_length_mm"]), float(bobbin["core_width_mm"])
    depth, height = float(bobbin["winding_depth_mm"]), float(bobbin["winding_height_mm"])

    above = drawing.top_view(book, family)
    _inside(above)
    seen = _shapes(above)
    assert len(seen["cb-core"]) == len(seen["cb-part"]) == int(row["coils"])
    for core, outline in zip(seen["cb-core"], seen["cb-part"], strict=True):
        _near(core["width"], length)
        _near(core["height"], width)
        _near(outline["width"], length + 2 * depth)
        _near(outline["height"], width + 2 * depth)
    _poles(family_id, row, bobbin, above)

    cut = drawing.section(book, family)
    _inside(cut)
    seen = _shapes(cut)
    together = row["coils"] == "2" and row["split_coils"] == "no"
    assert len(seen["cb-core"]) == (2 if together else 1)
    assert len(seen["cb-window"]) == 2 * len(seen["cb-core"])
    for core in seen["cb-core"]:
        _near(core["width"], width)
        _near(core["height"], height)
    for window in seen["cb-window"]:
        _near(window["width"], depth)
        _near(window["height"], height)
    wide, thick = _usual(family_id, "magnet-width"), _usual(family_id, "magnet-thickness")
    magnets = seen.get("cb-magnet", [])
    assert bool(magnets) == (wide is not None and thick is not None)
    for magnet in magnets:
        assert wide is not None
        assert thick is not None
        _near(magnet["width"], wide)
        _near(magnet["height"], thick)
    if magnets:
        count = next(
            r["typical"]
            for r in CLAIMS
            if (r["family_id"], r["property_id"]) == (family_id, "magnet-count")
        )
        assert len(magnets) == int(count)


def _poles(family_id: str, row: dict[str, str], bobbin: dict[str, str], svg: str) -> None:
    spacing = _usual(family_id, "pole-spacing")
    drawn = sorted((p["cx"], p["cy"], p["r"]) for p in _shapes(svg).get("cb-pole", []))
    if spacing is None or row["pole_kind"] in ("blade", "none"):
        assert drawn == []
        return
    assert len(drawn) == int(row["coils"]) * int(row["poles"])
    for _, _, radius in drawn:
        _near(2 * radius, _usual(family_id, "pole-diameter") or 4.8)
    _near(drawn[-1][0] - drawn[0][0], spacing)
    for y in {y for _, y, _ in drawn}:
        places = [x for x, at, _ in drawn if at == y]
        # The halves of a split pickup hold their own rods, which are the core of their coil.
        split = row["split_coils"] == "yes"
        core = float(bobbin["core_length_mm"]) - float(bobbin["core_width_mm"])
        _near(places[-1] - places[0], core if split else spacing)
        steps = [later - earlier for earlier, later in itertools.pairwise(places)]
        assert max(steps) - min(steps) <= TOLERANCE_MM
    line = re.search(r'class="cb-dimension" d="M(-?[\d.]+) -?[\d.]+H(-?[\d.]+)', svg)
    assert line
    _near(float(line[2]) - float(line[1]), spacing)
    words = re.search(r">([\d.]+)\s*mm between the outer poles<", svg.replace("\u00a0", " "))
    assert words
    _near(float(words[1]), spacing)


def test_lengths_are_read_as_people_write_them() -> None:
    """The reading on this side: 1 15/16 in is 49.2125 mm (the inch is 25.4 mm by definition)."""
    assert _mm("1 15/16 in") == pytest.approx(49.2125)
    assert _mm('3/16"') == pytest.approx(4.7625)
    assert _mm("2 in") == pytest.approx(50.8)
    assert _mm("48.9 mm") == 48.9


def test_a_drawing_that_is_off_is_noticed() -> None:
    """The tolerance can fail: a tenth of a millimetre is too much."""
    with pytest.raises(AssertionError):
        _near(64.1, "64")

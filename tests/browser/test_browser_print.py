"""The gauge on paper: printed to PDF by the browser, rasterised, and measured in its pixels.

What is measured against: an inch is 25.4 mm exactly (by definition), and the documented spacings as
``dataset/reference/claims.csv`` has them, read here without Coilbook's own reader of values.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from browser_paper import MM_PER_INCH, raster, runs

from coilbook.resources import dataset_dir

pytestmark = [pytest.mark.browser, pytest.mark.slow]

DPI = 600
MM = DPI / MM_PER_INCH
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def drawn(pages: list[Any]) -> list[tuple[float, float, int]]:
    """Return each bar of the gauge: its length, the reach of the teeth above it, their number.

    A bar is a run of black of 40 to 80 mm that is about 1 mm high; lines of the page are thinner.
    """
    found = []
    for page in pages:
        y = 0
        while y < len(page):
            long = [r for r in runs(page[y]) if 40 * MM < r[1] - r[0] < 80 * MM]
            if not long:
                y += 1
                continue
            first, last = long[0]
            top = y
            while y < len(page) and (page[y, first + round(MM) : last - round(MM)] < 128).all():
                y += 1
            if y - top < 0.6 * MM:
                y = max(y, top + 1)
                continue
            begin, end = next(
                r for r in runs(page[(top + y) // 2 + round(0.2 * MM)]) if r[1] > first
            )
            above = page[top - round(0.5 * MM), begin - round(MM) : end + round(MM)]
            teeth = [(a + b) / 2 for a, b in runs(above) if b - a < 0.5 * MM]
            reach = (teeth[-1] - teeth[0]) / MM if len(teeth) > 1 else 0.0
            found.append(((end - begin) / MM, reach, len(teeth)))
    return found


def documented() -> set[float]:
    """Return the spacings of the claims in mm: the usual one, or both ends where there is none."""
    with (dataset_dir() / "reference" / "claims.csv").open(
        encoding="utf-8-sig", newline=""
    ) as file:
        rows = [row for row in csv.DictReader(file) if row["property_id"] == "pole-spacing"]
    return {
        _mm(text)
        for row in rows
        for text in ([row["typical"]] if row["typical"] else [row["low"], row["high"]])
    }


def _mm(text: str) -> float:
    if found := re.fullmatch(r"([\d.]+) mm", text):
        return float(found[1])
    whole, part = re.fullmatch(r"(\d+) (\d+/\d+) in", text).groups()  # type: ignore[union-attr]
    return float((int(whole) + Fraction(part)) * Fraction("25.4"))


@pytest.mark.parametrize("paper", PAPERS)
def test_gauge_on_paper_is_to_scale(visit: Callable[..., Any], tmp_path: Path, paper: str) -> None:
    """Bars are 50.0 and 50.8 mm within 0.2 mm; each documented spacing has its comb, in 0.1 mm."""
    page = visit().go("gauge/index.html")
    pdf = tmp_path / "gauge.pdf"
    page.pdf(path=pdf, format=paper, prefer_css_page_size=True)
    pages = raster(pdf, DPI)
    size = [side / MM for side in reversed(pages[0].shape)]
    assert size == pytest.approx(PAPERS[paper], abs=0.5)
    # So many spacings are documented that some stand on a second sheet, whole.
    assert len(pages) <= 2
    bars = drawn(pages)
    plain = [length for length, _, teeth in bars if teeth == 0]
    assert plain == pytest.approx([50.0, 50.8], abs=0.2)
    combs = [(reach, teeth) for _, reach, teeth in bars if teeth]
    # One spacing may have two combs, for two numbers of poles.
    wanted = sorted(documented())
    nearest = [min(wanted, key=lambda mm: abs(mm - reach)) for reach, _ in combs]
    assert [reach for reach, _ in combs] == pytest.approx(nearest, abs=0.1)
    assert sorted(set(nearest)) == wanted
    assert {teeth for _, teeth in combs} == {2, 6, 8}

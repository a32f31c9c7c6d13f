"""Cards on paper: printed to PDF by the browser, rasterised, read back and scanned.

What is measured against: the paper sizes (A4 and A5 are ISO 216's, letter is 8.5 in by 11 in and
its half 5.5 in by 8.5 in, by common practice), the addresses made here from coilbook.toml and the
records, and for the codes zxing-cpp, a general-purpose reader that shares nothing with the library
that makes them.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp
from browser_paper import MM_PER_INCH, raster, runs, squeezed, text

from coilbook.publish import BuildReport
from coilbook.resources import dataset_dir

pytestmark = [pytest.mark.browser, pytest.mark.slow]

#: By the ending of the address: width and height in mm.
SHEETS = {
    "card-a5": (148.0, 210.0),
    "card-half-letter": (5.5 * MM_PER_INCH, 8.5 * MM_PER_INCH),
    "card-a4": (210.0, 297.0),
    "card-letter": (8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH),
}
#: All that is printed keeps so far from the edge, beyond which many printers print nothing.
MARGIN_MM = 6.0


def rows(table: str) -> list[dict[str, str]]:
    """Return a table of the data set without Coilbook's own reader."""
    with (dataset_dir() / table).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def by_readings() -> list[str]:
    """Return the published pieces of the demo from the least read to the most."""
    counts = Counter(row["piece_id"] for row in rows("demo/readings.csv"))
    published = [r["piece_id"] for r in rows("demo/pieces.csv") if r["publish"] == "yes"]
    return sorted(published, key=lambda piece: (counts[piece], piece))


def address(folder: str) -> str:
    """Return the permanent address of a folder of the demo's site."""
    settings = tomllib.loads((dataset_dir() / "demo" / "coilbook.toml").read_text(encoding="utf-8"))
    return f"{settings['base_url']}{folder}/"


def largest_family() -> str:
    """Return the family of which most is claimed."""
    return Counter(row["family_id"] for row in rows("reference/claims.csv")).most_common(1)[0][0]


def folders() -> list[tuple[str, str]]:
    """Return each card that must fit, as its folder and the ending of its address."""
    pieces = by_readings()
    return [
        (f"pieces/{pieces[0]}", next(iter(SHEETS))),
        *((f"pieces/{pieces[-1]}", sheet) for sheet in list(SHEETS)[:2]),
        *((f"families/{largest_family()}", sheet) for sheet in list(SHEETS)[2:]),
    ]


def decoded(pixels: Any) -> list[str]:
    """Return what the reader finds in grey pixels."""
    found = zxingcpp.read_barcodes(
        np.ascontiguousarray(pixels), formats=zxingcpp.BarcodeFormat.QRCode
    )
    return [code.text for code in found]


@pytest.mark.parametrize(("folder", "sheet"), folders())
def test_a_card_fits_its_sheet_and_its_code_leads_to_the_page(
    visit: Callable[..., Any], tmp_path: Path, folder: str, sheet: str
) -> None:
    """One sheet of the right size, nothing cut, a white margin, and a code that can be scanned.

    Each paragraph and each cell that the card shows on the screen is in the print, whole. The code
    is read at two resolutions, its modules are 0.4 mm or more, and four of them around it are free.
    """
    page = visit().go(f"{folder}/index.html#{sheet}")
    shown = page.locator(f"#{sheet} :is(h1, h2, p, th, td)").all_inner_texts()
    pdf = tmp_path / "card.pdf"
    page.pdf(path=pdf, prefer_css_page_size=True)

    printed = text(pdf)
    assert len(shown) > 10
    # The bar with the way back is not for paper.
    blocks = [squeezed(block) for block in shown if not block.startswith("As it will be printed")]
    assert [block for block in blocks if block not in printed] == []
    assert "Backtothe" not in printed
    for words in ("invented", "does not authenticate, date or appraise", address(folder)):
        assert squeezed(words) in printed

    (pixels,) = raster(pdf, 300)
    mm = 300 / MM_PER_INCH
    assert [side / mm for side in reversed(pixels.shape)] == pytest.approx(SHEETS[sheet], abs=0.5)
    edge = round(MARGIN_MM * mm)
    inside = np.zeros(pixels.shape, dtype=bool)
    inside[edge:-edge, edge:-edge] = True
    assert (pixels[~inside] > 250).all()
    assert (pixels[inside] < 128).any()

    assert decoded(pixels) == [address(folder)]
    (coarse,) = raster(pdf, 150)
    assert decoded(coarse) == [address(folder)]
    (code,) = zxingcpp.read_barcodes(pixels)
    left, top = code.position.top_left.x, code.position.top_left.y
    # The edge of the pattern in the symbol's corner is seven modules long.
    begin, end = next(run for run in runs(pixels[top + round(0.2 * mm)]) if abs(run[0] - left) < mm)
    module = (end - begin) / 7
    assert module / mm >= 0.4
    right, bottom = code.position.bottom_right.x, code.position.bottom_right.y
    quiet = round(4 * module) - 2
    around = pixels[top - quiet : bottom + quiet, left - quiet : right + quiet].copy()
    around[quiet - 2 : 2 - quiet, quiet - 2 : 2 - quiet] = 255
    assert (around > 200).all()


@pytest.mark.parametrize("folder", [f"pieces/{by_readings()[0]}", f"families/{largest_family()}"])
def test_a_card_prints_from_a_copy_of_its_page(
    visit: Callable[..., Any], tmp_path: Path, folder: str
) -> None:
    """The root says which card is asked for, and that alone prints it on one sheet of its paper.

    Some browsers print a copy of the page, in which nothing is the address's target any more.
    """
    page = visit().go(f"{folder}/index.html")
    asked = "document.documentElement.dataset.cbCard || ''"
    assert page.evaluate(asked) == ""
    for sheet in list(SHEETS)[:2] if folder.startswith("pieces") else list(SHEETS)[2:]:
        page.evaluate("sheet => { location.hash = sheet; }", sheet)
        page.wait_for_function(f"sheet => ({asked}) === sheet", arg=sheet)
        page.evaluate("location.hash = 'nothing'")
        page.wait_for_function(f"({asked}) === ''")
        page.evaluate("sheet => { document.documentElement.dataset.cbCard = sheet; }", sheet)
        assert page.locator(":target").count() == 0
        assert page.locator(".cb-article > :visible").count() == 1
        pdf = tmp_path / f"{sheet}.pdf"
        page.pdf(path=pdf, prefer_css_page_size=True)
        (pixels,) = raster(pdf, 72)
        mm = 72 / MM_PER_INCH
        assert [side / mm for side in reversed(pixels.shape)] == pytest.approx(
            SHEETS[sheet], abs=0.5
        )


def test_a_card_needs_no_script(visit: Callable[..., Any], tmp_path: Path) -> None:
    """Without scripts the address alone shows the card, nothing else, and prints one sheet."""
    piece = by_readings()[0]
    page = visit(java_script_enabled=False).go(f"pieces/{piece}/index.html")
    assert not page.locator(".cb-paper").is_visible()
    page.get_by_role("link", name="bench card, A5").click()
    assert page.locator(".cb-paper").is_visible()
    assert not page.get_by_role("heading", name="All readings as written").is_visible()
    pdf = tmp_path / "card.pdf"
    page.pdf(path=pdf, prefer_css_page_size=True)
    assert len(raster(pdf, 72)) == 1
    page.get_by_role("link", name="Back to the piece").click()
    assert not page.locator(".cb-paper").is_visible()
    assert page.get_by_role("heading", name="All readings as written").is_visible()


_SYMBOL = re.compile(r'<svg [^>]*class="cb-qr">.*?<path [^>]*stroke="#000" d="([^"]*)"', re.DOTALL)
_STEP = re.compile(r"([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?")


def symbol(page: Path) -> Any:
    """Return the code of a page as pixels, four to a module, from the strokes of its SVG."""
    (path,) = _SYMBOL.findall(page.read_text(encoding="utf-8"))
    strokes = []
    x = y = 0.0
    for kind, first, second in _STEP.findall(path):
        if kind == "h":
            strokes.append((int(x), int(y), int(x + float(first))))
            x += float(first)
        else:
            # A stroke runs along the middle of its row of modules.
            x, y = (
                (float(first), float(second))
                if kind == "M"
                else (x + float(first), y + float(second))
            )
    side = max(end for _, _, end in strokes) + 4
    modules = np.full((side, side), 255, dtype=np.uint8)
    for begin, row, end in strokes:
        modules[row, begin:end] = 0
    return np.kron(modules, np.ones((4, 4), dtype=np.uint8))


def test_every_code_of_the_demo_leads_to_its_page(demo_site: BuildReport) -> None:
    """Each published piece and each family has a code, and it reads as its permanent address."""
    families = [row["family_id"] for row in rows("reference/families.csv")]
    wanted = [f"pieces/{p}" for p in by_readings()] + [f"families/{f}" for f in families]
    wrong = {
        folder: found
        for folder in wanted
        if (found := decoded(symbol(demo_site.out / folder / "index.html"))) != [address(folder)]
    }
    assert wrong == {}
    assert len(wanted) > 250

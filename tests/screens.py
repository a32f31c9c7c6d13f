"""Pictures of the site for somebody to look at: ``.venv/bin/python tests/screens.py [FOLDER]``.

Takes each kind of page at both widths, light and dark, and the printed sheets page by page, into
FOLDER (``screens/`` if left out, which git ignores). The site is ``site/``, or the demo, built into
it, if there is none; ``--site`` names another. It ends with 1 if a page is wider than its screen,
if the browser complained, if anything beyond the site's own files was asked for, or if a card took
more than its one sheet. Whether it looks well, somebody has to say who looks.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pypdfium2
from playwright.sync_api import Browser, Page, TimeoutError, sync_playwright

TOP = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TOP / "builder"), str(TOP / "tests" / "browser")]

from coilbook.publish import build_site  # noqa: E402
from coilbook.resources import dataset_dir  # noqa: E402
from conftest import SCREENS, browser_arguments, chromium_path  # noqa: E402

SCHEMES = ("light", "dark")
PRINT_DPI = 110
#: A plot's library is 4 MB to read, and the computer may be busy.
PATIENCE_MS = 90_000
#: Pages that there is one of; one that a site does not have is left out, and said so.
SINGLE = {
    "home": "index.html",
    "families": "families/index.html",
    "lookup": "pieces/index.html",
    "check": "check/index.html",
    "calculators": "calculators/index.html",
    "gauge": "gauge/index.html",
    "wires": "materials/wires/index.html",
    "observations": "methods/observations/index.html",
    "guide": "guide/index.html",
}
#: Sheets: the page's name below, the ending of its address, the paper, and whether it must be one.
SHEETS = (
    ("piece", "#card-a5", "A5", True),
    ("piece", "#card-half-letter", "A5", True),
    ("family", "#card-a4", "A4", True),
    ("family", "#card-letter", "Letter", True),
    ("winding", "", "A4", False),
    ("winding", "", "Letter", False),
    ("gauge", "", "A4", False),
    ("gauge", "", "Letter", False),
)


@dataclass
class Look:
    """One look at one page: what went wrong there."""

    name: str
    faults: list[str] = field(default_factory=list)

    def watch(self, page: Page) -> None:
        """Note what the page asks for beyond its files, and what the browser says of it."""
        own = ("file:", "about:", "data:", "blob:")
        page.on(
            "request",
            lambda r: None if r.url.startswith(own) else self.faults.append(f"asked for {r.url}"),
        )
        page.on("pageerror", lambda error: self.faults.append(f"script error: {error}"))
        page.on(
            "console",
            lambda m: (
                self.faults.append(f"console: {m.text}") if m.type in ("error", "warning") else None
            ),
        )


def main(arguments: list[str]) -> int:
    """Take all pictures; return 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", nargs="?", type=Path, default=TOP / "screens")
    parser.add_argument("--site", type=Path, default=TOP / "site")
    chosen = parser.parse_args(arguments)
    site, folder = chosen.site.resolve(), chosen.folder.resolve()
    if not (site / "index.html").is_file():
        print(f"Building the demo into {site} ...", flush=True)
        build_site(dataset_dir() / "demo", site)
    folder.mkdir(parents=True, exist_ok=True)
    pages = pages_of(site)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium_path(), args=browser_arguments())
        looks = [*screens(browser, site, pages, folder), *sheets(browser, site, pages, folder)]
        browser.close()
    wrong = [f"{look.name}: {fault}" for look in looks for fault in look.faults]
    print(*wrong, sep="\n", end="\n" if wrong else "")
    missing = sorted(set(SINGLE) - set(pages))
    print(f"{len(looks)} looks into {folder}, {len(wrong)} faults.", end="")
    print(f" Not in this site: {', '.join(missing)}." if missing else "")
    return 1 if wrong else 0


def pages_of(site: Path) -> dict[str, str]:
    """Return the pages to look at by name; of the kinds with many, that with most in it."""
    pages = {name: path for name, path in SINGLE.items() if (site / path).is_file()}
    for name, kind in (("family", "families"), ("piece", "pieces"), ("winding", "winding")):
        found = sorted(site.glob(f"{kind}/*/index.html"), key=lambda p: (p.stat().st_size, p))
        if found:
            pages[name] = found[-1].relative_to(site).as_posix()
    return pages


def screens(browser: Browser, site: Path, pages: dict[str, str], folder: Path) -> Iterator[Look]:
    """Take every page, and the cards, at each width in each scheme."""
    cards = {"piece-card": ("piece", "#card-a5"), "family-card": ("family", "#card-a4")}
    shown = {name: (site / path).as_uri() for name, path in pages.items()}
    shown |= {name: shown[page] + place for name, (page, place) in cards.items() if page in shown}
    for width, height in SCREENS.values():
        for scheme in SCHEMES:
            context = browser.new_context(
                viewport={"width": width, "height": height}, color_scheme=scheme
            )
            for name, address in shown.items():
                look = Look(f"{name}-{width}-{scheme}")
                page = context.new_page()
                look.watch(page)
                page.goto(address)
                for plot in page.locator("[data-cb-plot]:visible").all():
                    plot.scroll_into_view_if_needed()
                    try:
                        plot.locator(".main-svg").first.wait_for(timeout=PATIENCE_MS)
                    except TimeoutError:
                        look.faults.append("a plot was not drawn")
                page.evaluate("scrollTo(0, 0)")
                wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
                if wide > 0:
                    look.faults.append(f"{wide} px wider than the screen")
                page.screenshot(path=folder / f"{look.name}.png", full_page=True)
                page.close()
                yield look
            context.close()


def sheets(browser: Browser, site: Path, pages: dict[str, str], folder: Path) -> Iterator[Look]:
    """Print what is made for paper, and take each sheet."""
    for name, place, paper, single in SHEETS:
        if name not in pages:
            continue
        look = Look(f"print-{name}-{place.removeprefix('#card-') or paper.lower()}")
        page = browser.new_page(color_scheme="dark")
        look.watch(page)
        page.goto((site / pages[name]).as_uri() + place)
        document = pypdfium2.PdfDocument(page.pdf(format=paper, prefer_css_page_size=True))
        if single and len(document) != 1:
            look.faults.append(f"takes {len(document)} sheets and not one")
        for number, sheet in enumerate(document, start=1):
            picture = folder / f"{look.name}-{number}.png"
            sheet.render(scale=PRINT_DPI / 72).to_pil().save(picture)
        document.close()
        page.close()
        yield look


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""A real Chromium for the tests of the built site, with the network allowed and watched."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from large_site import enlarge
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect, sync_playwright

from coilbook.publish import BuildReport

#: How long anything is waited for: the plots' script is 4 MB, and a machine may have other work.
PATIENCE_MS = 120_000
expect.set_options(timeout=PATIENCE_MS)
#: A desk's window and a small phone's, in CSS pixels.
SCREENS = {"desk": (1280, 900), "phone": (360, 800)}
#: The first is the same engine without a desktop's windows, and a third quicker.
_NAMES = ("chromium-headless-shell", "chromium", "chromium-browser")
#: No sandbox: tests may run as root in a container. The browser's own calls home are off, so that
#: what the watch sees is the site's doing.
_ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
    "--no-default-browser-check",
)


def chromium_path() -> str:
    """Return the Chromium to use, or fail with what to do about a missing one."""
    named = os.environ.get("CB_CHROMIUM")
    candidates = [named] if named else list(_NAMES)
    for name in candidates:
        if found := shutil.which(name):
            return found
    pytest.fail(
        f"No Chromium was found as {' or '.join(candidates)}. Install it (Debian's package is "
        "named chromium), or name one in the variable CB_CHROMIUM, then run the tests again."
    )


def browser_arguments() -> list[str]:
    """Return what Chromium is started with."""
    return list(_ARGUMENTS)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start one Chromium for all tests."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium_path(), args=browser_arguments())
        yield browser
        browser.close()


@dataclass
class Visit:
    """A page of the site in a window, with everything that it asked for and complained of."""

    root: Path
    context: BrowserContext
    page: Page
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def go(self, path: str) -> Page:
        """Open a page of the site by its path there, as a file."""
        name, mark, place = path.partition("#")
        address = (self.root / name).as_uri()
        if self.page.url.partition("#")[0] == address:
            # A change after the # alone would not load anything.
            self.page.goto("about:blank")
        self.page.goto(address + mark + place)
        return self.page

    def resize(self, screen: str) -> None:
        """Make the window that of another screen, with the same page in it."""
        width, height = SCREENS[screen]
        self.page.set_viewport_size({"width": width, "height": height})

    def loaded(self, part: str) -> bool:
        """Say whether something whose address holds ``part`` was asked for."""
        return any(part in url for url in self.requests)


@contextlib.contextmanager
def windows(browser: Browser, site: BuildReport) -> Iterator[Callable[..., Visit]]:
    """Give a function that opens windows on the site; each may ask for nothing but files."""
    visits: list[Visit] = []

    def open_window(screen: str = "desk", **options: object) -> Visit:
        width, height = SCREENS[screen]
        context = browser.new_context(
            viewport={"width": width, "height": height},
            **options,  # type: ignore[arg-type]
        )
        context.set_default_timeout(PATIENCE_MS)
        page = context.new_page()
        made = Visit(site.out, context, page)

        def note(request: Request) -> None:
            made.requests.append(request.url)

        context.on("request", note)
        page.on("pageerror", lambda error: made.complaints.append(str(error)))
        page.on(
            "console",
            lambda message: (
                made.complaints.append(message.text)
                if message.type in ("error", "warning")
                else None
            ),
        )
        visits.append(made)
        return made

    yield open_window
    for made in visits:
        made.context.close()
        beyond = [url for url in made.requests if not url.startswith(("file:", "about:", "data:"))]
        assert beyond == [], "the site asked for something beyond its own files"
        assert made.complaints == [], "the browser complained"


@pytest.fixture
def visit(browser: Browser, demo_site: BuildReport) -> Iterator[Callable[..., Visit]]:
    """Give a function that opens windows on the demo's site, for one test."""
    with windows(browser, demo_site) as opening:
        yield opening


@pytest.fixture(scope="module")
def long_visit(browser: Browser, demo_site: BuildReport) -> Iterator[Callable[..., Visit]]:
    """Give the same for all tests of a module, which look at one page without changing it."""
    with windows(browser, demo_site) as opening:
        yield opening


@pytest.fixture(scope="session")
def large_site(demo_site: BuildReport, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a site whose tools stand in an archive of 10,000 pieces."""
    site = tmp_path_factory.mktemp("large") / "site"
    enlarge(demo_site.out, site)
    return site


@pytest.fixture(scope="session")
def pieces(demo_site: BuildReport) -> dict[str, list[object]]:
    """Return the columns of the lookup page's data script."""
    text = (demo_site.out / "assets" / "data" / "pieces.js").read_text(encoding="utf-8")
    columns: dict[str, list[object]] = json.loads(
        text.partition("coilbook.pieces = ")[2].rstrip(";\n")
    )
    return columns

"""What a tool page does before it answers after it was opened, in an archive of 10,000 pieces.

What is typed as soon as a tool is shown is answered at once, before the browser has laid out or
painted anything (``large_site.py`` has the archive). How soon that is,
``tests/benchmarks/opening_bench.py`` tells.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from large_site import listed_apart
from parity_pieces import demo
from work_watch import TOOLS, WATCH_LAYOUT, opened

from coilbook.pages.reference import catalogue
from coilbook.pages.worded import environment
from coilbook.publish import BuildReport
from coilbook.publish.scripts.check_data import PEERS_FOLDER
from coilbook.publish.scripts.lookup_data import PIECES_SCRIPT
from coilbook.resources import site_src_dir

pytestmark = pytest.mark.browser

#: What a tool may have asked for when it answers, in bytes, scripts with their data and the style
#: sheet: a third more than the demo's do. An archive's pieces are not counted.
BYTES_AT_MOST = {"check": 900_000, "calculators": 330_000, "lookup": 250_000}


def shallow(context: Any) -> dict[str, Any]:
    """Return a page's context as its template has it."""
    return {f.name: getattr(context, f.name) for f in dataclasses.fields(context)}


@pytest.mark.parametrize("tool", TOOLS)
def test_what_is_typed_at_once_is_answered(visit: Any, large_site: Path, tool: str) -> None:
    """A first value, typed when the form appears, has its answer before anything is painted.

    Nothing was laid out for it, and the peers, which are many, were not waited for.
    """
    window = visit()
    window.page.add_init_script(WATCH_LAYOUT)
    answered = opened(window.page, large_site, tool)
    assert answered["after"] != answered["before"]
    assert answered["asked"] == []
    assert answered["painted"] == 0
    assert answered["peers"] == []


@pytest.mark.parametrize("tool", TOOLS)
def test_a_tool_asks_for_little(visit: Any, demo_site: BuildReport, tool: str) -> None:
    """One style sheet, the shell's script, and one of its own: for the lookup its pieces."""
    window = visit()
    opened(window.page, demo_site.out, tool)
    asked = [Path(unquote(urlsplit(url).path)) for url in window.requests]
    before = [path for path in asked if PEERS_FOLDER not in path.as_posix()]
    styles = [path for path in before if path.suffix == ".css"]
    scripts = [path for path in before if path.suffix == ".js"]
    assert len(styles) == 1
    assert len(scripts) == 2
    counted = [path for path in (*styles, *scripts) if path.name != Path(PIECES_SCRIPT).name]
    assert sum(path.stat().st_size for path in counted) <= BYTES_AT_MOST[tool]


def test_the_large_lookup_is_as_the_builder_writes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The page that is opened here is that of a site whose plain list has a page of its own."""
    book, folder = demo(), site_src_dir() / "templates"
    texts = {p.name: p.read_text(encoding="utf-8") for p in folder.glob("*.html.j2")}
    template = environment(texts).get_template("pieces.html.j2")

    def written() -> str:
        return template.render(root="../", **shallow(catalogue.lookup(book)))

    with_list = written()
    pieces = len(book.archive.pieces)
    monkeypatch.setattr(catalogue, "LISTED_AT_MOST", pieces - 1)
    assert listed_apart(with_list, pieces) == written()
    assert "<li>" not in written()


def test_the_searchs_script_waits_until_somebody_goes_there(visit: Any) -> None:
    """The engine's script takes longer than all others: opening a page does not ask for it."""
    window = visit()
    page = window.go("check/index.html")
    page.wait_for_timeout(300)
    assert page.locator("#cb-engine").count() == 1
    assert not window.loaded("javascripts/bundle")
    page.get_by_role("textbox", name="Find a family, a piece, a wire").focus()
    page.locator("#cb-engine ~ script[src*='javascripts/bundle']").wait_for(state="attached")
    assert window.loaded("javascripts/bundle")

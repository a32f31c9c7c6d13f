"""What the site's scripts put on a page's window: one object, and nothing beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

#: A page of each set of scripts, and what is there when they have run.
PAGES = {
    "check/index.html#family=full-size-humbucker": "coilbook.page?.result !== undefined",
    "calculators/index.html": "coilbook.formulas",
    "pieces/index.html": "coilbook.pieces",
    "families/full-size-humbucker/index.html": "coilbook.plots",
}
#: The theme's own scripts do as they like: most names of theirs start with two low lines.
ENGINE = ("__", "target")


def test_scripts_put_one_name_on_the_window(visit: Any, tmp_path: Path) -> None:
    """On no page is there a name that an empty page has not, other than ``coilbook``."""
    window = visit()
    names = "Object.getOwnPropertyNames(window)"
    (tmp_path / "empty.html").write_text("<!doctype html><title>Empty</title>", encoding="utf-8")
    window.page.goto((tmp_path / "empty.html").as_uri())
    empty = set(window.page.evaluate(names))
    found = {}
    for path, ready in PAGES.items():
        page = window.go(path)
        page.wait_for_function(ready)
        new = set(page.evaluate(names)) - empty
        found[path] = {name for name in new if not name.startswith(ENGINE)}
    assert found == {path: {"coilbook"} for path in PAGES}

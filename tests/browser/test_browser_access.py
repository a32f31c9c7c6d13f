"""Every kind of page under axe-core, the accessibility engine, in both colours and at both sizes.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from typing import Any

import pytest
from axe_core_python.sync_playwright import Axe

from coilbook.publish import BuildReport

pytestmark = pytest.mark.browser


def one_of_each_kind(site: BuildReport) -> list[str]:
    """Return every page of the site that is not a piece's, and the first piece's."""
    pages = [p.relative_to(site.out).as_posix() for p in sorted(site.out.rglob("*.html"))]
    pieces = [p for p in pages if p.startswith("pieces/") and p.count("/") == 2]
    return [p for p in pages if p not in pieces[1:]]


@pytest.mark.parametrize(("screen", "scheme"), [("desk", "dark"), ("phone", "light")])
def test_axe_finds_no_violation(
    visit: Any, demo_site: BuildReport, screen: str, scheme: str
) -> None:
    """No rule of axe-core is broken on any kind of page."""
    window = visit(screen, color_scheme=scheme)
    axe = Axe()
    broken = []
    for path in one_of_each_kind(demo_site):
        page = window.go(path)
        if page.locator("[data-cb-plot]").count():
            page.locator("[data-cb-plot]").first.scroll_into_view_if_needed()
            page.locator("[data-cb-plot] .main-svg").first.wait_for()
        found = axe.run(page)
        assert found["passes"], path
        broken += [f"{path}: {v['id']}: {v['nodes'][0]['html']}" for v in found["violations"]]
    assert broken == []

"""Every kind of page under axe-core, the accessibility engine, in both colours and at both sizes.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from typing import Any

import pytest
from axe_core_python.sync_playwright import Axe

from coilbook.publish import BuildReport

pytestmark = pytest.mark.browser

#: So many rows of each table are looked at.
ROWS = 6


def one_of_each_kind(site: BuildReport) -> list[str]:
    """Return every page, but of the pages of one template one, and the first observed piece.

    A long page takes the engine ten seconds, and every family's is made by the same template.
    """
    pages = [p.relative_to(site.out).as_posix() for p in sorted(site.out.rglob("*.html"))]
    kept: list[str] = []
    for folder in ("families", "pieces", "winding"):
        alike = [p for p in pages if p.startswith(f"{folder}/") and p.count("/") == 2]
        kept += alike[:1]
        # A card is a part of its page that is shown alone.
        card = {"families": "#card-a4", "pieces": "#card-a5"}.get(folder)
        kept += [f"{page}{card}" for page in alike[:1] if card]
        pages = [p for p in pages if p not in alike]
        if folder == "pieces":
            texts = ((p, (site.out / p).read_text(encoding="utf-8")) for p in alike)
            kept.append(next(p for p, text in texts if 'id="observations"' in text))
    return sorted({*pages, *kept})


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
        if page.locator("[data-cb-plot]:visible").count():
            page.locator("[data-cb-plot]:visible").first.scroll_into_view_if_needed()
            page.locator("[data-cb-plot] .main-svg").first.wait_for()
        # A long table's rows are of one template: the first of them stand for all.
        page.evaluate(
            """most => document.querySelectorAll("tbody").forEach(body =>
                Array.from(body.rows).slice(most).forEach(row => row.remove()))""",
            ROWS,
        )
        # What is sound is counted, and not written out node by node: that took most of the time.
        found = axe.run(page, options={"resultTypes": ["violations"]})
        assert found["passes"], path
        broken += [f"{path}: {v['id']}: {v['nodes'][0]['html']}" for v in found["violations"]]
    assert broken == []

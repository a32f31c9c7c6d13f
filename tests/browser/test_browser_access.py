"""Every kind of page under axe-core, the accessibility engine, in both colours and at both sizes.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from typing import Any

import pytest
from axe_core_python.sync_playwright import Axe

from coilbook.publish import BuildReport

pytestmark = pytest.mark.browser

#: So many rows of each table, and of other lists of parts that are alike, are looked at.
MOST = 4


def one_of_each_kind(site: BuildReport) -> list[str]:
    """Return every page, but of the pages of one template one, and the first observed piece.

    A long page takes the engine seconds, and every family's is made by the same template.
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


#: What stands on a page many times from one template, of which the first few stand for all.
ALIKE = "tbody > tr, li, .cb-formula, .cb-source, .cb-comb"
THIN = """([alike, most]) => {
    const seen = new Map();
    for (const one of document.querySelectorAll(alike)) {
        const count = (seen.get(one.parentNode) || 0) + 1;
        seen.set(one.parentNode, count);
        if (count > most) { one.remove(); }
    }
}"""
#: Both sizes, and both schemes of colours.
LOOKS = (("desk", "dark", "graphite"), ("phone", "light", "paper"))


def test_axe_finds_no_violation(visit: Any, demo_site: BuildReport) -> None:
    """No rule of axe-core is broken on any kind of page."""
    window = visit()
    axe = Axe()
    broken = []
    for path in one_of_each_kind(demo_site):
        page = window.go(path)
        if page.locator("[data-cb-plot]:visible").count():
            page.locator("[data-cb-plot]:visible").first.scroll_into_view_if_needed()
            page.locator("[data-cb-plot] .main-svg").first.wait_for()
        page.evaluate(THIN, [ALIKE, MOST])
        for screen, system, scheme in LOOKS:
            window.resize(screen)
            page.emulate_media(color_scheme=system)
            page.wait_for_function("to => document.body.dataset.mdColorScheme === to", arg=scheme)
            # What is sound is counted, and not written out node by node: that took long.
            found = axe.run(page, options={"resultTypes": ["violations"]})
            assert found["passes"], path
            broken += [f"{path}: {v['id']}: {v['nodes'][0]['html']}" for v in found["violations"]]
    assert broken == []

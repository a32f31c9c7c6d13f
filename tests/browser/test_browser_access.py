"""Every kind of page under axe-core, the accessibility engine, in both colours and at both sizes.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from typing import Any

import pytest
from browser_axe import load_axe, violations

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


def test_axe_finds_what_is_wrong(visit: Any) -> None:
    """The yardstick itself: a text too pale, and a field without a name, are told."""
    page = visit().go("about/index.html")
    load_axe(page)
    assert violations(page) == []
    page.evaluate(
        """() => {
            const main = document.querySelector("main");
            const pale = "<p style='color: #999; background: #aaa'>pale</p>";
            main.insertAdjacentHTML("beforeend", pale + "<input type='text'>");
        }"""
    )
    assert sorted(line.split(":")[0] for line in violations(page)) == ["color-contrast", "label"]


def test_axe_finds_no_violation(visit: Any, demo_site: BuildReport) -> None:
    """No rule of axe-core is broken on any kind of page.

    The first page, with the header and the footer of all, is asked everything at both sizes; the
    others at the second what its width and its colours can change.
    """
    window = visit()
    broken, drawn = [], 0
    for path in one_of_each_kind(demo_site):
        page = window.go(path)
        # One script draws every plot, and takes seconds to load: the first two stand for all.
        if drawn < 2 and page.locator("[data-cb-plot]:visible").count():
            page.locator("[data-cb-plot]:visible").first.scroll_into_view_if_needed()
            page.locator("[data-cb-plot] .main-svg").first.wait_for()
            drawn += 1
        page.evaluate(THIN, [ALIKE, MOST])
        load_axe(page)
        for screen, system, scheme in LOOKS:
            window.resize(screen)
            page.emulate_media(color_scheme=system)
            page.wait_for_function("to => document.body.dataset.mdColorScheme === to", arg=scheme)
            seen = path != "index.html" and screen != LOOKS[0][0]
            found = violations(page, seen=seen)
            broken += [f"{path}, {screen}, {system}: {line}" for line in found]
    assert drawn == 2
    assert broken == []

"""Every kind of page under axe-core, the accessibility engine, and at both sizes.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from typing import Any

import pytest
from browser_axe import load_axe, violations

from coilbook.publish import BuildReport
from conftest import SCREENS, fits

pytestmark = pytest.mark.browser

#: So many rows of each table, and of other lists of parts that are alike, are looked at.
MOST = 2


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
#: What is looked at in both: the header and footer of all, the tools, and the two longest kinds.
IN_BOTH = ("index.html", "check/", "calculators/", "families/bar", "pieces/")
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
    """No rule of axe-core is broken on any kind of page, and none is wider than its screen.

    Pages are asked everything by turns at one size, in one scheme, and the other. Those of
    :data:`IN_BOTH` are asked at the second what its width and its colours can change: contrast is
    held for both schemes by the test of their colours.
    """
    window = visit()
    broken, drawn, too_wide = [], 0, []
    for turn, path in enumerate(one_of_each_kind(demo_site)):
        page = window.go(path)
        too_wide += [f"{path}, {screen}" for screen in SCREENS if not fits(window, screen)]
        # One script draws every plot, and takes seconds to load: the first page stands for all.
        if not drawn and page.locator("[data-cb-plot]:visible").count():
            page.locator("[data-cb-plot]:visible").first.scroll_into_view_if_needed()
            page.locator("[data-cb-plot] .main-svg").first.wait_for()
            drawn += 1
        page.evaluate(THIN, [ALIKE, MOST])
        load_axe(page)
        looks = LOOKS[:: 1 if turn % 2 else -1][: 2 if path.startswith(IN_BOTH) else 1]
        for screen, system, scheme in looks:
            window.resize(screen)
            page.emulate_media(color_scheme=system)
            page.wait_for_function("to => document.body.dataset.mdColorScheme === to", arg=scheme)
            seen = (screen, system, scheme) != looks[0]
            found = violations(page, seen=seen)
            broken += [f"{path}, {screen}, {system}: {line}" for line in found]
    assert drawn == 1
    assert broken == []
    assert too_wide == []

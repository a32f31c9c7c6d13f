"""axe-core, the accessibility engine, on a page as it stands.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Page

#: Rules that depend on how wide a page is, or on its colours, beside that of contrast.
OF_THE_LOOK = ("link-in-text-block", "meta-viewport", "scrollable-region-focusable")
#: Runs every rule, or those asked for; gives how many were met, and the rule and the element of
#: each violation. Contrast takes most of the time, milliseconds a text. Of texts that stand alike,
#: whose tags, classes and colours are the same from the page's top down, one is looked at.
RUN = """async rules => {
    const alike = new Map();
    for (const one of document.querySelectorAll("body *")) {
        const says = Array.from(one.childNodes).some(n => n.nodeType === 3 && n.data.trim());
        if (!says || one.closest("[hidden]")) { continue; }
        const key = [];
        for (let at = one; at; at = at.parentElement) {
            const style = getComputedStyle(at);
            key.push(at.tagName, at.getAttribute("class"), style.color, style.backgroundColor);
        }
        alike.set(key.join(), alike.get(key.join()) || one);
    }
    const texts = { include: Array.from(alike.values()) };
    const options = { resultTypes: ["violations"] };
    const runs = [
        await axe.run(document, rules ? { ...options, runOnly: rules }
            : { ...options, rules: { "color-contrast": { enabled: false } } }),
        await axe.run(texts, { ...options, runOnly: ["color-contrast"] }),
    ];
    return [
        runs.map(run => run.passes.length),
        runs.flatMap(run => run.violations).map(v => v.id + ": " + v.nodes[0].html),
    ];
}"""


def load_axe(page: Page) -> None:
    """Put the engine into an open page."""
    page.evaluate(Axe().axe_script)


def violations(page: Page, *, seen: bool = False) -> list[str]:
    """Return what axe-core finds wrong on the page as it stands.

    ``seen`` is a page that was sound at another width and in other colours: contrast and
    :data:`OF_THE_LOOK` are all that is asked of it.
    """
    met, wrong = page.evaluate(RUN, list(OF_THE_LOOK) if seen else None)
    assert met[0] > (0 if seen else 10)
    assert met[1] == 1 or any(line.startswith("color-contrast") for line in wrong)
    return list(wrong)

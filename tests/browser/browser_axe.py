"""axe-core, the accessibility engine, on a page as it stands.

axe-core checks what of WCAG 2.2 A and AA a program can check; it comes inside a Python package.
"""

from __future__ import annotations

from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Page

#: Runs every rule; gives how many were met, and the rule and the element of each violation.
#: Contrast takes most of the time, milliseconds a text. Of texts that stand alike, whose tags,
#: classes and colours are the same from the page's top down, one is looked at.
RUN = """async () => {
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
        await axe.run(document, { ...options, rules: { "color-contrast": { enabled: false } } }),
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


def violations(page: Page) -> list[str]:
    """Return what axe-core finds wrong on the page as it stands."""
    met, wrong = page.evaluate(RUN)
    assert met[0] > 10
    assert met[1] == 1 or any(line.startswith("color-contrast") for line in wrong)
    return list(wrong)

"""What makes a page slow, counted in the page: layouts asked for, elements made and changed.

How long a key takes depends on the machine and on what else it does; these counts do not. A script
that asks where something stands has the browser lay out all that was changed before.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from playwright.sync_api import TimeoutError as NotInTime

#: How long a page may take to follow a window that was made narrow: it waits for its plots.
SOON_MS = 30_000
#: Put into a page before its own scripts: counts in ``cbAsked`` what needs a layout to be told.
WATCH_LAYOUT = """(() => {
    window.cbAsked = [];
    const note = name => window.cbAsked.push(name);
    const getters = [
        [Element, "client Top Left Width Height"], [Element, "scroll Top Left Width Height"],
        [HTMLElement, "offset Top Left Width Height Parent"],
    ];
    for (const [kind, words] of getters) {
        const [stem, ...ends] = words.split(" ");
        for (const name of ends.map(end => stem + end)) {
            const own = Object.getOwnPropertyDescriptor(kind.prototype, name), get = own.get;
            own.get = function () { note(name); return get.call(this); };
            Object.defineProperty(kind.prototype, name, own);
        }
    }
    const calls = [
        [Element, "getBoundingClientRect"], [Element, "getClientRects"],
        [Range, "getBoundingClientRect"], [Element, "scrollIntoView"],
    ];
    for (const [kind, name] of calls) {
        const call = kind.prototype[name];
        kind.prototype[name] = function (...about) { note(name); return call.apply(this, about); };
    }
    const styled = window.getComputedStyle;
    window.getComputedStyle = function (...about) { note("style"); return styled(...about); };
})()"""

#: Types values into a field one by one, each after what the one before put off has been done;
#: returns for each key what asked for a layout, and how many elements were made.
TYPE = """async ([selector, values]) => {
    const field = document.querySelector(selector), keys = [];
    const seen = new MutationObserver(() => {});
    seen.observe(document,
        { subtree: true, childList: true, attributes: true, characterData: true });
    for (const value of values) {
        field.value = value;
        window.cbAsked.length = 0;
        seen.takeRecords();
        field.dispatchEvent(new Event("input", { bubbles: true }));
        const records = seen.takeRecords();
        let made = 0;
        for (const record of records) {
            for (const node of record.addedNodes) {
                made += 1 + (node.querySelectorAll ? node.querySelectorAll("*").length : 0);
            }
        }
        keys.push({ asked: [...window.cbAsked], made, changed: records.length });
        await new Promise(next => setTimeout(next, 200));
    }
    seen.disconnect();
    return keys;
}"""


def typed(page: Any, selector: str, values: list[str]) -> list[dict[str, Any]]:
    """Type values into a field of a page that has :data:`WATCH_LAYOUT`; return each key's work."""
    keys: list[dict[str, Any]] = page.evaluate(TYPE, [selector, values])
    return keys


#: A reading as it is typed, key by key, by somebody who corrects it.
TYPED = ["8", "8.", "8.1", "8.12", "8.12k", "8.1k", "8,1k", "8,12k", "7.9k", "7.95k", "8.4k"]


def fill_piece(page: Any) -> str:
    """Fill in a piece's other readings on the page that checks it; return the field of the pair."""
    page.locator("#cb-in-temperature").fill("79 °F")
    row = '[data-row="{}"] .cb-read__in input'
    for part, value in (("coil_a", "4.1k"), ("coil_b", "4.0k")):
        page.locator(row.format(f"coil-resistance@{part}")).fill(value)
    page.locator(row.format("pair-inductance@pair")).fill("4.4 H")
    return row.format("pair-resistance@pair")


#: Each tool: its address, what is shown once it is there, a field, what is typed, and the answer.
TOOLS = {
    "check": (
        "check/index.html#family=full-size-humbucker",
        "#cb-check",
        '[data-row="pair-resistance@pair"] .cb-read__in input',
        "8,12k",
        '[data-row="pair-resistance@pair"] .cb-read__out',
    ),
    "calculators": (
        "calculators/index.html",
        "form[data-cb-calc=temperature]",
        "form[data-cb-calc=temperature] [name=reading]",
        "7,95k",
        "#cb-temperature-told",
    ),
    "lookup": (
        "pieces/index.html",
        "#cb-lookup-results tbody tr",
        "#cb-lookup [name=words]",
        "untouched bridge",
        "#cb-lookup-count",
    ),
}
#: As soon as the tool is shown, types into it; keeps the answer before and after, the milliseconds
#: until then, and what had been painted and asked for a layout by then.
TYPE_AT_ONCE = """(([shown, field, typed, answer]) => {
    const watch = new MutationObserver(() => {
        const tool = document.querySelector(shown);
        if (!tool || tool.closest("[hidden]")) { return; }
        watch.disconnect();
        const control = document.querySelector(field), told = document.querySelector(answer);
        const before = told.textContent;
        control.value = typed;
        control.dispatchEvent(new Event("input", { bubbles: true }));
        window.answered = {
            before, after: told.textContent, at: performance.now(),
            painted: performance.getEntriesByType("paint").length,
            asked: [...(window.cbAsked || [])],
            peers: Object.keys(window.coilbook?.peersOf || {}),
        };
    });
    watch.observe(document, { subtree: true, childList: true, attributes: true });
})"""


def opened(page: Any, site: Path, tool: str) -> dict[str, Any]:
    """Open a tool of a site, type a value as soon as its form is shown; return what came of it."""
    path, *places = TOOLS[tool]
    page.add_init_script(f"{TYPE_AT_ONCE}({json.dumps(places)})")
    name, mark, place = path.partition("#")
    page.goto((site / name).resolve().as_uri() + mark + place)
    page.wait_for_function("window.answered")
    answered: dict[str, Any] = page.evaluate("window.answered")
    return answered


def fits(window: Any, screen: str) -> bool:
    """Say whether the open page has its one headline and is no wider than a screen."""
    window.resize(screen)
    assert window.page.locator("h1:visible").count() == 1, window.page.url
    try:  # a plot follows the window a moment later
        window.page.wait_for_function(
            "document.documentElement.scrollWidth <= innerWidth", timeout=SOON_MS
        )
    except NotInTime:
        return False
    return True

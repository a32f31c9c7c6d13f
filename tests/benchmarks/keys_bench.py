"""How long a key takes on the tool pages, with the processor throttled six times; run by hand.

    python tests/benchmarks/keys_bench.py SITE

SITE is the demo's built site; its tools are put into an archive of 10,000 pieces. Of each key the
whole synchronous work is timed, and how long until the browser has painted it. Beside the tools
stands a field whose key writes one word: each time is given as a multiple of its, and of the 50 ms
that are aimed at. It wants a machine that does nothing else.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1] / "browser"))
from large_site import FAMILY, enlarge
from work_watch import TYPED, fill_piece

from conftest import browser_arguments, chromium_path

SLOWER = 6
ROUNDS = 3
TARGET_MS = 50.0
#: Types values one by one; returns for each key the milliseconds until it is answered and painted.
TYPE = """async ([selector, values]) => {
    const field = document.querySelector(selector), taken = [];
    const painted = () => new Promise(next => requestAnimationFrame(() => {
        const channel = new MessageChannel();
        channel.port1.onmessage = next;
        channel.port2.postMessage(0);
    }));
    for (const value of values) {
        field.value = value;
        const start = performance.now();
        field.dispatchEvent(new Event("input", { bubbles: true }));
        const answered = performance.now() - start;
        await painted();
        taken.push([answered, performance.now() - start]);
        await new Promise(next => setTimeout(next, 200));
    }
    return taken;
}"""
ONE_WORD = (
    "data:text/html,<!doctype html><input oninput='told.textContent = value'><p id=told>word</p>"
)


def key_ms(page: Page, selector: str, values: list[str]) -> tuple[float, float]:
    """Return the median milliseconds of a key until its answer and until it is painted.

    Of several rounds the best counts; the keys of one more before them get the scripts warm.
    """
    rounds = [page.evaluate(TYPE, [selector, values]) for _ in range(ROUNDS + 1)][1:]
    medians = [[statistics.median(times) for times in zip(*keys, strict=True)] for keys in rounds]
    answered, painted = (min(times) for times in zip(*medians, strict=True))
    return answered, painted


def fields(page: Page, site: Path) -> dict[str, tuple[str, str, list[str]]]:
    """Return of each field its page's address, its selector and what is typed into it."""
    calculators = (site / "calculators/index.html").as_uri()
    page.goto(calculators)
    forms = page.locator("form[data-cb-calc]").evaluate_all("all => all.map(f => f.dataset.cbCalc)")
    found = {"one word": (ONE_WORD, "input", TYPED)}
    for form in forms:
        field = f"form[data-cb-calc={form}] input"
        value = page.locator(field).first.input_value()
        found[f"calculator {form}"] = (calculators, field, [value + "0", value] * 5)
    words = ["b", "br", "bridge", "bridge u", "bridge untouched", ""] * 2
    found["lookup"] = ((site / "pieces/index.html").as_uri(), "#cb-lookup [name=words]", words)
    found["check"] = ((site / "check/index.html").as_uri() + f"#family={FAMILY}", "", TYPED)
    return found


def main(demo: Path) -> None:
    """Print what a key takes in each field, and the ratios."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        site = Path(folder).resolve() / "site"
        enlarge(demo, site)
        browser = driver.chromium.launch(executable_path=chromium_path(), args=browser_arguments())
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        word = 0.0
        for name, (address, selector, values) in fields(page, site).items():
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            session = page.context.new_cdp_session(page)
            page.goto(address)
            if name == "check":
                page.wait_for_function("id => (coilbook.peersOf || {})[id]", arg=FAMILY)
                selector = fill_piece(page)
            session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            answered, painted = key_ms(page, selector, values)
            page.close()
            word = word or painted
            print(
                f"{name}: answered in {answered:.1f} ms, {answered / TARGET_MS:.2f} of the target; "
                f"painted in {painted:.1f} ms, {painted / word:.1f} times one word's"
            )
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))

"""How soon the tool pages answer after opening, by the processor's throttling; run by hand.

    python tests/benchmarks/opening_bench.py SITE

SITE is the demo's built site; its tools are put into an archive of 10,000 pieces. A value is typed
as soon as a tool is shown, and the time until its answer counts. Beside the tools stands a page of
one word, which is what the browser and its driver need themselves on this machine: each time is
given as a multiple of it, and of the 300 ms that are aimed at. It wants a machine that does nothing
else.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1] / "browser"))
from large_site import enlarge
from work_watch import TOOLS, opened

from conftest import browser_arguments, chromium_path

RATES = (1, 6)
OPENINGS = 5
TARGET_MS = 300.0
#: Notes when the word is there.
WATCH = """new MutationObserver((seen, watch) => {
    if (document.querySelector("#one-word")) {
        window.answered = { at: performance.now() };
        watch.disconnect();
    }
}).observe(document, { subtree: true, childList: true });"""
ONE_WORD = "data:text/html,<!doctype html><title>one</title><p id=one-word>word</p>"


def opened_ms(browser: Browser, site: Path, tool: str, rate: int) -> float:
    """Return the milliseconds from a navigation's start until the first answer."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
    if tool in TOOLS:
        taken = float(opened(page, site, tool)["at"])
    else:
        page.add_init_script(WATCH)
        page.goto(ONE_WORD)
        page.wait_for_function("window.answered")
        taken = float(page.evaluate("answered.at"))
    context.close()
    return taken


def main(demo: Path) -> None:
    """Print the best and the middle of several openings of each page, and their ratios."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        site = Path(folder) / "site"
        enlarge(demo, site)
        browser = driver.chromium.launch(executable_path=chromium_path(), args=browser_arguments())
        for rate in RATES:
            word = 0.0
            for tool in ("one word", *TOOLS):
                taken = sorted(opened_ms(browser, site, tool, rate) for _ in range(OPENINGS))
                best, middle = taken[0], taken[len(taken) // 2]
                word = word or best
                print(
                    f"{rate} x {tool}: best {best:.0f} ms, middle {middle:.0f} ms; the best is "
                    f"{best / word:.1f} times one word, {best / TARGET_MS:.2f} of the target"
                )
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))

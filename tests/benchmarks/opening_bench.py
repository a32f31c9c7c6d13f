"""How soon the tool pages answer after opening, by the processor's throttling; run by hand.

    python tests/benchmarks/opening_bench.py SITE

SITE is a built site. Beside the tools stands a page of one word, which is what the browser and its
driver need themselves on this machine. It wants a machine that does nothing else.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

PAGES = ("check/index.html", "calculators/index.html")
RATES = (1, 6)
OPENINGS = 5
#: Notes when a tool's form is first shown, which is when it answers.
WATCH = """new MutationObserver((seen, watch) => {
    const tool = document.querySelector("#cb-check, form[data-cb-calc], #one-word");
    if (tool && !tool.hidden) { window.usableAt = performance.now(); watch.disconnect(); }
}).observe(document, { subtree: true, childList: true, attributes: true });"""
ONE_WORD = "data:text/html,<!doctype html><title>one</title><p id=one-word>word</p>"


def opened_ms(browser: Browser, address: str, rate: int) -> float:
    """Return the milliseconds from a navigation's start until the page's form answers."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.add_init_script(WATCH)
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
    page.goto(address)
    page.wait_for_function("window.usableAt")
    taken: float = page.evaluate("usableAt")
    context.close()
    return taken


def main(site: Path) -> None:
    """Print the best and the middle of several openings of each page."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium-headless-shell") or shutil.which("chromium"),
            args=["--no-sandbox", "--disable-gpu"],
        )
        for rate in RATES:
            for name in ("one word", *PAGES):
                address = ONE_WORD if name == "one word" else (site / name).resolve().as_uri()
                taken = sorted(opened_ms(browser, address, rate) for _ in range(OPENINGS))
                middle = taken[len(taken) // 2]
                print(f"{rate} x {name}: best {taken[0]:.0f} ms, middle {middle:.0f} ms")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))

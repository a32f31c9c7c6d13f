"""How fast the page that checks a piece answers, with the processor throttled six times.

The archive's size matters through the peers of one family alone, which a page loads as one script
(``large_site.py``). Other work on the machine is in the figures: of up to three rounds of keys the
best median counts. How soon the pages open, ``test_browser_opening.py`` asserts.
"""

from __future__ import annotations

import statistics
from pathlib import Path
from typing import Any

import pytest
from large_site import FAMILY, PIECES

pytestmark = pytest.mark.browser

SLOWER = 6
ANSWERED_MS = 50
ROUNDS = 3
#: Types values into a field one by one; returns the milliseconds of each key's whole work, as the
#: calculators' test has it: without the browser's own layout and painting afterwards.
TYPE = """async ([selector, values]) => {
    const field = document.querySelector(selector), taken = [];
    for (const value of values) {
        field.value = value;
        const start = performance.now();
        field.dispatchEvent(new Event("input", { bubbles: true }));
        taken.push(performance.now() - start);
        await new Promise(next => setTimeout(next, 150));
    }
    return taken;
}"""
TYPED = ["8", "8.", "8.1", "8.12", "8.12k", "8.1k", "8,1k", "8,12k", "7.9k", "7.95k", "8.4k"]


@pytest.mark.alone
def test_a_key_is_answered_at_once_among_ten_thousand_peers(visit: Any, large_site: Path) -> None:
    """A reading typed key by key is assessed, and its row and the summary written, in 50 ms."""
    window = visit()
    window.root = large_site
    page = window.go(f"check/index.html#family={FAMILY}")
    session = window.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.wait_for_function("id => (window.coilbookPeersOf || {})[id]", arg=FAMILY)
    page.locator("#cb-in-temperature").fill("79 °F")
    row = '[data-row="{}"] .cb-read__in input'
    for part, value in (("coil_a", "4.1k"), ("coil_b", "4.0k")):
        page.locator(row.format(f"coil-resistance@{part}")).fill(value)
    page.locator(row.format("pair-inductance@pair")).fill("4.4 H")
    selector = row.format("pair-resistance@pair")
    page.evaluate(TYPE, [selector, TYPED])  # the first keys are those that get the scripts warm
    rounds: list[list[float]] = []
    while len(rounds) < ROUNDS and not (rounds and statistics.median(rounds[-1]) < ANSWERED_MS):
        rounds.append(page.evaluate(TYPE, [selector, TYPED]))
    peers = page.locator('[data-row="pair-resistance@pair"] .cb-read__out .cb-remark').last
    assert f"{PIECES // 1000}" in peers.inner_text()
    assert min(statistics.median(taken) for taken in rounds) < ANSWERED_MS, rounds

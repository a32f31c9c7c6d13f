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

from pace import allowed

pytestmark = pytest.mark.browser

SLOWER = 6
ANSWERED_MS = 50
#: Half as much again as is aimed at: frames come when the browser's other processes have time.
PAINTED_MS = 75
ROUNDS = 3
#: Types values into a field one by one; returns for each key the milliseconds of its whole work, as
#: the calculators' test has it, and those until the browser has laid out and painted it.
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
TYPED = ["8", "8.", "8.1", "8.12", "8.12k", "8.1k", "8,1k", "8,12k", "7.9k", "7.95k", "8.4k"]


@pytest.mark.alone
def test_a_key_is_answered_at_once_among_ten_thousand_peers(visit: Any, large_site: Path) -> None:
    """A reading typed key by key is assessed, and its row and the summary written, in 50 ms.

    It is to be painted within 50 ms as well on a machine of the usual pace (``tests/pace.py``);
    :data:`PAINTED_MS` is asserted.
    """
    painted_ms = 1e3 * allowed(PAINTED_MS / 1e3)
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
    rounds: list[tuple[float, float]] = []
    for _ in range(ROUNDS):
        keys = page.evaluate(TYPE, [selector, TYPED])
        answered, painted = (statistics.median(times) for times in zip(*keys, strict=True))
        rounds.append((answered, painted))
        if answered < ANSWERED_MS and painted < painted_ms:
            break
    peers = page.locator('[data-row="pair-resistance@pair"] .cb-read__out .cb-remark').last
    assert f"{PIECES // 1000}" in peers.inner_text()
    assert min(answered for answered, _ in rounds) < ANSWERED_MS, rounds
    assert min(painted for _, painted in rounds) < painted_ms, rounds

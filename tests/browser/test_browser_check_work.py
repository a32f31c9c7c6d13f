"""How much work a key makes on the page that checks a piece, in an archive of 10,000 pieces.

The archive's size matters through the peers of one family alone, which a page loads as one script
(``large_site.py``). How long a key takes, ``tests/benchmarks/keys_bench.py`` tells.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from large_site import FAMILY, PIECES
from work_watch import TYPED, WATCH_LAYOUT, fill_piece, typed

pytestmark = pytest.mark.browser

#: A row's answer and the summary are up to 30 elements; the page has nine hundred.
MADE_AT_MOST = 45
#: From here on every number that is read of a family's peers is counted in ``cbRead``.
COUNT_PEERS = """id => {
    window.cbRead = 0;
    for (const of of Object.values(coilbook.peersOf[id].values)) {
        of.v = new Proxy(of.v, { get(numbers, name) {
            if (typeof name === "string" && /^[0-9]+$/.test(name)) { window.cbRead += 1; }
            return Reflect.get(numbers, name);
        } });
    }
}"""


def test_a_key_makes_little_work_among_ten_thousand_peers(visit: Any, large_site: Path) -> None:
    """A reading typed key by key is assessed, and its row and the summary alone are written.

    No key has the page laid out before its answer, none goes through the family's peers again, and
    one that changes no value (``8.12`` to ``8.12k``) takes back the note on its unit alone.
    """
    window = visit()
    window.root = large_site
    window.page.add_init_script(WATCH_LAYOUT)
    page = window.go(f"check/index.html#family={FAMILY}")
    page.wait_for_function("id => (coilbook.peersOf || {})[id]", arg=FAMILY)
    page.evaluate(COUNT_PEERS, FAMILY)
    selector = fill_piece(page)
    typed(page, selector, TYPED[:3])  # the first asks where the field stands, to keep it there
    gone_through = page.evaluate("cbRead")
    assert gone_through >= PIECES
    keys = typed(page, selector, TYPED)
    assert page.evaluate("cbRead") == gone_through
    assert [key["asked"] for key in keys] == [[]] * len(TYPED)
    assert max(key["made"] for key in keys) <= MADE_AT_MOST
    assert keys[0]["made"] > 0
    same = TYPED.index("8.12k")
    # The note on the unit that was assumed goes, and nothing else is written.
    assert keys[same] == {"asked": [], "made": 0, "changed": 2}
    peers = page.locator('[data-row="pair-resistance@pair"] .cb-read__out .cb-remark').last
    assert f"{PIECES // 1000}" in peers.inner_text()

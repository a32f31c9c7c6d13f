"""The demo's tool pages as they would stand in an archive of 10,000 pieces.

What of an archive's size reaches a tool is made here in the same form, since building 10,000 pages
would tell nothing more: a family's peers and the columns that pieces are looked up in. The plain
list of them all has a page of its own then.
"""

from __future__ import annotations

import json
import random
import re
import shutil
from pathlib import Path
from typing import Any

from coilbook.publish.scripts.check_data import PEER_DIGITS, PEERS_FOLDER
from coilbook.publish.scripts.lookup_data import PIECES_SCRIPT

PIECES = 10_000
FAMILY = "full-size-humbucker"
_PARTS = ("assets/css", "assets/data", "assets/js", "calculators", "check")
_LOOKUP = "pieces/index.html"


def enlarge(demo: Path, site: Path) -> None:
    """Copy the demo's tools into ``site``, with 10,000 pieces in the place of the demo's."""
    for part in _PARTS:
        shutil.copytree(demo / part, site / part)
    _change(site / PEERS_FOLDER / f"{FAMILY}.js", f'"{FAMILY}"] = ', _more_peers)
    _change(site / PIECES_SCRIPT, "coilbook.pieces = ", _more_pieces)
    html = (demo / _LOOKUP).read_text(encoding="utf-8")
    (site / _LOOKUP).parent.mkdir()
    (site / _LOOKUP).write_text(listed_apart(html, PIECES), encoding="utf-8")


def listed_apart(html: str, pieces: int) -> str:
    """Return the page that finds a piece as it is where the plain list has a page of its own.

    ``tests/pages/test_pages_sections.py`` holds it against that page of a site which has one.
    """
    found = re.search(r"All (\d+) pieces are listed below\.", html)
    assert found is not None
    head, mark, rest = html.partition('<h2 id="all-pieces">All pieces by family</h2>\n')
    *_, tail = rest.rpartition("</details>\n")
    line = (
        f'<p><a href="../all-pieces/index.html">A plain list of all {pieces} pieces</a>, '
        "which needs no script.</p>\n"
    )
    assert mark
    return head.replace(found[0], f"All {pieces} pieces are on a plain list.") + mark + line + tail


def _change(path: Path, mark: str, change: Any) -> None:
    head, _, rest = path.read_text(encoding="utf-8").partition(mark)
    line, _, tail = rest.partition(";\n")
    data = json.loads(line)
    change(data)
    path.write_text(f"{head}{mark}{json.dumps(data)};\n{tail}", encoding="utf-8")


def _more_peers(peers: dict[str, Any]) -> None:
    drawn = random.Random(7)
    for values in peers["values"].values():
        made = sorted(
            (
                float(f"{drawn.choice(values['v']) * drawn.uniform(0.99, 1.01):.{PEER_DIGITS}g}"),
                drawn.randrange(len(peers["groups"])),
            )
            for _ in range(PIECES)
        )
        values["v"], values["g"] = [v for v, _ in made], [g for _, g in made]


def _more_pieces(columns: dict[str, Any]) -> None:
    for name, column in columns.items():
        if isinstance(column, list):
            columns[name] = [column[i % len(column)] for i in range(PIECES)]

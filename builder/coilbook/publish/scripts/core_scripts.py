"""The core as the pages' scripts: what each page asks for, printed at build time."""

from __future__ import annotations

from functools import cache

from coilbook.publish.printer.script import print_core

#: What the page that checks a piece asks of the core.
ON_THE_CHECK_PAGE = (
    "coilbook.core.page.ListedReference",
    "coilbook.core.page.listed_archive",
    "coilbook.core.page.listed_claim",
    "coilbook.core.page.listed_peers",
    "coilbook.core.page.piece_told",
)


@cache
def core_script(names: tuple[str, ...]) -> str:
    """Return a script that puts these parts of the core, and what they rest on, on a page."""
    return print_core({name: name.rpartition(".")[2] for name in names})

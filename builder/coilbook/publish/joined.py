"""Files of the site that are made of several of its sources.

A slow machine takes longer over two dozen small files than over one: each is asked for, answered
and started on its own. A script's parts stand in the site as well, for whoever reads or tests them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from coilbook.pages import calculators, check

STYLE_SHEET = "assets/css/coilbook.css"
#: Every page's own script. The first part runs before anything is painted.
SHELL = "assets/js/coilbook.js"
#: What every page asks for: made of the site's own sources alone, whatever the records are.
OF_EVERY_PAGE = (STYLE_SHEET, SHELL)
#: What each file is made of, in this order: later rules and scripts rest on earlier ones.
PARTS: Mapping[str, tuple[str, ...]] = {
    STYLE_SHEET: tuple(
        f"assets/css/{name}.css"
        for name in (
            "tokens",
            "shell",
            "pages",
            "winding",
            "print",
            "calculators",
            "articles",
            "check",
            "cards",
        )
    ),
    SHELL: ("assets/js/shell.js", "assets/js/plots.js", "assets/js/lookup.js"),
    calculators.SCRIPT: calculators.PARTS,
    check.SCRIPT: check.PARTS,
}


def joined(paths: Iterable[str], text_of: Callable[[str], str]) -> dict[str, str]:
    """Return files' texts by their paths; ``text_of`` gives a part's text by its path."""
    return {path: "".join(map(text_of, PARTS[path])) for path in paths}

"""Files of the site that are made of several of its sources.

A slow machine takes longer over two dozen small files than over one: each is asked for, answered
and started on its own. A script's parts stand in the site as well, for whoever reads or tests them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from coilbook.pages.tools import calculators
from coilbook.pages.tools import check_page as check

STYLE_SHEET = "assets/css/coilbook.css"
#: Only pages with a card to print ask for this one: its rules look at what is below an element
#: (``:has``), so that a browser styles the whole page anew at every change.
CARDS_SHEET = "assets/css/cards.css"
#: Every page's own script. The first part runs before anything is painted.
SHELL = "assets/js/coilbook.js"
#: What pages ask for, whatever they are: made of the site's own sources alone.
OF_ALL_PAGES = (STYLE_SHEET, CARDS_SHEET, SHELL)
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
        )
    ),
    CARDS_SHEET: (CARDS_SHEET,),
    SHELL: ("assets/js/shell.js", "assets/js/plots.js", "assets/js/lookup.js"),
    calculators.SCRIPT: calculators.PARTS,
    check.SCRIPT: check.PARTS,
}

#: Scripts of which nearly every function is called while the page opens. A browser that knows these
#: words makes them ready while the file comes in, beside the page and not in its way.
CALLED_AT_ONCE = (calculators.SCRIPT, check.SCRIPT)
ALL_AT_ONCE = "//# allFunctionsCalledOnLoad\n"


def joined(paths: Iterable[str], text_of: Callable[[str], str]) -> dict[str, str]:
    """Return files' texts by their paths; ``text_of`` gives a part's text by its path."""
    return {
        path: (ALL_AT_ONCE if path in CALLED_AT_ONCE else "") + "".join(map(text_of, PARTS[path]))
        for path in paths
    }

"""The winding sheets of the site: a page for each family, found and linked, complete in text."""

from __future__ import annotations

from typing import get_args

import pytest
from test_pages_render import book, site, templates  # noqa: F401

from coilbook.assessment.winding_targets import DepartureCode, winding_targets
from coilbook.pages.page import Book, SiteContent
from coilbook.pages.tools.winding_page import context


def test_every_family_has_a_sheet_in_the_index_and_on_its_page(
    site: SiteContent,  # noqa: F811
    book: Book,  # noqa: F811
) -> None:
    """The index names it, the family page leads to it, and the search finds it by one entry."""
    pages = {p.path: p for p in site.pages}
    listed = pages["winding/index.html"]
    for family_id in book.reference.families:
        page = pages[f"winding/{family_id}/index.html"]
        assert f'href="../winding/{family_id}/index.html"' in listed.html
        assert f"winding/{family_id}/index.html" in pages[f"families/{family_id}/index.html"].html
        assert page.search_title
        assert 0 < len(page.search_text) < 300
    assert "winding/index.html" in pages["families/index.html"].html


def test_a_sheet_has_all_that_a_winder_needs(site: SiteContent) -> None:  # noqa: F811
    """Checks before, while and after in this order, tolerances, boxes, cautions; no false pair."""
    pages = {p.path: p for p in site.pages}
    html = pages["winding/full-size-humbucker/index.html"].html
    order = ["Before", "Start lead", "While", "Count", "After", "Continuity", "Resistance, leads",
             "Second coil", "Insulation to metal", "Polarity and phase", "After potting",
             "After the cover"]  # fmt: skip
    table = html[html.index('id="order"') : html.index('id="departs"')]
    places = [table.index(f">{words}") for words in order]
    assert places == sorted(places)
    for words in ("Still right between", "Winding machine", "Hot wax", "Solvents", "local code"):
        assert words in html, words
    assert "invented archive" in html  # the peers that it names are the demo's
    single = pages["winding/horseshoe-lap-steel/index.html"].html
    assert "Second coil" not in single
    assert "Both in series" not in single
    assert "No inductance is documented" in single


@pytest.mark.parametrize("code", get_args(DepartureCode))
@pytest.mark.parametrize("template", ["winding_body.html.j2", "winding.txt.j2"])
def test_every_departure_has_words_in_both_templates(code: str, template: str) -> None:
    """A code that assessment can give and a template does not know is found here."""
    from coilbook.resources import templates as all_templates

    assert f'd.code == "{code}"' in all_templates()[template]


def test_figures_are_rounded_to_their_uncertainty(book: Book) -> None:  # noqa: F811
    """Two digits of U, and the value to the same place (JCGM 100, 7.2.6)."""
    page = context(winding_targets(book.reference, "full-size-humbucker"), book.reference)
    hard = "\N{NO-BREAK SPACE}"
    shown = {line.name.replace(hard, " "): line.expected.replace(hard, " ") for line in page.lines}
    assert shown["Resistance of one coil at 20 °C"] == "4.04 ± 0.39 kΩ"
    assert shown["Wire off the spool"] == "721 ± 20 m"
    assert "Resistance of one coil at 24 °C" not in shown

"""The pages on coverage and on resistance against turns: what stands there, and where it leads."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import get_args

import pytest
from test_pages_render import book_of, templates

from coilbook.assessment.review.crosscheck import Basis, CheckWord, PartsAt, WhyNot, cross_checks
from coilbook.pages.page import Book, PageOut, SiteContent
from coilbook.pages.render import render_site
from coilbook.pages.worded import environment
from small_archive import write_archive


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Return the book of a small invented archive."""
    return book_of(write_archive(tmp_path_factory.mktemp("pages") / "archive", kind="invented"))


@pytest.fixture(scope="module")
def site(book: Book) -> SiteContent:
    """Return its pages."""
    return render_site(book, templates())


def _page(site: SiteContent, path: str) -> PageOut:
    (found,) = (page for page in site.pages if page.path == path)
    return found


def _plain(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def _links(page: PageOut) -> list[tuple[str, str]]:
    """Return where a page's links to families lead, as (page, place)."""
    found = re.findall(r'href="\.\./(families/[^"#]+)#([^"]+)"', page.html)
    assert found
    return found


def test_every_family_has_its_row_with_counts_that_add_up(site: SiteContent, book: Book) -> None:
    """A row a family and a row of totals; what the rows count are all claims of the reference."""
    page = _page(site, "coverage/index.html")
    table = page.html.partition('class="cb-table cb-stack cb-coverage"')[2].partition("</table>")[0]
    rows = table.split("<tr")[2:]
    assert len(rows) == len(book.reference.families) + 1
    sums = [int(n) for n in re.findall(r"<b>(\d+)</b>", table)]
    assert sum(sums[:-1]) == sums[-1] == len(book.reference.claims)
    for row in rows[:-1]:
        last = row.rpartition("<td")[2]
        parts = [int(n) for n in re.findall(r"</i> (\d+) ", last)]
        assert sum(parts) == int(re.findall(r"<b>(\d+)</b>", last)[0])


def test_no_count_stands_by_colour_alone(site: SiteContent) -> None:
    """Beside each mark of evidence stand its number and its word."""
    page = _page(site, "coverage/index.html")
    marks = re.findall(r'class="cb-count-mark"[^>]*>([■◧□])</i> (\d+) ([a-z ]+)', page.html)
    assert len(marks) > 100
    assert {(mark, word.strip()) for mark, _, word in marks} == {
        ("■", "published"), ("◧", "common practice"), ("□", "recalled"),
    }  # fmt: skip


@pytest.mark.parametrize("path", ["coverage/index.html", "crosscheck/index.html"])
def test_links_to_claims_lead_to_them(site: SiteContent, path: str) -> None:
    """Every place on a family's page that these pages name is there."""
    for target, place in _links(_page(site, path)):
        assert f'id="{place}"' in _page(site, target).html, (target, place)


def test_open_questions_are_asked_with_what_would_answer_them(site: SiteContent) -> None:
    """Gaps of periods and years, and what is known from memory, are questions with a reading."""
    text = _plain(_page(site, "coverage/index.html").html)
    assert (
        "What is the length of the magnet of full-size humbucker in 1956? The length, read" in text
    )
    assert (
        "What was made as lap-steel pickup under horseshoe magnets in 1943–45, if anything?" in text
    )
    assert "8.2–8.8 kΩ, usually 8.5 kΩ or 7.2–7.8 kΩ, usually 7.5 kΩ ?" in text
    recalled = _page(site, "coverage/index.html").html.partition('id="recalled"')[2]
    rows = recalled.split("<tr id=")[1:]
    assert len(rows) > 15
    for row in rows:
        assert len(_plain(row.partition('data-label="What would answer it"')[2])) > 20


def test_every_resistance_is_compared_and_those_that_part_come_first(
    site: SiteContent, book: Book
) -> None:
    """The page has each claim of a resistance once; each that parts has a reason beside it."""
    page = _page(site, "crosscheck/index.html")
    ids = re.findall(r'<tr id="check-([^"]+)">(.*?)</tr>', page.html, re.DOTALL)
    claims = {
        c.row.claim_id
        for c in book.reference.claims
        if c.row.property_id in ("coil-resistance", "pair-resistance")
    }
    assert {claim_id for claim_id, _ in ids} == claims
    assert len(ids) == len(claims)
    words = ["parts" if "</i> parts</span>" in row else "agrees" for _, row in ids]
    assert words == sorted(words, reverse=True)
    assert words.count("parts") == 6
    for (claim_id, row), word in zip(ids, words, strict=True):
        reason = "standard uncertainties. It would take about" in row
        assert reason == (word == "parts"), claim_id


def test_what_was_worked_back_is_said_to_be_no_evidence(site: SiteContent, book: Book) -> None:
    """The rows that the data call derived say so, and the page names the families."""
    page = _page(site, "crosscheck/index.html")
    derived = {c.claim.row.claim_id for c in cross_checks(book.reference) if c.derivations}
    assert len(derived) == 12
    for claim_id, row in re.findall(r'<tr id="check-([^"]+)">(.*?)</tr>', page.html, re.DOTALL):
        assert ("that they agree is no evidence" in row) == (claim_id in derived), claim_id
    assert "For 6 families the turns were worked back from the resistance" in _plain(page.html)


def test_a_family_whose_claims_part_says_so_on_its_own_page(site: SiteContent) -> None:
    """The line leads to the row of the comparison; a family whose claims agree has none."""
    page = _page(site, "families/horseshoe-lap-steel/index.html").html
    place = "check-horseshoe-lap-steel-coil-resistance"
    assert f'href="../../crosscheck/index.html#{place}"' in page
    assert f'id="{place}"' in _page(site, "crosscheck/index.html").html
    other = _page(site, "families/split-bass/index.html").html
    assert 'id="against-turns"' not in other


def test_every_code_has_its_words() -> None:
    """No verdict, reason or place of the comparison is without words in the template."""
    env = environment(templates())
    words = env.get_template("_crosscheck.html.j2").make_module({"root": ""})
    for name, codes in (
        ("check_words", CheckWord),
        ("why_not_words", WhyNot),
        ("basis_words", Basis),
        ("at_words", PartsAt),
    ):
        assert set(getattr(words, name)) == set(get_args(codes))


def test_the_template_for_the_command_line_is_there() -> None:
    """The short account is worded by a template like every other."""
    folder = Path(__file__).parents[2] / "site_src" / "templates"
    assert (folder / "coverage.txt.j2").is_file()

"""Whole pages from a small archive: nothing undefined, every code worded, every mark there."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import pytest

from coilbook.core.judging.verdict import ReasonCode
from coilbook.core.observing.assess import assess
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.reduced_value import Flag
from coilbook.pages.family.family_page import _WHY
from coilbook.pages.family.ladders import disagree
from coilbook.pages.page import Book, SiteContent
from coilbook.pages.reference import catalogue
from coilbook.pages.render import render_site
from coilbook.pages.worded import environment
from coilbook.records import load_archive, load_reference, public_view
from coilbook.resources import site_src_dir
from coilbook.stats.groups import summarise
from coilbook.stats.summary import WhyLeftOut
from small_archive import write_archive


def templates() -> dict[str, str]:
    """Return the site's templates by name."""
    folder = site_src_dir() / "templates"
    return {p.name: p.read_text(encoding="utf-8") for p in folder.glob("*.html.j2")}


def book_of(folder: Path) -> Book:
    """Return the book of an archive without errors."""
    reference = load_reference().value
    assert reference is not None
    loaded = load_archive(folder, reference)
    assert loaded.value is not None, [str(p) for p in loaded.problems]
    archive = public_view(loaded.value)
    measured = {i: measure_piece(p, reference) for i, p in archive.pieces.items()}
    summaries = summarise(archive, measured, reference)
    assessments = {
        i: assess(p, measured[i], archive, reference, summaries) for i, p in archive.pieces.items()
    }
    return Book(reference, archive, measured, summaries, assessments)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Return the book of a small invented archive."""
    return book_of(write_archive(tmp_path_factory.mktemp("pages") / "archive", kind="invented"))


@pytest.fixture(scope="module")
def site(book: Book) -> SiteContent:
    """Return its pages."""
    return render_site(book, templates())


class _Balance(HTMLParser):
    """Counts ids and unclosed elements."""

    VOID = frozenset({"br", "input", "meta", "link", "img", "hr", "path", "rect", "circle"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.headings: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [value for name, value in attrs if name == "id" and value]
        if tag not in self.VOID:
            self.open.append(tag)
        if tag in {"h1", "h2", "h3"}:
            self.headings.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [value for name, value in attrs if name == "id" and value]

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID:
            assert self.open, f"</{tag}> closes nothing"
            assert self.open.pop() == tag


def test_every_page_is_well_formed_with_one_title_and_no_id_twice(site: SiteContent) -> None:
    """Elements close in order, ids are unique, one h1 a page and one in its card, if it has one.

    A card is shown alone or not at all, so that a reader never meets two.
    """
    for page in site.pages:
        parser = _Balance()
        parser.feed(page.html)
        assert parser.open == [], page.path
        cards = page.html.count('class="cb-print"')
        assert cards == page.path.startswith(("families/", "pieces/")) * (page.path.count("/") - 1)
        assert parser.headings.count("h1") == 1 + cards, page.path
        assert len(parser.ids) == len(set(parser.ids)), page.path


def test_text_and_pages_of_one_template_do_not_share_what_is_escaped() -> None:
    """A template that served a text first still escapes on a page, and the other way about."""
    templates = {"one": "{{ words }}"}
    for escaped, said in ((False, "< 5"), (True, "&lt; 5"), (False, "< 5")):
        made = environment(templates, escaped=escaped).get_template("one")
        assert made.render(words="< 5") == said
    changed = environment({"one": "{{ words }}!"}).get_template("one")
    assert changed.render(words="<") == "&lt;!"


def test_pages_have_permanent_addresses(site: SiteContent, book: Book) -> None:
    """Each piece and each family has its page at the address that design promises."""
    paths = {p.path for p in site.pages}
    assert {f"pieces/{i}/index.html" for i in book.archive.pieces} <= paths
    assert {f"families/{i}/index.html" for i in book.reference.families} <= paths


def test_search_has_one_short_entry_a_record(site: SiteContent) -> None:
    """Every family and piece can be found, by a text of a few words and not its whole page."""
    for page in site.pages:
        if page.path.startswith(("families/", "pieces/")) and page.path.count("/") == 2:
            assert page.search_title
            assert 0 < len(page.search_text) < 600


def test_a_piece_shows_what_was_written_beside_what_it_comes_to(site: SiteContent) -> None:
    """The reading as written, the reduced value with its uncertainty and a verdict are there."""
    page = next(p for p in site.pages if p.path == "pieces/tb-0001/index.html")
    assert "3.65 kΩ" in page.html  # as written, at 22 °C
    assert "± 0.0" in page.html
    assert "● " not in page.html  # the mark stands in its own element
    assert "inside" in page.html


def test_figures_of_an_invented_archive_say_so(site: SiteContent) -> None:
    """The family's plots carry the mark in the drawing and in the words below it."""
    page = next(p for p in site.pages if p.path == "families/full-size-humbucker/index.html")
    assert page.html.count("data-cb-plot") >= 2
    assert page.html.count("invented records") >= 2 * page.html.count("data-cb-plot")


def test_a_family_too_small_says_so_and_draws_nothing(site: SiteContent) -> None:
    """With one piece there is a sentence, no plot."""
    page = next(p for p in site.pages if p.path == "families/wide-bar-single-coil/index.html")
    assert "data-cb-plot" not in page.html
    assert "cb-small-sample" in page.html


def test_the_methods_page_speaks_no_programmers_language(site: SiteContent) -> None:
    """Docstrings become a page for readers: no name of an error, no word for nothing returned."""
    page = next(p for p in site.pages if p.path == "methods/index.html")
    for word in ("OutOfDomain", "None", ":func:", "``", "Return "):
        assert word not in page.html, word


@pytest.mark.parametrize("code", get_args(ReasonCode))
def test_every_reason_has_words(code: str) -> None:
    """The template words each code that assessment can give; an unknown one raises."""
    data = dict.fromkeys(
        ("low", "high", "limit", "width", "category", "stated", "found", "claim_id", "typical",
         "difference", "bound", "distance", "standard_uncertainties"), "1.00 kΩ",
    ) | {"side": "low", "qualifier": ">"}  # fmt: skip
    env = environment(templates())
    env.globals["invented"] = False
    words = env.from_string(
        '{% import "macros.html.j2" as m with context %}{{ m.reason({"code": c, "data": d}) }}'
    ).render(c=code, d=data)
    assert len(words.strip()) > 10


def test_every_flag_and_every_cause_has_words() -> None:
    """No flag of measures and no cause of stats is left without a sentence."""
    env = environment(templates())
    env.globals["invented"] = False
    made = env.from_string(
        '{% import "macros.html.j2" as m with context %}{{ m.flags(codes) }}'
    ).render(codes=get_args(Flag))
    assert made.count("<span") == len(get_args(Flag))
    causes = {c for part in get_args(WhyLeftOut) for c in (get_args(part) or (part,))}
    # What leaves nothing but a bound is told as one, and a remark leaves nothing out.
    bounds = {"above_reading", "parallel_equivalent", "probe_across", "standoff"}
    remarks = {"derived", "no_instrument", "no_temperature", "insulation"}
    assert causes - bounds - remarks == set(_WHY)


def test_claims_that_cannot_both_hold_are_said_to_disagree(book: Book) -> None:
    """The two common practices of the early 1960s part; those of the late 1950s do not.

    Common practice, no source: near 8.5 kΩ, against nearer 7.5 kΩ on many benches.
    """

    def claims(period: str) -> bool:
        return disagree(
            [
                c
                for c in book.reference.claims
                if c.row.period_id == period and c.property.property_id == "pair-resistance"
            ]
        )

    assert claims("full-size-humbucker-1962-65")
    assert not claims("full-size-humbucker-1957-58")


def test_a_long_list_of_pieces_has_a_page_of_its_own(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Up to so many pieces the lookup lists them all; beyond, it leads to a page that does."""
    pieces = [f"{piece_id}/index.html" for piece_id in book.archive.pieces]
    few = {page.path: page.html for page in render_site(book, templates()).pages}
    assert "all-pieces/index.html" not in few
    assert all(f'<a href="{path}">' in few["pieces/index.html"] for path in pieces)

    monkeypatch.setattr(catalogue, "LISTED_AT_MOST", len(pieces) - 1)
    many = {page.path: page.html for page in render_site(book, templates()).pages}
    assert many.keys() - few.keys() == {"all-pieces/index.html"}
    assert all(f'<a href="../pieces/{path}">' in many["all-pieces/index.html"] for path in pieces)
    assert '<a href="../all-pieces/index.html">' in many["pieces/index.html"]
    assert "<li>" not in many["pieces/index.html"]
    assert "on a plain list" in many["pieces/index.html"]

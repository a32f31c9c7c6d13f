"""Pages as their modules declare them: none forgotten, none twice, each with its template."""

from __future__ import annotations

import importlib
import pkgutil
from collections import Counter
from dataclasses import dataclass, replace

import pytest
from test_pages_render import book_of, templates

import coilbook.pages
from coilbook.pages import render
from coilbook.pages.declare import OnePage, PageForEach
from coilbook.pages.page import Book
from coilbook.pages.render import render_site
from small_archive import write_archive


def declared() -> list[OnePage | PageForEach[object]]:
    """Return every page that any module of the room declares, each once."""
    found: dict[int, OnePage | PageForEach[object]] = {}
    for module in pkgutil.walk_packages(coilbook.pages.__path__, "coilbook.pages."):
        for value in vars(importlib.import_module(module.name)).values():
            if isinstance(value, OnePage | PageForEach):
                found[id(value)] = value
    return list(found.values())


@pytest.fixture(scope="module", name="book")
def _book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Return the book of a small archive."""
    return book_of(write_archive(tmp_path_factory.mktemp("declared") / "archive", count=3))


def test_every_declared_page_is_rendered() -> None:
    """A page that a module declares and the list of pages forgets would be missing on the site."""
    listed = {id(page) for page in render.PAGES}
    assert [page.template for page in declared() if id(page) not in listed] == []
    assert len(listed) == len(render.PAGES) == len(declared())


def test_each_page_has_a_template_of_its_own() -> None:
    """Only the lookup and the plain list of all pieces may look alike; none lacks its template."""
    used = Counter(page.template for page in render.PAGES)
    assert set(used) <= set(templates())
    assert max(used.values()) == 1


def test_no_two_pages_have_one_path(book: Book) -> None:
    """A second page at the path of a first would take its place."""
    paths = Counter(page.path for page in render_site(book, templates()).pages)
    assert max(paths.values()) == 1
    assert len(paths) > len(render.PAGES)


@dataclass(frozen=True)
class Shown:
    """What a made-up page shows."""

    word: str


ONE = OnePage(
    path="made-up/index.html",
    template="made_up.html.j2",
    section="about",
    title=lambda book: f"Of {book.archive.settings.title}",
    description="Made up.",
    context=lambda book: Shown("<seen>"),
)


def test_a_page_is_what_its_declaration_says(
    book: Book,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A page needs nothing but its declaration: no line of rendering knows it."""
    monkeypatch.setattr(render, "PAGES", (ONE,))
    (page,) = render_site(book, {"made_up.html.j2": "{{ root }}{{ word }}"}).pages
    assert page.html == "../&lt;seen&gt;"
    assert page.title == f"Of {book.archive.settings.title}"
    assert (page.path, page.description, page.section) == (ONE.path, "Made up.", "about")
    assert (page.search_title, page.search_text) == ("", "")


def test_what_the_search_calls_a_page(book: Book) -> None:
    """Its title, or what the declaration says; nothing of a page that it shall not find."""
    (plain,) = replace(ONE, title="Plain", search_text="words").drafts(book)
    assert (plain.search_title, plain.search_text) == ("Plain", "words")
    (named,) = replace(ONE, search_title="Other", search_text=lambda book: "words").drafts(book)
    assert named.search_title == "Other"
    (hidden,) = replace(ONE, search_title="Other").drafts(book)
    assert hidden.search_title == ""


def test_a_page_that_a_book_does_not_want_is_left_out(book: Book) -> None:
    """The plain list of all pieces is such a page: few pieces stand on the lookup itself."""
    assert list(replace(ONE, wanted=lambda book: False).drafts(book)) == []
    assert len(list(ONE.drafts(book))) == 1

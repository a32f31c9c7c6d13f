"""How a module declares its pages: one of a kind, or one for each of several things.

A declaration holds everything that a page is made of. Rendering goes through a list of them and
knows no page by name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Generic, Literal, NamedTuple, TypeVar

from coilbook.pages.page import Book

#: The places of the navigation that a page can belong to.
Section = Literal[
    "home",
    "families",
    "pieces",
    "materials",
    "check",
    "calculators",
    "methods",
    "sources",
    "about",
]


class Draft(NamedTuple):
    """A page that only lacks its HTML: its context is to go through its template."""

    path: str
    template: str
    context: Any
    title: str
    description: str
    section: Section
    search_title: str
    search_text: str


def search_words(*parts: str | None) -> str:
    """Join what a page may be found by, as far as there is any."""
    return " ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePage:
    """A page of which there is one.

    ``context`` gives what its template shows: a dataclass, whose fields are the template's names.
    Where ``search_text`` is left out the search does not find the page; ``search_title`` is what
    the search calls it, its title if left out. ``wanted`` tells whether a book has the page.
    """

    path: str
    template: str
    section: Section
    title: str | Callable[[Book], str]
    description: str
    context: Callable[[Book], Any]
    search_title: str = ""
    search_text: str | Callable[[Book], str] = ""
    wanted: Callable[[Book], bool] = lambda book: True

    def drafts(self, book: Book) -> Iterator[Draft]:
        """Yield the page, if this book has it."""
        if not self.wanted(book):
            return
        title = self.title if isinstance(self.title, str) else self.title(book)
        words = self.search_text
        search_text = words if isinstance(words, str) else words(book)
        yield Draft(
            self.path,
            self.template,
            self.context(book),
            title,
            self.description,
            self.section,
            (self.search_title or title) if search_text else "",
            search_text,
        )


Item = TypeVar("Item")


@dataclass(frozen=True, slots=True, kw_only=True)
class PageForEach(Generic[Item]):
    """A page for each of several things, such as families; each is found by its title."""

    items: Callable[[Book], Iterable[Item]]
    path: Callable[[Item], str]
    template: str
    section: Section
    title: Callable[[Item], str]
    description: Callable[[Item], str]
    context: Callable[[Book, Item], Any]
    search_text: Callable[[Item], str]

    def drafts(self, book: Book) -> Iterator[Draft]:
        """Yield the pages in the order of their things, each made when it is asked for."""
        for item in self.items(book):
            title = self.title(item)
            yield Draft(
                self.path(item),
                self.template,
                self.context(book, item),
                title,
                self.description(item),
                self.section,
                title,
                self.search_text(item),
            )

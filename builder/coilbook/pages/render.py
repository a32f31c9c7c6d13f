"""From the book to finished pages: each context through its template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import jinja2

from coilbook.pages import text
from coilbook.pages.declare import Draft, OnePage, PageForEach
from coilbook.pages.disputes import disputes_page
from coilbook.pages.family import crosscheck_page, family_page, features
from coilbook.pages.page import Book, PageOut, SiteContent, root_of
from coilbook.pages.piece import piece_page
from coilbook.pages.reference import (
    catalogue,
    coverage_page,
    instruments_page,
    materials,
    observing,
    parts_tables,
    sources_page,
)
from coilbook.pages.tools import calculators, check_page, pole_gauge, winding_page

#: Every page that is made from records, in the order of the site's lists.
PAGES: tuple[OnePage | PageForEach[Any], ...] = (
    catalogue.HOME,
    catalogue.FAMILIES,
    catalogue.PIECES,
    materials.MATERIALS,
    materials.WIRES,
    materials.MAGNETS,
    parts_tables.METALS,
    parts_tables.PARTS,
    disputes_page.PAGE,
    materials.BOBBINS,
    features.PAGE,
    check_page.PAGE,
    calculators.PAGE,
    pole_gauge.PAGE,
    sources_page.METHODS,
    observing.PAGE,
    instruments_page.PAGE,
    sources_page.SOURCES,
    coverage_page.PAGE,
    crosscheck_page.PAGE,
    sources_page.DATA,
    family_page.PAGES,
    winding_page.INDEX,
    winding_page.PAGES,
    catalogue.ALL_PIECES,
    piece_page.PAGES,
)


class _Compiled(jinja2.BytecodeCache):
    """The templates that this process has compiled: a preview builds the site again and again.

    What is compiled depends on whether values are escaped, and nothing says so of a template.
    """

    def __init__(self) -> None:
        self._code: dict[str, bytes] = {}

    def load_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Give what was compiled of this very text, if anything was."""
        if bucket.key in self._code:
            bucket.bytecode_from_string(self._code[bucket.key])

    def dump_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Keep what was compiled, in the place of what was compiled of an earlier text."""
        self._code[bucket.key] = bucket.bytecode_to_string()


_COMPILED = {True: _Compiled(), False: _Compiled()}


def environment(templates: Mapping[str, str], *, escaped: bool = True) -> jinja2.Environment:
    """Return the templates' environment: nothing undefined passes, and everything is escaped.

    ``escaped`` is False for what is read as text and not as a page.
    """
    env = jinja2.Environment(
        loader=jinja2.DictLoader(dict(templates)),
        autoescape=escaped,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        bytecode_cache=_COMPILED[escaped],
    )
    env.filters |= {"lower_first": text.lower_first, "upper_first": text.upper_first}
    return env


def render_site(book: Book, templates: Mapping[str, str]) -> SiteContent:
    """Return every page that is made from records: each that is declared, through its template.

    ``templates`` maps a template's name to its text. Raises ``jinja2.TemplateError`` when a
    template asks for something that its context does not have.
    """
    env = environment(templates)
    env.globals["invented"] = book.invented
    env.globals["archive_mark"] = text.evidence(book.archive.settings.kind, None, None)
    return SiteContent(
        tuple(_page(env, draft) for declared in PAGES for draft in declared.drafts(book))
    )


def _page(env: jinja2.Environment, draft: Draft) -> PageOut:
    assert is_dataclass(draft.context)
    names = {f.name: getattr(draft.context, f.name) for f in fields(draft.context)}
    html = env.get_template(draft.template).render(root=root_of(draft.path), **names)
    return PageOut(
        draft.path,
        draft.title,
        html,
        draft.description,
        draft.section,
        draft.search_title,
        draft.search_text,
    )

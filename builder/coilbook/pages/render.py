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
    messages_page,
    observing,
    parts_tables,
    sources_page,
)
from coilbook.pages.tools import calculators, check_page, pole_gauge, winding_page
from coilbook.pages.worded import environment

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
    messages_page.PAGE,
    family_page.PAGES,
    winding_page.INDEX,
    winding_page.PAGES,
    catalogue.ALL_PIECES,
    piece_page.PAGES,
)


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

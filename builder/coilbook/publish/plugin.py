"""The engine's plugin: hands it our pages, our files and our search entries.

A record page reaches the engine as ready HTML and is never Markdown: the engine wraps it in the
shell and writes it. Prose stays Markdown; its formulas become MathML here, so that no page needs a
script for them.
"""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import urlsplit

from latex2mathml.converter import convert
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page
from mkdocs.structure.toc import TableOfContents

from coilbook import __version__
from coilbook.pages.drawn.article_figures import FIGURES
from coilbook.pages.page import PageOut
from coilbook.publish.results import Assets, Progress
from coilbook.records.tables.models import ArchiveSettings

#: Files of the theme that this site does not use: its look, other languages, and debugging maps.
_UNUSED_THEME_FILES = re.compile(r"assets/(?:stylesheets/|images/|javascripts/lunr/)|.*\.map\Z")
_FORMULA = re.compile(
    r'<(?P<tag>span|div) class="arithmatex">\\[(\[](?P<latex>.*?)\\[)\]]</(?P=tag)>', re.DOTALL
)
_FIGURE = re.compile(r"<!-- figure: (?P<name>[a-z-]+) -->")


class RecordPage(Page):
    """A page that is ready HTML. It is never in the navigation, and its search entry is its own."""

    def __init__(self, out: PageOut, file: File, config: MkDocsConfig) -> None:
        super().__init__(out.title, file, config)
        self.out = out

    def read_source(self, config: MkDocsConfig) -> None:
        """Take the place of reading Markdown: there is none."""
        self.markdown = ""
        self.meta = {
            "title": self.out.title,
            "description": self.out.description,
            "section": self.out.section,
            "search": {"exclude": True},
        }

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Set the ready HTML as the page's content."""
        self.content = self.out.html
        self.toc = TableOfContents([])

    @property
    def search_entry(self) -> dict[str, str] | None:
        """Return the page's one entry for the search index, or None if it asked for none."""
        if not self.out.search_text:
            return None
        return {
            "location": self.url,
            "title": html.escape(self.out.search_title or self.out.title, quote=False),
            "text": html.escape(self.out.search_text, quote=False),
        }


class NoOptions(Config):  # type: ignore[no-untyped-call]
    """The plugin takes no options from mkdocs.yml: what it needs comes from the records."""


#: A table wider than a phone scrolls inside its frame, which the keyboard can reach.
_TABLE_FRAME = '<div class="cb-scroll" tabindex="0" role="group" aria-label="Table">'


class CoilbookPlugin(BasePlugin[NoOptions]):  # type: ignore[no-untyped-call]
    """Adds record pages and assets to a build. :mod:`coilbook.publish.build` fills it in first."""

    settings: ArchiveSettings | None = None
    pages: Sequence[PageOut] = ()
    assets: Assets = Assets({}, {})
    progress: Progress | None = None

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Give the templates what they say of the archive."""
        if self.settings is None:
            raise PluginError(
                "This site is built by 'coilbook build', which reads the records first. "
                "Run that instead of the site engine."
            )
        config.extra["archive"] = self.settings.model_dump()
        config.extra["version_text"] = __version__
        if not config.site_url:
            config.theme.static_templates.discard("sitemap.xml")  # it could only be empty
        self._written = 0
        return config

    def on_files(self, files: Files, config: MkDocsConfig) -> Files:
        """Drop what is not used, give prose its permanent paths, add our files and record pages."""
        for file in list(files):
            if _UNUSED_THEME_FILES.match(file.src_uri) and file.src_dir != config.docs_dir:
                files.remove(file)
            elif file.is_documentation_page() and file.name != "index":
                _move(file, str(PurePosixPath(file.src_uri).with_suffix("") / "index.html"))
        for path, text in self.assets.made.items():
            # Bytes, so that no system puts line ends of its own.
            _add(files, File.generated(config, path, content=text.encode("utf-8")))
        for path, source in self.assets.copied.items():
            _add(files, File.generated(config, path, abs_src_path=str(source)))
        for out in self.pages:
            src_uri = str(PurePosixPath(out.path).with_suffix(".md"))
            file = File.generated(config, src_uri, content="", inclusion=InclusionLevel.NOT_IN_NAV)
            _add(files, file)
            RecordPage(out, file, config)
        self._total = len(files.documentation_pages())
        return files

    def on_nav(self, nav: Navigation, config: MkDocsConfig, files: Files) -> Navigation:
        """Shorten canonical addresses to the permanent ones, which end in a slash."""
        for file in files.documentation_pages():
            if file.page is not None and file.page.canonical_url:
                file.page.canonical_url = file.page.canonical_url.removesuffix("index.html")
        return nav

    def on_page_content(self, html: str, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Give a prose page its computed figures, formulas as MathML, and tables that scroll."""
        if isinstance(page, RecordPage):
            return html
        page.toc = TableOfContents([])  # the shell has its own link that skips to the content
        html = html.replace("<table>", f"{_TABLE_FRAME}<table>").replace(
            "</table>", "</table></div>"
        )
        html = sections(figures(html, page.file.src_uri))
        return mathml(html, page.file.src_uri)

    @event_priority(-50)
    def on_page_context(
        self, context: Any, page: Page, config: MkDocsConfig, nav: Navigation
    ) -> Any:
        """Add a record page's search entry, in the order in which pages are written."""
        if isinstance(page, RecordPage) and (entry := page.search_entry):
            config.plugins["material/search"].search_index.entries.append(entry)  # type: ignore[attr-defined]
        return context

    def on_template_context(self, context: Any, template_name: str, config: MkDocsConfig) -> Any:
        """Let the not-found page link relatively, from a base that a host puts it at."""
        if template_name == "404.html":
            context["base_url"] = "."
            context["cb_base"] = urlsplit(config.site_url or "/").path or "/"
        return context

    def on_post_page(self, output: str, page: Page, config: MkDocsConfig) -> str:
        """Tell how far the writing is."""
        self._written += 1
        if self.progress is not None:
            self.progress("writing pages", self._written, self._total)
        return output


def figures(content: str, where: str) -> str:
    """Return HTML with the computed figures that it asks for; ``where`` is the page in errors."""

    def replace(match: re.Match[str]) -> str:
        name = match["name"]
        if name not in FIGURES:
            raise PluginError(
                f"There is no figure '{name}', which {where} asks for. "
                f"Write one of: {', '.join(FIGURES)}."
            )
        return FIGURES[name]()

    return _FIGURE.sub(replace, content)


def sections(content: str) -> str:
    """Return HTML with each heading of the second level and what follows it as a section."""
    head, *rest = re.split(r"(?=<h2[ >])", content)
    return head + "".join(f'<section class="cb-section">{part}</section>' for part in rest)


def mathml(content: str, where: str) -> str:
    """Return HTML with its marked formulas as MathML; ``where`` names the page in errors."""

    def replace(match: re.Match[str]) -> str:
        latex = html.unescape(match["latex"]).strip()
        block = match["tag"] == "div"
        try:
            formula: str = convert(latex, display="block" if block else "inline")
        except Exception as error:  # the converter has an exception type for each kind of slip
            raise _unreadable(latex, where, type(error).__name__) from error
        # The converter passes a command that it does not know on as it stands.
        if "\\" in formula:
            raise _unreadable(latex, where, "unknown command")
        return f'<div class="cb-formula">{formula}</div>' if block else formula

    return _FORMULA.sub(replace, content)


def _unreadable(latex: str, where: str, why: str) -> PluginError:
    return PluginError(f"The formula '{latex}' on {where} cannot be read ({why}). Correct it.")


def _move(file: File, dest_uri: str) -> None:
    """Give a file another place in the site, before anything has asked for its address."""
    for name in ("url", "abs_dest_path"):
        file.__dict__.pop(name, None)
    file.dest_uri = dest_uri


def _add(files: Files, file: File) -> None:
    if files.get_file_from_path(file.src_uri) is not None:
        raise PluginError(
            f"Two sources want to be the file '{file.dest_uri}'. Rename or drop one of them."
        )
    files.append(file)

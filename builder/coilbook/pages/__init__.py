"""Pages: one typed context per page, through Jinja, to strings; no files, no decisions."""

from coilbook.pages.render import render_site
from coilbook.pages.types import Book, PageOut, SiteContent

__all__ = ["Book", "PageOut", "SiteContent", "render_site"]

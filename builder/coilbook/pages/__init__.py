"""Pages: one typed context per page, through Jinja, to strings; no files, no decisions."""

from coilbook.pages.page import Book, PageOut, SiteContent
from coilbook.pages.render import render_site

__all__ = ["Book", "PageOut", "SiteContent", "render_site"]

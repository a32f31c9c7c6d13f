"""From an archive's folder to a finished site, or to nothing at all."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path
from typing import TYPE_CHECKING

from coilbook import __version__
from coilbook.errors import SiteBroken
from coilbook.publish.book import compose_book, open_records
from coilbook.publish.results import Assets, BuildReport, Progress, WrittenSite, say_nothing
from coilbook.publish.swap import new_site, refuse_unless_ours, write_marker

# The rooms below are loaded when a build runs: numpy, scipy and the site engine take a second
# together, and a mere check of records need not wait for them.
if TYPE_CHECKING:
    from coilbook.pages.page import Book, SiteContent
    from coilbook.records.contents import PublicArchive

#: The day by which a site is dated whose archive has no dated reading, so that builds stay alike.
_NO_DATE = dt.date(2020, 1, 1)
_DEAD_LINKS_TOLD = 20


def build_site(archive_dir: Path, out: Path, *, progress: Progress | None = None) -> BuildReport:
    """Build the whole site of an archive into the folder ``out``.

    The site is made beside ``out`` and put in its place when all of it is there and every link
    leads somewhere; otherwise ``out`` stays as it was. Two builds of the same records are alike to
    the byte: dates come from the newest reading, or from SOURCE_DATE_EPOCH if that is set.

    Arguments: archive_dir, the folder with coilbook.toml; out, the site's folder;
    progress, called with a stage, the steps done and the steps in all.
    Raises: RecordsInvalid with every problem; NotAnArchive; CoilbookError if ``out`` holds anything
    but a site of ours; SiteBroken if a link is dead or the prose has a fault.
    """
    started = time.perf_counter()
    tell = progress or say_nothing
    refuse_unless_ours(out, archive_dir)
    from coilbook.records import public_view

    opened = open_records(archive_dir, tell)
    book = compose_book(opened.reference, public_view(opened.archive), progress=tell)
    tell("composing pages", 0, 1)
    content = _render(book)
    tell("composing pages", 1, 1)
    written = publish(content, assets_of(book, content), book.archive, out, progress=tell)
    settings = book.archive.settings
    return BuildReport(
        out=out,
        title=settings.title,
        kind=settings.kind,
        pages=written.pages,
        pieces=len(book.archive.pieces),
        files=written.files,
        size_bytes=written.size_bytes,
        seconds=time.perf_counter() - started,
        doubts=tuple(p for p in opened.problems if p.severity == "doubt"),
    )


def publish(
    content: SiteContent,
    assets: Assets,
    archive: PublicArchive,
    out: Path,
    *,
    progress: Progress | None = None,
) -> WrittenSite:
    """Write ready pages and assets as a site, check its links, and put it in ``out``'s place."""
    from coilbook.publish.engine import build_date, run_engine
    from coilbook.publish.links import check_links

    tell = progress or say_nothing
    with new_site(out) as site:
        with build_date(_epoch(archive)):
            run_engine(content.pages, assets, archive.settings, site, tell)
        tell("checking links", 0, 1)
        dead = check_links(site)
        if dead:
            told = [str(link) for link in dead[:_DEAD_LINKS_TOLD]]
            if len(dead) > len(told):
                told.append(f"… and {len(dead) - len(told)} more")
            raise SiteBroken(
                "\n".join(["The site has dead links and was not put in place:", *told])
            )
        tell("checking links", 1, 1)
        pages = sum(1 for path in site.rglob("*.html"))
        write_marker(
            site,
            {
                "generator": f"coilbook {__version__}",
                "title": archive.settings.title,
                "kind": archive.settings.kind,
                "pages": pages,
            },
        )
        files = [path for path in site.rglob("*") if path.is_file()]
        return WrittenSite(pages, len(files), sum(path.stat().st_size for path in files))


def assets_of(book: Book, content: SiteContent) -> Assets:
    """Return the data scripts, the downloads and the plotting script that a site needs."""
    from coilbook.pages.tools import calculators
    from coilbook.pages.tools import check_page as check
    from coilbook.publish.downloads import downloads
    from coilbook.publish.engine import PLOT_LIBRARY, own_file, plot_library
    from coilbook.publish.scripts.bench_data import BENCH_SCRIPT, bench_script
    from coilbook.publish.scripts.check_data import (
        CHECK_SCRIPT,
        KNOWN_SCRIPT,
        check_script,
        known_script,
        peers_scripts,
    )
    from coilbook.publish.scripts.core_scripts import ON_THE_CHECK_PAGE, core_script
    from coilbook.publish.scripts.joined import joined
    from coilbook.publish.scripts.lookup_data import PIECES_SCRIPT, pieces_script

    made = {
        PIECES_SCRIPT: pieces_script(book.archive, book.measured, book.reference),
        BENCH_SCRIPT: bench_script(book.reference),
        CHECK_SCRIPT: check_script(book.reference, book.archive),
        KNOWN_SCRIPT: known_script(check.known(book)),
        check.CORE_SCRIPT: core_script(ON_THE_CHECK_PAGE),
        **peers_scripts(book.reference, book.archive, book.summaries),
        **downloads(book.archive, book.measured, book.reference),
    }
    tools = (calculators.SCRIPT, check.SCRIPT)
    made |= joined(tools, lambda part: made.get(part) or own_file(part))
    plots = any("data-cb-plot" in page.html for page in content.pages)
    return Assets(made, {PLOT_LIBRARY: plot_library()} if plots else {})


def _render(book: Book) -> SiteContent:
    from coilbook.pages.render import render_site
    from coilbook.resources import templates

    return render_site(book, templates())


def _epoch(archive: PublicArchive) -> int:
    days = (
        reading.row.date
        for piece in archive.pieces.values()
        for reading in piece.readings
        if reading.row.date is not None
    )
    newest = dt.datetime.combine(max(days, default=_NO_DATE), dt.time(), dt.UTC)
    return int(newest.timestamp())

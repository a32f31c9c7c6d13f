"""Runs the site engine over ready pages, quietly, with every warning of its an error."""

from __future__ import annotations

import importlib.util
import logging
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from coilbook.errors import CoilbookError, SiteBroken
from coilbook.pages.page import PageOut
from coilbook.publish.results import Assets, Progress
from coilbook.publish.scripts.joined import OF_ALL_PAGES, joined
from coilbook.records.tables.models import ArchiveSettings
from coilbook.resources import site_src_dir

PLOT_LIBRARY = "assets/plotly/plotly.min.js"


def run_engine(
    pages: Sequence[PageOut],
    assets: Assets,
    settings: ArchiveSettings,
    site_dir: Path,
    progress: Progress | None = None,
) -> None:
    """Write the whole site into an empty folder.

    Raises :class:`SiteBroken` with all that the engine warned of: a bad link in prose, a formula
    that cannot be read, two pages at one place.
    """
    # Loaded here: the engine takes a third of a second, which a mere check need not wait for.
    from mkdocs.commands.build import build
    from mkdocs.config import load_config
    from mkdocs.exceptions import MkDocsException

    from coilbook.publish.plugin import CoilbookPlugin

    with _warnings() as warnings:
        try:
            config = load_config(
                str(site_src_dir() / "mkdocs.yml"),
                site_name=settings.title,
                site_url=settings.base_url,
                site_dir=str(site_dir),
            )
            plugin = config.plugins["coilbook"]
            assert isinstance(plugin, CoilbookPlugin)
            plugin.settings = settings
            plugin.pages = pages
            scripts = {path: file for path, file in _own_files().items() if path.endswith(".js")}
            shell = joined(OF_ALL_PAGES, own_file)
            plugin.assets = Assets({**shell, **assets.made}, {**scripts, **assets.copied})
            plugin.progress = progress
            build(config)
        except MkDocsException as error:
            raise SiteBroken("\n".join([*warnings, error.message])) from error
    if warnings:
        raise SiteBroken("\n".join(["The site's prose or settings have faults:", *warnings]))


def plot_library() -> Path:
    """Return the plotting script that came with the installed plotly package."""
    spec = importlib.util.find_spec("plotly")
    if spec is None or spec.origin is None:
        raise CoilbookError("The package plotly is not installed. Install Coilbook again.")
    return Path(spec.origin).parent / "package_data" / "plotly.min.js"


@contextmanager
def build_date(epoch: int) -> Iterator[None]:
    """Date what is built within by ``epoch``, unless SOURCE_DATE_EPOCH says otherwise."""
    if os.environ.get("SOURCE_DATE_EPOCH"):
        yield
        return
    os.environ["SOURCE_DATE_EPOCH"] = str(epoch)
    try:
        yield
    finally:
        del os.environ["SOURCE_DATE_EPOCH"]


def own_file(path: str) -> str:
    """Return the text of one of the site's own scripts or style sheets, by its path in the site."""
    return _own_files()[path].read_text(encoding="utf-8")


def _own_files() -> dict[str, Path]:
    files = {}
    for kind in ("css", "js"):
        folder = site_src_dir() / kind
        for path in sorted(folder.glob(f"*.{kind}")):
            files[f"assets/{kind}/{path.name}"] = path
    return files


class _Collector(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.messages: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.messages.append(record.getMessage())


@contextmanager
def _warnings() -> Iterator[list[str]]:
    """Collect what the engine warns of, and keep it from the terminal."""
    logger = logging.getLogger("mkdocs")
    collector = _Collector()
    before = (logger.level, logger.propagate)
    logger.setLevel(logging.INFO)  # at DEBUG the engine leaves out its check of places in pages
    logger.propagate = False
    logger.addHandler(collector)
    try:
        yield collector.messages
    finally:
        logger.removeHandler(collector)
        logger.propagate = before[1]
        logger.setLevel(before[0])

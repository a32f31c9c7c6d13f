"""Puts a finished site in the place of the old one, and never in the place of anything else."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from coilbook.errors import CoilbookError

MARKER = "coilbook-site.json"
#: Files that file managers leave in every folder that they show.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


def refuse_unless_ours(out: Path, archive_dir: Path) -> None:
    """Raise :class:`CoilbookError` unless a site may be put at ``out``.

    It may where nothing is, in an empty folder, and over a site of ours to which nothing was added.
    """
    if archive_dir.resolve().is_relative_to(out.resolve()):
        raise CoilbookError(
            f"The archive itself is inside '{out}', which would be replaced. "
            "Choose another folder for the site."
        )
    if not out.exists():
        return
    if not out.is_dir():
        raise CoilbookError(f"'{out}' is a file. Choose a folder for the site.")
    there = {path.name for path in out.iterdir()} - LITTER
    if not there:
        return
    try:
        ours = set(json.loads((out / MARKER).read_text(encoding="utf-8"))["holds"])
    except (OSError, ValueError, KeyError, TypeError):
        raise CoilbookError(
            f"'{out}' holds files and is not a site that Coilbook made. "
            "Choose another folder, or empty this one yourself."
        ) from None
    if foreign := sorted(there - ours):
        raise CoilbookError(
            f"'{out}' holds {', '.join(foreign)}, which Coilbook did not put there and would be "
            "lost. Move it elsewhere and build again."
        )


def write_marker(site: Path, facts: dict[str, str | int]) -> None:
    """Write the file by which a later build knows this folder again."""
    holds = sorted({path.name for path in site.iterdir()} | {MARKER})
    text = json.dumps({**facts, "holds": holds}, indent=2, ensure_ascii=False)
    (site / MARKER).write_text(text + "\n", encoding="utf-8", newline="\n")


@contextmanager
def new_site(out: Path) -> Iterator[Path]:
    """Give an empty folder beside ``out``; put it in ``out``'s place if all went well.

    Whatever fails, the old site stays as it was and the new folder is removed.
    """
    # The real place of a link, so that the link itself stays.
    out = out.resolve()
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = out.parent / f".site-{os.getpid()}-{out.name}"
    old = out.parent / f".site-{os.getpid()}-{out.name}-old"
    _remove(fresh)
    fresh.mkdir()
    try:
        yield fresh
        _exchange(fresh, out, old)
    finally:
        _remove(fresh)
    _remove(old)


def _exchange(fresh: Path, out: Path, old: Path) -> None:
    try:
        if out.exists():
            out.rename(old)
        try:
            fresh.rename(out)
        except OSError:
            if old.exists():
                old.rename(out)
            raise
    except OSError as error:
        raise CoilbookError(
            f"The site could not be put at '{out}' ({error.strerror}). "
            "Close whatever has it open and build again."
        ) from error


def _remove(folder: Path) -> None:
    if folder.exists():
        shutil.rmtree(folder)

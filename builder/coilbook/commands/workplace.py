"""Which archive a command works on when none is named, and where its site goes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from coilbook.errors import NotAnArchive
from coilbook.records.tables.settings import SETTINGS_FILE
from coilbook.resources import checkout_dir, dataset_dir


@dataclass(frozen=True, slots=True)
class Workplace:
    """An archive's folder, the folder its site goes to, and whether the demo was fallen back on."""

    archive: Path
    out: Path
    fell_back: bool


def workplace(directory: Path | None) -> Workplace:
    """Return the archive named, else the one in the folder we stand in, else the demo.

    Raises :class:`NotAnArchive` when the folder named is not there or holds no coilbook.toml.
    """
    if directory is not None:
        if directory.is_file():
            raise NotAnArchive(f"'{directory}' is a file. Name the folder that it lies in.")
        if not directory.is_dir():
            raise NotAnArchive(f"There is no folder '{directory}'. Look at its spelling.")
        if not (directory / SETTINGS_FILE).is_file():
            raise NotAnArchive(
                f"'{directory}' is not an archive: it holds no {SETTINGS_FILE}. Name an archive's "
                f"folder, or begin a new one with 'coilbook new'."
            )
        return Workplace(directory, _out_of(directory), fell_back=False)
    here = Path.cwd()
    if (here / SETTINGS_FILE).is_file():
        return Workplace(here, _out_of(here), fell_back=False)
    demo = dataset_dir() / "demo"
    return Workplace(demo, _out_of(demo), fell_back=True)


def _out_of(archive: Path) -> Path:
    """Return where an archive's site goes: into it, but never into the records that we ship."""
    if archive.resolve() != (dataset_dir() / "demo").resolve():
        return archive / "site"
    top = checkout_dir()
    return top / "site" if top else Path.cwd() / "coilbook-demo-site"

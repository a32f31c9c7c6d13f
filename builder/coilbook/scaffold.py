"""The files of a new archive: settings to fill in, and tables with their header rows."""

from __future__ import annotations

import json
from pathlib import Path

from coilbook.errors import CoilbookError
from coilbook.records.models import ARCHIVE_TABLES, OPTIONAL_TABLES
from coilbook.workplace import SETTINGS_FILE

#: A column to show how private notes are kept; it never leaves the records.
PRIVATE_COLUMN = {"pieces.csv": "private_note"}

_SETTINGS = """\
# The settings of this archive. Lines that begin with # are notes to you.

# The site's title, and who publishes it.
title = {title}
publisher = {title}

# The licence of your records. CC-BY-4.0 lets anyone use them who names you.
licence = "CC-BY-4.0"

# "measured" for readings of real pieces, "invented" for a demonstration.
kind = "measured"

# Where you are, where the site will stand on the web, and a sentence for its first page.
# place = "Town"
# base_url = "https://example.org/pickups/"
# note = "Readings from our own bench since 2019."
"""


def new_archive(folder: Path, title: str | None) -> tuple[Path, ...]:
    """Write the files of a new archive into ``folder`` and return their paths.

    Raises :class:`CoilbookError` when the folder is there already and holds anything.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise CoilbookError(
            f"'{folder}' is there already and is not an empty folder. Name another; nothing was "
            "changed."
        )
    folder.mkdir(parents=True, exist_ok=True)
    name = title or f"Pickups of {folder.resolve().name}"
    files = {SETTINGS_FILE: _SETTINGS.format(title=json.dumps(name, ensure_ascii=False))}
    for table, model in ARCHIVE_TABLES.items():
        if table in OPTIONAL_TABLES:
            continue
        columns = [*model.model_fields]
        if table in PRIVATE_COLUMN:
            columns.append(PRIVATE_COLUMN[table])
        files[table] = ",".join(columns) + "\n"
    for filename, text in files.items():
        (folder / filename).write_text(text, encoding="utf-8", newline="\n")
    return tuple(folder / filename for filename in files)

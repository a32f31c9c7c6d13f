"""Starting a new archive."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from pathlib import Path

from coilbook.errors import CoilbookError
from coilbook.records.tables.cells import Row
from coilbook.records.tables.models import InstrumentRow, PieceRow, ReadingRow
from coilbook.records.tables.settings import SETTINGS_FILE

DEFAULT_TITLE = "My bench"

_SETTINGS = """\
# What the site says of itself. Text stands in quotation marks.
title = {title}
publisher = {title}
licence = "All rights reserved"  # for instance "CC-BY-4.0", if others may use your records

# "measured" for readings taken at a bench; "invented" for a demonstration.
kind = "measured"

# Where the site will stand, once you know it. Printed cards then carry a code that leads there:
# base_url = "https://example.org/pickups/"

# A verdict is "inside" at this probability or more, "outside" at that or less:
# [thresholds]
# inside = 0.95
# outside = 0.05
"""

_EXAMPLE = {
    "instrument_id": "meter-1",
    "name": "bench multimeter on its 20 kΩ range",
    "measures": "resistance",
    "accuracy_percent": "0.5",
    "accuracy_digits": "2",
    "resolution": "10 Ω",
    "remark": "An example: put in what the papers of your own meter promise.",
}

_HOW_TO = """\
HOW TO FILL IN THIS ARCHIVE

Open the .csv files in a spreadsheet and save them as "CSV UTF-8". Leave the first row as it is.
Then check them:     coilbook check
and build the site:  coilbook build

instruments.csv  One row for each kind of quantity that an instrument measures. The row in it is an
                 example: replace its figures with those of your own meter.
                 What the instrument does to a reading may stand beside it, each with its unit:
                 lead_resistance, input_resistance, input_capacitance, sensor_depth.

pieces.csv       One row for each pickup. piece_id is yours to choose (letters, digits, hyphens) and
                 becomes its page's address: do not change it later.
                 family_id is one of the families of the reference, such as full-size-humbucker.
                 state is untouched, repaired, rewound or unknown. potted is yes, no or unknown.
                 publish is yes, or no to keep the piece and its readings to yourself.
                 Years need both ends, and year_basis says what they rest on.

readings.csv     One row for each number that you read. Write the value as you would on paper:
                 7.82k   7,82 kΩ   1 15/16 in   49.2 mm   490 G   open
                 property_id is one of the properties of the reference, such as coil-resistance.
                 component is coil, or coil_a (the coil with the adjustable poles), coil_b and pair.
                 circuit is free (leads unsoldered) or in_circuit. Give the room's temperature:
                 copper changes 0.4 % with every kelvin.
                 equivalent is series (or empty) or parallel, as an inductance bridge was set;
                 standoff and zero are a flux probe's gap from the pole and what it shows far from
                 any magnet. Leave empty what does not apply.

Columns whose name begins with private_ never leave this folder. Add as many as you like, as in
private_owner.

Before you measure: unplug the guitar from everything, and slacken its strings before you lift a
pickup. Solder in moving air, with eye protection, and wash your hands afterwards. Keep strong
magnets away from pickups, pacemakers and your fingers. Leave the inside of anything fed from the
mains to somebody who is trained and, where the law asks for it, licensed. Local rules come first.
"""


def new_archive(folder: Path, title: str | None = None) -> None:
    """Make a new archive that is ready for its first piece.

    Raises :class:`~coilbook.errors.CoilbookError` if ``folder`` exists and is not an empty folder.
    """
    try:
        if folder.exists() and not folder.is_dir():
            raise CoilbookError(f"'{folder}' is a file. Name a folder that does not exist yet.")
        if folder.is_dir() and any(folder.iterdir()):
            raise CoilbookError(f"'{folder}' is not empty. Name an empty folder or one to be made.")
        folder.mkdir(parents=True, exist_ok=True)
        text = _SETTINGS.format(title=json.dumps(title or DEFAULT_TITLE, ensure_ascii=False))
        (folder / SETTINGS_FILE).write_text(text, encoding="utf-8")
        (folder / "HOW-TO.txt").write_text(_HOW_TO, encoding="utf-8")
        _write(folder / "instruments.csv", InstrumentRow, [_EXAMPLE])
        _write(folder / "pieces.csv", PieceRow, [], ("private_owner", "private_note"))
        _write(folder / "readings.csv", ReadingRow, [])
    except OSError as error:
        raise CoilbookError(
            f"'{folder}' cannot be written ({error.strerror}). Name a folder that you may write to."
        ) from error


def _write(
    path: Path, model: type[Row], rows: Iterable[dict[str, str]], more: tuple[str, ...] = ()
) -> None:
    text = io.StringIO()
    writer = csv.DictWriter(text, [*model.model_fields, *more], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    # A spreadsheet takes a file for UTF-8 only if a byte order mark says so.
    path.write_text(text.getvalue(), encoding="utf-8-sig", newline="\n")

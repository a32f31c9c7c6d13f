"""Reading coilbook.toml."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from coilbook.core.written.spelling import did_you_mean
from coilbook.records.reading.rows import tell
from coilbook.records.rules.place import Place
from coilbook.records.tables.models import ArchiveSettings, Thresholds

SETTINGS_FILE = "coilbook.toml"

_WRONG_TYPE = {
    "string_type": ("a text", 'Put it in quotation marks, as in title = "My bench".'),
    "float_type": ("a number", "Write digits without quotation marks, as in 0.95."),
    "model_type": ("a table", "Put its settings on lines of their own below [thresholds]."),
}


def load_settings(folder: Path, at: Place) -> ArchiveSettings | None:
    """Read an archive's settings; note what is wrong and return None if they cannot be used."""
    try:
        text = (folder / SETTINGS_FILE).read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        at.error(
            "settings-missing",
            "",
            "the file is missing, so this folder is not an archive.",
            "Name an archive's folder, or make one with: coilbook new FOLDER",
        )
        return None
    except UnicodeDecodeError:
        at.error("file-not-utf-8", "", "the file is not in UTF-8.", "Save it again in UTF-8.")
        return None
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"at line (\d+)", str(error))
        at.on(int(found[1]) if found else 0).error(
            "settings-not-toml",
            "",
            "the file is not TOML from here on.",
            'Write every setting as title = "My bench", one on a line.',
        )
        return None
    try:
        settings = ArchiveSettings.model_validate(data, strict=True)
    except ValidationError as invalid:
        for details in invalid.errors(include_url=False):
            _tell(details, text, at)
        return None
    limits = settings.thresholds
    if limits.outside >= limits.inside:
        at.on(_line_of("outside", text)).error(
            "thresholds-swapped",
            "thresholds.outside",
            f"{limits.outside:g} is not below inside, which is {limits.inside:g}.",
            "Make outside the smaller of the two.",
        )
        return None
    return settings


def _tell(details: ErrorDetails, text: str, at: Place) -> None:
    names = [str(part) for part in details["loc"]]
    name, column = names[-1], ".".join(names)
    model = Thresholds if len(names) > 1 else ArchiveSettings
    here = at.on(_line_of(name, text))
    if details["type"] == "extra_forbidden":
        here.error(
            "setting-unknown",
            column,
            f"'{name}' is not a setting.",
            f"{did_you_mean(name, model.model_fields)}Correct it or remove the line.",
        )
    elif details["type"] == "missing":
        what = model.model_fields[name].description
        here.error("setting-missing", column, f"the setting {name} is missing.", f"Add it: {what}")
    elif details["type"] == "string_too_short":
        what = model.model_fields[name].description
        here.error("setting-empty", column, f"the setting {name} is empty.", f"Fill it in: {what}")
    elif details["type"] in _WRONG_TYPE:
        wanted, todo = _WRONG_TYPE[details["type"]]
        here.error("setting-of-another-kind", column, f"the setting {name} is not {wanted}.", todo)
    else:
        problem = tell({**details, "loc": (name,)}, model)
        here.error(problem.code, column, problem.what, problem.todo)


def _line_of(name: str, text: str) -> int:
    """Return the line on which a setting stands, or 0 if it has none."""
    pattern = re.compile(rf"\s*\[?['\"]?{re.escape(name)}['\"]?\s*[=\].]")
    lines = enumerate(text.splitlines(), start=1)
    return next((number for number, line in lines if pattern.match(line)), 0)

"""What the commands print with --json, as JSON Schemas (draft 2020-12), a file for each."""

from __future__ import annotations

from pathlib import Path

from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import UnknownId

_FOLDER = Path(__file__).parent / "schemas"


def names() -> list[str]:
    """Return the commands that have one; 'mistake' is what each prints in place of an answer."""
    return sorted(path.stem for path in _FOLDER.glob("*.json"))


def schema_text(name: str) -> str:
    """Return the schema of a command.

    Raises :class:`UnknownId` with the nearest, or with the list.
    """
    if name not in names():
        hint = did_you_mean(name, names()) or f"There are {', '.join(names())}."
        raise UnknownId(f"No schema is called '{name}'. {hint}".strip())
    return (_FOLDER / f"{name}.json").read_text(encoding="utf-8").rstrip()

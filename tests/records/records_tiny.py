"""A tiny reference and a tiny archive, free of problems, and one edit at a time to break them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from coilbook.errors import Problem
from coilbook.records import Loaded, load_archive, load_reference
from coilbook.records.contents import Archive, Reference

_TINY = Path(__file__).parent / "tiny"


def _files(side: str) -> dict[str, str]:
    return {path.name: path.read_text("utf-8") for path in sorted((_TINY / side).iterdir())}


REFERENCE = _files("reference")
ARCHIVE = _files("archive")

#: An edit of a table of cases: set a cell, add a line, replace, or remove a file.
Edit = Sequence[Any]


def edited(files: dict[str, str], edits: Iterable[Edit]) -> dict[str, str]:
    """Return a copy of some files with edits applied.

    ``[file, line, column, text]`` sets a cell; ``[file, "+", text]`` adds a line;
    ``[file, "=", text]`` gives the file another content; ``[file, "~", old, new]`` replaces a text
    that must be there; ``[file, "-"]`` removes the file.
    """
    copy = dict(files)
    for file, where, *rest in edits:
        if where == "-":
            del copy[file]
        elif where == "=":
            copy[file] = rest[0]
        elif where == "+":
            copy[file] += rest[0] + "\n"
        elif where == "~":
            assert rest[0] in copy[file], f"{rest[0]!r} is not in {file}"
            copy[file] = copy[file].replace(rest[0], rest[1])
        else:
            copy[file] = _with_cell(copy[file], where, *rest)
    return copy


def _with_cell(text: str, line: int, column: str, cell: str) -> str:
    rows = list(csv.reader(io.StringIO(text)))
    rows[line - 1][rows[0].index(column)] = cell
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def write(folder: Path, files: dict[str, str]) -> Path:
    """Write files into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


def tiny_reference(folder: Path, edits: Iterable[Edit] = ()) -> Loaded[Reference]:
    """Load the tiny reference, broken by ``edits``."""
    return load_reference(write(folder, edited(REFERENCE, edits)))


def tiny_archive(folder: Path, edits: Iterable[Edit] = ()) -> Loaded[Archive]:
    """Load the tiny archive, broken by ``edits``, against the tiny reference."""
    reference = tiny_reference(folder / "reference").value
    assert reference is not None
    return load_archive(write(folder / "archive", edited(ARCHIVE, edits)), reference)


def told(problems: Iterable[Problem]) -> list[str]:
    """Return problems as lines, each with its severity in front."""
    return [f"{problem.severity} {problem}" for problem in problems]

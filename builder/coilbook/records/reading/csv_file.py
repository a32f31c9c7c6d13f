"""Reading one CSV file into rows of text, private columns cut away.

Cells are text and stay text. A file that is not CSV in UTF-8 is refused in one sentence. What
stands in a column whose name starts with ``private_`` never leaves :func:`read_table`, not even in
a problem.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from coilbook.errors import Problem
from coilbook.records.reading.mend import Faults, Joined, column_meant, filled_up, rejoin

PRIVATE = "private_"
_SAVE_AGAIN = "Save it again as CSV in UTF-8."


@dataclass(frozen=True, slots=True)
class RawRow:
    """A row's cells by column; ``line`` is the physical line that it starts on."""

    line: int
    cells: dict[str, str]


@dataclass(slots=True)
class RawTable:
    """A file as read. ``readable`` is False where its rows could not be told apart at all.

    ``misshapen`` holds the first cell of every row that was refused for its number of cells, so
    that a reference to it is not called unknown as well; it is never shown.
    """

    file: str
    rows: list[RawRow] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    decimal_comma: bool = False
    readable: bool = True
    missing: frozenset[str] = frozenset()
    misshapen: set[str] = field(default_factory=set)

    def refuse(self, code: str, what: str, todo: str, line: int = 0, column: str = "") -> None:
        """Note one error of this file."""
        self.problems.append(Problem(self.file, line, column, what, todo, "error", code))


def read_table(
    path: Path,
    columns: Collection[str],
    needed: Collection[str],
    faults: Faults | None = None,
) -> RawTable:
    """Read a CSV file that may have ``columns`` and must have those in ``needed``.

    ``faults`` counts what would be wrong with a row, so that one with a cell too many or too few
    can be read on as it was most likely meant; its error is told all the same.
    """
    table = RawTable(path.name)
    text = decode(path, table)
    if text is None:
        table.readable = False
        return table
    lines = split_rows(text, table)
    if not lines:
        if not table.problems:
            table.refuse(
                "file-empty", "the file is empty.", f"Give it a header row: {','.join(columns)}"
            )
        table.readable = False
        return table
    (_, header), *body = lines
    places = read_header(header, columns, needed, table)
    if places is None:
        table.readable = False
        return table
    nameless = [place for place, name in enumerate(header) if not name.strip()]
    for line, cells in body:
        read_row(line, cells, len(header), places, table, faults)
        filled = [place for place in nameless if place < len(cells) and cells[place].strip()]
        if filled:
            table.refuse(
                "column-without-a-name",
                f"a cell is filled in, and its column (number {filled[0] + 1}) has no name.",
                "Name the column in the header row, or empty the cell.",
                line,
            )
    return table


def decode(path: Path, table: RawTable) -> str | None:
    """Return a file's text, or None and a problem of the table."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        table.refuse(
            "file-missing", "the file is missing.", "Put it back, with its header row at the least."
        )
        return None
    except OSError as error:
        table.refuse(
            "file-not-opened",
            f"the file cannot be opened ({error.strerror}).",
            "Check that it may be read.",
        )
        return None
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        table.refuse("file-utf-16", "the file is in UTF-16.", _SAVE_AGAIN)
        return data.decode("utf-16", errors="replace")
    if data.startswith(b"PK\x03\x04"):
        table.refuse(
            "file-spreadsheet",
            "the file is a spreadsheet with the name of a CSV file.",
            _SAVE_AGAIN,
        )
        return None
    if b"\x00" in data:
        table.refuse(
            "file-nul-bytes", "the file holds NUL bytes, so it is not plain text.", _SAVE_AGAIN
        )
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        table.refuse(
            "file-not-utf-8", "the file is not in UTF-8 from this line on.", _SAVE_AGAIN, line
        )
        # What a spreadsheet writes unless it is told otherwise, so that the rest is told as well.
        return data.decode("cp1252", errors="replace")


def split_rows(text: str, table: RawTable) -> list[tuple[int, list[str]]]:
    """Return the rows that are not blank, each with its physical line."""
    first = text.lstrip("\r\n").split("\n", 1)[0]
    counts = {mark: first.count(mark) for mark in ",;\t"}
    delimiter = ";" if counts[";"] > counts[","] else ","
    if counts["\t"] and not counts[","] and not counts[";"]:
        table.refuse(
            "file-tabs", "the columns are split by tabs.", "Split them by commas or semicolons.", 1
        )
        delimiter = "\t"
    table.decimal_comma = delimiter == ";"
    physical = list(io.StringIO(text, newline=""))
    lines: list[tuple[int, list[str]]] = []
    start = 0
    while start < len(physical):
        # Strict: a quotation mark that is never closed would swallow the rest of the file.
        reader = csv.reader(islice(physical, start, None), delimiter=delimiter, strict=True)
        before = 0
        try:
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    lines.append((start + before + 1, cells))
                before = reader.line_num
            break
        except csv.Error:
            table.refuse(
                "quotation-marks",
                "the quotation marks do not pair up in the row that starts here.",
                "Close every mark that opens a cell, and double every mark inside such a cell.",
                start + before + 1,
            )
            table.misshapen.add(physical[start + before].split(delimiter)[0].strip(' "'))
            start += before + 1
    return lines


def read_header(
    header: list[str], columns: Collection[str], needed: Collection[str], table: RawTable
) -> dict[int, str] | None:
    """Return the place of every known column; None if no row could be read with this header."""
    places: dict[int, str] = {}
    names = [cell.strip() for cell in header]
    if not any(name in columns for name in names):
        # The row may hold a customer's name rather than columns' names: it is not repeated.
        table.refuse(
            "header-missing",
            "the first row names no column of this table.",
            f"Make it the header row: {','.join(columns)}",
            1,
        )
        return None
    for place, name in enumerate(names):
        if name.casefold().startswith(PRIVATE) or not name:
            continue
        if name not in columns:
            open_ones = [column for column in columns if column not in names]
            meant = column_meant(name, [c for c in open_ones if c not in places.values()])
            if meant is not None:
                places[place] = meant
                table.refuse(
                    "column-renamed",
                    f"'{name}' is not a column of this table, and {meant} is not here.",
                    f"Write {meant} if that is what it holds; else remove it, or begin it with "
                    f"{PRIVATE} to keep it to yourself.",
                    1,
                    name,
                )
                continue
            table.refuse(
                "column-unknown",
                f"'{name}' is not a column of this table.",
                f"Correct it, remove it, or begin it with {PRIVATE} to keep it to yourself.",
                1,
                name,
            )
        elif name in places.values():
            table.refuse(
                "column-twice",
                f"the column {name} stands here twice.",
                "Remove one of the two.",
                1,
                name,
            )
        else:
            places[place] = name
    table.missing = frozenset(needed) - frozenset(places.values())
    for column in sorted(table.missing):
        table.refuse(
            "column-missing",
            f"the column {column} is missing.",
            "Add it to the header row.",
            1,
            column,
        )
    return places


def read_row(
    line: int,
    cells: list[str],
    width: int,
    places: dict[int, str],
    table: RawTable,
    faults: Faults | None = None,
) -> None:
    """Add one row's named cells to the table; one with a cell too many or too few has its error."""
    whole = list(cells)
    while len(cells) > width and not cells[-1].strip():
        cells.pop()

    def named(made: list[str]) -> dict[str, str]:
        return {name: made[place] for place, name in places.items()}

    def wrong_with(made: list[str]) -> int:
        return faults(named(made)) if faults is not None else 0

    if faults is not None and not table.decimal_comma and len(whole) > width:
        # Empty cells at the end hide that a comma has parted one further in front.
        fits = len(cells) == width
        at_most = wrong_with(cells) if fits else None
        joined = rejoin(whole, width, wrong_with) if at_most != 0 else None
        better = joined is not None and (at_most is None or wrong_with(joined.cells) < at_most)
        if joined is not None and better and (joined.decimal or not fits):
            _tell_joined(joined, line, places, table)
            table.rows.append(RawRow(line, named(joined.cells)))
            return
    if len(cells) == width:
        table.rows.append(RawRow(line, named(cells)))
        return
    mark = "semicolon" if table.decimal_comma else "comma"
    todo = (
        f"Look for a {mark} too few."
        if len(cells) < width
        else f"Look for a {mark} too many, or put the cell that holds one in quotation marks."
    )
    noun = "cell" if len(cells) == 1 else "cells"
    table.refuse(
        "row-misshapen", f"the row has {len(cells)} {noun}, the header row {width}.", todo, line
    )
    # Its first cell is most likely its id, if that is where the header has it.
    if 0 in places:
        table.misshapen.add(cells[0].strip())
    if faults is not None and len(cells) < width:
        made = filled_up(cells, width, wrong_with)
        if wrong_with(made) == 0:
            table.rows.append(RawRow(line, named(made)))


def _tell_joined(joined: Joined, line: int, places: Mapping[int, str], table: RawTable) -> None:
    """Tell each comma that has parted a cell; what stands in a private one is not repeated."""
    for place in joined.at:
        column = places.get(place)
        cell = joined.cells[place].strip()
        if joined.decimal and column is not None:
            table.refuse(
                "comma-not-quoted",
                f"the comma in '{cell}' parts the cell in two.",
                f"Write {cell.replace(',', '.')}, or put the cell in quotation marks.",
                line,
                column,
            )
        else:
            table.refuse(
                "comma-in-a-text",
                "a comma parts this cell in two." if column else "a comma parts a cell in two.",
                "Put the cell in quotation marks.",
                line,
                column or "",
            )

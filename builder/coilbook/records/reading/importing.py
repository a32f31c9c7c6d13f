"""Taking a file of new pieces and readings into an archive: the whole of it, or nothing.

Such a file is CSV in UTF-8 with one or two blocks, each under its own header row: one in columns of
``pieces.csv``, one in columns of ``readings.csv``. The archive as it would become is loaded from a
copy first; only if it holds no error are the rows written behind those of the archive's own files.
"""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from coilbook.core.written.grammar import EITHER, fold
from coilbook.errors import CoilbookError, Problem, RecordsInvalid
from coilbook.records.contents import Reference
from coilbook.records.reading.archive import load_archive
from coilbook.records.reading.csv_file import (
    PRIVATE,
    RawRow,
    RawTable,
    decode,
    read_header,
    read_row,
    split_rows,
)
from coilbook.records.reading.rows import load_table
from coilbook.records.tables.cells import Row
from coilbook.records.tables.models import ARCHIVE_TABLES, PieceRow, ReadingRow
from coilbook.records.tables.settings import SETTINGS_FILE

_MODELS: dict[str, type[Row]] = {"pieces.csv": PieceRow, "readings.csv": ReadingRow}
#: The two columns by which a block's header row is known.
_SIGNS = {"pieces.csv": {"piece_id", "family_id"}, "readings.csv": {"piece_id", "property_id"}}
#: Columns of readings.csv whose cells are numbers as somebody wrote them.
_WRITTEN = frozenset(
    {
        "value",
        "temperature",
        "temperature_uncertainty",
        "parallel",
        "parallel_tolerance",
        "test_frequency",
        "standoff",
        "zero",
    }
)
_NUMBER = re.compile(r"[<>≤≥+-]* ?(?P<number>\d+[.,]\d+)(?![\d.,])")
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Imported:
    """How many rows were taken, and what is doubtful about them."""

    pieces: int
    readings: int
    doubts: tuple[Problem, ...]


@dataclass(slots=True)
class _Target:
    """One of the archive's files as it stands, and how rows must be written to suit it."""

    path: Path
    old: bytes
    text: str
    columns: list[str]
    delimiter: str
    rows: list[RawRow] = field(default_factory=list)

    @property
    def decimal_comma(self) -> bool:
        return self.delimiter == ";"

    @property
    def newline(self) -> str:
        return "\r\n" if "\r\n" in self.text else "\n"

    def new(self) -> tuple[bytes, dict[int, int]]:
        """Return the file with its new rows, and the imported file's line for each new line."""
        bom = _BOM if self.old.startswith(_BOM) else b""
        text = self.text
        if self.rows and not text.endswith(("\n", "\r")):
            text += self.newline
        lines: dict[int, int] = {}
        for row in self.rows:
            lines[sum(1 for _ in io.StringIO(text, newline="")) + 1] = row.line
            text += self._written(row)
        return bom + text.encode("utf-8"), lines

    def _written(self, row: RawRow) -> str:
        out = io.StringIO()
        writer = csv.writer(out, delimiter=self.delimiter, lineterminator=self.newline)
        writer.writerow([row.cells.get(name, "") for name in self.columns])
        return out.getvalue()


def import_file(file: Path, folder: Path, reference: Reference) -> Imported:
    """Append the pieces and readings of ``file`` to the archive in ``folder``.

    The archive's files keep their columns, delimiter, private columns, line ends and byte order
    mark, and their old rows to the byte.

    Raises: :class:`RecordsInvalid` with every problem at once, places of ``file`` where they lie in
    it; :class:`CoilbookError` if the files cannot be written. In both cases nothing was changed.
    """
    blocks, decimal_comma, problems = _blocks(file)
    targets: dict[str, _Target] = {}
    for name in _MODELS:
        target = _target(folder / name, problems)
        if target is not None:
            targets[name] = target
    if any(p.file != file.name for p in problems):
        raise RecordsInvalid(problems)
    for name, target in targets.items():
        problems += _unplaced(file.name, blocks[name], target)
        target.rows = list(blocks[name])
    counts = {name: len(rows) for name, rows in blocks.items()}
    with tempfile.TemporaryDirectory(prefix="coilbook-import-") as scratch:
        copy = Path(scratch)
        for path in folder.iterdir():
            if path.name in ARCHIVE_TABLES or path.name == SETTINGS_FILE:
                shutil.copyfile(path, copy / path.name)
        problems += _already_there(file.name, copy, targets)
        loaded = load_archive(copy, reference)
    places = {name: target.new()[1] for name, target in targets.items()}
    for problem in loaded.problems:
        line = places.get(problem.file, {}).get(problem.line)
        if line is not None:
            problems.append(replace(problem, file=file.name, line=line))
        elif problem.severity == "error":
            problems.append(problem)
    told = {(problem.line, problem.column) for problem in problems if problem.file == file.name}
    for name, target in targets.items():
        if target.decimal_comma != decimal_comma:
            changed = _read_otherwise(file.name, blocks[name])
            problems += [p for p in changed if (p.line, p.column) not in told]
    if any(problem.severity == "error" for problem in problems):
        raise RecordsInvalid(problems)
    _replace_all((t.path, t.old, t.new()[0]) for t in targets.values() if t.rows)
    return Imported(counts["pieces.csv"], counts["readings.csv"], tuple(sorted(problems)))


def _blocks(file: Path) -> tuple[dict[str, list[RawRow]], bool, list[Problem]]:
    """Return the rows to take, by the file that they are for, and what is wrong with them.

    Beside them stands whether the file writes decimals with a comma.
    """
    blocks: dict[str, list[RawRow]] = {name: [] for name in _MODELS}
    whole = RawTable(file.name)
    if not file.exists():
        whole.refuse(
            "file-missing",
            "the file is missing.",
            "Name the file that the page saved, with its folder.",
        )
        return blocks, False, whole.problems
    text = decode(file, whole)
    lines = [] if text is None else split_rows(text, whole)
    problems = whole.problems
    table: RawTable | None = None
    places: dict[int, str] | None = None
    width = 0
    met: set[str] = set()
    for line, cells in lines:
        kind = next((k for k, signs in _SIGNS.items() if signs <= {c.strip() for c in cells}), None)
        if kind is not None:
            table, places = _block(kind, line, cells, whole, again=kind in met)
            width = len(cells)
            met.add(kind)
            table.rows = blocks[kind]
        elif table is None:
            whole.refuse(
                "import-header-missing",
                "the first row is no header row of pieces or readings.",
                "Begin it with a header row that has piece_id and family_id, or piece_id and "
                "property_id.",
                line,
            )
            break
        elif places is not None:
            read_row(line, cells, width, places, table)
    if not problems and not any(blocks.values()):
        whole.refuse(
            "import-empty",
            "the file holds no piece and no reading.",
            "Save it from the page again.",
        )
    return blocks, whole.decimal_comma, problems


def _block(
    kind: str, line: int, cells: list[str], whole: RawTable, *, again: bool
) -> tuple[RawTable, dict[int, str] | None]:
    """Read a block's header row; return the table for its rows, and the places of its columns."""
    while not cells[-1].strip():
        cells.pop()  # a spreadsheet fills the narrower block up to the other's width
    if again:
        whole.refuse(
            "import-header-twice",
            f"a second header row for {kind}.",
            "Put its rows under the first one.",
            line,
        )
    table = RawTable(whole.file)
    places = read_header(cells, list(_MODELS[kind].model_fields), (), table)
    table.problems[:] = [replace(p, line=line) for p in table.problems]
    for name in (c.strip() for c in cells):
        if name.casefold().startswith(PRIVATE):
            table.refuse(
                "import-private-column",
                "a private column is not taken in.",
                "Remove it.",
                line,
                name,
            )
    whole.problems += table.problems
    table.problems = whole.problems
    return table, places


def _target(path: Path, problems: list[Problem]) -> _Target | None:
    """Read one of the archive's own files as it stands."""
    table = RawTable(path.name)
    text = decode(path, table)
    rows = [] if text is None else split_rows(text, table)
    problems += table.problems
    if text is None or table.problems:
        return None
    if not rows:
        problems.append(
            Problem(
                path.name,
                0,
                "",
                "the file is empty.",
                "Give it its header row first.",
                "error",
                "file-empty",
            )
        )
        return None
    names = [cell.strip() for cell in rows[0][1]]
    delimiter = ";" if table.decimal_comma else ","
    return _Target(path, path.read_bytes(), text, names, delimiter)


def _unplaced(file: str, rows: Iterable[RawRow], target: _Target) -> Iterator[Problem]:
    """Tell each filled cell for which the archive's file has no column."""
    for row in rows:
        for column, cell in row.cells.items():
            if cell.strip() and column not in target.columns:
                yield Problem(
                    file,
                    row.line,
                    column,
                    f"the archive's {target.path.name} has no column {column}.",
                    "Add it to the header row there, or empty the cell.",
                    "error",
                    "import-column-missing",
                )


def _read_otherwise(file: str, rows: Iterable[RawRow]) -> Iterator[Problem]:
    """Tell each number whose one mark would change its meaning on the way into the archive.

    A file in commas writes decimals with a point, one in semicolons with a comma; ``1,234`` is
    thousands in the one and a decimal in the other, and could mean either once it is copied.
    """
    for row in rows:
        for column, cell in row.cells.items():
            written = _NUMBER.match(fold(cell)) if column in _WRITTEN else None
            if written is not None and EITHER.match(written["number"]):
                whole, mark, rest = re.split("([.,])", written["number"])
                yield Problem(
                    file,
                    row.line,
                    column,
                    f"'{written['number']}' could mean {whole}{rest} or {whole}{mark}{rest}0: this "
                    "file and the archive do not write decimals with the same mark.",
                    f"Write {whole}{rest}, or {whole}{mark}{rest}0 with one digit more.",
                    "error",
                    "import-mark-ambiguous",
                )


def _already_there(file: str, copy: Path, targets: dict[str, _Target]) -> list[Problem]:
    """Write the would-be files; tell what stands in the archive, or here, already.

    Rows that are told are left out of the would-be files, so that they are told once.
    """
    problems = []
    for name, target in targets.items():
        data, lines = target.new()
        (copy / name).write_bytes(data)
        seen: dict[tuple[str, ...], int] = {}
        twice = set()
        for numbered in load_table(copy / name, _MODELS[name]).rows:
            row = numbered.row
            key = tuple(str(getattr(row, column)).casefold() for column in row.key)
            first = seen.setdefault(key, numbered.line)
            if first == numbered.line or numbered.line not in lines:
                continue
            where = f"line {lines[first]} of this file" if first in lines else f"{name}:{first}"
            what = (
                f"'{getattr(row, row.key[0])}' is there already, in {where}."
                if len(row.key) == 1
                else f"this reading is there already, in {where}: same {', '.join(row.key)}."
            )
            todo = "Remove the row, or correct what tells the two apart."
            line = lines[numbered.line]
            problems.append(
                Problem(file, line, row.key[0], what, todo, "error", "import-there-already")
            )
            twice.add(line)
        target.rows = [row for row in target.rows if row.line not in twice]
        (copy / name).write_bytes(target.new()[0])
    return problems


def _replace_all(files: Iterable[tuple[Path, bytes, bytes]]) -> None:
    """Put every file's new content in its place, or leave all of them as they were."""
    staged: list[tuple[Path, Path, bytes]] = []
    done: list[tuple[Path, bytes]] = []
    try:
        for path, old, new in files:
            real = path.resolve()  # so that a link stays a link
            fresh = real.with_name(f".{real.name}.import-{os.getpid()}")
            staged.append((fresh, real, old))
            with fresh.open("wb") as out:
                out.write(new)
                out.flush()
                os.fsync(out.fileno())
            shutil.copymode(real, fresh)
        for _, real, old in staged:
            if real.read_bytes() != old:
                raise CoilbookError(
                    f"'{real.name}' was changed by something else meanwhile. Run it again."
                )
        for fresh, real, old in staged:
            fresh.replace(real)
            done.append((real, old))
    except (OSError, CoilbookError) as error:
        for real, old in done:
            real.write_bytes(old)
        if isinstance(error, CoilbookError):
            raise
        raise CoilbookError(
            f"Nothing was imported: '{error.filename}' cannot be written ({error.strerror}). "
            "Close whatever has it open, and run it again."
        ) from error
    finally:
        for fresh, _, _ in staged:
            fresh.unlink(missing_ok=True)

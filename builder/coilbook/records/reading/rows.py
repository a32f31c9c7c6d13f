"""From rows of text to validated rows, with pydantic's complaints put into our own sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Generic, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from coilbook.core.written.spelling import did_you_mean, nearest
from coilbook.errors import Problem
from coilbook.records.reading.csv_file import RawTable, read_table
from coilbook.records.tables.cells import Row, RowError

R = TypeVar("R", bound=Row)
R_co = TypeVar("R_co", bound=Row, covariant=True)


@dataclass(frozen=True, slots=True)
class Numbered(Generic[R_co]):
    """A validated row and the line it starts on."""

    line: int
    row: R_co


@dataclass(slots=True)
class Table(Generic[R]):
    """A table's valid rows, and every id that stands in it, those of invalid rows included.

    ``ids`` is None where the file could not be read: then no reference to it can be called unknown.
    ``guessed`` names, by line, the faulty cells for which something was put in their place, so that
    the rest of the row could be looked at in the same run; what is said of them counts for nothing.
    """

    file: str
    rows: list[Numbered[R]]
    ids: frozenset[str] | None
    decimal_comma: bool
    problems: list[Problem]
    guessed: dict[int, frozenset[str]] = field(default_factory=dict)

    @property
    def sound(self) -> list[Numbered[R]]:
        """The rows with no fault of their own: other rows are held against these alone."""
        return [numbered for numbered in self.rows if numbered.line not in self.guessed]

    def by_id(self) -> dict[str, R]:
        """Return the sound rows by their id, in the order of the file."""
        return {str(getattr(n.row, n.row.key[0])): n.row for n in self.sound}


def load_table(path: Path, model: type[R], *, optional: bool = False) -> Table[R]:
    """Read and validate a file; an ``optional`` one may be missing."""
    if optional and not path.exists():
        return Table(path.name, [], frozenset(), False, [])
    fields = model.model_fields
    needed = [name for name, info in fields.items() if info.is_required()]
    raw = read_table(path, list(fields), needed)
    rows: list[Numbered[R]] = []
    guessed: dict[int, frozenset[str]] = {}
    problems = raw.problems
    numbers = _number_columns(model) if raw.decimal_comma else ()
    for raw_row in raw.rows:
        cells = raw_row.cells
        for column in numbers:
            if column in cells and "." not in cells[column]:
                cells[column] = cells[column].replace(",", ".", 1)
        row, told = _validated(cells, model, raw, raw_row.line)
        if row is None:
            faulty = frozenset(problem.column for problem in told)
            mended = with_guesses(cells, faulty, model)
            row, more = _validated(mended, model, raw, raw_row.line)
            told += [problem for problem in more if problem.column not in faulty]
        if row is not None:
            rows.append(Numbered(raw_row.line, row))
        if told:
            guessed[raw_row.line] = frozenset(problem.column for problem in told)
        problems += told
    ids = None
    if raw.readable and model.key[0] not in raw.missing:
        ids = frozenset(row.cells[model.key[0]].strip() for row in raw.rows) | raw.misshapen
    return Table(path.name, rows, ids, raw.decimal_comma, problems, guessed)


def _validated(
    cells: Mapping[str, str], model: type[R], raw: RawTable, line: int
) -> tuple[R | None, list[Problem]]:
    """Return a row, unless a cell of it cannot be read, and what is wrong with it all the same."""
    faults: list[RowError] = []
    try:
        row = model.model_validate(cells, context=faults)
    except ValidationError as error:
        return None, _told(error, model, raw, line)
    return row, [Problem(raw.file, line, f.column, f.what, f.todo) for f in faults]


def with_guesses(
    cells: Mapping[str, str], faulty: frozenset[str], model: type[Row]
) -> dict[str, str]:
    """Return cells with each faulty one emptied, or set to the word that was probably meant."""
    guesses = {
        column: nearest(cells.get(column, ""), literal_words(model, column)) or ""
        for column in faulty
    }
    return {**cells, **guesses}


def _told(error: ValidationError, model: type[Row], raw: RawTable, line: int) -> list[Problem]:
    problems = []
    for details in error.errors(include_url=False):
        if details["loc"] and details["loc"][0] in raw.missing:
            continue  # said once, of the header row
        column, what, todo = tell(details, model)
        problems.append(Problem(raw.file, line, column, what, todo))
    return problems


def tell(details: ErrorDetails, model: type[BaseModel]) -> tuple[str, str, str]:
    """Return the column, what is wrong and what to do, for one of pydantic's complaints."""
    column = str(details["loc"][0]) if details["loc"] else ""
    given = details["input"]
    context: Mapping[str, Any] = details.get("ctx", {})
    cause = context.get("error")
    if isinstance(cause, RowError):
        return cause.column or column, cause.what, cause.todo
    if given is None or details["type"] == "missing":
        return column, "the cell is empty.", f"What belongs here: {describe(model, column)}"
    if details["type"] == "literal_error":
        words = literal_words(model, column)
        return (
            column,
            f"'{given}' is not one of the words for {column}.",
            f"{did_you_mean(str(given), words)}Write one of: {', '.join(words)}.",
        )
    if details["type"] in _LIMITS:
        limit = context[_LIMITS[details["type"]][0]]
        return column, *_beyond(details["type"], given, limit)
    if details["type"] == "finite_number":
        return column, f"'{given}' is not a plain number.", "Write digits, as in 0.0635."
    return column, f"'{given}' cannot be read.", f"What belongs here: {describe(model, column)}"


_LIMITS = {
    "greater_than": ("gt", "must be above"),
    "greater_than_equal": ("ge", "must not be below"),
    "less_than": ("lt", "must be below"),
    "less_than_equal": ("le", "must not be above"),
}


def _beyond(kind: str, given: object, limit: float) -> tuple[str, str]:
    return f"{given} is out of bounds: it {_LIMITS[kind][1]} {limit:g}.", "Correct the number."


def describe(model: type[BaseModel], column: str) -> str:
    """Return the column's one-line description."""
    return str(model.model_fields[column].description)


@cache
def literal_words(model: type[BaseModel], column: str) -> tuple[str, ...]:
    """Return the words that a column may hold, or none where it is free."""
    words: list[str] = []
    _collect_words(model.model_fields[column].annotation, words)
    return tuple(words)


def _collect_words(annotation: object, words: list[str]) -> None:
    for argument in get_args(annotation):
        if isinstance(argument, str | int) and not isinstance(argument, bool):
            words.append(str(argument))
        elif argument is not type(None):
            _collect_words(argument, words)


@cache
def _number_columns(model: type[Row]) -> tuple[str, ...]:
    """Return the columns of plain numbers, which a semicolon file writes with a comma."""
    return tuple(n for n, info in model.model_fields.items() if _is_number(info.annotation))


def _is_number(annotation: object) -> bool:
    return annotation is float or any(_is_number(a) for a in get_args(annotation))

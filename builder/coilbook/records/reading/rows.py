"""From rows of text to validated rows, with pydantic's complaints put into our own sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Generic, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import Problem
from coilbook.records.reading.csv_file import RawTable, read_table
from coilbook.records.reading.mend import Shifted, move_back, required, with_guesses
from coilbook.records.tables.cells import Row, RowError, literal_words, slug

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
    numbers: tuple[str, ...] = ()

    def faults(cells: Mapping[str, str]) -> int:
        """Count what is wrong with a row's cells; a column that is missing is told elsewhere."""
        found: list[RowError] = []
        try:
            model.model_validate(dict(cells), context=found)
        except ValidationError as error:
            wrong = (details["loc"][:1] for details in error.errors(include_url=False))
            return sum(not where or where[0] in cells for where in wrong)
        return len(found)

    raw = read_table(path, list(model.model_fields), required(model), faults)
    rows: list[Numbered[R]] = []
    guessed: dict[int, frozenset[str]] = {}
    problems = raw.problems
    if raw.decimal_comma:
        numbers = _number_columns(model)
    for raw_row in raw.rows:
        cells = raw_row.cells
        for column in numbers:
            if column in cells and "." not in cells[column]:
                cells[column] = cells[column].replace(",", ".", 1)
        row, told = _validated(cells, model, raw, raw_row.line)
        if len(told) > 1:
            back = move_back(cells, frozenset(p.column for p in told), model, faults)
            if back is not None:
                cells = back.cells
                row, _ = _validated(cells, model, raw, raw_row.line)
                problems.append(_shifted(raw, raw_row.line, back))
                told = []
        faulty = frozenset(problem.column for problem in told) | raw.missing
        if row is None:
            mended = with_guesses(cells, faulty, model)
            row, more = _validated(mended, model, raw, raw_row.line)
            told += [problem for problem in more if problem.column not in faulty]
        if row is not None:
            rows.append(Numbered(raw_row.line, row))
        if told or raw.missing:
            guessed[raw_row.line] = frozenset(p.column for p in told) | raw.missing
        problems += told
    ids = None
    if raw.readable and model.key[0] not in raw.missing:
        written = {row.cells[model.key[0]].strip() for row in raw.rows}
        # Under the id that a faulty one is to become, it is not called unknown as well.
        ids = frozenset(written | {slug(one) for one in written} | raw.misshapen)
    return Table(path.name, rows, ids, raw.decimal_comma, problems, guessed)


def _shifted(raw: RawTable, line: int, back: Shifted) -> Problem:
    side = "right" if back.to_the_right else "left"
    todo = (
        "Take out the empty cell in front of it."
        if back.to_the_right
        else "Put an empty cell in front of it."
    )
    return Problem(
        raw.file, line, back.first,
        f"from here on the row stands a column too far to the {side}.",
        todo, "error", "row-shifted",
    )  # fmt: skip


def _validated(
    cells: Mapping[str, str], model: type[R], raw: RawTable, line: int
) -> tuple[R | None, list[Problem]]:
    """Return a row, unless a cell of it cannot be read, and what is wrong with it all the same."""
    faults: list[RowError] = []
    try:
        row = model.model_validate(cells, context=faults)
    except ValidationError as error:
        return None, _told(error, model, raw, line)
    return row, [Problem(raw.file, line, f.column, f.what, f.todo, "error", f.code) for f in faults]


def _told(error: ValidationError, model: type[Row], raw: RawTable, line: int) -> list[Problem]:
    problems = []
    for details in error.errors(include_url=False):
        if details["loc"] and details["loc"][0] in raw.missing:
            continue  # said once, of the header row
        problems.append(tell(details, model, raw.file, line))
    return problems


def tell(details: ErrorDetails, model: type[BaseModel], file: str = "", line: int = 0) -> Problem:
    """Return the problem that one of pydantic's complaints is, in our own words."""
    column = str(details["loc"][0]) if details["loc"] else ""
    code, told, what, todo = _in_words(details, model, column)
    return Problem(file, line, told, what, todo, "error", code)


def _in_words(
    details: ErrorDetails, model: type[BaseModel], column: str
) -> tuple[str, str, str, str]:
    """Return code, column, what is wrong and what to do."""
    given = details["input"]
    context: Mapping[str, Any] = details.get("ctx", {})
    cause = context.get("error")
    words = literal_words(model, column) if column else ()
    if isinstance(cause, RowError):
        return cause.code, cause.column or column, cause.what, cause.todo
    if given is None or details["type"] == "missing":
        return "cell-empty", column, "the cell is empty.", belongs(model, column)
    if details["type"] == "literal_error":
        return (
            "word-not-allowed",
            column,
            f"'{given}' is not one of the words for {column}.",
            f"{did_you_mean(str(given), words)}Write one of: {', '.join(words)}.",
        )
    if details["type"] in _LIMITS:
        limit = context[_LIMITS[details["type"]][0]]
        return "number-out-of-bounds", column, *_beyond(details["type"], given, limit)
    if details["type"] == "finite_number":
        what, todo = f"'{given}' is not a plain number.", "Write digits, as in 0.0635."
        return "not-a-plain-number", column, what, todo
    return "cell-unreadable", column, f"'{given}' cannot be read.", belongs(model, column)


def belongs(model: type[BaseModel], column: str) -> str:
    """Say what an empty or unreadable cell is to hold, with the words where it takes a few."""
    words = literal_words(model, column) or (("yes", "no") if _is_yes_no(model, column) else ())
    meaning = describe(model, column)
    if not words:
        return f"What belongs here: {meaning}"
    known = [word for word in words if word != "unknown"]
    choice = f"{', '.join(known[:-1])} or {known[-1]}" if len(known) > 1 else known[0]
    if "unknown" in words:
        choice += ", or unknown if you do not know"
    return f"Write {choice}. ({meaning})"


@cache
def _is_yes_no(model: type[BaseModel], column: str) -> bool:
    return model.model_fields[column].annotation is bool


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
def _number_columns(model: type[Row]) -> tuple[str, ...]:
    """Return the columns of plain numbers, which a semicolon file writes with a comma."""
    return tuple(n for n, info in model.model_fields.items() if _is_number(info.annotation))


def _is_number(annotation: object) -> bool:
    return annotation is float or any(_is_number(a) for a in get_args(annotation))

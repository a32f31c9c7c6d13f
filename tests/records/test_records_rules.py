"""Every rule of every model and every rule between tables: one broken copy, and what it earns."""

from __future__ import annotations

import ast
import csv
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import messages_report
import pytest
from records_tiny import ARCHIVE, REFERENCE, tiny_archive, tiny_reference, told
from test_records_files import BYTES, REFUSED_FILES

import coilbook
import coilbook.records
from coilbook.errors import Problem
from coilbook.records.tables.cells import Row, literal_words
from coilbook.records.tables.messages import MESSAGES_FILE
from coilbook.records.tables.models import ARCHIVE_TABLES, REFERENCE_TABLES, Source
from coilbook.resources import dataset_dir

HERE = Path(__file__).parent
LONG = "9" * 4400  # more digits than Python will turn into a whole number
CASES: list[dict[str, Any]] = tomllib.loads((HERE / "rule_cases.toml").read_text("utf-8"))["case"]


#: What the broken copies earned, by the case's name: each is loaded once.
EARNED: dict[str, tuple[Problem, ...]] = {}


def _problems(case: dict[str, Any], folder: Path) -> tuple[Problem, ...]:
    if case["name"] not in EARNED:
        EARNED[case["name"]] = _loaded(case, folder)
    return EARNED[case["name"]]


def _loaded(case: dict[str, Any], folder: Path) -> tuple[Problem, ...]:
    edits = [
        [p.replace("{long}", LONG) if isinstance(p, str) else p for p in e] for e in case["edits"]
    ]
    load = tiny_reference if case["side"] == "reference" else tiny_archive
    loaded = load(folder, edits)
    has_error = any(problem.severity == "error" for problem in loaded.problems)
    assert (loaded.value is None) == has_error
    return loaded.problems


def test_the_tiny_reference_and_archive_are_clean(tmp_path: Path) -> None:
    """What the cases break is whole before they do."""
    assert told(tiny_reference(tmp_path / "reference").problems) == []
    assert told(tiny_archive(tmp_path / "archive").problems) == []


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_each_slip_earns_its_exact_message(case: dict[str, Any], tmp_path: Path) -> None:
    """One edit of a clean copy earns these messages, all of them and no other."""
    expected = [line.replace("{long}", LONG) for line in case["expected"]]
    assert told(_problems(case, tmp_path)) == expected


def _columns() -> Iterator[tuple[str, str, type[Row], str]]:
    for side, tables in (("reference", REFERENCE_TABLES), ("archive", ARCHIVE_TABLES)):
        for file, model in tables.items():
            for column in model.model_fields:
                yield side, file, model, column


def _edited_cell(side: str, file: str, column: str, cell: str, folder: Path) -> list[str]:
    load = tiny_reference if side == "reference" else tiny_archive
    problems = load(folder, [[file, 2, column, cell]]).problems
    return [line for line in told(problems) if line.startswith(f"error {file}:2 {column}:")]


NEEDED = [
    pytest.param(side, file, model, column, id=f"{side}-{file}-{column}")
    for side, file, model, column in _columns()
    if model.model_fields[column].is_required() and column != "positions"
]
WORDS = [
    pytest.param(side, file, model, column, id=f"{side}-{file}-{column}")
    for side, file, model, column in _columns()
    if literal_words(model, column)
]


@pytest.mark.parametrize(("side", "file", "model", "column"), NEEDED)
def test_each_needed_cell_must_be_filled_in(
    side: str, file: str, model: type[Row], column: str, tmp_path: Path
) -> None:
    """An empty needed cell is told at its place, with what belongs there and every word for it."""
    (told_of_it,) = _edited_cell(side, file, column, " ", tmp_path)
    assert told_of_it.startswith(f"error {file}:2 {column}: the cell is empty. W")
    assert str(model.model_fields[column].description) in told_of_it
    choice = told_of_it.split(" Write ")[-1].split(". (")[0]
    assert set(literal_words(model, column)) <= set(
        re.split(r", or | or |, ", choice.split(" if ")[0])
    )


@pytest.mark.parametrize(("side", "file", "model", "column"), WORDS)
def test_each_column_of_words_takes_no_other(
    side: str, file: str, model: type[Row], column: str, tmp_path: Path
) -> None:
    """A word that is not one of a column's is told with all that are."""
    words = ", ".join(literal_words(model, column))
    assert _edited_cell(side, file, column, "zzz", tmp_path) == [
        f"error {file}:2 {column}: 'zzz' is not one of the words for {column}. "
        f"Write one of: {words}."
    ]


def test_the_tiny_tables_have_every_column() -> None:
    """The cases above can reach every column of every model."""
    for files, tables in ((REFERENCE, REFERENCE_TABLES), (ARCHIVE, ARCHIVE_TABLES)):
        for file, model in tables.items():
            header = next(csv.reader([files[file].split("\n", 1)[0]]))
            assert set(model.model_fields) <= set(header), file


#: Functions whose text arguments are what a problem says, and which argument that is.
_SAYS = {"error": 2, "doubt": 2, "note": 2, "refuse": 1, "RowError": 1, "ValueUnreadable": 1}


def _templates() -> Iterator[tuple[str, int, re.Pattern[str]]]:
    """Yield every sentence that the room can say, as a pattern, from its source."""
    for path in sorted(Path(coilbook.records.__file__).parent.rglob("*.py")):
        if path.name == "importing.py":
            continue  # its own sentences are of a file outside: tests/cli/test_cli_import.py
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            sentence = None
            if isinstance(node, ast.Call):
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                if called in _SAYS and len(node.args) > _SAYS[called]:
                    sentence = node.args[_SAYS[called]]
            elif isinstance(node, ast.Return) and isinstance(node.value, ast.Tuple):
                # rows._in_words gives (code, column, what, todo), rows._beyond (what, todo).
                texts = [e for e in node.value.elts if _is_sentence(e) and " " in ast.unparse(e)]
                sentence = texts[0] if path.name == "rows.py" and texts else None
            if sentence is not None and _is_sentence(sentence):
                yield path.name, node.lineno, re.compile(_pattern(sentence), re.DOTALL)


def _is_sentence(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def _pattern(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return re.escape(str(node.value))
    assert isinstance(node, ast.JoinedStr)
    parts = (
        re.escape(str(part.value)) if isinstance(part, ast.Constant) else ".+"
        for part in node.values
    )
    return "".join(parts)


def test_every_sentence_that_records_can_say_has_a_case(tmp_path: Path) -> None:
    """A rule without a broken copy that earns its message fails here."""
    said: set[str] = set()
    for number, case in enumerate(CASES):
        said |= {problem.what for problem in _problems(case, tmp_path / str(number))}
    said |= {expected.split(": ", 1)[1] for _, _, expected in REFUSED_FILES}
    said |= {expected.split(": ", 1)[1] for _, _, expected in BYTES}
    with (HERE / "values.csv").open(encoding="utf-8", newline="") as file:
        said |= {row["error"] for row in csv.DictReader(file) if row["error"]}
    slips = tomllib.loads((HERE / "first_day_slips.toml").read_text("utf-8"))["slip"]
    said |= {line.split(": ", 1)[1] for slip in slips for line in slip["says"]}
    said |= {"the cell is empty."}  # earned once for each needed column, above
    templates = list(_templates())
    assert len(templates) > 80
    silent = [
        f"{file}:{line} {pattern.pattern}"
        for file, line, pattern in templates
        if not any(pattern.match(text) for text in said)
    ]
    assert silent == []


def test_a_copy_of_a_row_leaves_what_other_rows_share_alone() -> None:
    """Rows with the same columns filled in share that knowledge; a changed copy has its own."""
    cells = {"source_id": "s", "kind": "book", "title": "T", "rights": "r", "checked": "recalled"}
    first, second = (Source.model_validate(cells) for _ in range(2))
    assert first.model_fields_set == set(cells)
    assert first.model_fields_set is second.model_fields_set
    changed = first.model_copy(update={"edition": "2"})
    assert changed.model_fields_set == {*cells, "edition"}
    assert second.model_fields_set == set(cells)


def test_the_list_of_messages_is_in_step() -> None:
    """Every message in the list is what its slip earns today, and every code in the source has one.

    The list is written by messages_report.py and shown to readers.
    """
    made = messages_report.messages()
    path = dataset_dir() / "reference" / MESSAGES_FILE
    assert path.read_text(encoding="utf-8") == messages_report.text_of(made), (
        "run tests/records/messages_report.py"
    )
    assert codes() - {message.code for message in made} == set()


def codes() -> set[str]:
    """Return every code that a call in the source gives to a problem."""
    found = set()
    for path in Path(coilbook.__file__).parent.rglob("*.py"):
        if "printer" in path.parts:
            continue  # its problems are of source code
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or len(node.args) < 3:
                continue
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            place = 6 if called == "Problem" else 0 if called in (*_SAYS, "_mistake") else None
            code = node.args[place] if place is not None and len(node.args) > place else None
            if isinstance(code, ast.Constant):
                found.add(str(code.value))
    assert len(found) > 100
    return found

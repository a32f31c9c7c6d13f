"""Write ``dataset/reference/messages.csv``: every message with a slip that earns it.

Run with the environment's Python after a message was changed; a test finds a stale file. Each slip
is made, and what is told of it is what stands in the file: no example is typed twice.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import chdir
from pathlib import Path
from typing import Any
from unittest.mock import patch

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from records_tiny import (  # noqa: E402
    ARCHIVE,
    edited,
    tiny_archive,
    tiny_reference,
    write,
)
from test_records_files import BYTES  # noqa: E402

from coilbook.commands.compare import Typed, compare_piece  # noqa: E402
from coilbook.commands.winding_sheet import make_sheet  # noqa: E402
from coilbook.core.units import KINDS  # noqa: E402
from coilbook.core.written.grammar import read_value  # noqa: E402
from coilbook.errors import Problem, RecordsInvalid, ValueUnreadable  # noqa: E402
from coilbook.records import import_file, load_archive, load_reference  # noqa: E402
from coilbook.records.tables.messages import MESSAGES_FILE, Message  # noqa: E402
from coilbook.resources import dataset_dir  # noqa: E402

TODAY = dt.date(2026, 11, 29)
LONG = "9" * 4400
#: What is typed for 'compare' that no archive can hold.
TYPED: tuple[tuple[str, dict[str, Any]], ...] = (
    ("no reading at all", {}),
    ("a plain word for a family", {"family_id": "humbucker", "simple": {"pair": "8.1k"}}),
    ("a year and a span", {"year": "1959", "years": "1957-1958", "simple": {"pair": "8k"}}),
    ("years in words", {"years": "late fifties", "simple": {"pair": "8k"}}),
    ("a reading without its value", {"reads": ("magnet-length",)}),
    ("a property of one coil, of two", {"reads": ("wire-mass=17g",)}),
    ("one coil of a pair", {"simple": {"coil": "4.0k"}}),
)
#: What is typed for a winding sheet.
WOUND = (("half a turn", {"turns": "0.5"}), ("a coil on fire", {"at": "300 °C"}))
_PIECES, _READINGS = "piece_id,family_id,state,potted,publish", "piece_id,component,property_id"
#: Files that are refused on the way into an archive.
IMPORTED: tuple[tuple[str, str], ...] = (
    ("a file without a header row", "lq-9,coil\n"),
    ("a file with header rows alone", f"{_PIECES}\n"),
    ("a header row twice", f"{_PIECES}\nlq-9,single-coil,rewound,no,no\n{_PIECES}\n"),
    ("a private column", f"{_PIECES},private_till\nlq-9,single-coil,rewound,no,no,x\n"),
    ("a piece that is there", f"{_PIECES}\nlq-1,single-coil,rewound,no,no\n"),
    (
        "a column that the archive has not",
        f"{_READINGS},value,zero\nlq-1,coil_a,coil-resistance,4k,1\n",
    ),
    (
        "a number that changes its meaning",
        f"{_READINGS.replace(',', ';')};value\nlq-1;magnet;magnet-length;63.512 mm\n",
    ),
)  # fmt: skip


def told() -> Iterator[tuple[str, Problem]]:
    """Yield what each slip is, and each problem that it earns; a first day's slips come first."""
    base = {path.name: path.read_text("utf-8") for path in (HERE / "first_day").iterdir()}
    reference = load_reference().value
    assert reference is not None
    with tempfile.TemporaryDirectory() as scratch, chdir(scratch):
        for number, slip in enumerate(_toml("first_day_slips.toml", "slip")):
            folder = write(Path(f"day-{number}"), edited(base, slip["edits"]))
            if "encoding" in slip:
                path = folder / slip["edits"][0][0]
                path.write_bytes(path.read_text("utf-8").encode(slip["encoding"]))
            for problem in load_archive(folder, reference, TODAY).problems:
                yield slip["name"], problem
        for number, case in enumerate(_toml("rule_cases.toml", "case")):
            edits = [
                [p.replace("{long}", LONG) if isinstance(p, str) else p for p in edit]
                for edit in case["edits"]
            ]
            load = tiny_reference if case["side"] == "reference" else tiny_archive
            for problem in load(Path(f"case-{number}"), edits).problems:
                yield case["name"], problem
        yield from _bytes()
        yield from _imported()
        with (HERE / "values.csv").open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                if row["error"]:
                    yield f"'{row['text'][:20]}' for a value", _unreadable(row)
        for name, options in WOUND:
            try:
                make_sheet("full-size-humbucker", **options)
            except ValueUnreadable as error:
                option, what = error.what.split(": ", 1)
                yield name, Problem(option, 0, "", what, error.todo, "error", error.code)
        for name, given in TYPED:
            try:
                typed = Typed(**{"family_id": "full-size-humbucker", **given})
                _, problems = compare_piece(HERE / "first_day", typed)
            except RecordsInvalid as invalid:
                problems = invalid.problems
            for problem in problems:
                yield name, problem


def _toml(file: str, key: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = tomllib.loads((HERE / file).read_text("utf-8"))[key]
    return found


def _bytes() -> Iterator[tuple[str, Problem]]:
    reference = tiny_reference(Path("bytes-reference")).value
    assert reference is not None
    for name, data, _ in BYTES:
        folder = write(Path("bytes") / name, ARCHIVE)
        (folder / "pieces.csv").write_bytes(data)
        for problem in load_archive(folder, reference).problems:
            yield name, problem
    refused = PermissionError(13, "Permission denied")
    with patch.object(Path, "read_bytes", side_effect=refused):
        found: list[Problem] = []
        from coilbook.records.reading.csv_file import RawTable, decode

        table = RawTable("pieces.csv", problems=found)
        decode(Path("pieces.csv"), table)
    for problem in found:
        yield "a file that is not to be read", problem


def _imported() -> Iterator[tuple[str, Problem]]:
    reference = tiny_reference(Path("import-reference")).value
    assert reference is not None
    plain = {**ARCHIVE, "readings.csv": f"{_READINGS},value\nlq-1,coil_a,coil-resistance,4k\n"}
    for number, (name, text) in enumerate(IMPORTED):
        folder = write(Path(f"import-{number}"), plain)
        new = Path("new.csv")
        new.write_text(text, encoding="utf-8")
        try:
            import_file(new, folder, reference)
        except RecordsInvalid as invalid:
            for problem in invalid.problems:
                yield name, problem


def _unreadable(row: dict[str, str]) -> Problem:
    try:
        read_value(
            row["text"],
            KINDS[row["kind"]],
            default_unit=row["default_unit"] or None,
            decimal_comma=row["decimal_comma"] == "yes",
        )
    except ValueUnreadable as error:
        return Problem("readings.csv", 0, "value", error.what, error.todo, "error", error.code)
    raise AssertionError(row)


def messages() -> list[Message]:
    """Return one message for each code: the first that is met."""
    found: dict[str, Message] = {}
    for slip, problem in told():
        short = problem.what.replace(LONG, "999…")
        found.setdefault(
            problem.code,
            Message(
                problem.code, problem.severity, problem.file, problem.column, slip, short,
                problem.todo,
            ),
        )  # fmt: skip
    order = ("error", "doubt", "note")
    return sorted(found.values(), key=lambda one: (order.index(one.severity), one.code))


def text_of(found: list[Message]) -> str:
    """Return messages as the file that they stand in."""
    out = io.StringIO()
    names = list(Message.__dataclass_fields__)
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    writer.writerows([getattr(message, name) for name in names] for message in found)
    return out.getvalue()


if __name__ == "__main__":
    path = dataset_dir() / "reference" / MESSAGES_FILE
    path.write_text(text_of(messages()), encoding="utf-8", newline="\n")
    print(path)

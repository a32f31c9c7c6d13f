"""Files as they come: encodings, line ends, separators, and columns that stay private."""

from __future__ import annotations

from pathlib import Path

import pytest
from records_tiny import ARCHIVE, REFERENCE, edited, tiny_archive, tiny_reference, told, write

from coilbook.records import load_archive
from coilbook.records.contents import Archive, Reference
from coilbook.records.reading.csv_file import read_table
from coilbook.records.tables.models import PieceRow

_PIECES = ARCHIVE["pieces.csv"]
_AGAIN = "Save it again as CSV in UTF-8."

#: Bytes that a file may hold, and the sentence that refuses them.
BYTES = [
    ("utf-16", _PIECES.encode("utf-16"), f"pieces.csv: the file is in UTF-16. {_AGAIN}"),
    (
        "utf-16 without a mark",
        _PIECES.encode("utf-16-le"),
        f"pieces.csv: the file holds NUL bytes, so it is not plain text. {_AGAIN}",
    ),
    (
        "latin-1",
        _PIECES.replace("good", "schön").encode("latin-1"),
        f"pieces.csv:2: the file is not in UTF-8 from this line on. {_AGAIN}",
    ),
    (
        "a spreadsheet",
        b"PK\x03\x04" + b"\x14\x00" * 20,
        f"pieces.csv: the file is a spreadsheet with the name of a CSV file. {_AGAIN}",
    ),
    (
        "nothing",
        b"",
        "pieces.csv: the file is empty. Give it a header row: " + ",".join(PieceRow.model_fields),
    ),
]
#: Files that are refused for another reason than their bytes.
REFUSED_FILES = [
    (
        "pieces.csv",
        "not to be opened",
        "pieces.csv: the file cannot be opened (Permission denied). Check that it may be read.",
    ),
    (
        "coilbook.toml",
        "in another encoding",
        "coilbook.toml: the file is not in UTF-8. Save it again in UTF-8.",
    ),
]


@pytest.fixture
def reference(tmp_path: Path) -> Reference:
    """Return the tiny reference."""
    value = tiny_reference(tmp_path / "reference").value
    assert value is not None
    return value


def _load(
    folder: Path, file: str, data: bytes, reference: Reference
) -> tuple[Archive | None, list[str]]:
    write(folder, ARCHIVE)
    (folder / file).write_bytes(data)
    loaded = load_archive(folder, reference)
    return loaded.value, told(loaded.problems)


@pytest.mark.parametrize(("name", "data", "expected"), BYTES, ids=[b[0] for b in BYTES])
def test_bytes_that_are_not_csv_are_refused_in_one_sentence(
    name: str, data: bytes, expected: str, reference: Reference, tmp_path: Path
) -> None:
    """One sentence for the file, and none for every reading that refers to it."""
    value, problems = _load(tmp_path / "archive", "pieces.csv", data, reference)
    assert value is None
    assert problems == [f"error {expected}"]


def test_files_that_cannot_be_opened_or_decoded_are_told(
    reference: Reference, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The system's own reason is given, and the settings' encoding is checked too."""
    _, problems = _load(
        tmp_path / "a", "coilbook.toml", 'title = "Schön"'.encode("latin-1"), reference
    )
    assert problems == [f"error {REFUSED_FILES[1][2]}"]

    def refuse(path: Path) -> bytes:
        if path.name == "pieces.csv":
            raise PermissionError(13, "Permission denied")
        with path.open("rb") as file:
            return file.read()

    write(tmp_path / "b", ARCHIVE)
    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert told(load_archive(tmp_path / "b", reference).problems) == [
        f"error {REFUSED_FILES[0][2]}"
    ]


@pytest.mark.parametrize(
    ("before", "mark", "end"),
    [
        ("", ",", "\r\n"),
        ("\ufeff", ",", "\n"),
        ("\ufeff", ",", "\r\n"),
        ("", ",", "\r"),
        ("\n\n", ",", "\n"),
    ],
    ids=["crlf", "bom", "bom and crlf", "cr", "blank lines first"],
)
def test_marks_and_line_ends_make_no_difference(
    before: str, mark: str, end: str, reference: Reference, tmp_path: Path
) -> None:
    """A byte order mark, any line end and blank lines read as the plain file."""
    plain = load_archive(write(tmp_path / "plain", ARCHIVE), reference).value
    files = {
        n: before + t.replace("\n", end) if n.endswith(".csv") else t for n, t in ARCHIVE.items()
    }
    other = load_archive(write(tmp_path / "other", files), reference)
    assert told(other.problems) == []
    assert plain is not None
    assert other.value is not None
    assert [p.row for p in other.value.pieces.values()] == [p.row for p in plain.pieces.values()]
    assert [r.value for p in other.value.pieces.values() for r in p.readings] == [
        r.value for p in plain.pieces.values() for r in p.readings
    ]


def test_a_semicolon_file_writes_decimals_with_a_comma(
    reference: Reference, tmp_path: Path
) -> None:
    """Values and plain numbers read with the comma, and 7,900 is no longer ambiguous."""
    edits = [
        ["instruments.csv", "=", (
            "instrument_id;name;measures;accuracy_percent;accuracy_digits\n"
            "meter-1;meter;resistance;0,5;2\ncalliper;calliper;length;0.1;1\n"
        )],
        ["readings.csv", "=", (
            "piece_id;component;property_id;value;temperature;circuit;instrument_id\n"
            "lq-1;pair;pair-resistance;7,900;21,5;free;meter-1\n"
            "lq-1;magnet;magnet-length;63.5;;;calliper\n"
        )],
    ]  # fmt: skip
    loaded = load_archive(write(tmp_path / "archive", edited(ARCHIVE, edits)), reference)
    assert {problem.severity for problem in loaded.problems} <= {"doubt", "note"}
    assert loaded.value is not None
    assert [row.accuracy_percent for row in loaded.value.instruments] == [0.5, 0.1]
    pair, magnet = loaded.value.pieces["lq-1"].readings
    assert (pair.value, pair.temperature_c, magnet.value) == (7.9, 21.5, 63.5)


def test_the_other_mark_is_ambiguous_in_a_semicolon_file(
    reference: Reference, tmp_path: Path
) -> None:
    """7.900 in a file of decimal commas is refused, not guessed."""
    text = "piece_id;component;property_id;value;temperature;circuit\n"
    edit = ["readings.csv", "=", text + "lq-1;pair;pair-resistance;7.900;21;free\n"]
    loaded = load_archive(write(tmp_path / "archive", edited(ARCHIVE, [edit])), reference)
    errors = [problem for problem in loaded.problems if problem.severity == "error"]
    assert told(errors) == [
        "error readings.csv:2 value: '7.900' could mean 7900 or 7,900. Write 7900 or 7,900."
    ]


def test_cells_are_text(tmp_path: Path) -> None:
    """007 keeps its zeros and NA is a word like any other."""
    path = tmp_path / "pieces.csv"
    path.write_text("piece_id,remark\n007,NA\nNA,1e3\n", encoding="utf-8")
    table = read_table(path, ["piece_id", "remark"], ["piece_id"])
    assert [row.cells for row in table.rows] == [
        {"piece_id": "007", "remark": "NA"},
        {"piece_id": "NA", "remark": "1e3"},
    ]


def test_line_numbers_are_those_of_the_file(tmp_path: Path) -> None:
    """Blank lines and line breaks within a cell count, as an editor counts them."""
    path = tmp_path / "pieces.csv"
    path.write_text(
        'piece_id,remark\n\na,"two\nlines"\n,\nb,"three\r\nmore\nlines"\r\nc,x\n',
        "utf-8",
        newline="",
    )
    table = read_table(path, ["piece_id", "remark"], ["piece_id"])
    assert [(row.line, row.cells["piece_id"]) for row in table.rows] == [
        (3, "a"), (6, "b"), (9, "c"),
    ]  # fmt: skip


#: Header cells that all begin with private_ once case and spaces are folded.
PRIVATE = ["private_owner", " Private_Owner", "PRIVATE_OWNER ", "\u00a0private_x", '"private_a,b"']
#: What may go wrong with a row that has a private cell, in the columns beside it.
AROUND = [
    "lq-1,twin-coil,{},untouched,no,yes",
    "lq 1,twn-coil,{},untuched,maybe,perhaps",
    "lq-1,twin-coil,{},untouched,no",
    "lq-1,twin-coil,{},untouched,no,yes,more",
    '"lq-1,twin-coil,{},untouched,no,yes',
    "{},twin-coil",
    ",,{},,,",
]


@pytest.mark.parametrize("column", PRIVATE)
@pytest.mark.parametrize("row", AROUND)
def test_private_cells_never_leave_the_reader(
    column: str, row: str, reference: Reference, tmp_path: Path
) -> None:
    """A token in a private cell is in no row and in no problem, whatever else is wrong."""
    text = f"piece_id,family_id,{column},state,potted,publish\n{row.format('TOKEN-7')}\n"
    folder = write(tmp_path / "archive", {**ARCHIVE, "pieces.csv": text})
    table = read_table(folder / "pieces.csv", list(PieceRow.model_fields), ["piece_id"])
    loaded = load_archive(folder, reference)
    assert "TOKEN-7" not in repr(table.rows)
    assert "TOKEN-7" not in repr(table.problems)
    assert "TOKEN-7" not in repr(loaded)


def test_private_columns_of_the_tiny_archive_are_gone(tmp_path: Path) -> None:
    """The tokens that stand in its private columns are nowhere in what was loaded."""
    assert "TOKEN" in "".join(ARCHIVE.values())
    loaded = tiny_archive(tmp_path)
    assert loaded.value is not None
    assert "TOKEN" not in repr(loaded)
    assert "TOKEN" not in repr(tiny_reference(tmp_path / "again"))
    assert REFERENCE

"""The command 'coilbook import': what it takes, keeps and refuses."""

from __future__ import annotations

import csv
import io
import re
import textwrap
from pathlib import Path
from typing import Any

import pytest
from cli_bench import change

from coilbook.errors import CoilbookError
from coilbook.records import import_file, load_archive, load_reference
from coilbook.resources import site_src_dir

PIECES = "piece_id,family_id,year_first,year_last,year_basis,position,state,potted,publish,remark"
PIECE = 'bench-0002,full-size-humbucker,,,,neck,untouched,no,yes,"two lines,\nand a comma"'
READINGS = (
    "piece_id,component,property_id,value,temperature,temperature_uncertainty,circuit,"
    "instrument_id,date"
)
READING = 'bench-0002,pair,pair-resistance,"8,12k",79 °F,2 K,free,bench-meter,2026-03-20'
WHOLE = f"{PIECES}\n{PIECE}\n\n{READINGS}\n{READING}\n"


@pytest.fixture
def new(tmp_path: Path) -> Path:
    """Return a file as the page saves it: one piece, one reading."""
    path = tmp_path / "drafts.csv"
    path.write_text(WHOLE, encoding="utf-8")
    return path


def tables(folder: Path) -> dict[str, bytes]:
    """Return every file of an archive; a file left over from a failed import would show here."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def refused(coilbook: Any, file: Path, bench: Path) -> list[str]:
    """Import what must be refused; return the problems told, the archive being untouched."""
    before = tables(bench)
    result = coilbook("import", file, bench)
    assert result.exit_code == 1, result.output
    assert tables(bench) == before
    return [line for line in result.stdout.splitlines() if ": " in line]


def test_import_appends_and_the_archive_loads(coilbook: Any, new: Path, bench: Path) -> None:
    """Both rows come behind the old ones, which stay to the byte, and read as they were typed."""
    before = tables(bench)
    result = coilbook("import", new, bench)
    assert (result.exit_code, result.output) == (
        0,
        f"Imported 1 piece and 1 reading into {bench}.\n",
    )
    after = tables(bench)
    assert after["pieces.csv"].startswith(before["pieces.csv"])
    assert after["readings.csv"].startswith(before["readings.csv"])
    reference = load_reference().value
    assert reference is not None
    archive = load_archive(bench, reference).value
    assert archive is not None
    piece = archive.pieces["bench-0002"]
    assert piece.row.remark == "two lines,\nand a comma"
    assert [reading.row.value for reading in piece.readings] == ["8,12k"]


@pytest.mark.parametrize(
    ("page", "piece"), [("guide", ""), ("first-hour", f"{PIECES}\n{PIECE}\n\n")]
)
def test_the_rows_that_pages_show_are_taken_in(
    coilbook: Any, bench: Path, tmp_path: Path, page: str, piece: str
) -> None:
    """What stands on the page as an example is imported as it stands, without a doubt or a slip."""
    text = (site_src_dir() / "prose" / page / "index.md").read_text(encoding="utf-8")
    block = re.search(r"\n((?: {4}piece_id,.*\n(?: {4}.*\n|\n(?= {4}))+)+)", text)
    assert block
    rows = piece.replace("bench-0002", "bench-0003") + textwrap.dedent(block[1])
    file = tmp_path / "shown.csv"
    file.write_text(rows, encoding="utf-8")
    result = coilbook("import", file, bench)
    assert result.exit_code == 0, result.output


def test_import_keeps_the_form_of_the_files(coilbook: Any, new: Path, bench: Path) -> None:
    """Semicolons, order of columns, private columns, line ends, a mark at the start: all stay."""
    path = bench / "pieces.csv"
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
    rows = [list(reversed(row)) for row in rows]
    text = "\r\n".join(";".join(row) for row in rows)  # and no line end at the end
    path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert coilbook("import", new, bench).exit_code == 0
    data = path.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf" + text.encode() + b"\r\n")
    assert data.count(b"\xef\xbb\xbf") == 1
    last = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=";"))[1]
    assert last["piece_id"] == "bench-0002"
    assert last["private_owner"] == last["private_note"] == ""
    assert not (bench / "readings.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_import_twice_is_refused(coilbook: Any, new: Path, bench: Path) -> None:
    """The second time both rows are there already; each is told once, with both places."""
    assert coilbook("import", new, bench).exit_code == 0
    told = refused(coilbook, new, bench)
    assert len(told) == 2
    assert told[0].startswith("drafts.csv:2 piece_id: 'bench-0002' is there already, in pieces.csv")
    assert told[1].startswith("drafts.csv:6 piece_id: this reading is there already, in readings")


def test_import_of_readings_for_a_piece_that_is_there(
    coilbook: Any, new: Path, bench: Path
) -> None:
    """A file may hold readings alone, of a piece of the archive."""
    new.write_text(f"{READINGS}\n{READING.replace('0002', '0001')}\n", encoding="utf-8")
    result = coilbook("import", new, bench)
    assert "Imported 0 pieces and 1 reading" in result.output


#: A change of the file (old, new), and how the problem told begins.
SLIPS = [
    ("8,12k", "8,12q", "drafts.csv:6 value: 'q' is not a unit of resistance."),
    ("neck", "nek", "drafts.csv:2 position: "),
    ("full-size", "full-sise", "drafts.csv:2 family_id: 'full-sise-humbucker' is not in"),
    ("bench-0002,pair", "bench-0003,pair", "drafts.csv:6 piece_id: "),
    ("bench-meter", "other-meter", "drafts.csv:6 instrument_id: 'other-meter' is not in"),
    ("bench-0002,full", "BENCH-0001,full", "drafts.csv:2 piece_id: "),
    ("potted,", "poted,", "drafts.csv:1 poted: 'poted' is not a column"),
    ("remark", "private_note", "drafts.csv:1 private_note: a private column is not taken in."),
    (",no,yes", ",yes", "drafts.csv:2: the row has 9 cells, the header row 10."),
    (f"{PIECES}\n", "", "drafts.csv:1: the first row is no header row"),
    (PIECE, f"{PIECE}\n{PIECE}", "drafts.csv:4 piece_id: 'bench-0002' is there already, in line 2"),
    (READING, f"{READING}\n{PIECES}", "drafts.csv:7: a second header row for pieces.csv."),
    (WHOLE, f"{PIECES}\n", "drafts.csv: the file holds no piece and no reading."),
    (WHOLE, "", "drafts.csv: "),
    ('comma"', "comma", "drafts.csv:2: the quotation marks do not pair up"),
]


@pytest.mark.parametrize(("old", "slip", "told"), SLIPS, ids=[slip[2][:40] for slip in SLIPS])
def test_import_refuses_a_slip_with_its_place(
    coilbook: Any, new: Path, bench: Path, old: str, slip: str, told: str
) -> None:
    """Each slip is told with its line in the file, and nothing at all is written."""
    if old == WHOLE:
        new.write_text(slip, encoding="utf-8")
    else:
        change(new, old, slip)
    problems = refused(coilbook, new, bench)
    assert any(line.startswith(told) for line in problems), problems


def test_import_tells_all_slips_at_once(coilbook: Any, new: Path, bench: Path) -> None:
    """A slip in each block: both are told in one go."""
    change(new, "neck", "nek")
    change(new, "8,12k", "8,12q")
    problems = refused(coilbook, new, bench)
    assert [line.split()[0] for line in problems] == ["drafts.csv:2", "drafts.csv:6"]


def test_import_refuses_a_column_that_the_archive_lacks(
    coilbook: Any, new: Path, bench: Path
) -> None:
    """A filled cell without a place in the archive's file would be lost: it is refused."""
    change(bench / "pieces.csv", "remark,private", "private_x,private")
    assert any("has no column remark" in line for line in refused(coilbook, new, bench))


@pytest.mark.parametrize("number", ["1,234", "1.234"])
def test_import_refuses_what_would_change_its_meaning(
    coilbook: Any, new: Path, bench: Path, number: str
) -> None:
    """Between a file in commas and an archive in semicolons a lone mark could mean either."""
    path = bench / "readings.csv"
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    path.write_text("\n".join(";".join(row) for row in rows) + "\n", encoding="utf-8")
    change(new, "8,12k", f"{number} kΩ")
    told = refused(coilbook, new, bench)
    assert len(told) == 1
    assert told[0].startswith(f"drafts.csv:6 value: '{number}' could mean 1234 or 1")
    change(new, f"{number} kΩ", f"{number}0 kΩ")
    assert coilbook("import", new, bench).exit_code in (0, 2)


def test_import_into_an_archive_with_errors(coilbook: Any, new: Path, bench: Path) -> None:
    """The archive's own error is told at its own place, and nothing is added to it."""
    change(bench / "readings.csv", "4.02k", "4.02q")
    assert refused(coilbook, new, bench)[0].startswith("readings.csv:2 value: ")


def test_import_of_no_file(coilbook: Any, tmp_path: Path, bench: Path) -> None:
    """A missing file and a missing archive earn a sentence each."""
    assert (
        "drafts.csv: the file is missing. Name the file that the page saved"
        in refused(coilbook, tmp_path / "drafts.csv", bench)[0]
    )
    assert coilbook("import", "x.csv", "no-such-folder").exit_code == 1


def test_import_writes_both_files_or_none(
    new: Path, bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the second file cannot be put in place, the first is put back as it was."""
    reference = load_reference().value
    assert reference is not None
    before = tables(bench)
    rename = Path.replace

    def stuck(self: Path, target: Path) -> Path:
        if target.name == "readings.csv":
            raise PermissionError(13, "Permission denied", str(target))
        return rename(self, target)

    monkeypatch.setattr(Path, "replace", stuck)
    with pytest.raises(CoilbookError, match="Nothing was imported"):
        import_file(new, bench, reference)
    assert tables(bench) == before

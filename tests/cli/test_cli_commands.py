"""Each command as a newcomer meets it, in an archive typed as README says."""

from __future__ import annotations

import contextlib
import json
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from cli_bench import change
from click.testing import CliRunner

from coilbook.cli import main
from coilbook.commands.serve import snapshot
from coilbook.commands.workplace import workplace
from coilbook.records.tables.models import ARCHIVE_TABLES
from coilbook.resources import checkout_dir, dataset_dir

#: What `check` says of three slips in README's example: a family, a unit, a lapsed calibration.
LAPSED = (
    "date: 'bench-meter' was due for calibration on 2026-02-01, before the reading of 2026-03-14. "
    "Correct the date, enter the newer calibration, or leave it: pages will say so. "
    "[calibration-lapsed]"
)
EXPECTED = [
    "2 errors:",
    "pieces.csv:2 family_id: 'full-sise-humbucker' is not in the reference's families.csv. "
    "Did you mean 'full-size-humbucker'? Correct it. [id-unknown]",
    "readings.csv:2 value: 'q' is not a unit of resistance. Write it as in 7.82 kΩ. [unit-unknown]",
    "2 doubts:",
    f"readings.csv:3 {LAPSED}",
    f"readings.csv:4 {LAPSED}",
]


def test_new_archive_is_clean_from_the_start(coilbook: Any, tmp_path: Path) -> None:
    """What 'new' writes passes 'check' as it is, whatever stands in the title."""
    title = 'Böngö\'s "bench" \\ №\n2'
    result = coilbook("new", "x", "--title", title)
    assert result.exit_code == 0
    assert "coilbook check x" in result.output
    written = {path.name for path in (tmp_path / "x").iterdir()}
    tables = {"pieces.csv", "readings.csv", "instruments.csv"}
    assert written == {"coilbook.toml", "HOW-TO.txt", *tables}
    assert all(str(Path("x") / name) in result.output for name in written)
    checked = coilbook("check", "x")
    assert (checked.exit_code, checked.stdout) == (0, "No errors and no doubts.\n")


def test_new_archive_has_every_column(coilbook: Any, tmp_path: Path) -> None:
    """Header rows name the columns of the models, and pieces.csv shows a private one."""
    coilbook("new", "x")
    for table in ("pieces.csv", "readings.csv", "instruments.csv"):
        text = (tmp_path / "x" / table).read_text(encoding="utf-8-sig")
        header = text.splitlines()[0].split(",")
        own = [column for column in header if not column.startswith("private_")]
        assert own == list(ARCHIVE_TABLES[table].model_fields)
    assert "private_note" in (tmp_path / "x" / "pieces.csv").read_text(encoding="utf-8")


def test_new_never_writes_into_a_filled_folder(coilbook: Any, tmp_path: Path) -> None:
    """A folder that holds anything is refused and stays as it was; an empty one is taken."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "diary.txt").write_text("mine")
    result = coilbook("new", "full")
    assert result.exit_code == 1
    assert result.stderr == "'full' is not empty. Name an empty folder or one to be made.\n"
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["diary.txt"]
    (tmp_path / "empty").mkdir()
    assert coilbook("new", "empty").exit_code == 0


def test_check_tells_errors_with_their_place(coilbook: Any, bench: Path) -> None:
    """Errors come first under their count, each with file, line, column, and the next step."""
    change(bench / "pieces.csv", "full-size-humbucker", "full-sise-humbucker")
    change(bench / "readings.csv", "4.02k", "4.02q")
    change(bench / "instruments.csv", "2027-01-12", "2026-02-01")
    result = coilbook("check", bench)
    assert result.exit_code == 1
    assert result.stdout.splitlines() == EXPECTED


def test_check_ends_with_2_for_doubts(coilbook: Any, bench: Path) -> None:
    """A lapsed calibration is a doubt: exit 2, and the site is built all the same."""
    change(bench / "instruments.csv", "2027-01-12", "2026-02-01")
    result = coilbook("check", bench)
    assert result.exit_code == 2
    assert result.stdout.splitlines()[0] == "3 doubts:"


def test_check_of_the_demo_tells_its_doubts(coilbook: Any) -> None:
    """The demo has fifteen doubtful places, made on purpose, and no error: exit 2."""
    result = coilbook("check", dataset_dir() / "demo", "--all")
    assert result.exit_code == 2
    head, *lines = result.stdout.splitlines()
    assert head == "15 doubts:"
    assert len(lines) == 15
    kinds = Counter(re.sub(r":\d+ ", " ", line.split(": ")[0]) for line in lines)
    assert kinds == {
        "pieces.csv features": 1,  # a part that is younger than the piece
        "readings.csv date": 8,  # an instrument past its calibration
        "readings.csv temperature": 4,  # copper read at no stated temperature
        "readings.csv parallel": 2,  # in circuit, with nothing said of what lies in parallel
    }


def test_check_as_json_tells_the_same(coilbook: Any) -> None:
    """Text and JSON name the same problems of the demo, in the same order, and exit alike."""
    told, as_json = coilbook("check", "--all"), coilbook("check", "--json")
    assert as_json.exit_code == told.exit_code == 2
    lines = [
        f"{p['file']}:{p['line']} {p['column']}: {p['what']} {p['todo']} [{p['code']}]"
        for p in json.loads(as_json.stdout)
    ]
    assert lines == told.stdout.splitlines()[1:]


def test_check_as_json_of_a_clean_archive(coilbook: Any, bench: Path) -> None:
    """Nothing wrong is an empty list, not a sentence."""
    result = coilbook("check", bench, "--json")
    assert (result.exit_code, json.loads(result.stdout)) == (0, [])


def test_check_as_json(coilbook: Any, bench: Path) -> None:
    """With --json every problem is an object with its place, and the exit code stays."""
    change(bench / "readings.csv", "4.02k", "4.02q")
    result = coilbook("check", bench, "--json")
    assert result.exit_code == 1
    (problem,) = json.loads(result.stdout)
    assert set(problem) == {"severity", "code", "file", "line", "column", "what", "todo"}
    place = [problem[key] for key in ("severity", "file", "line", "column")]
    assert place == ["error", "readings.csv", 2, "value"]


def test_check_takes_the_folder_you_stand_in(
    coilbook: Any, bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without DIR an archive's own folder is checked, and nothing is said of the demo."""
    monkeypatch.chdir(bench)
    result = coilbook("check")
    assert (result.exit_code, result.stderr) == (0, "")


def test_check_falls_back_on_the_demo_and_says_so(coilbook: Any) -> None:
    """Elsewhere the demo is taken, said on the error stream."""
    result = coilbook("check")
    assert result.exit_code == 2
    assert result.stderr == "No archive was named and this folder is none: taking the demo.\n"


def test_colours_only_on_a_terminal(coilbook: Any, bench: Path) -> None:
    """Output that goes to a file or a pipe holds no colour codes."""
    change(bench / "readings.csv", "4.02k", "4.02q")
    assert "\x1b" not in coilbook("check", bench).output


def test_no_colour_once_wanted_without(
    bench: Path, coilbook: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal counts are coloured, unless the variable NO_COLOR asks for none."""
    change(bench / "readings.csv", "4.02k", "4.02q")
    monkeypatch.delenv("NO_COLOR", raising=False)
    asked = {"args": ["check", str(bench)], "prog_name": "coilbook", "color": True}
    assert "\x1b[31m" in CliRunner().invoke(main, **asked).stdout
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in CliRunner().invoke(main, **asked).stdout


@pytest.mark.slow
def test_build_puts_the_site_into_the_archive_and_draws_no_bar(coilbook: Any, bench: Path) -> None:
    """'build' writes DIR/site and says which file to open, and nothing that redraws itself.

    With an error in the records nothing is built, the problems are printed, and the site stays.
    """
    result = coilbook("build", bench)
    assert result.exit_code == 0
    assert "\r" not in result.output
    assert "\x1b" not in result.output
    assert result.stderr == ""
    first, *rest = result.stdout.splitlines()
    assert re.fullmatch(r"\d+ pages in \d+\.\d s\.", first)
    assert rest == [
        f"The site: {bench / 'site' / 'index.html'}",
        "Open that file in a browser; it needs no network.",
    ]
    page = bench / "site" / "pieces" / "bench-0001" / "index.html"
    assert "4.02k" in page.read_text(encoding="utf-8")
    before = snapshot(bench / "site", bench / "none")
    change(bench / "readings.csv", "4.02k", "4.02q")
    result = coilbook("build", bench)
    assert result.exit_code == 1
    assert "readings.csv:2 value: " in result.output
    assert snapshot(bench / "site", bench / "none") == before


#: The command with a build that takes no time: its stages, then a report with the records' doubts.
STAGES_ONLY = """
import sys
from pathlib import Path
from types import ModuleType
import coilbook.publish
from coilbook.publish import BuildReport
from coilbook.records import load_archive, load_reference

def build_site(archive, out, progress=None, **others):
    for stage in ("measuring pieces", "checking links"):
        for done in range(3):
            progress(stage, done + 1, 3)
    problems = load_archive(archive, load_reference().value).problems
    return BuildReport(Path(out), "A bench", "measured", 1, 1, 1, 1, 0.1, problems)

coilbook.publish.build_site = build_site
from coilbook.cli import main
main(prog_name="coilbook")
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal that a program can hold")
def test_build_draws_a_bar_on_a_terminal(bench: Path) -> None:
    """The test above can fail: on a terminal a build shows each stage as it goes.

    The build itself is a stand-in that goes through its stages. With doubts in the records it
    counts them, and does not fail.
    """
    import pty

    change(bench / "instruments.csv", "2027-01-12", "2026-02-01")
    ours, theirs = pty.openpty()
    command = [sys.executable, "-c", STAGES_ONLY, "build", str(bench)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=theirs) as program:
        os.close(theirs)
        shown = b""
        # A terminal whose other end has closed reads as an error here, as empty there.
        with contextlib.suppress(OSError):
            while piece := os.read(ours, 4096):
                shown += piece
    os.close(ours)
    assert program.returncode == 0
    for stage in (b"measuring pieces", b"checking links", b"100%", b"3 doubts in the records"):
        assert stage in shown


def test_build_never_replaces_what_is_not_a_site(coilbook: Any, bench: Path) -> None:
    """--out at a folder with other files is refused, and the files stay."""
    diary = bench.parent / "papers" / "diary.txt"
    diary.parent.mkdir()
    diary.write_text("mine")
    result = coilbook("build", bench, "--out", diary.parent)
    assert result.exit_code == 1
    assert "is not a site that Coilbook made" in result.stderr
    assert diary.read_text() == "mine"


def test_a_place_that_cannot_be_written_is_told_with_what_to_do(
    coilbook: Any, bench: Path, tmp_path: Path
) -> None:
    """A file stands where a folder is wanted: the records stay as they are."""
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    before = snapshot(bench, bench / "none")
    result = coilbook("build", bench, "--out", tmp_path / "file" / "site")
    assert result.exit_code == 1
    assert "Name a folder that you may read and write" in result.stderr
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"
    assert snapshot(bench, bench / "none") == before


def test_where_sites_go(bench: Path) -> None:
    """An archive's site goes into it; the demo's to the top of the checkout, not into the data."""
    assert workplace(bench).out == bench / "site"
    top = checkout_dir()
    assert top is not None
    assert workplace(None).out == top / "site"
    assert workplace(dataset_dir() / "demo").out == top / "site"

"""The slips of a first day: what each earns, and that one run tells everything there is to tell."""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
import tomllib
from pathlib import Path
from typing import Any

import pytest
from records_tiny import edited, told, write

from coilbook.errors import Problem
from coilbook.records import load_archive, load_reference
from coilbook.records.contents import Reference

HERE = Path(__file__).parent
TODAY = dt.date(2026, 11, 29)
CLEAN = {path.name: path.read_text("utf-8") for path in (HERE / "first_day").iterdir()}
SLIPS: list[dict[str, Any]] = tomllib.loads((HERE / "first_day_slips.toml").read_text("utf-8"))[
    "slip"
]


@pytest.fixture(scope="module")
def reference() -> Reference:
    """Return the reference that comes with the program."""
    value = load_reference().value
    assert value is not None
    return value


def check(folder: Path, files: dict[str, str], reference: Reference) -> tuple[Problem, ...]:
    """Write an archive and return what is told of it today."""
    return load_archive(write(folder, files), reference, TODAY).problems


def test_the_clean_archive_is_clean(reference: Reference, tmp_path: Path) -> None:
    """What the slips are made in earns nothing by itself."""
    assert check(tmp_path, CLEAN, reference) == ()
    assert len(SLIPS) >= 40
    assert len({slip["name"] for slip in SLIPS}) == len(SLIPS)


@pytest.mark.parametrize("slip", SLIPS, ids=[slip["name"] for slip in SLIPS])
def test_a_slip_is_told_with_its_cause_and_the_next_step(
    slip: dict[str, Any], reference: Reference, tmp_path: Path
) -> None:
    """One slip of a clean archive earns these messages, or is understood; every one has a code."""
    folder = write(tmp_path, edited(CLEAN, slip["edits"]))
    if "encoding" in slip:
        path = folder / slip["edits"][0][0]
        path.write_bytes(path.read_text("utf-8").encode(slip["encoding"]))
    problems = load_archive(folder, reference, TODAY).problems
    assert told(problems) == slip["says"]
    assert all(problem.code for problem in problems)


# --- one pass ------------------------------------------------------------------------------------

#: Cells of a clean list, and what somebody types for them: slips of every depth, from a word that
#: is not allowed to a reading of a piece that is in another list. What can only be told of two
#: cells together (years that are swapped) is not drawn: it waits until both can be read.
WRONG: dict[str, dict[str, tuple[str, ...]]] = {
    "pieces.csv": {
        "piece_id": ("bench {n}",),
        "family_id": ("humbucker", "full-size-humbuker"),
        "year_first": ("1958/59", "58"),
        "year_last": ("", "1850"),
        "year_basis": ("",),
        "position": ("brigde", "middel"),
        "state": ("", "original"),
        "potted": ("?",),
        "features": ("cover-nickel",),
        "publish": ("maybe", ""),
    },
    "readings.csv": {
        "piece_id": ("lost-{n}",),
        "component": ("coil_c", "magnet", ""),
        "property_id": ("resistance", "coil-resistence"),
        "value": ("4,02,1", "4.02q", "4.0k / 3.9k", "~4k", ""),
        "unit": ("kHz", "mH"),
        "temperature": ("room", "300 °C"),
        "circuit": ("out", ""),
        "parallel": ("500q",),
        "parallel_tolerance": ("5%",),
        "test_frequency": ("1 kV",),
        "instrument_id": ("multimeter",),
        "date": ("14.3.2026", "46095", "2062-01-01"),
    },
}  # fmt: skip


def long_list(pieces: int) -> dict[str, str]:
    """Return a clean archive of so many pieces with three readings each."""
    rows = {name: CLEAN[name].splitlines() for name in WRONG}
    header, one = rows["pieces.csv"]
    every = [header, *(one.replace("bench-1,", f"bench-{n},") for n in range(1, pieces + 1))]
    head, *three = rows["readings.csv"][:4]
    readings = [head]
    for n in range(1, pieces + 1):
        readings += [reading.replace("bench-1,", f"bench-{n},") for reading in three]
    made = {"pieces.csv": every, "readings.csv": readings}
    return {**CLEAN, **{name: "\n".join(lines) + "\n" for name, lines in made.items()}}


def table(text: str) -> list[list[str]]:
    """Return a file's rows."""
    return list(csv.reader(io.StringIO(text)))


def text_of(rows: list[list[str]]) -> str:
    """Return rows as a file."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize("start", range(6))
def test_one_pass_tells_everything(start: int, reference: Reference, tmp_path: Path) -> None:
    """Several slips in each of sixty rows: once what was told is mended, nothing is left to tell.

    Mending puts the clean cell where a problem was told, and nowhere else.
    """
    draw = random.Random(start)
    clean = {name: table(text) for name, text in long_list(20).items() if name in WRONG}
    spoilt = {name: [list(row) for row in rows] for name, rows in clean.items()}
    made = 0
    for name, columns in WRONG.items():
        header = clean[name][0]
        for number, row in enumerate(spoilt[name][1:], start=1):
            for column in draw.sample(sorted(columns), draw.randint(0, 5)):
                row[header.index(column)] = draw.choice(columns[column]).format(n=number)
                made += 1
    files = {**CLEAN, **{name: text_of(rows) for name, rows in spoilt.items()}}
    problems = check(tmp_path / "spoilt", files, reference)
    assert made > 100
    assert len(problems) > 100
    for problem in problems:
        header = clean[problem.file][0]
        rows, line = spoilt[problem.file], problem.line - 1
        place = header.index(problem.column)
        rows[line][place] = clean[problem.file][line][place]
    mended = {**CLEAN, **{name: text_of(rows) for name, rows in spoilt.items()}}
    left = [p for p in check(tmp_path / "mended", mended, reference) if p.severity != "note"]
    assert told(left) == []


def test_nothing_is_said_of_what_was_put_in_the_place_of_a_slip(
    reference: Reference, tmp_path: Path
) -> None:
    """A year that cannot be read is told once; no order, feature or span is doubted by it."""
    edits = [
        ["pieces.csv", 2, "year_last", "1850"],
        ["pieces.csv", 2, "features", "lead-braided-metal"],
    ]
    (only,) = check(tmp_path, edited(CLEAN, edits), reference)
    assert (only.code, only.column) == ("year-out-of-range", "year_last")

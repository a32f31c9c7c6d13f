"""The command 'coilbook winding': what it prints, writes and refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from coilbook.commands.winding_sheet import as_page, make_sheet

HUMBUCKER = ("winding", "--family", "full-size-humbucker")


def test_the_sheet_as_text(coilbook: Any) -> None:
    """The command of the issue: figures, checks, departures, verdicts and cautions in words."""
    result = coilbook(*HUMBUCKER, "--turns", "5000", "--awg", "42", "--build", "single",
                      "--at", "24C")  # fmt: skip
    assert result.exit_code == 0
    assert "5000 turns on each of two coils of 42 AWG, single build, read at 24 °C" in result.stdout
    for words in ("Resistance of one coil at 24 °C: 4.11 ± 0.39 kΩ", "Both coils in series",
                  "Wire off the spool", "1250 turns (25 %)", "thinner wire, 43 AWG",
                  "inside (p = 0.99): one coil", "solder fumes"):  # fmt: skip
        assert words in result.stdout, words
    assert "None" not in result.stdout


def test_what_is_left_out_is_the_usual(coilbook: Any) -> None:
    """Family alone is the same sheet as everything spelt out at 20 °C."""
    short = coilbook(*HUMBUCKER).stdout
    long = coilbook(*HUMBUCKER, "--turns", "5k", "--awg", "awg-42", "--build", "Single",
                    "--at", "68 °F").stdout  # fmt: skip
    assert short == long
    assert "not the family's usual winding" in coilbook(*HUMBUCKER, "--turns", "5200").stdout


@pytest.mark.parametrize(
    ("written", "celsius"),
    [("24C", 24.0), ("24 °C", 24.0), ("75 °F", 23.89), ("75F", 23.89), ("297.15 K", 24.0),
     ("24,5 °C", 24.5), ("24", 24.0)],
)  # fmt: skip
def test_temperatures_are_read_as_records_read_them(
    coilbook: Any, written: str, celsius: float
) -> None:
    """Every spelling of the records; (75 − 32) · 5/9 = 23.89."""
    report = json.loads(coilbook(*HUMBUCKER, "--at", written, "--json").stdout)
    assert report["temperature_c"] == pytest.approx(celsius, abs=0.005)


def test_the_sheet_as_data(coilbook: Any) -> None:
    """JSON has every figure with U and budget, and they add up."""
    report = json.loads(coilbook(*HUMBUCKER, "--at", "24C", "--json").stdout)
    coil = report["expected"]["coil_resistance_kohm"]
    assert coil["value"] == pytest.approx(4.105, abs=0.001)
    u = sum(line["effect"] ** 2 for line in coil["budget"]) ** 0.5
    assert coil["U"] == pytest.approx(2.0 * u)
    assert report["expected"]["pair_resistance_kohm"]["value"] == pytest.approx(2 * coil["value"])
    assert [check["turns"] for check in report["checks"]] == [1250, 2500, 3750, 5000]
    assert report["fits"] == "fits"
    assert {v["verdict"] for v in report["verdicts"]} >= {"inside", "too_close_to_call"}
    single = json.loads(coilbook("winding", "--family", "horseshoe-lap-steel", "--json").stdout)
    assert "pair_resistance_kohm" not in single["expected"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--family", "fulsize-humbucker"], "Did you mean 'full-size-humbucker'?"),
        (["--family", "zzz"], "The reference has no family 'zzz'. It has: full-size-humbucker"),
        ([], "Write coilbook winding --family with one of these, or with a plain word"),
        (["--awg", "47"], "no wire '47' in single build. The nearest is 46. It has 38 to 46 AWG."),
        (["--awg", "420"], "no wire '420' in single build. It has 38 to 46 AWG."),
        (["--awg", "4w"], "no wire '4w'"),
        (["--build", "singel"], "there is no build 'singel'. Did you mean 'single'?"),
        (["--build", "x"], "It is single or heavy."),
        (["--turns", "many"], "--turns: 'many' is not a number. Write it as in 5000 turns."),
        (["--turns", "0"], "Write a whole number from 1 to 100000"),
        (["--turns", "5000.5"], "is not a number of turns"),
        (["--turns", "<5000"], "is not a number of turns"),
        (["--turns", "-5000"], "is not a number of turns"),
        (["--turns", "nan"], "--turns: 'nan' is not a number."),
        (["--turns", "1e9"], "is not a number of turns"),
        (["--at", "75"], "--at: '75' is no temperature that a coil is read at."),
        (["--at", "warm"], "--at: 'warm' is not a number. Write it as in 21 °C."),
        (["--at", "24 kΩ"], "is a unit of resistance, and temperature is wanted"),
        (["--at", "<24C"], "is no temperature"),
        (["--tuns", "5000"], "--turns"),
    ],
    ids=lambda v: " ".join(v)[:24],
)
def test_a_slip_earns_a_sentence(coilbook: Any, arguments: list[str], words: str) -> None:
    """Exit 1, one sentence that names the option or what is near, nothing printed as if right."""
    given = arguments if "--family" in arguments or not arguments else [*HUMBUCKER[1:], *arguments]
    result = coilbook("winding", *given)
    assert result.exit_code == 1
    assert words in result.stderr
    assert result.stdout == ""


def test_the_page_stands_alone(coilbook: Any, tmp_path: Path) -> None:
    """One file: no link, no script, no request; boxes, checks and cautions on it."""
    result = coilbook(*HUMBUCKER, "--at", "24C", "--html", "sheet.html")
    assert result.exit_code == 0
    assert result.stdout == f"The sheet: {(tmp_path / 'sheet.html').resolve()}\n"
    page = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    for word in ("href=", "src=", "<script", "http", "url(", "@import"):
        assert word not in page, word
    assert page.count('class="cb-box-cell"') > 30
    for words in ("Date", "Spool", "Initials", "Insulation to metal", "Polarity and phase",
                  "Second coil", "After potting", "Winding machine", "Hot wax",
                  "3.71–4.50"):  # fmt: skip
        assert words in page, words
    assert re.search(r"@media print", page)


def test_the_file_is_never_overwritten(coilbook: Any, tmp_path: Path) -> None:
    """A sheet that may be filled in stays; the message says what to do."""
    (tmp_path / "sheet.html").write_text("mine", encoding="utf-8")
    result = coilbook(*HUMBUCKER, "--html", "sheet.html")
    assert result.exit_code == 1
    assert "'sheet.html' is there already" in result.stderr
    assert "Name another file" in result.stderr
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_not_there(coilbook: Any) -> None:
    """The path is named, and there is no traceback."""
    result = coilbook(*HUMBUCKER, "--html", "no-such-folder/sheet.html")
    assert result.exit_code == 1
    assert "no-such-folder" in result.stderr


def test_json_and_page_together(coilbook: Any, tmp_path: Path) -> None:
    """The data stays readable by a program: the file's place goes to the other stream."""
    result = coilbook(*HUMBUCKER, "--html", "sheet.html", "--json")
    assert json.loads(result.stdout)["family_id"] == "full-size-humbucker"
    assert "sheet.html" in result.stderr
    assert (tmp_path / "sheet.html").is_file()


@pytest.mark.parametrize(
    ("turns", "words"),
    [("4000", "The window takes them"), ("6500", "fits only if the layers nest"),
     ("9000", "This cannot fit")],
)  # fmt: skip
def test_each_fit_has_its_words(turns: str, words: str) -> None:
    """What does not fit is told on the page, and at what sureness."""
    assert words in as_page(make_sheet("full-size-humbucker", turns))


@pytest.mark.parametrize(
    ("awg", "build"),
    [(38, "single"), (40, "heavy"), (42, "single"), (43, "heavy"), (44, "single"), (46, "heavy")],
)
def test_every_wire_on_every_family_finds_words(awg: int, build: str) -> None:
    """No departure, verdict or fit is without words, whatever is wound on whatever."""
    for family in ("full-size-humbucker", "split-bass", "horseshoe-lap-steel"):
        page = as_page(make_sheet(family, None, str(awg), build, "15C"))
        assert f"{awg} AWG, {build} build" in page
        assert "None" not in page

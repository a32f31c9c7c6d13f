"""What README promises of values, evidence and commands, tried."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, get_args

import pytest
from cli_bench import README, follow, readme_steps

from coilbook.core.judging.verdict import VerdictWord
from coilbook.core.units import KINDS, convert
from coilbook.pages.text import EVIDENCE_MARKS
from coilbook.records import read_value

#: README's ways of writing: kind, qualifier, value and unit. An inch is 25.4 mm exactly, °F are
#: (°C · 9/5 + 32), a gauss is 0.1 mT (all by definition).
WRITTEN = {
    "7.82k": ("resistance", "", 7820.0, "ohm"),
    "7.82 kΩ": ("resistance", "", 7820.0, "ohm"),
    "7,82 kΩ": ("resistance", "", 7820.0, "ohm"),
    "7820": ("resistance", "", 7820.0, "ohm"),
    "1 15/16 in": ("length", "", 49.2125, "mm"),
    '1-15/16"': ("length", "", 49.2125, "mm"),
    "49.2 mm": ("length", "", 49.2, "mm"),
    "68 °F": ("temperature", "", 20.0, "degC"),
    "20 °C": ("temperature", "", 20.0, "degC"),
    "0.049 T": ("flux_density", "", 49.0, "mT"),
    "49 mT": ("flux_density", "", 49.0, "mT"),
    "490 G": ("flux_density", "", 49.0, "mT"),
    "4.4 H": ("inductance", "", 4.4, "henry"),
    "4400 mH": ("inductance", "", 4.4, "henry"),
    "110 pF": ("capacitance", "", 110.0, "pF"),
    "<5 kΩ": ("resistance", "<", 5000.0, "ohm"),
    ">20M": ("resistance", ">", 20e6, "ohm"),
    "open": ("resistance", "open", None, "ohm"),
    "OL": ("resistance", "open", None, "ohm"),
}


def section(heading: str) -> str:
    """Return the text of one of README's sections."""
    found = re.search(rf"\n## {heading}\n(.*?)\n## ", README.read_text(encoding="utf-8"), re.DOTALL)
    assert found, heading
    return found[1]


def test_readme_ways_of_writing_are_those_tried_below() -> None:
    """The table of values in README and the one above are the same."""
    rows = re.findall(r"^\| (`.*?) \|", section("Ways of writing a value"), re.MULTILINE)
    shown = {span for row in rows for span in re.findall(r"`([^`]+)`", row.split(", with")[0])}
    assert shown == set(WRITTEN)


@pytest.mark.parametrize("text", WRITTEN)
def test_readme_ways_of_writing_are_read(text: str) -> None:
    """Each is read as what README says it stands for."""
    kind, qualifier, value, unit = WRITTEN[text]
    read = read_value(text, KINDS[kind], default_unit="Ω" if text == "7820" else None)
    assert read.qualifier == qualifier
    if value is None:
        assert read.magnitude is None
    else:
        assert read.magnitude is not None
        assert convert(read.magnitude, read.unit, unit) == pytest.approx(value, rel=1e-12)


def test_readme_names_every_verdict_and_mark() -> None:
    """The verdicts in README's table are those there are, and so are the marks of evidence."""
    text = section("What each verdict means")
    told = re.findall(r"^\| \*\*(.+?)\*\* \|", text, re.MULTILINE)
    assert told == [word.replace("_", " ") for word in get_args(VerdictWord)]
    words = " ".join(text.split())
    for mark, word in EVIDENCE_MARKS.values():
        assert f"{mark} {word}" in words


@pytest.mark.slow
def test_readme_five_steps_work_as_typed(coilbook: Any, tmp_path: Path) -> None:
    """Each of README's commands ends with 0, and the site has the piece as it was typed."""
    folder = tmp_path / "my-bench"
    results = {step: follow(step, folder, coilbook) for step in readme_steps()}
    commands = {step: result for step, result in results.items() if result is not None}
    assert [step.split()[1] for step in commands] == ["new", "check", "build"]
    assert len(results) == 6, "three commands and three tables"
    for step, result in commands.items():
        assert result.exit_code == 0, (step, result.output)
    assert commands["coilbook check my-bench"].stdout == "No errors and no doubts.\n"
    assert (folder / "site" / "index.html").is_file()
    page = (folder / "site" / "pieces" / "bench-0001" / "index.html").read_text(encoding="utf-8")
    for written in ("4.02k", "3.87k", "7.88k"):
        assert written in page
    for path in (folder / "site").rglob("*"):
        if path.suffix in {".html", ".js", ".json", ".csv"}:
            assert "ticket 118" not in path.read_text(encoding="utf-8"), path

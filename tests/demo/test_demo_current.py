"""The committed archive is what the generator writes, and its truth stays out of everything."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import generate
import pytest

TOP = generate.HERE.parents[1]


def test_the_archive_is_current() -> None:
    """The generator, run as anybody runs it, would change no byte of the committed files."""
    run = subprocess.run(
        [sys.executable, str(generate.HERE / "generate.py"), "--check"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr


def test_the_check_can_fail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A missing file and a single changed byte are both found; a second writing mends them."""
    monkeypatch.setattr(generate, "ARCHIVE", tmp_path / "demo")
    monkeypatch.setattr(generate, "TRUTH", tmp_path / "truth.csv")

    def run(*arguments: str) -> int:
        monkeypatch.setattr(sys, "argv", ["generate.py", *arguments])
        return generate.main()

    assert run("--check") == 1
    assert run() == 0
    assert run("--check") == 0
    readings = tmp_path / "demo" / "readings.csv"
    readings.write_bytes(readings.read_bytes().replace(b"4", b"5", 1))
    assert run("--check") == 1
    assert run() == 0
    assert run("--check") == 0


def test_truth_is_not_shipped() -> None:
    """No file of the folders that a wheel carries holds the truth, by name or by its columns."""
    with (TOP / "pyproject.toml").open("rb") as file:
        wheel = tomllib.load(file)["tool"]["hatch"]["build"]["targets"]["wheel"]
    shipped = [*wheel["packages"], *wheel["force-include"]]
    assert not any(generate.TRUTH.is_relative_to(TOP / folder) for folder in shipped)
    tables = [path for folder in shipped for path in (TOP / folder).rglob("*.csv")]
    assert any(path.name == "readings.csv" for path in tables)
    header = generate.TRUTH.read_text(encoding="utf-8").splitlines()[0]
    own = set(header.split(",")) - {"piece_id", "component", "property_id", "unit", "line"}
    assert own == {"true_value", "story", "reading_story"}
    for path in tables:
        assert path.name != generate.TRUTH.name
        first = path.read_text(encoding="utf-8").split("\n", 1)[0]
        assert not own & set(first.split(",")), path

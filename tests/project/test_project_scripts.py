"""What holds for every script written by hand: the pages' own, and the printer's runtime."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
WRITTEN = (
    *sorted((TOP / "site_src" / "js").glob("*.js")),
    TOP / "builder" / "coilbook" / "publish" / "printer" / "runtime.js",
)
#: As for Python: what is longer does not fit beside another file on a screen.
LONGEST = 100


def test_scripts_pass_the_linter() -> None:
    """Nothing is named that is not there, made and not used, or compared by rules of thumb.

    In ``oxlint.json`` the runtime may have functions that nothing calls: printed code does.
    """
    linter = Path(sys.executable).parent / "oxlint"
    command = [linter, "--config", TOP / "tests" / "oxlint.json", "--format", "unix", *WRITTEN]
    told = subprocess.run(command, cwd=TOP, capture_output=True, text=True)
    assert told.returncode == 0, told.stdout + told.stderr


@pytest.mark.parametrize("script", WRITTEN, ids=lambda path: path.name)
def test_no_line_of_a_script_is_too_long(script: Path) -> None:
    """No line has more than 100 characters."""
    lines = script.read_text(encoding="utf-8").splitlines()
    assert [at for at, line in enumerate(lines, 1) if len(line) > LONGEST] == []

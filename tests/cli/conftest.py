"""A small archive that is typed as README's five steps say, and a way to run the command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from cli_bench import follow, readme_steps
from click.testing import CliRunner, Result

from coilbook.cli import main


@pytest.fixture
def coilbook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Return a function that runs ``coilbook`` with arguments in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: object) -> Result:
        result = CliRunner().invoke(main, [str(a) for a in arguments], prog_name="coilbook")
        # A crash shows as the crash it is, not as an exit code.
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return run


@pytest.fixture
def bench(coilbook: Any, tmp_path: Path) -> Path:
    """Do README's first three steps: an archive with one piece typed into it."""
    folder = tmp_path / "my-bench"
    for step in readme_steps():
        if step.startswith("coilbook check"):
            return folder
        follow(step, folder, coilbook)
    raise AssertionError("README's steps have no 'coilbook check'")

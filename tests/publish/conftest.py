"""What tests of publish share."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from coilbook.publish import engine
from coilbook.resources import site_src_dir


@pytest.fixture
def sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let the engine run on a copy of the site's sources whose prose is one page of the test's."""
    copy = tmp_path / "site_src"
    shutil.copytree(site_src_dir(), copy, ignore=shutil.ignore_patterns("prose"))
    (copy / "prose").mkdir()
    monkeypatch.setattr(engine, "site_src_dir", lambda: copy)
    return copy

"""``coilbook describe``: what is generated is in step, and says so where it is not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from coilbook.records import load_reference
from coilbook.resources import site_src_dir


def test_describe_finds_everything_in_step(coilbook: Any) -> None:
    """Descriptors, data dictionary and README's commands are as 'describe' would write them."""
    result = coilbook("describe", "--check")
    assert result.exit_code == 0, result.output


def test_describe_writes_what_is_stale(
    coilbook: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--check names stale files and writes nothing; without it they are written, then in step."""
    readme = "# X\n\n<!-- commands: here -->\nold\n<!-- end of commands -->\nkept\n"
    (tmp_path / "README.md").write_text(readme, encoding="utf-8")
    monkeypatch.setattr("coilbook.resources.checkout_dir", lambda: tmp_path)
    result = coilbook("describe", "--check")
    assert result.exit_code == 1
    assert f"stale: {tmp_path / 'README.md'}" in result.stdout
    assert (tmp_path / "README.md").read_text(encoding="utf-8") == readme
    assert coilbook("describe").exit_code == 0
    text = (tmp_path / "README.md").read_text(encoding="utf-8")
    assert "coilbook show PIECE [DIR]" in text
    assert text.endswith("kept\n")
    assert coilbook("describe", "--check").exit_code == 0


def test_describe_outside_a_checkout(coilbook: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Installed from a wheel there is nothing to keep in step, and that is said."""
    monkeypatch.setattr("coilbook.resources.checkout_dir", lambda: None)
    for arguments in (["describe"], ["describe", "--check"]):
        result = coilbook(*arguments)
        assert (result.exit_code, result.stderr) == (0, "")
        assert "there is nothing to keep in step" in result.stdout


def test_dictionary_lists_every_id_that_a_row_may_name() -> None:
    """Families, positions, properties and features all stand on the data dictionary's page."""
    page = (site_src_dir() / "prose" / "data" / "dictionary" / "index.md").read_text("utf-8")
    reference = load_reference().value
    assert reference is not None
    ids = {*reference.families, *reference.properties, *reference.features}
    ids |= {id_ for family in reference.families.values() for id_ in family.positions}
    assert [id_ for id_ in sorted(ids) if f"`{id_}`" not in page] == []

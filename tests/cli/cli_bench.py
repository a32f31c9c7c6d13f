"""README's five steps, and changes to what was typed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from typing import Any

from click.testing import Result

README = Path(__file__).resolve().parents[2] / "README.md"


def change(path: Path, old: str, new: str) -> None:
    """Change a text in a file that must hold it."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def readme_steps() -> list[str]:
    """Return the code blocks of README's first archive, in order, without their indent."""
    readme = README.read_text(encoding="utf-8")
    section = re.search(r"\n## A first archive in five steps\n(.*?)\n## ", readme, re.DOTALL)
    assert section, "README has lost its five steps"
    blocks = re.findall(r"(?:^ {7}\S.*\n)+", section[1], re.MULTILINE)
    return ["\n".join(line.strip() for line in block.splitlines()) for block in blocks]


def follow(step: str, folder: Path, coilbook: Any) -> Result | None:
    """Do what one of README's blocks says: run its command, or type its rows into their table."""
    if step.startswith("coilbook "):
        return coilbook(*shlex.split(step)[1:])  # type: ignore[no-any-return]
    header = step.split("\n")[0]
    for path in folder.glob("*.csv"):
        if path.read_text(encoding="utf-8-sig").split("\n")[0] == header:
            path.write_text(step + "\n", encoding="utf-8")
            return None
    raise AssertionError(f"no table that 'coilbook new' wrote has README's header row {header}")

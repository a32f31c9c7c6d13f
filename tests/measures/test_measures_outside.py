"""Every public function of measures is held against something outside, or says why it is not.

outside.toml has a line for each: the test that does it and what it is held against, or the reason
why there is nothing to hold it against. A line whose test has gone is found here as well.
"""

from __future__ import annotations

import ast
import tomllib
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "builder" / "coilbook"
TESTS = Path(__file__).resolve().parents[1]

with (Path(__file__).parent / "outside.toml").open("rb") as _file:
    LINES: dict[str, dict[str, str]] = tomllib.load(_file)

#: What a line may name as outside; a word of each entry's "against" must be one of these.
OUTSIDE = (
    "published",  # a data file of figures with their sources
    "scipy",
    "numpy",
    "uncertainties",
    "metrolopy",
    "magpylib",
    "shapely",
    "ngspice",
    "demo's layers",  # the demo's physics, written apart from measures
    "by hand",  # worked in the test from the textbook's formula
)


def _public(*rooms: str) -> set[str]:
    found = set()
    for path in [path for room in rooms for path in (PACKAGE / room).rglob("*.py")]:
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                found.add(f"{path.stem}.{node.name}")
    return found


@cache
def _tests_of(file: str) -> frozenset[str]:
    tree = ast.parse((TESTS / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def test_every_public_function_has_its_line_and_no_other() -> None:
    """A function added without its check is found, and so is a line whose function has gone."""
    assert _public("measures") - LINES.keys() == set()
    assert LINES.keys() - _public("measures", "core") == set()


@pytest.mark.parametrize("name", sorted(LINES))
def test_a_line_names_a_test_that_is_there_or_a_reason(name: str) -> None:
    """Either a test that exists, in a file that leads to the function, or one line of why not."""
    line = LINES[name]
    if "none" in line:
        assert set(line) == {"none"}
        assert 20 <= len(line["none"]) <= 140
        return
    assert set(line) - {"through"} == {"test", "against"}
    file, _, test = line["test"].partition("::")
    assert test in _tests_of(file)
    assert any(word in line["against"] for word in OUTSIDE)
    text = (TESTS / file).read_text(encoding="utf-8")
    function = name.partition(".")[2]
    # Named there, or reached through a piece whose every value comes from it.
    assert function in text or "through" in line

"""The rooms of the package: who may import whom, and who may open a file."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "builder" / "coilbook"
#: From the first room to the last; a room may import from those before it.
LADDER = ("core", "records", "measures", "stats", "assessment", "pages", "publish")
#: Modules that every room may import.
SHARED = ("errors", "resources")
#: Libraries that one room alone may import.
HOMES = {"pydantic": "records", "mkdocs": "publish", "material": "publish"}
#: Rooms that work on values alone and open no file.
FILELESS = ("core", "measures", "stats", "assessment", "pages")
READS = {"open", "read_text", "read_bytes", "write_text", "write_bytes", "read_csv", "iterdir"}


def modules(room: str) -> list[Path]:
    """Return every module of a room."""
    found = sorted((PACKAGE / room).rglob("*.py"))
    assert found, f"the room {room} is empty or was moved"
    return found


@cache
def parsed(path: Path) -> ast.Module:
    """Return a module's syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(path: Path) -> list[tuple[int, str]]:
    """Return line and dotted name of every import, wherever in the module it stands."""
    return list(imports_of(parsed(path), path))


def imports_of(tree: ast.AST, path: Path) -> Iterator[tuple[int, str]]:
    """Yield line and dotted name of every import of a tree that stands for the module ``path``."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                inside = path.relative_to(PACKAGE.parent).with_suffix("").parts[: -node.level]
                base = ".".join([*inside, base]).rstrip(".")
            yield node.lineno, base
            # `from coilbook import records` names a room as well.
            if base == "coilbook":
                for alias in node.names:
                    yield node.lineno, f"coilbook.{alias.name}"


def steps_up(room: str, path: Path, tree: ast.AST) -> list[str]:
    """Return the imports of a module that a module of this room may not have."""
    allowed = {*LADDER[: LADDER.index(room) + 1], *SHARED, "__version__"}
    return [
        f"{path.name}:{line} imports {name}"
        for line, name in imports_of(tree, path)
        if name.startswith("coilbook.") and name.split(".")[1] not in allowed
    ]


@pytest.mark.parametrize("room", LADDER)
def test_a_room_imports_only_from_rooms_before_it(room: str) -> None:
    """Data flows one way: no module of a room imports from a later room or from the commands."""
    found = []
    for path in modules(room):
        found += steps_up(room, path, parsed(path))
    assert found == []


@pytest.mark.parametrize(
    "source",
    [
        "from coilbook.pages import render_site",
        "import coilbook.publish.build",
        "def f():\n    from coilbook import assessment",
        "from ..pages.text import number",
        "from coilbook.cli import main",
    ],
)
def test_the_ladder_check_sees_every_way_of_stepping_up(source: str) -> None:
    """The check above can fail: each way of writing a step up from stats is found."""
    path = PACKAGE / "stats" / "made_up.py"
    assert len(steps_up("stats", path, ast.parse(source))) == 1


@pytest.mark.parametrize("shared", SHARED)
def test_shared_modules_import_no_room(shared: str) -> None:
    """What every room may import rests on no room itself."""
    found = [
        f"{shared}.py:{line} imports {name}"
        for line, name in imports(PACKAGE / f"{shared}.py")
        if name.startswith("coilbook.") and name.split(".")[1] not in SHARED
    ]
    assert found == []


@pytest.mark.parametrize(("library", "home"), sorted(HOMES.items()))
def test_a_library_stays_in_its_one_room(library: str, home: str) -> None:
    """Pydantic and the site engine are each imported in one room only."""
    found = [
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in sorted(PACKAGE.rglob("*.py"))
        if path.relative_to(PACKAGE).parts[0] != home
        for line, name in imports(path)
        if name.split(".")[0] == library
    ]
    assert found == []
    assert library == "material" or any(
        name.split(".")[0] == library for path in modules(home) for _, name in imports(path)
    ), f"nothing in {home} imports {library}: the check has lost its object"


@pytest.mark.parametrize("room", FILELESS)
def test_rooms_of_values_open_no_file(room: str) -> None:
    """Core, measures, stats, assessment and pages read and write no file."""
    found = []
    for path in modules(room):
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.Call):
                called = node.func
                name = called.attr if isinstance(called, ast.Attribute) else None
                name = called.id if isinstance(called, ast.Name) else name
                if name in READS:
                    found.append(f"{path.name}:{node.lineno} calls {name}")
    assert found == []

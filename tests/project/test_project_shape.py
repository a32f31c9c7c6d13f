"""The shape of the package: no circles, one name for one class, small functions, small rooms.

What still stands against a rule is listed by name. An entry that is needed no more fails as well,
so that the lists only grow shorter.
"""

from __future__ import annotations

import ast
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest

BUILDER = Path(__file__).resolve().parents[2] / "builder"
LONGEST_FUNCTION = 60
MOST_MODULES = 15

#: Modules that still import each other in a circle.
STILL_IN_CIRCLES: frozenset[str] = frozenset()
#: Names that more than one class still has.
STILL_TWICE = frozenset({"Kind", "Place", "Problem"})
#: Functions that are still longer.
STILL_LONG = frozenset(
    {
        "coilbook.core.observing.about_paths.losses",
        "coilbook.core.reduction.reduce.reduce_reading",
    }
)
#: Rooms that still hold more modules.
STILL_LARGE = frozenset({"coilbook.measures"})

Trees = Mapping[str, ast.Module]


def package() -> dict[str, ast.Module]:
    """Return the tree of every module by its dotted name; a room's own is that of the folder."""
    trees = {}
    for path in sorted((BUILDER / "coilbook").rglob("*.py")):
        parts = path.relative_to(BUILDER).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        trees[name] = ast.parse(path.read_text(encoding="utf-8"))
    assert len(trees) > 100
    return trees


def imports(trees: Trees) -> dict[str, set[str]]:
    """Return what each module imports of the others, wherever the import stands.

    One for types alone (TYPE_CHECKING) or within a function counts as well: it hides a circle and
    does not break it.
    """
    found: dict[str, set[str]] = defaultdict(set)
    for name, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{name} imports by dots"
                for alias in node.names:
                    whole = f"{node.module}.{alias.name}"
                    found[name] |= {whole if whole in trees else str(node.module)}
            elif isinstance(node, ast.Import):
                found[name] |= {alias.name for alias in node.names}
        found[name] &= trees.keys()
    return found


def in_circles(graph: Mapping[str, Iterable[str]]) -> set[str]:
    """Return the modules from which a way through imports leads back to themselves."""

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        ways = [*graph.get(start, ())]
        while ways:
            here = ways.pop()
            if here not in seen:
                seen.add(here)
                ways += graph.get(here, ())
        return seen

    return {name for name in graph if name in reached(name)}


def named_twice(trees: Trees) -> set[str]:
    """Return the names that more than one class has, in whatever modules."""
    names = Counter(
        node.name
        for tree in trees.values()
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
    )
    return {name for name, times in names.items() if times > 1}


def too_long(trees: Trees) -> set[str]:
    """Return the functions that have more lines than they may, docstring and signature included."""
    return {
        f"{name}.{node.name}"
        for name, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (node.end_lineno or 0) - node.lineno + 1 > LONGEST_FUNCTION
    }


def too_large(names: Iterable[str]) -> set[str]:
    """Return the rooms that hold more modules than they may; rooms inside count by themselves."""
    known = set(names)
    rooms = Counter(
        name.rpartition(".")[0]
        for name in known
        if not any(other.startswith(f"{name}.") for other in known)
    )
    return {room for room, modules in rooms.items() if modules > MOST_MODULES}


def test_no_module_imports_itself_by_a_circle() -> None:
    """What imports in a circle is one thing in several files, and is read and moved as one."""
    assert in_circles(imports(package())) == STILL_IN_CIRCLES


def test_a_class_name_means_one_class() -> None:
    """A name in a traceback or a search says which class it is."""
    assert named_twice(package()) == STILL_TWICE


def test_no_function_is_too_long() -> None:
    """A function that does not fit on a screen has joints where it can part."""
    assert too_long(package()) == STILL_LONG


def test_no_room_is_too_large() -> None:
    """A room of many modules has rooms inside that nobody has named yet."""
    assert too_large(package()) == STILL_LARGE


@pytest.mark.parametrize(
    "source",
    [
        "from coilbook.a import Thing",
        "from coilbook import a",
        "import coilbook.a",
        "if TYPE_CHECKING:\n    from coilbook.a import Thing",
        "def f():\n    from coilbook.a import Thing",
    ],
)
def test_a_circle_is_seen_however_it_is_written(source: str) -> None:
    """The checks above can fail: a circle of three, closed in each way of importing."""
    trees = {
        "coilbook": ast.parse(""),
        "coilbook.a": ast.parse("import coilbook.b"),
        "coilbook.b": ast.parse("from coilbook.c import Other"),
        "coilbook.c": ast.parse(source),
        "coilbook.d": ast.parse("from coilbook.a import Thing"),
    }
    assert in_circles(imports(trees)) == {"coilbook.a", "coilbook.b", "coilbook.c"}
    assert in_circles(imports({**trees, "coilbook.c": ast.parse("")})) == set()


def test_what_is_twice_long_or_large_is_seen() -> None:
    """The checks above can fail, and let pass what is just small enough."""
    two = {"coilbook.a": ast.parse("class A: pass"), "coilbook.b": ast.parse("class A: pass")}
    assert named_twice(two) == {"A"}
    body = "    x = 1\n"
    fits = ast.parse("def f():\n" + (LONGEST_FUNCTION - 1) * body)
    long = ast.parse("class A:\n  def f(self):\n" + LONGEST_FUNCTION * body)
    assert too_long({"coilbook.a": fits, "coilbook.b": long}) == {"coilbook.b.f"}
    room = ["coilbook", "coilbook.a", *(f"coilbook.a.m{i}" for i in range(MOST_MODULES))]
    inside = ["coilbook.a.inside", "coilbook.a.inside.m"]
    assert too_large([*room, *inside]) == set()
    assert too_large([*room, *inside, "coilbook.a.one_more"]) == {"coilbook.a"}

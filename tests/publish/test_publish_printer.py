"""The printer of core: what it refuses and in which words, and what its script looks like."""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbook.publish.printer import CannotPrint, check, print_core

#: What does not get printed, the line that it stands in, and how that is told.
REFUSED = [
    ("import numpy as np\ndef f(x: float) -> float:\n    return np.abs(x)", 3,
     "numpy.abs is not printed. Say it otherwise."),
    ("def f(x: int) -> int:\n    match x:\n        case _:\n            return 1", 2,
     "match is not printed. Say it otherwise."),
    ("def f(x: str) -> None:\n    with open(x):\n        pass", 2,
     "with is not printed. Say it otherwise."),
    ("def f() -> None:\n    try:\n        pass\n    except Exception:\n        pass", 4,
     "except without a name catches a script's own mistakes. Name it."),
    ("def f() -> None:\n    try:\n        pass\n    except KeyError:\n        pass\n"
     "    else:\n        pass", 2, "else behind try is not printed. Put it behind the whole."),
    ("def f(x: list[int] = []) -> int:\n    return len(x)", 1,
     "a default that can be changed is not printed. Take None."),
    ("def f(x) -> str:\n    return f'{x}'", 2,
     "what x is cannot be told, or written. Annotate it, or join it."),
    ("def f(x) -> str:\n    return f'{x:.2f}'", 2,
     "what x is cannot be told. Annotate it as float, int or str."),
    ("def f(x) -> str:\n    return x.strip()", 2,
     "what x.strip belongs to cannot be told. Annotate it."),
    ("def f(x: str) -> str:\n    return x.expandtabs()", 2,
     "x.expandtabs of a str is not printed. Say it otherwise."),
    ("def f(x: str) -> str:\n    return '%s' % x", 2,
     "% on a text is not printed. Write an f-string."),
    ("def g(a: int, *, b: int) -> int:\n    return a\ndef f(d: dict[str, int]) -> int:\n"
     "    return g(1, **d)", 4, "** in a call is not printed. Write the arguments out."),
    ("def g(a: int) -> int:\n    return a\ndef f() -> int:\n    return g(b=1)", 4,
     "b is not an argument of g."),
    ("def g(a: int) -> int:\n    return a\ndef f() -> int:\n    return g()", 4,
     "a is missing in the call of g."),
    ("N = 2**63\ndef f() -> int:\n    return 9007199254740993", 3,
     "9007199254740993 is not printed. Write a number below 2**53 or a text."),
    ("import re\nP = re.compile('a', re.MULTILINE)", 2,
     "of the flags of a pattern IGNORECASE alone is printed."),
    ("class A:\n    def __lt__(self, other: object) -> bool:\n        return True", 2,
     "__lt__ is not printed. Give it a plain name."),
    ("class A:\n    def m(self) -> int:\n        return 1\n"
     "def f(a: A) -> object:\n    return a.m", 5,
     "the method m is not called. Write a lambda."),
    ("def f(x: float) -> float:\n    return unknown(x)", 2,
     "unknown is not defined in core, nor printed. Say it otherwise."),
    ("def wrap(g: object) -> object:\n    return g\n@wrap\ndef f() -> int:\n    return 1", 3,
     "the decorator wrap is not printed. Do without it."),
    ("for x in (1, 2):\n    pass", 1, "a module holds definitions only."),
    ("def g(a: int, b: int) -> int:\n    return a - b\ndef f(x: tuple[int]) -> int:\n"
     "    return g(*x, 1)", 4, "a * before other arguments is not printed. Unpack it first."),
    ("def f(xs: list[tuple[int, int]]) -> list[int]:\n    return [1 for _, _ in xs]", 2,
     "_ stands twice in one target. Give each a name."),
]  # fmt: skip


def module(folder: Path, source: str) -> Path:
    """Write a package of one module and return its path."""
    path = folder / "pack" / "small.py"
    path.parent.mkdir()
    path.write_text(f"{source}\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(("source", "line", "what"), REFUSED)
def test_what_is_not_printed_is_told_with_its_line(
    tmp_path: Path, source: str, line: int, what: str
) -> None:
    """Each construct beyond what is permitted gets its line and what to write instead."""
    assert f"pack/small.py:{line}: {what}" in check(module(tmp_path, source), tmp_path)


def test_only_what_is_asked_for_is_printed_and_always_alike(tmp_path: Path) -> None:
    """Constants, functions and the runtime are left out where nothing rests on them."""
    path = module(
        tmp_path,
        "A = 2.0\nB = [1.0, 2.0]\ndef used(x: float) -> float:\n    return x * A\n"
        "def unused(x: list[float]) -> float:\n    return max(x) + B[0]",
    )
    assert check(path, tmp_path) == []
    script = print_core({"pack.small.used": "used"}, tmp_path)
    assert script == print_core({"pack.small.used": "used"}, tmp_path)
    assert script.splitlines() == [
        "(function () {",
        '"use strict";',
        "const A = 2;",
        "function used(x) {",
        "  return x * A;",
        "}",
        "window.coilbook = window.coilbook || {};",
        "coilbook.core = Object.assign(coilbook.core || {}, { used });",
        "})();",
    ]


def test_what_cannot_be_printed_stops_the_printing(tmp_path: Path) -> None:
    """A script is whole or there is none: all that is wrong stands in the error."""
    module(
        tmp_path, "def f(x) -> str:\n    return f'{x}'\ndef g(x) -> str:\n    return f(x.strip())"
    )
    with pytest.raises(CannotPrint) as told:
        print_core({"pack.small.g": "g"}, tmp_path)
    assert [line.partition(": ")[0] for line in str(told.value).splitlines()] == [
        "pack/small.py:2",
        "pack/small.py:4",
    ]

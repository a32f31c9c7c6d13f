"""What is printed of core computes in a page what Python does."""

from __future__ import annotations

import importlib
import json
import math
import random
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from types import ModuleType

import pytest
from playwright.sync_api import Browser, Page

from coilbook.publish.printer import check, print_core

ROOT = Path(__file__).parent / "printed_core"
#: How many drawn inputs each function is given.
DRAWN = 250
#: A script's functions are as good as Python's to the last digit or two.
CLOSE = 2e-15

Draw = Callable[[random.Random], list[object]]


def number(r: random.Random) -> float:
    """Draw a number: of any size, a short decimal, a half, or a plain one."""
    size = 10.0 ** r.randint(-7, 17)
    return r.choice(
        [r.uniform(-size, size), round(r.uniform(-50, 50), 2), r.randint(-40, 40) / 8,
         r.uniform(-6, 6),
         0.0, 1.0, float(r.randint(-9, 9)), 2.675, 1e21, 5e-324, 123456.5]
    )  # fmt: skip


def text(r: random.Random) -> str:
    """Draw a text of letters and signs that core meets, some beyond the plain ones."""
    some = "aAbBz019 ,.-/'½–Ωµ²٣ßıſς😀\u200b\u3000 \t{}\"\\$&e"
    whole = ["7.82k", "1,234.5", "10-12 k", "1.234", "-3,5", "2024-02-29", "2023-02-29", "1e5",
             " 12 ",
             "nan", "0x1", "1_000", "3 to 5", "١٢", "²", "Ωk 😀 9"]  # fmt: skip
    return r.choice(whole) if r.random() < 0.3 else "".join(r.choices(some, k=r.randint(0, 9)))


def letters(r: random.Random) -> list[str]:
    """Draw some words."""
    return [r.choice(["a", "b", "two", "one", "é", "longer", "😀"]) for _ in range(r.randint(0, 6))]


def digits(r: random.Random) -> str:
    """Draw a number as it is written, up to more digits than a float holds."""
    whole = "".join(r.choices("0123456789", k=r.randint(1, 40)))
    return r.choice([whole, f"{whole[:2]}.{whole}", whole[:3], "0", "1", "x", "3/7"])


#: Each function of the snippets, and how its arguments are drawn.
DRAWS: Mapping[str, Draw] = {
    "numbers.divided": lambda r: [number(r), r.choice([-3.0, 0.1, 7.5, r.uniform(0.5, 90)])],
    "numbers.whole": lambda r: [r.randint(-999, 999), r.choice([-7, 3, 1, 64])],
    "numbers.rounded": lambda r: [number(r), r.randint(-3, 6)],
    "numbers.halves": lambda r: [r.randint(-300, 300)],
    "numbers.in_words": lambda r: [number(r), r.randint(-99999, 99999)],
    "numbers.functions": lambda r: [r.uniform(-12, 12) if r.random() < 0.7 else r.uniform(-1, 1)],
    "numbers.compared": lambda r: [number(r), number(r), r.choice([None, 0.0, number(r)])],
    "shapes.objects": lambda r: [r.choice(["", "ab", "wide"]), r.uniform(-3, 9)],
    "shapes.dicts": lambda r: [letters(r)],
    "shapes.sets": lambda r: [letters(r), letters(r)],
    "shapes.lists": lambda r: [
        [r.choice([r.uniform(-9, 9), 0.0, 2.5, 3.5]) for _ in range(r.randint(0, 7))]
    ],
    "shapes.loops": lambda r: [r.randint(0, 30)],
    "shapes.given": lambda r: [r.uniform(-2, 2), letters(r)],
    "shapes.kept": lambda r: [letters(r), r.uniform(-2, 2)],
    "shapes.caught": lambda r: [r.choice(["one", "7", "x", ""]), r.uniform(-1, 1)],
    "texts.methods": lambda r: [text(r)],
    "texts.patterns": lambda r: [text(r)],
    "texts.exact": lambda r: [digits(r), digits(r), r.randint(-340, 320)],
    "texts.read": lambda r: [text(r)],
}  # fmt: skip
#: What a page makes of a result so that it can be held against Python's.
PLAIN = """(cases) => {
  const plain = (x) => x === undefined || x === null ? null
    : typeof x === "number" ? (Number.isFinite(x) ? x : {number: String(x)})
    : Array.isArray(x) ? x.map(plain)
    : typeof x !== "object" ? x : x.items ? [...x.items()].map(plain) : [...x].map(plain);
  return cases.map(([name, args]) => {
    try { return plain(window.coilbook.core[name](...args)); }
    catch (error) { return {error: error.name + ": " + error.message}; }
  });
}"""


def plain(value: object) -> object:
    """Return a result as the page hands it over."""
    if isinstance(value, float) and not math.isfinite(value):
        return {"number": {"nan": "NaN", "inf": "Infinity", "-inf": "-Infinity"}[repr(value)]}
    if isinstance(value, dict):
        return [[plain(k), plain(v)] for k, v in value.items()]
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return value


def close(one: object, other: object) -> bool:
    """Say whether two results are the same, numbers to their last digits."""
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(close, one, other))
    if isinstance(one, bool) or isinstance(other, bool) or not isinstance(one, float | int):
        return one == other and isinstance(one, bool) == isinstance(other, bool)
    if not isinstance(other, float | int):
        return False
    return math.isclose(one, other, rel_tol=CLOSE, abs_tol=0.0)


@pytest.fixture(scope="module")
def snippets() -> Iterator[dict[str, ModuleType]]:
    """Import the snippets as Python runs them."""
    sys.path.insert(0, str(ROOT))
    names = {full.partition(".")[0] for full in DRAWS}
    yield {name: importlib.import_module(f"snippets.{name}") for name in sorted(names)}
    sys.path.remove(str(ROOT))


@pytest.fixture(scope="module")
def blank(browser: Browser) -> Iterator[Page]:
    """Open one empty page with the snippets' script."""
    page = browser.new_page()
    page.evaluate(print_core({f"snippets.{name}": name.partition(".")[2] for name in DRAWS}, ROOT))
    yield page
    page.close()


@pytest.mark.browser
def test_what_is_printed_computes_what_python_does(
    snippets: dict[str, ModuleType], blank: Page
) -> None:
    """Each function of the snippets, over drawn inputs, here and in a page."""
    r = random.Random(20260714)
    cases = [(full, draw(r)) for full, draw in DRAWS.items() for _ in range(DRAWN)]
    found = blank.evaluate(PLAIN, [[full.partition(".")[2], args] for full, args in cases])
    apart = []
    for (full, args), other in zip(cases, found, strict=True):
        module, _, name = full.partition(".")
        here = json.loads(json.dumps(plain(getattr(snippets[module], name)(*args))))
        if not close(here, other):
            apart.append((full, args, here, other))
    assert apart == []


@pytest.mark.parametrize("name", sorted({full.partition(".")[0] for full in DRAWS}))
def test_the_snippets_keep_to_what_is_permitted(name: str) -> None:
    """Nothing of the snippets is refused, so that the test above is of all that they hold."""
    assert check(ROOT / "snippets" / f"{name}.py", ROOT) == []

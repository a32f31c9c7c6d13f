"""text.js writes numbers as pages/text.py does, to the letter: drawn values, halves, odd ends."""

from __future__ import annotations

import random
from types import SimpleNamespace
from typing import Any

import pytest

from coilbook.core.budgets.uncertainty import expanded
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.pages import text
from coilbook.pages.piece.workings import in_tens
from coilbook.records import load_reference
from coilbook.resources import dataset_dir

pytestmark = pytest.mark.browser

#: Exact halves in binary, which go to the even digit; carries; signs that round away; large ones.
ODD = (
    0.0, 0.5, 1.5, 2.5, -0.5, -2.5, 0.125, 0.375, 2.675, 1.005, 9.995, 99.5, 999.5, 9999.5, 9999.49,
    99999.5, 12345.678, -0.004, -0.005, 1e-9, 123456789.0, 25.0, 35.0, 250.0, 350.0, 1e15,
)  # fmt: skip
RUN = """cases => cases.map(([name, ...arguments]) => coilbook.text[name](...arguments))"""
COUNT = 400


def cases() -> list[tuple[list[Any], str]]:
    """Return calls of text.js, each with what Python writes."""
    drawn = random.Random(11)
    loaded = load_reference(dataset_dir() / "reference")
    assert loaded.value is not None
    properties = [p for p in loaded.value.properties.values() if p.kind == "quantity"]
    found: list[tuple[list[Any], str]] = []
    values = [*ODD, *(drawn.uniform(-1, 1) * 10 ** drawn.uniform(-6, 7) for _ in range(COUNT))]
    for value in values:
        found += [(["number", value, d], text.number(value, d)) for d in range(-2, 5)]
        found.append((["probability", abs(value) % 1.0], text.probability(abs(value) % 1.0)))
    for _ in range(COUNT):
        prop = drawn.choice(properties)
        js = {"decimals": prop.decimals or 0, "unit": prop.unit}
        value, u = 10 ** drawn.uniform(-3, 5), drawn.choice((0.0, 10 ** drawn.uniform(-5, 3)))
        qualifier: Any = drawn.choice(("", "", "", "<", ">", "open"))
        reduced = ReducedValue(
            piece_id="a", component="pair", property_id=prop.property_id, unit=prop.unit or "",
            value=None if qualifier == "open" else value, standard_uncertainty=u,
            qualifier=qualifier, category=None, line=1, written="", date="", instrument_id=None,
            calibration="unknown",
        )  # fmt: skip
        given = {"value": reduced.value, "U": expanded(u), "qualifier": qualifier, "category": None}
        found.append((["result", given, js], text.result(reduced, prop)))
        found.append(
            (
                ["inTens", value, expanded(u)],
                in_tens(SimpleNamespace(value=value, standard_uncertainty=u)),
            )
        )
        first = drawn.randrange(1900, 2100)
        last = first + drawn.choice((0, 1, 5, 60, 120))
        found.append((["years", first, last], text.years(first, last)))
    for words in ("Pair", "AWG 42", "Q", "", "Metal of the cover"):
        found.append((["lowerFirst", words], text.lower_first(words)))
        found.append((["upperFirst", words], text.upper_first(words)))
    return found


def test_numbers_are_written_alike(visit: Any) -> None:
    """Each of some thousands of numbers, results, turns and years has the same letters."""
    page = visit().go("check/index.html")
    both = cases()
    written = page.evaluate(RUN, [call for call, _ in both])
    wrong = [
        (call, js, python) for (call, python), js in zip(both, written, strict=True) if js != python
    ]
    assert wrong == []

"""What Python says of the drawn pieces, and the yardstick that the page is held against."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Mapping
from typing import Any

from parity_pieces import demo, pieces

from coilbook.commands.show import PieceInBook, as_data
from coilbook.core.observing.assess import assess
from coilbook.core.observing.peers import GroupKey
from coilbook.core.reduction.piece import measure_piece
from coilbook.records.contents import Piece
from coilbook.records.reading.loose import LOOSE_BASIS, LOOSE_ID, LooseReading, load_loose
from coilbook.records.tables.models import ReadingRow
from coilbook.stats.summary import Summary

#: Nine significant digits, down to where only the last bits of what it was reckoned from are left.
DIGITS, SMALL = 1e-9, 1e-12

#: What the page adds to Python's data.
EXTRAS = frozenset({"reading", "problems", "peers_loaded"})


def _cells_of(typed: Mapping[str, Any], faulty: frozenset[str]) -> dict[str, str]:
    cells = {
        "family_id": typed["family_id"],
        "position": typed["position"],
        "state": typed["state"] or "unknown",
        "potted": typed["potted"] or "unknown",
        "features": ";".join(typed["features"]),
        "year_first": typed["year_first"],
        "year_last": typed["year_last"],
    }
    if faulty & {"year_first", "year_last"}:
        cells["year_first"] = cells["year_last"] = ""
    for column in faulty - {"year_first", "year_last"}:
        cells[column] = "unknown" if column in ("state", "potted") else ""
    if cells["year_first"].strip() or cells["year_last"].strip():
        cells["year_basis"] = LOOSE_BASIS
    return cells


def _loose(index: int, row: Mapping[str, Any]) -> LooseReading:
    columns = (*ReadingRow.model_fields, "accuracy_percent", "accuracy_digits", "measures")
    stated = row.get("accuracy")
    texts = ("", "") if stated is None else (str(stated["percent"]), str(stated["digits"]))
    return LooseReading(
        {name: cell for name, cell in row.items() if name != "accuracy"},
        f"{index}|",
        {column: f"{index}|{column}" for column in columns},
        texts if any(text.strip() for text in texts) else None,
    )


def python_says(typed: Mapping[str, Any]) -> dict[str, Any]:
    """Return what ``compare --json`` would have, and every problem with its reading and column."""
    book = demo()
    readings = [_loose(index, row) for index, row in enumerate(typed["readings"])]
    found = load_loose(_cells_of(typed, frozenset()), {}, readings, book.reference)
    problems, faulty, wrong = [], set(), set()
    for problem in found.problems:
        place, _, column = problem.file.rpartition("|")
        reading = int(place) if place else None
        problems.append([reading, column, problem.what, problem.todo, problem.severity])
        if problem.severity == "error":
            (faulty.add(column) if reading is None else wrong.add(reading))
    told: dict[str, Any] = {"problems": problems}
    if "family_id" in faulty:
        return told
    kept = [index for index in range(len(readings)) if index not in wrong]
    again = load_loose(
        _cells_of(typed, frozenset(faulty)), {}, [readings[i] for i in kept], book.reference
    ).value
    assert again is not None, (typed, found.problems)
    piece = dataclasses.replace(
        again,
        readings=tuple(
            dataclasses.replace(reading, line=kept[reading.line - 1] + 1)
            for reading in again.readings
        ),
    )
    return told | _said_of(piece)


def _said_of(piece: Piece) -> dict[str, Any]:
    book = demo()
    measured = measure_piece(piece, book.reference)
    said = assess(piece, measured, book.archive, book.reference, book.summaries)
    shown = PieceInBook(
        piece,
        dataclasses.replace(book, measured={LOOSE_ID: measured}, assessments={LOOSE_ID: said}),
    )
    data = as_data(shown)
    del data["readings"]
    for value in data["values"]:
        for place in value["places"]:
            summary = book.summaries.get(
                GroupKey(
                    piece.family.family_id,
                    value["property_id"],
                    value["component"],
                    place["period_id"],
                    place["position"],
                )
            )
            place["peers_sorted"] = sorted(m.value for m in summary.members) if summary else []
            place["summary"] = _summary(summary) if summary else None
    return data


def _summary(summary: Summary) -> dict[str, Any]:
    names = (
        "n", "drawable", "minimum", "low_5", "lower_quartile", "median", "upper_quartile",
        "high_95", "maximum",
    )  # fmt: skip
    return {name: getattr(summary, name) for name in names}


@functools.cache
def expected() -> tuple[dict[str, Any], ...]:
    """Return what Python says of every drawn piece."""
    return tuple(python_says(typed) for typed in pieces())


# --- the yardstick -------------------------------------------------------------------------------


def differences(page: Any, python: Any, where: str = "") -> list[str]:
    """Return where two outcomes differ: numbers to nine digits, everything else to the letter."""
    if isinstance(python, dict) and isinstance(page, dict):
        found = [f"{where}.{key}: not on the page" for key in python if key not in page]
        more = set(page) - set(python) - EXTRAS
        found += [f"{where}.{key}: not in Python" for key in sorted(more)]
        for key in python:
            if key in page:
                found += differences(page[key], python[key], f"{where}.{key}")
        return found
    if isinstance(python, list | tuple) and isinstance(page, list):
        if len(python) != len(page):
            return [f"{where}: {len(page)} on the page, {len(python)} in Python: {page} {python}"]
        return [
            line
            for at, (one, other) in enumerate(zip(page, python, strict=True))
            for line in differences(one, other, f"{where}[{at}]")
        ]
    numbers = all(isinstance(x, int | float) and not isinstance(x, bool) for x in (page, python))
    if numbers and math.isclose(page, python, rel_tol=DIGITS, abs_tol=SMALL):
        return []
    if not numbers and page == python and type(page) is type(python):
        return []
    return [f"{where}: {page!r} on the page, {python!r} in Python"]

"""What was probably meant by a row that does not fit: for telling the slip, and for reading on.

Nothing here is taken for granted: whatever is mended has its error first. A row that is read on
tells its other slips in the same run.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, islice, pairwise
from typing import get_args

from pydantic import BaseModel

from coilbook.core.written.spelling import nearest
from coilbook.records.tables.cells import Row, folded_word, literal_words, slug

#: Tells how many faults a row would have with these cells, by column.
Faults = Callable[[Mapping[str, str]], int]

#: What a header may say for a column, as people name it; capitals and spaces do not count.
HEADER_WORDS: dict[str, tuple[str, ...]] = {
    "value": ("reading", "resistance", "measured", "measurement", "result"),
    "piece_id": ("id", "piece", "pickup", "pickup_id", "number"),
    "family_id": ("family", "type", "pickup_type"),
    "instrument_id": ("instrument", "meter"),
    "property_id": ("property", "quantity", "what"),
    "component": ("part", "coil"),
    "temperature": ("temp",),
    "remark": ("note", "notes", "comment", "comments", "remarks"),
    "features": ("feature",),
}
#: A row with more cells too many than this, or with more ways to join them, is not puzzled over.
MOST_JOINS, MOST_WAYS = 3, 80
#: A year for one that cannot be read; nothing is said of it.
SOME_YEAR = 1950
_DIGITS = re.compile(r"\s*[<>~]?[+-]?\d{1,6}\s*")
_DECIMALS = re.compile(r"\s*\d+\s*[^\d\s.,;]*\s*")


def column_meant(name: str, columns: Sequence[str]) -> str | None:
    """Return the column that a header's cell probably means, of those that are still to come."""
    folded = folded_word(name)
    for column in columns:
        if folded == folded_word(column) or folded in HEADER_WORDS.get(column, ()):
            return column
    return nearest(name, columns)


@dataclass(frozen=True, slots=True)
class Joined:
    """A row with cells joined again where a comma parted them; ``at`` are their new places."""

    cells: list[str]
    at: tuple[int, ...]
    decimal: bool


def rejoin(cells: Sequence[str], width: int, faults: Callable[[list[str]], int]) -> Joined | None:
    """Return the row that has the fewest faults once its cells too many are joined to others.

    None where no way is better than every other: then nobody can tell which comma is too many.
    """
    extra = len(cells) - width
    pairs = [i for i in range(len(cells) - 1) if cells[i].strip() and cells[i + 1].strip()]
    if not 0 < extra <= MOST_JOINS:
        return None
    ways: list[tuple[tuple[int, bool], Joined]] = []
    for chosen in islice(combinations(pairs, extra), MOST_WAYS):
        if any(later - earlier == 1 for earlier, later in pairwise(chosen)):
            continue
        decimal = all(
            _DIGITS.fullmatch(cells[i]) and _DECIMALS.fullmatch(cells[i + 1]) for i in chosen
        )
        made: list[str] = []
        at = []
        for place, cell in enumerate(cells):
            if place - 1 in chosen:
                made[-1] = f"{made[-1].rstrip()},{cell.lstrip() if decimal else cell}"
                at.append(len(made) - 1)
            else:
                made.append(cell)
        ways.append(((faults(made), not decimal), Joined(made, tuple(at), decimal)))
    ways.sort(key=lambda way: way[0])
    if not ways or (len(ways) > 1 and ways[0][0] == ways[1][0]):
        return None
    return ways[0][1]


def filled_up(cells: Sequence[str], width: int, faults: Callable[[list[str]], int]) -> list[str]:
    """Return a row with too few cells with empty ones where they leave the fewest faults."""
    missing = [""] * (width - len(cells))
    # At the end first: editors leave out what is empty there.
    ways = ([*cells[:i], *missing, *cells[i:]] for i in range(len(cells), -1, -1))
    return min(ways, key=faults)


@dataclass(frozen=True, slots=True)
class Shifted:
    """A row moved back into its columns, the column where that begins, and how it stood."""

    cells: dict[str, str]
    first: str
    to_the_right: bool


def move_back(
    cells: Mapping[str, str], faulty: frozenset[str], model: type[Row], faults: Faults
) -> Shifted | None:
    """Return a row whose cells stand a column too far to one side, as it was meant.

    Only a row that has no fault left counts, and one in which a cell has come to a word that it
    could not be where it stood: an empty cell proves nothing.
    """
    columns = list(cells)
    values = list(cells.values())
    places = [place for place, column in enumerate(columns) if column in faulty]
    if len(places) < 2:
        return None
    for shift, made in _ways_back(values, min(places), max(places)):
        mended = dict(zip(columns, made, strict=True))
        told = any(
            mended[column].strip() and literal_words(model, column)
            for column in columns
            if column in faulty
        )
        if told and faults(mended) == 0:
            first, to_the_right = shift
            return Shifted(mended, columns[first], to_the_right)
    return None


def _ways_back(
    values: list[str], first: int, last: int
) -> Iterator[tuple[tuple[int, bool], list[str]]]:
    """Yield rows with an empty cell taken out before the first fault, or put in there."""
    empty = [place for place in range(first + 1) if not values[place].strip()]
    if empty:
        out = empty[-1]
        for end in range(last + 1, len(values) + 1):
            moved = [*values[:out], *values[out + 1 : end], "", *values[end:]]
            yield (out + 1, True), moved
    ends = [place for place in range(last, len(values)) if not values[place].strip()]
    for start in range(first, -1, -1):
        for end in ends:
            yield (start, False), [*values[:start], "", *values[start:end], *values[end + 1 :]]


def with_guesses(
    cells: Mapping[str, str], faulty: frozenset[str], model: type[Row]
) -> dict[str, str]:
    """Return cells with each faulty one set to what was probably meant, or to what is let through.

    The rest of the row can then be looked at in the same run.
    """
    return {**cells, **{column: _guess(column, cells, faulty, model) for column in faulty}}


#: Columns of years that are one end of a span, and the other end.
_OTHER_END = {"year_first": "year_last", "year_last": "year_first"}


def _guess(column: str, cells: Mapping[str, str], faulty: frozenset[str], model: type[Row]) -> str:
    cell = cells.get(column, "")
    words = literal_words(model, column)
    near = nearest(cell, words)
    if near is not None:
        return near
    field = model.model_fields.get(column)
    if field is None:
        return ""
    if column in _OTHER_END and cell.strip():
        # What years rest on is asked for whether or not they can be read.
        other = _OTHER_END[column]
        beside = cells.get(other, "").strip() if other not in faulty else ""
        return beside or str(SOME_YEAR)
    if not field.is_required():
        return ""
    if words:
        return words[0]
    kinds = set(_kinds(field.annotation))
    if bool in kinds:
        return "yes"
    if kinds & {int, float}:
        return str(SOME_YEAR) if column.endswith("year") else "1"
    return slug(cell) or "x"


def _kinds(annotation: object) -> Iterator[object]:
    yield annotation
    for argument in get_args(annotation):
        yield from _kinds(argument)


def required(model: type[BaseModel]) -> list[str]:
    """Return the columns that a table must have."""
    return [name for name, info in model.model_fields.items() if info.is_required()]

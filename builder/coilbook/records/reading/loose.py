"""A piece that is in no archive, read by the rules of one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pydantic import ValidationError

from coilbook.core import units
from coilbook.errors import Problem
from coilbook.records.contents import Piece, Reading, Reference
from coilbook.records.reading.archive import Loaded
from coilbook.records.reading.mend import with_guesses
from coilbook.records.reading.rows import Numbered, R, tell
from coilbook.records.rules import bench
from coilbook.records.rules.instruments import Traits
from coilbook.records.rules.place import Known, Place
from coilbook.records.rules.shared import Documented
from coilbook.records.tables.cells import RowError
from coilbook.records.tables.models import InstrumentRow, PieceRow, ReadingRow

#: The id of a piece that has none.
LOOSE_ID = "in-no-archive"
#: What its years rest on where nobody says it.
LOOSE_BASIS = "said for this comparison"


@dataclass(frozen=True, slots=True)
class LooseReading:
    """A reading's cells by their column, and what the reader calls the place they come from.

    ``places`` has the columns that come from elsewhere than ``place``. ``accuracy`` is that of the
    meter that read it, percent of reading and digits as written, where it is known. Readings of
    one kind of quantity with the same accuracy count as made by one meter, and share its error.
    """

    cells: Mapping[str, str]
    place: str
    places: Mapping[str, str]
    accuracy: tuple[str, str] | None = None


def load_loose(
    cells: Mapping[str, str],
    places: Mapping[str, str],
    readings: Sequence[LooseReading],
    reference: Reference,
) -> Loaded[Piece]:
    """Read one piece and its readings as if they stood in an archive, without instruments.

    Arguments: cells, the piece's by their column of pieces.csv; places, what to call the place that
    each of its columns comes from. Every problem is told with its place's name in place of a file.
    """
    known = _documented(reference)
    problems: list[Problem] = []
    filled = {"piece_id": LOOSE_ID, "publish": "yes", **cells}
    row = _validated(filled, PieceRow, problems)
    faulty = frozenset(problem.column for problem in problems)
    # What other tables say of the rest is told all the same, so that one run tells every slip.
    mended = row or _validated(with_guesses(filled, faulty, PieceRow), PieceRow, [])
    if mended is not None:
        more: list[Problem] = []
        bench.check_piece(
            Numbered(0, mended), known, Place(more, ""), faulty if row is None else frozenset()
        )
        problems += [problem for problem in more if problem.column not in faulty]
    problems = [_placed(problem, "", places) for problem in problems]
    pieces = {} if mended is None else {LOOSE_ID: mended}
    meters: dict[str, dict[str, Numbered[InstrumentRow]]] = {}
    traits: dict[tuple[str, str], Traits] = {}
    shop = bench.Shop(
        known=known,
        pieces=Known("", pieces, frozenset((LOOSE_ID,)), ""),
        instruments=Known("", meters, frozenset(), "Leave it out."),
        traits=traits,
        decimal_comma=False,
    )
    found: list[Reading] = []
    for number, loose in enumerate(readings, start=1):
        own: list[Problem] = []
        cells_of = {"piece_id": LOOSE_ID, **loose.cells}
        meter = _meter(loose, reference, own)
        if meter is not None:
            meters[meter.instrument_id] = {meter.measures: Numbered(0, meter)}
            traits[meter.instrument_id, meter.measures] = Traits()
            cells_of["instrument_id"] = meter.instrument_id
        reading_row = _validated(cells_of, ReadingRow, own)
        if reading_row is not None:
            reading = bench.read_reading(Numbered(number, reading_row), shop, Place(own, ""))
            found += [reading] if reading is not None else []
        problems += [_placed(problem, loose.place, loose.places) for problem in own]
    # One slip in what several readings share is told once.
    told = tuple(dict.fromkeys(sorted(problems)))
    whole = row is not None and not any(problem.severity == "error" for problem in told)
    if row is None or not whole:
        return Loaded(None, told)
    return Loaded(Piece(row, 0, reference.families[row.family_id], tuple(found)), told)


def _meter(
    loose: LooseReading, reference: Reference, problems: list[Problem]
) -> InstrumentRow | None:
    """Return the meter that a stated accuracy stands for; of a word none is needed."""
    prop = reference.properties.get(loose.cells.get("property_id", ""))
    if loose.accuracy is None or prop is None or prop.unit is None:
        return None
    percent, digits = (_with_a_point(text.strip()) or "0" for text in loose.accuracy)
    kind = units.kind_of(prop.unit).name
    cells = {
        "instrument_id": "meter",
        "name": "the meter",
        "measures": kind,
        "accuracy_percent": percent,
        "accuracy_digits": digits,
    }
    row = _validated(cells, InstrumentRow, problems)
    if row is None:
        return None
    stated = f"{kind}-{row.accuracy_percent:g}-{row.accuracy_digits:g}"
    plain = stated.replace("_", "-").replace(".", "p").replace("+", "").replace("--", "-")
    return row.model_copy(update={"instrument_id": f"meter-{plain}"})


def _with_a_point(text: str) -> str:
    """Return a plain number as a table has it: who types may write decimals with a comma."""
    return re.sub(r"\A(\d+),(\d+)\Z", r"\1.\2", text, flags=re.ASCII)


def _documented(reference: Reference) -> Documented:
    def known(noun: str, rows: Mapping[str, R]) -> Known[R]:
        return Known(f"the reference's {noun}", rows, frozenset(rows), "Correct it.")

    return Documented(
        properties=known("properties", reference.properties),
        families=replace(known("families", reference.families), called=reference.called()),
        periods=known("periods", reference.periods),
        features=known("features", reference.features),
        sources=known("sources", reference.sources),
    )


def _validated(cells: Mapping[str, str], model: type[R], problems: list[Problem]) -> R | None:
    faults: list[RowError] = []
    try:
        row = model.model_validate(cells, context=faults)
    except ValidationError as error:
        problems += [tell(details, model) for details in error.errors(include_url=False)]
        return None
    problems += [Problem("", 0, f.column, f.what, f.todo, "error", f.code) for f in faults]
    return row


def _placed(problem: Problem, place: str, places: Mapping[str, str]) -> Problem:
    """Return a problem with the name of its place for a file, and without a line or a column."""
    named = places.get(problem.column, place) or problem.column
    return replace(problem, file=named, line=0, column="")

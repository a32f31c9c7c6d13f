"""The instruments page: what each promises, and what repeated readings show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.pages import text
from coilbook.pages.declare import OnePage, search_words
from coilbook.pages.page import Book
from coilbook.records.tables.models import InstrumentRow
from coilbook.stats.repeats import (
    InstrumentPair,
    InstrumentRepeats,
    PropertyRepeats,
    archive_repeats,
)


@dataclass(frozen=True, slots=True)
class PromiseLine:
    """What one instrument promises for one kind of quantity, and what it read of it."""

    measures: str
    accuracy: str
    resolution: str
    calibrated: str
    due: str
    readings: str
    past_due: str
    remark: str


@dataclass(frozen=True, slots=True)
class InstrumentView:
    """One instrument."""

    instrument_id: str
    name: str
    promises: tuple[PromiseLine, ...]


@dataclass(frozen=True, slots=True)
class AgreementLine:
    """How one instrument agrees with itself, beside what its readings' budgets state."""

    name: str
    parts: str
    readings: str
    spread: str
    degrees: str
    stated: str


@dataclass(frozen=True, slots=True)
class PairLine:
    """How far two instruments differ on the same parts."""

    first: str
    second: str
    parts: str
    difference: str
    error: str
    p_value: str


@dataclass(frozen=True, slots=True)
class RepeatsView:
    """What the repeated readings of one property say; an empty text is not said."""

    name: str
    parts: str
    readings: str
    instruments_in_all: str
    repeatability: str
    within_degrees: str
    between: str
    reproducibility: str
    p_value: str
    truncated: bool
    instruments: tuple[AgreementLine, ...]
    pairs: tuple[PairLine, ...]


@dataclass(frozen=True, slots=True)
class InstrumentsContext:
    """Everything on the page."""

    instruments: tuple[InstrumentView, ...]
    without: str
    repeats: tuple[RepeatsView, ...]
    never_twice: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]


def context(book: Book) -> InstrumentsContext:
    """Return every instrument of the archive, with what was read again."""
    read: Counter[tuple[str, str]] = Counter()
    late: Counter[tuple[str, str]] = Counter()
    without = 0
    properties: dict[str, None] = {}
    for piece in book.archive.pieces.values():
        for reading in piece.readings:
            if reading.property.kind == "quantity":
                properties[reading.property.property_id] = None
            row = reading.instrument
            if row is None:
                without += reading.property.kind == "quantity"
                continue
            key = (row.instrument_id, row.measures)
            read[key] += 1
            late[key] += reading.calibration == "lapsed"
    names = {row.instrument_id: row.name for row in book.archive.instruments}
    by_id: dict[str, list[PromiseLine]] = {}
    for row in book.archive.instruments:
        key = (row.instrument_id, row.measures)
        by_id.setdefault(row.instrument_id, []).append(_promise(row, read[key], late[key]))
    found = archive_repeats(book.archive, book.measured, book.reference)
    told = {repeats.property_id for repeats in found.properties}
    return InstrumentsContext(
        instruments=tuple(InstrumentView(i, names[i], tuple(p)) for i, p in by_id.items()),
        without=text.number(without, 0) if without else "",
        repeats=tuple(_repeats(book, names, repeats) for repeats in found.properties),
        never_twice=tuple(
            prop.name
            for property_id, prop in book.reference.properties.items()
            if property_id in properties and property_id not in told
        ),
        left_out=tuple((why, text.number(count, 0)) for why, count in found.left_out.items()),
    )


def _promise(row: InstrumentRow, readings: int, past_due: int) -> PromiseLine:
    parts = []
    if row.accuracy_percent:
        parts.append(f"{row.accuracy_percent:g} % of the reading")
    if row.accuracy_digits:
        counts = "count" if row.accuracy_digits == 1 else "counts"
        parts.append(f"{row.accuracy_digits:g} {counts} of the last digit")
    return PromiseLine(
        measures=row.measures.replace("_", " "),
        accuracy=" + ".join(parts) or "exact",
        resolution=row.resolution or "the last digit written",
        calibrated=row.calibrated.isoformat() if row.calibrated else "",
        due=row.due.isoformat() if row.due else "",
        readings=text.number(readings, 0),
        past_due=text.number(past_due, 0),
        remark=row.remark or "",
    )


def _percent(value: float | None) -> str:
    return "" if value is None else f"{text.number(value, 2)} %"


def _repeats(book: Book, names: Mapping[str, str], repeats: PropertyRepeats) -> RepeatsView:
    precision = repeats.precision
    return RepeatsView(
        name=book.reference.properties[repeats.property_id].name,
        parts=text.number(repeats.parts, 0),
        readings=text.number(repeats.readings, 0),
        instruments_in_all=text.number(precision.labs, 0),
        repeatability=_percent(precision.repeatability_sd),
        within_degrees=text.number(precision.degrees_within, 0),
        between=_percent(precision.between_labs_sd),
        reproducibility=_percent(precision.reproducibility_sd),
        p_value=_p_value(precision.p_value),
        truncated=precision.between_truncated,
        instruments=tuple(_agreement(names, one) for one in repeats.instruments),
        pairs=tuple(_pair(names, one) for one in repeats.pairs),
    )


def _p_value(value: float | None) -> str:
    if value is None:
        return ""
    return "p < 0.001" if value < 0.001 else f"p = {value:.3f}"


def _agreement(names: Mapping[str, str], one: InstrumentRepeats) -> AgreementLine:
    return AgreementLine(
        name=names.get(one.instrument_id, one.instrument_id),
        parts=text.number(one.parts, 0),
        readings=text.number(one.readings, 0),
        spread=_percent(one.sd),
        degrees=text.number(one.degrees, 0),
        stated=_percent(one.stated),
    )


def _pair(names: Mapping[str, str], one: InstrumentPair) -> PairLine:
    return PairLine(
        first=names.get(one.first_id, one.first_id),
        second=names.get(one.second_id, one.second_id),
        parts=text.number(one.parts, 0),
        difference=_percent(one.difference),
        error=_percent(one.standard_error),
        p_value=_p_value(one.p_value),
    )


PAGE = OnePage(
    path="instruments/index.html",
    template="instruments.html.j2",
    section="methods",
    title="Instruments",
    description="What each instrument promises, and what repeated readings show.",
    context=context,
    search_text=lambda book: search_words(
        "instruments accuracy resolution calibration due repeatability reproducibility",
        *(i.name for i in book.archive.instruments),
    ),
)

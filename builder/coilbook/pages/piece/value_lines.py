"""The lines of a piece's values and readings, each with its strip and its verdicts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.core.budgets.uncertainty import expanded
from coilbook.core.constants import SMALLEST_ACROSS_OHM
from coilbook.core.judging.verdict import Reason, Verdict
from coilbook.core.observing.said import Assessment, Place
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.pages import text, views
from coilbook.pages.drawn.strips import Lane, PieceMark, nice_axis, strip
from coilbook.pages.page import Book
from coilbook.records.contents import Piece, Reading
from coilbook.records.tables.models import Property
from coilbook.stats.summary import Summary

#: Up to so many verdicts are named claim by claim beside a value; more are told by their word.
MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class ReasonView:
    """A reason's code with its data as text; the template words it."""

    code: str
    data: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class VerdictView:
    """One verdict: the word, how sure, against what, and why."""

    what: str
    mark: str
    word: str
    code: str
    probability: str
    claim: text.ClaimView
    scope: str
    value: str
    reasons: tuple[ReasonView, ...]


@dataclass(frozen=True, slots=True)
class VerdictGroup:
    """Verdicts of one word on one value, where there are too many to name each claim."""

    mark: str
    word: str
    code: str
    scopes: str


@dataclass(frozen=True, slots=True)
class ValueLine:
    """One property of one part: what stands for it, its strip and its verdicts."""

    what: str
    property_name: str
    written: str
    conditions: str
    value: str
    at_most: str
    strip: str
    verdicts: tuple[VerdictView, ...]
    groups: tuple[VerdictGroup, ...]
    place: str
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading exactly as it stands in the record, and what it comes to."""

    what: str
    property_name: str
    written: str
    temperature: str
    circuit: str
    instrument: str
    date: str
    remark: str
    value: str
    at_most: str
    flags: tuple[str, ...]


def what_of(value: ReducedValue, prop: Property, piece: Piece) -> str:
    """Return the head of a value's row: what was read, with its part where there are several."""
    return views.row_name(prop, value.component, piece.family.coils)


def in_order(book: Book, piece: Piece, measured: MeasuredPiece) -> list[ReducedValue]:
    """Return what stands for the piece in the properties' order, what it is looked up by first."""
    order = {pid: i for i, pid in enumerate(book.reference.properties)}
    best = sorted(measured.best.values(), key=lambda v: (order[v.property_id], v.component))
    return sorted(best, key=lambda v: v.property_id != views.main_property(piece.family))


def _reason(reason: Reason, prop: Property) -> ReasonView:
    data = {}
    for name, value in reason.data.items():
        if isinstance(value, str):
            data[name] = value
        elif name.endswith(("uncertainties", "sigmas", "standard_uncertainties")):
            data[name] = text.number(value, 1)
        elif name.endswith(("probability", "threshold", "inside_at", "outside_at")):
            data[name] = f"{value:.2f}"
        else:
            data[name] = text.quantity(value, prop)
    return ReasonView(reason.code, data)


def _verdict(book: Book, verdict: Verdict, prop: Property, what: str) -> VerdictView:
    mark, word = text.VERDICT_MARKS[verdict.word]
    claim = views.claim_view(book, verdict.claim)
    scope = ", ".join(part for part in (claim.period or "all years", claim.position) if part)
    return VerdictView(
        what=what,
        mark=mark,
        word=word,
        code=verdict.word.replace("_", "-"),
        probability=text.probability(verdict.probability),
        claim=claim,
        scope=scope,
        value=text.result(verdict.value, prop),
        reasons=tuple(_reason(r, prop) for r in verdict.reasons),
    )


def _groups(verdicts: tuple[VerdictView, ...]) -> tuple[VerdictGroup, ...]:
    """Return the verdicts by their word, each with the periods it was given for."""
    by_code: dict[str, list[VerdictView]] = {}
    for verdict in verdicts:
        by_code.setdefault(verdict.code, []).append(verdict)
    return tuple(
        VerdictGroup(
            found[0].mark, found[0].word, code, ", ".join(dict.fromkeys(v.scope for v in found))
        )
        for code, found in by_code.items()
    )


def place_text(book: Book, place: Place | None) -> str:
    """Say where a value stands among its peers; empty without peers."""
    if place is None or not place.peers:
        return ""
    period = book.reference.periods.get(place.key.period_id) if place.key.period_id else None
    among = period.name if period else "all years"
    if place.percentile is None:
        return f"{text.plural(place.peers, 'peer', 'peers')} ({among}): too few to place it"
    return f"{text.rank(place.percentile, place.peers)} ({among})"


def _written(reading: Reading) -> str:
    """Return a reading's value as it stands in the record, with what its other columns add."""
    row = reading.row
    sign = row.qualifier if row.qualifier in ("<", ">") else None
    return " ".join(part for part in (sign, row.value, row.unit) if part)


def at_most(value: ReducedValue, prop: Property) -> str:
    """Say what a coil with an unknown path across it has at the most, and on what that rests."""
    if value.interval is None or value.interval[1] is None:
        return ""
    most = text.number(value.interval[1], prop.decimals or 0) + text.unit_text(prop.unit)
    smallest = f"{SMALLEST_ACROSS_OHM / 1000:.0f} kΩ"
    return f"at most {most} if nothing under {smallest} lies across"


def of_the_probe(reading: Reading) -> list[str]:
    """Return how a bridge or a probe was set, in the words of the record."""
    row = reading.row
    parts = []
    if row.equivalent == "parallel":
        at = f" at {row.test_frequency}" if row.test_frequency else ""
        parts.append(f"parallel equivalent{at}")
    if reading.standoff_m > 0.0:
        parts.append(f"{row.standoff} off the pole")
    if row.zero:
        parts.append(f"{row.zero} with no magnet near")
    return parts


def _conditions(value: ReducedValue, reading: Reading | None) -> str:
    if reading is None:
        return ""
    parts = of_the_probe(reading)
    if reading.temperature_c is not None:
        parts.append(f"{reading.temperature_c:.0f} °C")
    if reading.row.circuit == "in_circuit":
        parts.append(
            f"in circuit, {reading.row.parallel} across" if reading.row.parallel else "in circuit"
        )
    return ", ".join(parts)


def value_line(
    book: Book,
    piece: Piece,
    value: ReducedValue,
    assessment: Assessment,
    reading: Reading | None,
    drawn: str = "",
) -> ValueLine:
    """Return a value as a line, with its strip if one is drawn, its verdicts and its place."""
    prop = book.reference.properties[value.property_id]
    what = what_of(value, prop, piece)
    verdicts = assessment.verdicts_of(value)
    place = assessment.place_of(value)
    shown = tuple(_verdict(book, v, prop, what) for v in verdicts)
    return ValueLine(
        what=what,
        property_name=prop.name,
        written=_written(reading) if reading else "–",
        conditions=_conditions(value, reading),
        value=text.result(value, prop),
        at_most=at_most(value, prop),
        strip=drawn,
        verdicts=shown,
        groups=_groups(shown) if len(shown) > MOST_NAMED else (),
        place=place_text(book, place),
        flags=tuple(value.flags),
    )


def value_strip(book: Book, piece: Piece, value: ReducedValue, assessment: Assessment) -> str:
    """Draw a value among what is documented and its peers; nothing of what is no plain number."""
    prop = book.reference.properties[value.property_id]
    if prop.kind != "quantity" or not value.comparable or value.value is None:
        return ""
    verdicts, place = assessment.verdicts_of(value), assessment.place_of(value)
    bands = views.bands(v.claim for v in verdicts)
    summary: Summary | None = None
    if place is not None:
        summary = book.summaries.peers(place.key, piece.row.piece_id)
    extent = expanded(value.standard_uncertainty or 0.0)
    ends = [*views.band_ends(bands), value.value - extent, value.value + extent]
    if summary is not None:
        ends += views.summary_ends([summary])
    claims = [views.claim_view(book, v.claim) for v in verdicts]
    label = views.strip_label(prop, claims, [summary] if summary else [])
    return strip(
        nice_axis(ends),
        bands,
        [Lane(summary, PieceMark(value.value, extent))],
        f"{label}; this piece {text.result(value, prop)}",
        ticks=True,
    )


def reading_line(book: Book, reading: Reading, value: ReducedValue) -> ReadingLine:
    """Return a reading as it stands in the record, with what it comes to."""
    row = reading.row
    names = {i.instrument_id: i.name for i in book.archive.instruments}
    circuit = {"free": "leads free", "in_circuit": "in circuit", None: ""}[row.circuit]
    if row.parallel:
        circuit += f", {row.parallel} across"
    circuit = ", ".join(part for part in (circuit, *of_the_probe(reading)) if part)
    return ReadingLine(
        what=text.PARTS[row.component],
        property_name=reading.property.name,
        written=_written(reading),
        temperature=row.temperature or "",
        circuit=circuit,
        instrument=names.get(row.instrument_id or "", ""),
        date=row.date.isoformat() if row.date else "",
        remark=row.remark or "",
        value=text.result(value, reading.property),
        at_most=at_most(value, reading.property),
        flags=tuple(value.flags),
    )

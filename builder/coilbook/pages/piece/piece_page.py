"""The piece page: readings as written beside what they come to, and what they were held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.core.budgets.uncertainty import expanded
from coilbook.core.constants import SMALLEST_ACROSS_OHM
from coilbook.core.judging.verdict import Reason, Verdict
from coilbook.core.observing.peers import SMALLEST_FOR_TAILS
from coilbook.core.observing.said import Assessment, Place
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.measures.checks import result_checks
from coilbook.pages import text, views
from coilbook.pages.drawn import figures, plots
from coilbook.pages.drawn.strips import Lane, Mark, nice_axis, strip
from coilbook.pages.family import features as features_page
from coilbook.pages.page import Book
from coilbook.pages.piece import bench_card as card
from coilbook.pages.piece import magnet_section as magnet
from coilbook.pages.piece import observations, workings
from coilbook.pages.piece import pair_section as pair
from coilbook.pages.piece import response_section as response
from coilbook.pages.views import Fact
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


@dataclass(frozen=True, slots=True)
class Tally:
    """How many verdicts came out each way, and which values are outside or too close."""

    inside: int
    judged: int
    outside: tuple[str, ...]
    close: tuple[str, ...]
    unusual: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PieceContext:
    """Everything on a piece page."""

    piece_id: str
    family_id: str
    family_name: str
    position: str
    years: str
    year_basis: str
    state: str
    potted: str
    condition: str
    remark: str
    measured_on: str
    compared_with: str
    comparisons: int
    tally: Tally
    observations: observations.Observations
    lines: tuple[ValueLine, ...]
    readings: tuple[ReadingLine, ...]
    closure: workings.ClosureLine | None
    hum: workings.HumLine | None
    turns: tuple[workings.TurnsLine, ...]
    pair_view: pair.PairView
    response: response.ResponseView | None
    magnet: magnet.MagnetView | None
    troubles: tuple[workings.TroubleLine, ...]
    budgets: tuple[workings.Budget, ...]
    features: tuple[features_page.FeatureLine, ...]
    figures: tuple[figures.Figure, ...]
    facts: tuple[Fact, ...]
    too_few: str
    inside_at: str
    outside_at: str
    card: card.Card


def _what(value: ReducedValue, prop: Property, piece: Piece) -> str:
    return views.row_name(prop, value.component, piece.family.coils)


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


def _place_text(book: Book, place: Place | None) -> str:
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


def _at_most(value: ReducedValue, prop: Property) -> str:
    """Say what a coil with an unknown path across it has at the most, and on what that rests."""
    if value.interval is None or value.interval[1] is None:
        return ""
    at_most = text.number(value.interval[1], prop.decimals or 0) + text.unit_text(prop.unit)
    smallest = f"{SMALLEST_ACROSS_OHM / 1000:.0f} kΩ"
    return f"at most {at_most} if nothing under {smallest} lies across"


def _of_the_probe(reading: Reading) -> list[str]:
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
    parts = _of_the_probe(reading)
    if reading.temperature_c is not None:
        parts.append(f"{reading.temperature_c:.0f} °C")
    if reading.row.circuit == "in_circuit":
        parts.append(
            f"in circuit, {reading.row.parallel} across" if reading.row.parallel else "in circuit"
        )
    return ", ".join(parts)


def _line(
    book: Book, piece: Piece, value: ReducedValue, assessment: Assessment, reading: Reading | None
) -> ValueLine:
    prop = book.reference.properties[value.property_id]
    what = _what(value, prop, piece)
    verdicts = assessment.verdicts_of(value)
    place = next((p for p in assessment.places if p.value is value), None)
    drawn = ""
    if prop.kind == "quantity" and value.comparable and value.value is not None:
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
        drawn = strip(
            nice_axis(ends),
            bands,
            [Lane(summary, Mark(value.value, extent))],
            f"{label}; this piece {text.result(value, prop)}",
            ticks=True,
        )
    shown = tuple(_verdict(book, v, prop, what) for v in verdicts)
    return ValueLine(
        what=what,
        property_name=prop.name,
        written=_written(reading) if reading else "–",
        conditions=_conditions(value, reading),
        value=text.result(value, prop),
        at_most=_at_most(value, prop),
        strip=drawn,
        verdicts=shown,
        groups=_groups(shown) if len(shown) > MOST_NAMED else (),
        place=_place_text(book, place),
        flags=tuple(value.flags),
    )


def _reading_line(book: Book, piece: Piece, reading: Reading, value: ReducedValue) -> ReadingLine:
    row = reading.row
    names = {i.instrument_id: i.name for i in book.archive.instruments}
    circuit = {"free": "leads free", "in_circuit": "in circuit", None: ""}[row.circuit]
    if row.parallel:
        circuit += f", {row.parallel} across"
    circuit = ", ".join(part for part in (circuit, *_of_the_probe(reading)) if part)
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
        at_most=_at_most(value, reading.property),
        flags=tuple(value.flags),
    )


def _tally(book: Book, piece: Piece, assessment: Assessment) -> Tally:
    judged = [v for v in assessment.verdicts if v.word != "not_judged"]

    def told(word: str) -> tuple[str, ...]:
        scopes: dict[str, list[str]] = {}
        for verdict in judged:
            if verdict.word == word:
                prop = book.reference.properties[verdict.value.property_id]
                claim = views.claim_view(book, verdict.claim)
                what = _what(verdict.value, prop, piece)
                scopes.setdefault(what, []).append(claim.period or "all years")
        return tuple(f"{w} ({', '.join(dict.fromkeys(s))})" for w, s in scopes.items())

    unusual = []
    for place in assessment.places:
        if place.percentile is None or place.peers < SMALLEST_FOR_TAILS:
            continue
        if not 5 <= place.percentile <= 95:
            prop = book.reference.properties[place.value.property_id]
            unusual.append(
                f"{_what(place.value, prop, piece)} {text.result(place.value, prop)}, "
                f"{_place_text(book, place)}"
            )
    return Tally(
        inside=sum(v.word == "inside" for v in judged),
        judged=len(judged),
        outside=told("outside"),
        close=told("too_close_to_call"),
        unusual=tuple(unusual),
    )


def _hum(measured: MeasuredPiece) -> workings.HumLine | None:
    imbalance = measured.best.get(("pair", "coil-imbalance"))
    return workings.hum_line(imbalance) if imbalance is not None else None


def _compared_with(book: Book, piece: Piece, assessment: Assessment) -> str:
    """Say which periods a piece was held against."""
    if piece.row.year_first is None:
        return "of every period, since the piece is undated,"
    names = [book.reference.periods[p].name for p in assessment.periods]
    return f"of {' and '.join(names)}" if names else ""


def context(book: Book, piece: Piece) -> PieceContext:
    """Return everything on a piece's page."""
    row = piece.row
    measured = book.measured[row.piece_id]
    assessment = book.assessments[row.piece_id]
    by_line = {r.line: r for r in piece.readings}
    value_of = {v.line: v for v in measured.values if v.line}
    order = {pid: i for i, pid in enumerate(book.reference.properties)}
    best = sorted(measured.best.values(), key=lambda v: (order[v.property_id], v.component))
    best.sort(key=lambda v: v.property_id != views.main_property(piece.family))
    lines = tuple(_line(book, piece, v, assessment, by_line.get(v.line)) for v in best)
    budgets = []
    checks = {(c.component, c.property_id): c for c in result_checks(measured, book.reference)}
    for value in best:
        prop = book.reference.properties[value.property_id]
        check = checks.get((value.component, value.property_id))
        made = workings.budget(_what(value, prop, piece), prop, value, check)
        if made is not None:
            budgets.append(made)
    dates = sorted({r.row.date for r in piece.readings if r.row.date is not None})
    drawn, too_few = plots.of_piece(book, piece)
    thresholds = book.archive.settings.thresholds
    return PieceContext(
        piece_id=row.piece_id,
        family_id=piece.family.family_id,
        family_name=piece.family.name,
        position=row.position or "position not known",
        years=views.piece_years(piece),
        year_basis=row.year_basis or "",
        state=row.state,
        potted=row.potted,
        condition=row.condition or "",
        remark=row.remark or "",
        measured_on=" and ".join(d.isoformat() for d in (dates[:1] + dates[1:][-1:])),
        compared_with=_compared_with(book, piece, assessment),
        comparisons=len(assessment.verdicts),
        tally=_tally(book, piece, assessment),
        observations=observations.view(book, piece, assessment),
        lines=lines,
        readings=tuple(
            _reading_line(book, piece, r, value_of[r.line])
            for r in piece.readings
            if r.line in value_of
        ),
        closure=(
            workings.closure_line(measured.closure, book.reference.properties["pair-resistance"])
            if measured.closure
            else None
        ),
        hum=_hum(measured),
        turns=tuple(workings.turns_line(book, t, measured) for t in measured.turns),
        pair_view=pair.view(piece, measured, book.reference.properties["pair-resistance"]),
        response=response.view(piece, measured, invented=book.invented),
        magnet=magnet.view(book, piece, measured),
        troubles=tuple(
            workings.trouble_line(t, book.reference.properties[t.property_id])
            for t in measured.troubles
        ),
        budgets=tuple(budgets),
        features=tuple(features_page.feature_line(book, f) for f in row.features),
        figures=drawn,
        facts=(
            Fact("Family", piece.family.name),
            Fact("Position", row.position or "not known"),
            Fact("Years", text.years(row.year_first, row.year_last) or "not known"),
            Fact("State", row.state),
            Fact("Potted", row.potted),
        ),
        too_few=too_few,
        inside_at=f"{thresholds.inside:g}",
        outside_at=f"{thresholds.outside:g}",
        card=card.of_piece(book, piece, assessment, list(zip(best, lines, strict=True))),
    )

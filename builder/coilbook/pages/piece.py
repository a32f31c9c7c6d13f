"""The piece page: readings as written beside what they come to, and what they were held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.assessment.types import Assessment, Place, Reason, Verdict
from coilbook.measures.types import Closure, ReducedValue, Turns
from coilbook.measures.uncertainty import Contribution, expanded
from coilbook.pages import family as family_page
from coilbook.pages import figures, text, views
from coilbook.pages.strips import Lane, Mark, nice_axis, strip
from coilbook.pages.types import Book
from coilbook.pages.views import Fact
from coilbook.records.models import Property
from coilbook.records.types import Piece, Reading
from coilbook.stats.types import SMALLEST_FOR_TAILS, Member, Summary

_COILS = ("coil_a", "coil_b")


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
class ValueLine:
    """One property of one part: what stands for it, its strip and its verdicts."""

    what: str
    property_name: str
    written: str
    conditions: str
    value: str
    strip: str
    verdicts: tuple[VerdictView, ...]
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
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One contribution to a result's uncertainty, and its share of the variance."""

    name: str
    estimate: str
    uncertainty: str
    distribution: str
    share: str


@dataclass(frozen=True, slots=True)
class Budget:
    """Where a result's uncertainty comes from."""

    what: str
    value: str
    standard: str
    lines: tuple[BudgetLine, ...]


@dataclass(frozen=True, slots=True)
class TurnsLine:
    """The turns that a coil's resistance stands for."""

    what: str
    turns: str
    wire: str
    bobbin: str
    dominant: str
    fill: str


@dataclass(frozen=True, slots=True)
class ClosureLine:
    """Whether two coils add up to their pair."""

    closes: bool
    total: str
    pair: str
    difference: str
    extent: str
    error: str


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
    period_names: tuple[str, ...]
    tally: Tally
    lines: tuple[ValueLine, ...]
    readings: tuple[ReadingLine, ...]
    closure: ClosureLine | None
    turns: tuple[TurnsLine, ...]
    budgets: tuple[Budget, ...]
    features: tuple[family_page.FeatureLine, ...]
    figures: tuple[figures.Figure, ...]
    facts: tuple[Fact, ...]
    too_few: str
    inside_at: str
    outside_at: str


def _what(value: ReducedValue, prop: Property, piece: Piece) -> str:
    if value.component in ("pickup", "cover", "lead", "magnet"):
        return prop.name
    if value.component == "coil" and piece.family.coils == 1:
        return prop.name
    return f"{text.PARTS[value.component]}, {text.short_name(prop.name).lower()}"


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


def _place_text(book: Book, place: Place | None) -> str:
    if place is None or not place.peers:
        return ""
    period = book.reference.periods.get(place.key.period_id) if place.key.period_id else None
    among = period.name if period else "all years"
    if place.percentile is None:
        return f"{text.plural(place.peers, 'peer', 'peers')} ({among}): too few to place it"
    return f"{text.rank(place.percentile, place.peers)} ({among})"


def _conditions(value: ReducedValue, reading: Reading | None) -> str:
    if reading is None:
        return ""
    parts = []
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
    return ValueLine(
        what=what,
        property_name=prop.name,
        written=value.written or "–",
        conditions=_conditions(value, reading),
        value=text.result(value, prop),
        strip=drawn,
        verdicts=tuple(_verdict(book, v, prop, what) for v in verdicts),
        place=_place_text(book, place),
        flags=tuple(value.flags),
    )


def _reading_line(book: Book, piece: Piece, reading: Reading, value: ReducedValue) -> ReadingLine:
    row = reading.row
    names = {i.instrument_id: i.name for i in book.archive.instruments}
    circuit = {"free": "leads free", "in_circuit": "in circuit", None: ""}[row.circuit]
    if row.parallel:
        circuit += f", {row.parallel} across"
    written = row.value
    if row.qualifier in ("<", ">"):
        written = f"{row.qualifier} {written}"
    if row.unit:
        written = f"{written} {row.unit}"
    return ReadingLine(
        what=text.PARTS[row.component],
        property_name=reading.property.name,
        written=written,
        temperature=row.temperature or "",
        circuit=circuit,
        instrument=names.get(row.instrument_id or "", ""),
        date=row.date.isoformat() if row.date else "",
        remark=row.remark or "",
        value=text.result(value, reading.property),
        flags=tuple(value.flags),
    )


def _significant(value: float, digits: int = 2) -> str:
    return f"{value:.{digits}g}" if abs(value) < 1e4 else text.number(value, 0)


def _budget(what: str, prop: Property, value: ReducedValue) -> Budget | None:
    if not value.budget or not value.standard_uncertainty:
        return None
    return Budget(
        what=what,
        value=text.result(value, prop),
        standard=f"{_significant(value.standard_uncertainty)}{text.unit_text(prop.unit)}",
        lines=_budget_lines(value.budget, value.standard_uncertainty),
    )


def _budget_lines(budget: tuple[Contribution, ...], total: float) -> tuple[BudgetLine, ...]:
    return tuple(
        BudgetLine(
            name=c.name,
            estimate=f"{_significant(c.estimate, 5)} {c.unit}".strip(),
            uncertainty=f"{_significant(c.standard_uncertainty)} {c.unit}".strip(),
            distribution=c.distribution,
            share=f"{100 * (c.effect / total) ** 2:.0f} %",
        )
        for c in sorted(budget, key=lambda c: -c.effect)
    )


def _turns(book: Book, turns: Turns) -> TurnsLine:
    wire = book.reference.wires[turns.wire_id]
    bobbin = book.reference.bobbins[turns.bobbin_id]
    dominant = max(turns.budget, key=lambda c: c.effect)
    extent = expanded(turns.standard_uncertainty)
    # Rounded to tens: an uncertainty of hundreds does not carry single turns.
    return TurnsLine(
        what=text.PARTS[turns.component],
        turns=f"{text.number(round(turns.turns, -1), 0)} ± {text.number(round(extent, -1), 0)}",
        wire=f"{wire.awg} AWG, {wire.build} build",
        bobbin=bobbin.name,
        dominant=dominant.name,
        fill=f"{100 * turns.fill_square:.0f} %",
    )


def _closure(closure: Closure, prop: Property) -> ClosureLine:
    extent = expanded(closure.standard_uncertainty_kohm)
    digits = max(2, text.result_decimals(extent, prop))
    return ClosureLine(
        closes=closure.closes,
        total=f"{text.number(closure.sum_kohm, digits)} kΩ",
        pair=f"{text.number(closure.pair_kohm, digits)} kΩ",
        difference=f"{text.number(closure.difference_kohm, digits + 1)} kΩ",
        extent=f"{text.number(extent, digits + 1)} kΩ",
        error=text.number(closure.normalised_error, 2),
    )


def _tally(book: Book, piece: Piece, assessment: Assessment) -> Tally:
    outside: list[str] = []
    close: list[str] = []
    judged = [v for v in assessment.verdicts if v.word != "not_judged"]
    for verdict in judged:
        prop = book.reference.properties[verdict.value.property_id]
        claim = views.claim_view(book, verdict.claim)
        words = f"{_what(verdict.value, prop, piece)} against {claim.text}"
        words += f" ({claim.period or 'all years'})"
        if verdict.word == "outside":
            outside.append(words)
        elif verdict.word == "too_close_to_call":
            close.append(words)
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
        outside=tuple(outside),
        close=tuple(close),
        unusual=tuple(unusual),
    )


def _figures(book: Book, piece: Piece) -> tuple[tuple[figures.Figure, ...], str]:
    """Draw the piece among its family, itself left out of the others."""
    family = piece.family
    best = book.measured[piece.row.piece_id].best
    prop = book.reference.properties[views.main_property(family)]
    value = views.main_value(book, piece)
    groups = views.summaries_of(book, family, prop, None)
    if not groups:
        return (), ""
    others = book.summaries.peers(groups[0].key, piece.row.piece_id)
    if others is None or not others.drawable:
        n = others.n if others else 0
        return (), (
            f"The archive holds {text.plural(n, 'other piece', 'other pieces')} of this family to "
            "compare with: too few to draw a distribution."
        )
    if value is None or not value.comparable or value.value is None:
        return (), "Its resistance at the leads is not a number that could be placed in a plot."
    this = Member(
        piece.row.piece_id, value.value, value.standard_uncertainty or 0.0, views.middle_year(piece)
    )
    claims = [
        c
        for c in views.all_claims(book, family.family_id)
        if c.property.property_id == prop.property_id and c.row.position is None
    ]
    periods = set(book.assessments[piece.row.piece_id].periods)
    applicable = [c for c in claims if c.row.period_id is None or c.row.period_id in periods]
    drawn: list[figures.Figure | None] = [
        figures.histogram(
            "plot-spread",
            others,
            prop,
            views.bands(applicable),
            this=this,
            invented=book.invented,
        )
    ]
    coils = [best.get((part, "coil-resistance")) for part in _COILS]
    coil = book.reference.properties["coil-resistance"]
    both = views.summaries_of(book, family, coil, None)
    if len(both) == 2 and all(c is not None and c.comparable for c in coils):
        without = [book.summaries.peers(s.key, piece.row.piece_id) for s in both]
        values = [c.value for c in coils if c is not None and c.value is not None]
        a, b = without
        if a is not None and b is not None and a.drawable and b.drawable and len(values) == 2:
            drawn.append(
                figures.coil_against_coil(
                    "plot-coils", a, b, coil, this=(values[0], values[1]), invented=book.invented
                )
            )
    return tuple(f for f in drawn if f is not None), ""


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
    for value in best:
        prop = book.reference.properties[value.property_id]
        made = _budget(_what(value, prop, piece), prop, value)
        if made is not None:
            budgets.append(made)
    dates = sorted({r.row.date for r in piece.readings if r.row.date is not None})
    drawn, too_few = _figures(book, piece)
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
        period_names=tuple(book.reference.periods[p].name for p in assessment.periods),
        tally=_tally(book, piece, assessment),
        lines=lines,
        readings=tuple(
            _reading_line(book, piece, r, value_of[r.line])
            for r in piece.readings
            if r.line in value_of
        ),
        closure=(
            _closure(measured.closure, book.reference.properties["pair-resistance"])
            if measured.closure
            else None
        ),
        turns=tuple(_turns(book, t) for t in measured.turns),
        budgets=tuple(budgets),
        features=tuple(family_page.feature_line(book, f) for f in row.features),
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
    )

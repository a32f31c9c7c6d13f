"""What a piece's figures mean: its lead, observations, the periods it fits, what to read next."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from coilbook.core.judging.consistency import WINDING_PROPERTIES, Cell, CellWord, PeriodRow
from coilbook.core.observing.next_reading import NextReading
from coilbook.core.observing.said import Assessment, Finding
from coilbook.core.seen import ClaimSeen
from coilbook.pages import text, views
from coilbook.pages.family import features as features_page
from coilbook.pages.page import Book
from coilbook.records.contents import Piece
from coilbook.records.tables.models import Property

#: The mark of each word of the matrix; the words are the template's.
CELL_MARKS: Mapping[CellWord, str] = {
    "consistent": "●",
    "not_consistent": "○",
    "too_close_to_call": "◐",
    "not_measured": "□",
    "no_claim": "–",
}
#: The groups of columns of the matrix, in their order.
GROUPS = ("winding", "magnet", "make", "features")
#: So many rows of the matrix are open at first; the others have as much or more against them.
OPEN_ROWS = 5
#: How a part is named in a cell of the matrix, beside a property that several parts have.
SHORT_PARTS = {"coil_a": "A", "coil_b": "B", "pair": "pair", "magnet_a": "A", "magnet_b": "B"}


@dataclass(frozen=True, slots=True)
class LeadReasonView:
    """One reason of the lead: its code, and its data as text."""

    code: str
    data: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class LeadView:
    """The three lines that a piece's page begins with: the word, why, and beside what."""

    word: str
    why: tuple[LeadReasonView, ...]
    beside: tuple[LeadReasonView, ...]


@dataclass(frozen=True, slots=True)
class FindingView:
    """One observation; every code is worded by the template, every number is text."""

    code: str
    what: str
    fault: bool
    far: str
    data: Mapping[str, str]
    explanations: tuple[str, ...]
    next_step: str


@dataclass(frozen=True, slots=True)
class WordLine:
    """What has one word within one group of one row: a mark, the word's code, and names."""

    mark: str
    word: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """One group of columns of a row."""

    code: str
    lines: tuple[WordLine, ...]


@dataclass(frozen=True, slots=True)
class Against:
    """One contradiction: what was found, and what is documented."""

    what: str
    found: str
    documented: str


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """One period against everything that was measured and seen."""

    period: str
    family: str
    family_id: str
    own_family: bool
    against: tuple[Against, ...]
    agreements: int
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class SpanView:
    """The years that the features agree on, or those that cannot both be original."""

    years: str
    rests_on: tuple[str, ...]
    conflicts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class NextView:
    """A reading that would tell most, and the two periods that it tells apart best."""

    name: str
    one: str
    one_claims: str
    other: str
    other_claims: str
    share: str


@dataclass(frozen=True, slots=True)
class Observations:
    """Everything that the sections on what the figures mean show."""

    lead: LeadView
    findings: tuple[FindingView, ...]
    rows: tuple[MatrixRow, ...]
    more_rows: tuple[MatrixRow, ...]
    least: int
    span: SpanView
    left_out: tuple[str, ...]
    next_readings: tuple[NextView, ...]
    rests_on: tuple[str, ...]


def view(book: Book, piece: Piece, assessment: Assessment) -> Observations:
    """Return everything that the sections show of one piece."""
    names = _Names(book, piece)
    found = assessment.consistency
    period_rows = found.rows if found is not None else ()
    rows = tuple(_row(book, names, piece, row) for row in period_rows)
    span = found.span if found is not None else None
    return Observations(
        lead=_lead(names, assessment),
        findings=tuple(_finding(book, names, finding) for finding in assessment.findings),
        rows=rows[:OPEN_ROWS],
        more_rows=rows[OPEN_ROWS:],
        least=len(rows[0].against) if rows else 0,
        span=SpanView(
            years=_span(span.first_year, span.last_year) if span is not None else "",
            rests_on=tuple(names.feature(f) for f in (span.rests_on if span is not None else ())),
            conflicts=tuple(
                (names.dated(early), names.dated(late))
                for early, late in (span.conflicts if span is not None else ())
            ),
        ),
        left_out=tuple(
            names.property(property_id).name
            for property_id in (found.left_out if found is not None else ())
        ),
        next_readings=tuple(_next(book, piece, reading) for reading in assessment.next_readings),
        rests_on=_rests_on(period_rows),
    )


def _span(first: int | None, last: int | None) -> str:
    if first is not None and last is not None and first > last:
        return ""
    return text.years(first, last)


def _rests_on(rows: Sequence[PeriodRow]) -> tuple[str, ...]:
    """Return the kinds of evidence of the claims that anything was held against, in words."""
    kinds = {
        verdict.claim.row.evidence
        for row in rows
        for cell in row.cells
        for verdict in cell.verdicts
        if verdict.word != "not_judged"
    }
    return tuple(word for code, (_, word) in text.EVIDENCE_MARKS.items() if code in kinds)


class _Names:
    """The names of parts, properties and features, as one piece's page says them."""

    def __init__(self, book: Book, piece: Piece) -> None:
        self._book, self._piece = book, piece

    def property(self, property_id: str) -> Property:
        return self._book.reference.properties[property_id]

    def of(self, component: str, property_id: str) -> str:
        """Return what was read, with its part where a piece has several of it."""
        if not property_id:
            return text.PARTS.get(component, component)
        return views.sentence_name(self.property(property_id), component, self._piece.family.coils)

    def short(self, cells: Iterable[Cell]) -> tuple[str, ...]:
        """Return what was read at several parts, each property once with its parts behind it."""
        parts: dict[str, list[str]] = {}
        for cell in cells:
            prop = self.property(cell.property_id)
            found = parts.setdefault(text.lower_first(text.short_name(prop.name)), [])
            if cell.component in SHORT_PARTS:
                found.append(SHORT_PARTS[cell.component])
        return tuple(f"{n} ({', '.join(p)})" if p else n for n, p in parts.items())

    def feature(self, feature_id: str) -> str:
        return self._book.reference.features[feature_id].name

    def dated(self, feature_id: str) -> str:
        line = features_page.feature_line(self._book, feature_id)
        return f"{line.name} ({line.years})"


def _lead(names: _Names, assessment: Assessment) -> LeadView:
    beside_codes = ("decided", "placed", "winding_left_out", "record")
    outside: list[str] = []
    shown: dict[tuple[str, str], LeadReasonView] = {}
    for reason in assessment.lead.reasons:
        data = {k: v if isinstance(v, str) else text.number(v, 0) for k, v in reason.data.items()}
        if reason.code == "outside":
            outside.append(text.lower_first(names.of(data["component"], data["property_id"])))
            data = {"what": ", ".join(outside), "count": str(len(outside))}
        shown[reason.code, data.get("finding", "")] = LeadReasonView(reason.code, data)
    return LeadView(
        word=assessment.lead.word,
        why=tuple(r for r in shown.values() if r.code not in beside_codes),
        beside=tuple(r for r in shown.values() if r.code in beside_codes),
    )


def _finding(book: Book, names: _Names, finding: Finding) -> FindingView:
    prop = names.property(finding.property_id) if finding.property_id else None
    return FindingView(
        code=finding.code,
        what=names.of(finding.component, finding.property_id),
        fault=finding.fault,
        far=_far(finding.strength),
        data={k: _datum(book, names, prop, k, v) for k, v in finding.data.items()},
        explanations=finding.explanations,
        next_step=finding.next_step,
    )


def _far(strength: float) -> str:
    """Write how far a value lies from what was expected; empty where there is no such distance."""
    return text.number(strength, 1) if math.isfinite(strength) and strength > 0.0 else ""


#: Data of a finding that are not in its property's unit, with their own; they have no decimals.
OTHER_UNITS: Mapping[str, str] = {
    "n": "",
    "readings": "",
    "turns": "",
    "fill_percent": "%",
    "path_kohm": "kΩ",
    "path_most_kohm": "kΩ",
}


def _datum(book: Book, names: _Names, prop: Property | None, name: str, value: float | str) -> str:
    if not isinstance(value, str):
        if name in OTHER_UNITS or prop is None:
            return text.number(value, 0) + text.unit_text(OTHER_UNITS.get(name, ""))
        return _quantity(value, prop)
    if name in ("early", "late"):
        return names.dated(value)
    if name == "instrument":
        known = {i.instrument_id: i.name for i in book.archive.instruments}
        return known.get(value, value)
    if name == "claim":
        claims = (*book.reference.claims, *book.archive.claims)
        claim = next((c for c in claims if c.row.claim_id == value), None)
        return _documented(book, [claim]) if claim is not None else value
    return value


def _quantity(value: float, prop: Property) -> str:
    """Write a value in its property's unit; one that its decimals would blur is given more."""
    decimals = prop.decimals or 0
    while decimals < 6 and value and abs(value) < 10.0 ** (1 - decimals):
        decimals += 1
    return text.number(value, decimals) + text.unit_text(prop.unit)


def group_of(prop: Property) -> str:
    """Return the group of columns that a property stands in."""
    if prop.property_id in WINDING_PROPERTIES:
        return "winding"
    return "magnet" if prop.component == "magnet" else "make"


def _row(book: Book, names: _Names, piece: Piece, row: PeriodRow) -> MatrixRow:
    sorted_: dict[str, dict[CellWord, list[Cell]]] = {group: {} for group in GROUPS}
    against: list[Against] = []
    for cell in row.cells:
        prop = names.property(cell.property_id)
        sorted_[group_of(prop)].setdefault(cell.word, []).append(cell)
        if cell.word == "not_consistent":
            what = names.of(cell.component, cell.property_id)
            found = text.result(cell.verdicts[0].value, prop)
            against.append(
                Against(what, found, _documented(book, [v.claim for v in cell.verdicts]))
            )
    named = {
        group: {word: list(names.short(cells)) for word, cells in by_word.items()}
        for group, by_word in sorted_.items()
    }
    for seen in row.features:
        named["features"].setdefault(seen.word, []).append(names.feature(seen.feature_id))
        if seen.word == "not_consistent":
            line = features_page.feature_line(book, seen.feature_id)
            against.append(Against(line.name, "", line.years))
    period = book.reference.periods[row.period_id]
    return MatrixRow(
        period=period.name,
        family=book.reference.families[row.family_id].name,
        family_id=row.family_id,
        own_family=row.family_id == piece.family.family_id,
        against=tuple(against),
        agreements=row.agreements,
        groups=tuple(
            Group(
                code,
                tuple(
                    WordLine(mark, word, tuple(words[word]))
                    for word, mark in CELL_MARKS.items()
                    if word in words
                ),
            )
            for code, words in named.items()
        ),
    )


def _documented(book: Book, claims: Iterable[ClaimSeen]) -> str:
    """Write what claims state, each once, with its evidence in words."""
    told = []
    for claim in claims:
        shown = views.claim_view(book, claim)
        told.append(f"{shown.text} ({shown.evidence.word})")
    return " or ".join(dict.fromkeys(told))


def _next(book: Book, piece: Piece, reading: NextReading) -> NextView:
    one, other = (book.reference.periods[period_id] for period_id in reading.pair)
    families = {p.family_id for p in (one, other)}

    def title(period_id: str) -> str:
        period = book.reference.periods[period_id]
        if families == {piece.family.family_id}:
            return period.name
        return f"{book.reference.families[period.family_id].name.lower()} {period.name}"

    def claims(period_id: str) -> str:
        period = book.reference.periods[period_id]
        return _documented(
            book,
            (
                claim
                for claim in views.all_claims(book, period.family_id)
                if claim.row.property_id == reading.property_id
                and claim.row.period_id in (None, period_id)
                and (claim.row.position is None or piece.row.position in (None, claim.row.position))
            ),
        )

    return NextView(
        name=book.reference.properties[reading.property_id].name,
        one=title(reading.pair[0]),
        one_claims=claims(reading.pair[0]),
        other=title(reading.pair[1]),
        other_claims=claims(reading.pair[1]),
        share=text.number(100.0 * reading.separates, 0),
    )

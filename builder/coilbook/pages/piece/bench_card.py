"""The bench card: a piece on one small sheet, to lie beside it without a screen.

It is a part of the piece's page that shows only when the address asks for it, so that it costs no
page of its own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from coilbook.core.judging.verdict import Verdict
from coilbook.core.observing.said import Assessment
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.pages import text
from coilbook.pages.drawn import qr
from coilbook.pages.page import Book
from coilbook.pages.piece.value_lines import ValueLine
from coilbook.records.contents import Piece
from coilbook.records.tables.models import Property

T = TypeVar("T")

#: Of what is worked out, what a bench asks for; the rest stands on the page.
_WORKED_OUT = frozenset({"pair-resistance", "coil-imbalance", "coil-turns"})
#: So many lines of small print a half-letter sheet holds beside its head and foot.
_LINES = 37
#: What fits into one line of each column, in characters, and across the sheet.
_IN_COLUMN = {"what": 25, "written": 25, "value": 20, "verdict": 27}
_ACROSS = 100
#: So many observations are told in full. A telling, with its title and the next step, takes about
#: so many lines.
MOST_TOLD = 2
_LINES_TOLD = 4


@dataclass(frozen=True, slots=True)
class Word:
    """One word of the verdicts on a value, and what it was said of."""

    mark: str
    word: str
    code: str
    of: str


@dataclass(frozen=True, slots=True)
class CardRow:
    """A reading as written, what it comes to, and the words said of it."""

    what: str
    written: str
    conditions: str
    more: int
    value: str
    at_most: str
    flagged: bool
    words: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """Something that is a word: what it is, what was found, and the words said of it."""

    what: str
    value: str
    words: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """What only the card has; the rest it takes from its page."""

    code: qr.Code
    archive: str
    publisher: str
    rows: tuple[CardRow, ...]
    seen: tuple[Seen, ...]
    left: int
    flagged: bool
    evidence: tuple[text.Evidence, ...]


def of_piece(
    book: Book,
    piece: Piece,
    assessment: Assessment,
    shown: Sequence[tuple[ReducedValue, ValueLine]],
) -> Card:
    """Return what a piece's card shows; ``shown`` are its values with their lines of the page."""
    settings = book.archive.settings
    readings: Counter[tuple[str, str]] = Counter(
        (r.row.component, r.property.property_id) for r in piece.readings
    )
    rows, seen = [], []
    claims: dict[str, None] = {}
    for value, line in shown:
        prop = book.reference.properties[value.property_id]
        if not value.line and value.property_id not in _WORKED_OUT:
            continue
        verdicts = assessment.verdicts_of(value)
        claims.update(dict.fromkeys(v.claim.row.evidence for v in _judged(verdicts)))
        words = _words(verdicts, prop)
        if prop.kind == "category":
            seen.append(Seen(line.what, line.value, words))
        else:
            more = max(0, readings[value.component, value.property_id] - 1)
            flagged = bool({*value.flags} - {"derived", "assumed_construction", "insulation"})
            rows.append(
                CardRow(
                    line.what,
                    line.written,
                    line.conditions,
                    more,
                    line.value,
                    line.at_most,
                    flagged,
                    words,
                )
            )
    room = _LINES - _LINES_TOLD * min(MOST_TOLD, len(assessment.findings))
    few_rows = _that_fit(rows, [_lines(row) for row in rows], room)
    room -= sum(_lines(row) for row in few_rows)
    few_seen = _that_fit(seen, [_width(one) / _ACROSS for one in seen], room)
    return Card(
        code=qr.code(book, f"pieces/{piece.row.piece_id}"),
        archive=settings.title,
        publisher=settings.publisher,
        rows=few_rows,
        seen=few_seen,
        left=len(rows) + len(seen) - len(few_rows) - len(few_seen),
        flagged=any(row.flagged for row in few_rows),
        evidence=tuple(
            text.evidence(kind, None, None) for kind in text.EVIDENCE_MARKS if kind in claims
        ),
    )


def _that_fit(items: Sequence[T], lines: Sequence[float], room: float) -> tuple[T, ...]:
    """Return the first items that so many lines have room for."""
    fitting = []
    for item, needed in zip(items, lines, strict=True):
        room -= needed
        if room < 0:
            break
        fitting.append(item)
    return tuple(fitting)


def _lines(row: CardRow) -> int:
    """Estimate how many lines a row takes: as many as its fullest column."""
    written = row.written + (f", {row.conditions}" if row.conditions else "")
    columns = {
        "what": row.what,
        "written": written + (" (+ 1 more)" if row.more else ""),
        "value": f"{row.value} {row.at_most}",
        "verdict": " ".join(f"{w.mark} {w.word} {w.of}" for w in row.words),
    }
    return max(math.ceil(len(words) / _IN_COLUMN[name]) for name, words in columns.items())


def _width(one: Seen) -> int:
    return len(one.what) + len(one.value) + sum(len(w.word) + len(w.of) + 4 for w in one.words) + 4


def _judged(verdicts: Sequence[Verdict]) -> list[Verdict]:
    return [v for v in verdicts if v.word != "not_judged"]


def _words(verdicts: Sequence[Verdict], prop: Property) -> tuple[Word, ...]:
    """Return the words said of a value: of one claim its limits, of several how many said so."""
    judged = _judged(verdicts)
    counts = Counter(v.word for v in judged)
    words = []
    for word, count in counts.items():
        of = f"{count} of {len(judged)}"
        if len(judged) == 1:
            claim = judged[0].claim
            limits = claim.row.category or text.span(claim.low, None, claim.high, prop)
            if claim.row.category and word == "inside":
                limits = ""  # it is the word that was found
            of = f"{limits} {text.EVIDENCE_MARKS[claim.row.evidence][0]}".strip()
        mark, name = text.VERDICT_MARKS[word]
        words.append(Word(mark, name, word.replace("_", "-"), of))
    return tuple(words)

"""The family card: what is usual of a family, by period, on one sheet to hang over the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coilbook.pages import text
from coilbook.pages.drawn import qr
from coilbook.pages.family.ladders import CategoryRow, Ladder, Rung
from coilbook.pages.page import Book
from coilbook.records.tables.models import Family

#: From so many lines on they are printed smaller, and no sheet takes more than the second number.
_DENSE_FROM = 34
_MOST_LINES = 52


@dataclass(frozen=True, slots=True)
class Said:
    """What is documented with one kind of evidence; words stand together, any one of them."""

    position: str
    texts: tuple[str, ...]
    evidence: text.Evidence
    own: bool


@dataclass(frozen=True, slots=True)
class CardLine:
    """What is documented for some periods, and the archive's middle where it holds enough."""

    years: str
    said: tuple[Said, ...]
    held: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """One property: its name, its unit if any, and its lines."""

    name: str
    unit: str
    lines: tuple[CardLine, ...]


@dataclass(frozen=True, slots=True)
class FamilyCard:
    """What only the card has; the rest it takes from the family's page."""

    code: qr.Code
    archive: str
    publisher: str
    newest: str
    blocks: tuple[Block, ...]
    words: tuple[Block, ...]
    holds: bool
    dense: bool
    left: int


def of_family(
    book: Book, family: Family, ladders: Sequence[Ladder], categories: Sequence[CategoryRow]
) -> FamilyCard:
    """Return what a family's card shows: what is documented, as far as a sheet holds it."""
    settings = book.archive.settings
    every = [
        Block(x.name, "" if x.unit == "turns" else x.unit, lines)
        for x in ladders
        if (lines := _lines(x.rungs))
    ]
    blocks: list[Block] = []
    for block in every:
        if sum(len(b.lines) for b in (*blocks, block)) > _MOST_LINES:
            break
        blocks.append(block)
    return FamilyCard(
        code=qr.code(book, f"families/{family.family_id}"),
        archive=settings.title,
        publisher=settings.publisher,
        newest=max(
            (
                reading.row.date.isoformat()
                for piece in book.archive.pieces.values()
                if piece.family.family_id == family.family_id
                for reading in piece.readings
                if reading.row.date is not None
            ),
            default="",
        ),
        blocks=tuple(blocks),
        words=tuple(
            Block(
                row.name,
                "",
                _words(row, [p.name for p in book.reference.periods_of(family.family_id)]),
            )
            for row in categories
        ),
        holds=any(line.held for block in blocks for line in block.lines),
        dense=sum(len(block.lines) for block in blocks) >= _DENSE_FROM,
        left=len(every) - len(blocks),
    )


def _lines(rungs: Sequence[Rung]) -> tuple[CardLine, ...]:
    """Return the periods of which something is documented."""
    return _joined([CardLine(r.label, _said(r.claims), _held(r)) for r in rungs if r.claims])


def _words(row: CategoryRow, periods: Sequence[str]) -> tuple[CardLine, ...]:
    """Return the words of a property by period, in the order of the years; all years come first."""
    scopes = sorted(row.scopes, key=lambda s: periods.index(s.period) if s.period else -1)
    return _joined([CardLine(scope.period, _said(scope.claims), ()) for scope in scopes])


def _joined(lines: Sequence[CardLine]) -> tuple[CardLine, ...]:
    """Join neighbours of which the same is documented, unless the archive tells them apart."""
    joined: list[CardLine] = []
    for line in lines:
        before = joined[-1] if joined else None
        if before is not None and before.said == line.said and not (before.held or line.held):
            joined[-1] = CardLine(f"{before.years}, {line.years}", line.said, ())
        else:
            joined.append(line)
    return tuple(joined)


def _said(claims: Sequence[text.ClaimView]) -> tuple[Said, ...]:
    texts: dict[tuple[str, text.Evidence, bool], list[str]] = {}
    for claim in claims:
        texts.setdefault((claim.position, claim.evidence, claim.own), []).append(claim.text)
    return tuple(
        Said(position, tuple(found), evidence, own)
        for (position, evidence, own), found in texts.items()
    )


def _held(rung: Rung) -> tuple[str, ...]:
    several = len(rung.measured) > 1
    return tuple(
        f"{held.part.removeprefix('Coil ') if several else ''} {held.short}, {held.n}".strip()
        for held in rung.measured
        if held.short
    )

"""Views that several pages share: claims, bands, summaries and links, looked up in the book."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coilbook.core.observing.peers import GroupKey
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ClaimSeen
from coilbook.pages import text
from coilbook.pages.drawn.strips import Band
from coilbook.pages.page import Book
from coilbook.records.contents import Claim, Piece
from coilbook.records.tables.cells import COMPONENT_PARTS
from coilbook.records.tables.models import Family, Period, Property
from coilbook.stats.summary import Summary


@dataclass(frozen=True, slots=True)
class Fact:
    """A name and what stands beside it."""

    name: str
    value: str


def all_claims(book: Book, family_id: str) -> tuple[Claim, ...]:
    """Return the documented claims of a family, then the archive's own."""
    claims = (*book.reference.claims, *book.archive.claims)
    return tuple(c for c in claims if c.row.family_id == family_id)


def claim_view(book: Book, claim: ClaimSeen) -> text.ClaimView:
    """Return a claim ready to be shown."""
    row = claim.row
    source = None
    if row.source_id is not None:
        source = book.reference.sources.get(row.source_id) or book.archive.sources.get(
            row.source_id
        )
    period = book.reference.periods.get(row.period_id) if row.period_id else None
    return text.ClaimView(
        claim_id=row.claim_id,
        text=text.claim_text(claim),
        written=text.claim_written(claim),
        evidence=text.evidence(
            row.evidence, row.source_id, row.locator, source.title if source else ""
        ),
        remark=row.remark or "",
        period=period.name if period else "",
        position=row.position or "",
        own=claim.origin == "archive",
    )


def bands(claims: Iterable[ClaimSeen]) -> list[Band]:
    """Return the bands that a strip draws for some claims, widest first."""
    drawn = [
        Band(
            low=c.low,
            high=c.high,
            typical=c.typical,
            solid=c.row.evidence == "published",
            own=c.origin == "archive",
        )
        for c in claims
        if c.property.kind == "quantity"
    ]
    # Periods often share a range; one band says it once.
    return sorted(dict.fromkeys(drawn), key=_width, reverse=True)


def _width(band: Band) -> float:
    if band.low is None and band.high is None:
        return 0.0
    far = float("inf")
    return (far if band.high is None else band.high) - (-far if band.low is None else band.low)


def band_ends(drawn: Iterable[Band]) -> list[float]:
    """Return every number that the axis of some bands must hold."""
    return [v for b in drawn for v in (b.low, b.typical, b.high) if v is not None]


def summary_ends(summaries: Iterable[Summary]) -> list[float]:
    """Return the numbers that the axis of some summaries must hold: the ends that are drawn."""
    ends: list[float] = []
    for s in summaries:
        if s.drawable:
            ends.append(s.low_5 if s.low_5 is not None else s.minimum)
            ends.append(s.high_95 if s.high_95 is not None else s.maximum)
        else:
            ends.extend(m.value for m in s.members)
    return ends


def parts_of(prop: Property, family: Family) -> tuple[str, ...]:
    """Return the components at which a family's pieces are read for a property."""
    if prop.component == "coil":
        return ("coil",) if family.coils == 1 else ("coil_a", "coil_b")
    if prop.component == "pair" and family.coils == 1:
        return ()
    return COMPONENT_PARTS[prop.component]


def summaries_of(
    book: Book, family: Family, prop: Property, period: Period | None, position: str | None = None
) -> list[Summary]:
    """Return the summaries of a property, one a component that has any values."""
    found = []
    for part in parts_of(prop, family):
        key = GroupKey(
            family.family_id,
            prop.property_id,
            part,
            period.period_id if period else None,
            position,
        )
        summary = book.summaries.get(key)
        if summary is not None:
            found.append(summary)
    return found


def summary_text(summary: Summary, prop: Property) -> str:
    """Write what the archive holds for a group, as the size of the group allows."""
    if not summary.drawable:
        values = ", ".join(
            text.number(v, prop.decimals or 0) for v in sorted(m.value for m in summary.members)
        )
        return f"{values}{text.unit_text(prop.unit)}"
    low, high = round_to(summary.lower_quartile, prop), round_to(summary.upper_quartile, prop)
    middle = text.span(low, None, high, prop)
    return f"median {text.quantity(summary.median, prop)}, middle half {middle}"


def summary_short(summary: Summary, prop: Property) -> str:
    """Write a group's median and middle half without a unit; empty of too small a group."""
    if not summary.drawable:
        return ""
    numbers = (summary.lower_quartile, summary.median, summary.upper_quartile)
    low, middle, high = (text.number(v, prop.decimals or 0) for v in numbers)
    return f"{middle} ({low}–{high})"


def summary_detail(summary: Summary, prop: Property) -> str:
    """Write the median's interval and the extremes of a group that is large enough for them."""
    if not summary.drawable:
        return ""
    ends = text.span(round_to(summary.minimum, prop), None, round_to(summary.maximum, prop), prop)
    words = f"extremes {ends}"
    if summary.median_interval is not None and summary.median_confidence is not None:
        low, high = (round_to(v, prop) for v in summary.median_interval)
        confidence = 100 * summary.median_confidence
        words = f"median within {text.span(low, None, high, prop)} ({confidence:.0f} %); " + words
    return words


def round_to(value: float, prop: Property) -> float:
    """Round a value to its property's decimals."""
    return round(value, prop.decimals or 0)


def strip_label(prop: Property, claims: Sequence[text.ClaimView], found: Sequence[Summary]) -> str:
    """Write in words what a strip shows."""
    parts = [f"documented {c.text} ({c.evidence.word})" for c in claims]
    for s in found:
        part = text.PARTS[s.key.component].lower()
        parts.append(f"archive, {part}: {summary_text(s, prop)}, n = {s.n}")
    return f"{prop.name}: " + ("; ".join(parts) if parts else "nothing documented or measured")


#: Parts that are the whole of what a property is read of, so that its name needs none beside it.
_WHOLE = frozenset({"", "pickup", "cover", "lead", "magnet"})


def row_name(prop: Property, component: str, coils: int) -> str:
    """Return what was read as the head of a row, with its part first where there are several."""
    if component in _WHOLE or (component == "coil" and coils == 1):
        return prop.name
    return f"{text.PARTS[component]}, {text.short_name(prop.name).lower()}"


def sentence_name(prop: Property, component: str, coils: int) -> str:
    """Return what was read within a sentence, with its part where a piece has several of it."""
    if component in _WHOLE or (component == "coil" and coils == 1):
        return prop.name
    part = text.lower_first(text.PARTS[component])
    return f"{text.short_name(prop.name)} of {'the pair' if part == 'pair' else part}"


def piece_title(piece: Piece) -> str:
    """Return a piece's heading."""
    return f"Piece {piece.row.piece_id}"


def piece_years(piece: Piece) -> str:
    """Return a piece's years, or that they are not known."""
    return text.years(piece.row.year_first, piece.row.year_last) or "years not known"


def middle_year(piece: Piece) -> float | None:
    """Return the middle of a piece's years."""
    first, last = piece.row.year_first, piece.row.year_last
    return None if first is None or last is None else (first + last) / 2


def main_property(family: Family) -> str:
    """Return the property that a family's pieces are looked up by: the resistance at its leads."""
    return "pair-resistance" if family.coils == 2 else "coil-resistance"


def main_value(book: Book, piece: Piece) -> ReducedValue | None:
    """Return a piece's resistance at its leads, if it was read."""
    part = "pair" if piece.family.coils == 2 else "coil"
    return book.measured[piece.row.piece_id].best.get((part, main_property(piece.family)))

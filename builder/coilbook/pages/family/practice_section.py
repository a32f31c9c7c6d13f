"""Claims beside the archive on the family page: a strip and a share for each, and who parts."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.assessment.review.practice import ClaimShare, Practice, practice_of
from coilbook.pages import text, views
from coilbook.pages.drawn.strips import Axis, Lane, nice_axis, strip
from coilbook.pages.page import Book
from coilbook.records.contents import Claim
from coilbook.records.tables.models import Family, Property


@dataclass(frozen=True, slots=True)
class ShareLine:
    """One claim beside the archive's values; ``parted`` is a code that the template words."""

    claim: text.ClaimView
    scope: str
    part: str
    strip: str
    share: str
    parted: str
    median: str


@dataclass(frozen=True, slots=True)
class PracticeView:
    """Every claim on one property."""

    property_id: str
    name: str
    lines: tuple[ShareLine, ...]
    conflicts: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class PracticeViews:
    """The properties where somebody parts from somebody, and the others."""

    parting: tuple[PracticeView, ...]
    agreeing: tuple[PracticeView, ...]


def view(book: Book, family: Family) -> PracticeViews:
    """Return every claim of a family beside the archive."""
    found = practice_of(family.family_id, book.archive, book.reference, book.summaries)
    return PracticeViews(
        parting=tuple(_practice(book, p) for p in found if p.disagrees),
        agreeing=tuple(_practice(book, p) for p in found if not p.disagrees),
    )


def _practice(book: Book, practice: Practice) -> PracticeView:
    prop = book.reference.properties[practice.property_id]
    claims = [share.claim for share in practice.shares]
    summaries = [share.summary for share in practice.shares if share.summary is not None]
    axis = nice_axis([*views.band_ends(views.bands(claims)), *views.summary_ends(summaries)])
    several = len({share.component for share in practice.shares if share.component}) > 1
    return PracticeView(
        property_id=practice.property_id,
        name=prop.name,
        lines=tuple(_line(book, prop, axis, share, several) for share in practice.shares),
        conflicts=tuple(
            (_scope(book, one), _said(book, one), _said(book, other))
            for one, other in practice.conflicts
        ),
    )


def _scope(book: Book, claim: Claim) -> str:
    period = book.reference.periods[claim.row.period_id].name if claim.row.period_id else ""
    return ", ".join(part for part in (period or "all years", claim.row.position) if part)


def _said(book: Book, claim: Claim) -> str:
    shown = views.claim_view(book, claim)
    return f"{shown.text} ({shown.evidence.word})"


def _line(book: Book, prop: Property, axis: Axis, share: ClaimShare, several: bool) -> ShareLine:
    shown = views.claim_view(book, share.claim)
    label = views.strip_label(prop, [shown], [share.summary] if share.summary else [])
    interval = share.summary.median_interval if share.summary is not None else None
    return ShareLine(
        claim=shown,
        scope=_scope(book, share.claim),
        part=text.PARTS[share.component] if several and share.component else "",
        strip=strip(axis, views.bands([share.claim]), [Lane(share.summary)], label, ticks=True),
        share=_share(share),
        parted=share.parted,
        median=(
            text.span(
                views.round_to(interval[0], prop), None, views.round_to(interval[1], prop), prop
            )
            if interval is not None
            else ""
        ),
    )


def _share(share: ClaimShare) -> str:
    """Write which share lies inside, or under 8 values how many do; empty without a range."""
    if share.parted in ("no_range", "nobody"):
        return ""
    if share.share is None:
        return f"{share.inside} of {share.n} inside"
    return f"{text.number(100.0 * share.share, 0)} % of {share.n} inside"

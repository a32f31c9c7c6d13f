"""Features that date a piece: each with its years, in words and as a strip on one axis of years."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

from coilbook.pages import text
from coilbook.pages.declare import OnePage, search_words
from coilbook.pages.drawn.strips import Axis
from coilbook.pages.page import Book
from coilbook.records.tables.models import Feature

_WIDTH, _HEIGHT, _MARGIN = 260.0, 34.0, 14.0
_BAR_TOP, _BAR_HEIGHT = 4.0, 12.0
_STEP_YEARS = 20


@dataclass(frozen=True, slots=True)
class FeatureFamily:
    """A family that a feature is met on."""

    family_id: str
    name: str


@dataclass(frozen=True, slots=True)
class FeatureLine:
    """Something seen on pieces, with the years it points to."""

    feature_id: str
    name: str
    years: str
    dated: bool
    strip: str
    families: tuple[FeatureFamily, ...]
    how_to_see: str
    remark: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class FeatureGroup:
    """Features that are looked for at one place."""

    kind: str
    features: tuple[FeatureLine, ...]


@dataclass(frozen=True, slots=True)
class FeaturesContext:
    """The page of features that date a piece."""

    groups: tuple[FeatureGroup, ...]
    count: int
    dated: int


def years_text(feature: Feature) -> str:
    """Return a feature's years in words."""
    first, last = feature.first_year, feature.last_year
    if first is not None and last is not None:
        return text.years(first, last)
    if first is not None:
        return f"from {first}"
    if last is not None:
        return f"until {last}"
    return "no years known"


def year_axis(book: Book) -> Axis:
    """Return the one axis that every feature's strip has: whole steps round all known years."""
    ends = [
        year
        for feature in book.reference.features.values()
        for year in (feature.first_year, feature.last_year)
        if year is not None
    ]
    low = _STEP_YEARS * math.floor(min(ends, default=1940) / _STEP_YEARS)
    # The last year is drawn to its end, so it needs room behind its own tick.
    high = _STEP_YEARS * math.ceil((max(ends, default=1980) + 1) / _STEP_YEARS)
    return Axis(float(low), float(high), float(_STEP_YEARS))


def _at(axis: Axis, year: float) -> float:
    share = (year - axis.low) / (axis.high - axis.low)
    return _MARGIN + share * (_WIDTH - 2 * _MARGIN)


def year_strip(feature: Feature, axis: Axis) -> str:
    """Draw a feature's years: a bar with an edge at each known end, open to the axis's end without.

    A year is drawn from its first day to its last. Where no year is known there is no bar.
    """
    first, last = feature.first_year, feature.last_year
    middle = _BAR_TOP + _BAR_HEIGHT / 2
    label = f"{feature.name}: {years_text(feature)}"
    parts = [
        f'<svg class="cb-strip cb-years" viewBox="0 0 {_WIDTH:.0f} {_HEIGHT:.0f}" role="img" '
        f'aria-label="{escape(label, quote=True)}">'
        f'<path class="cb-base" d="M{_MARGIN:.0f} {middle:.0f}H{_WIDTH - _MARGIN:.0f}"/>'
    ]
    if first is not None or last is not None:
        kind = "cb-band" if feature.evidence == "published" else "cb-band cb-band-soft"
        left = _at(axis, axis.low if first is None else first)
        right = _at(axis, axis.high if last is None else last + 1)
        bottom = _BAR_TOP + _BAR_HEIGHT
        edges = f"M{left:.1f} {_BAR_TOP:.0f}H{right:.1f}M{left:.1f} {bottom:.0f}H{right:.1f}"
        for x, known in ((left, first), (right, last)):
            if known is not None:
                edges += f"M{x:.1f} {_BAR_TOP:.0f}V{bottom:.0f}"
        parts.append(
            f'<rect class="{kind} cb-fill" x="{left:.1f}" y="{_BAR_TOP:.0f}" '
            f'width="{right - left:.1f}" height="{_BAR_HEIGHT:.0f}"/>'
            f'<path class="{kind} cb-edge" d="{edges}"/>'
        )
    for tick in axis.ticks:
        x = _at(axis, tick)
        parts.append(
            f'<path class="cb-tick" d="M{x:.1f} {_BAR_TOP + _BAR_HEIGHT + 1:.0f}v4"/>'
            f'<text x="{x:.1f}" y="{_HEIGHT - 2:.0f}" text-anchor="middle">{tick:.0f}</text>'
        )
    return "".join(parts) + "</svg>"


def feature_line(book: Book, feature_id: str) -> FeatureLine:
    """Return one feature with its years in words and as a strip."""
    feature = book.reference.features[feature_id]
    source = book.reference.sources.get(feature.source_id) if feature.source_id else None
    return FeatureLine(
        feature_id=feature_id,
        name=feature.name,
        years=years_text(feature),
        dated=feature.first_year is not None or feature.last_year is not None,
        strip=year_strip(feature, year_axis(book)),
        families=tuple(FeatureFamily(f, book.reference.families[f].name) for f in feature.families),
        how_to_see=feature.how_to_see or "",
        remark=feature.remark or "",
        evidence=text.evidence(
            feature.evidence, feature.source_id, feature.locator, source.title if source else ""
        ),
    )


def of_family(book: Book, family_id: str) -> tuple[FeatureLine, ...]:
    """Return the features that are met on a family by name; those of any family are not in it."""
    return tuple(
        feature_line(book, feature_id)
        for feature_id, feature in book.reference.features.items()
        if family_id in feature.families
    )


def context(book: Book) -> FeaturesContext:
    """Return every feature, by what is looked at, in the order in which the kinds first stand."""
    by_kind: dict[str, list[FeatureLine]] = {}
    for feature_id, feature in book.reference.features.items():
        by_kind.setdefault(feature.feature_kind, []).append(feature_line(book, feature_id))
    lines = [line for found in by_kind.values() for line in found]
    return FeaturesContext(
        groups=tuple(FeatureGroup(kind, tuple(found)) for kind, found in by_kind.items()),
        count=len(lines),
        dated=sum(line.dated for line in lines),
    )


PAGE = OnePage(
    path="materials/features/index.html",
    template="features.html.j2",
    section="materials",
    title="Features that date a piece",
    description="What can be seen on a piece, and the years it points to.",
    context=context,
    search_text=lambda book: search_words(*(f.name for f in book.reference.features.values())),
)

"""The gauge to print at 1:1: a comb at every documented pole spacing, and bars for the scale."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from coilbook.pages import text
from coilbook.pages.declare import OnePage
from coilbook.pages.page import Book
from coilbook.records.contents import Claim
from coilbook.records.tables.models import Family

SPACING = "pole-spacing"
_MARGIN_MM = 4.0
_TOOTH_MM = 0.2
_BAR_MM = 1.0
_TEETH_MM = 8.0
_INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Use:
    """A claim that gives a comb its spacing: whose, and how it is known."""

    family_id: str
    family: str
    note: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class Comb:
    """A comb or a bar, drawn at 1:1."""

    title: str
    svg: str
    uses: tuple[Use, ...] = ()


@dataclass(frozen=True, slots=True)
class GaugePage:
    """What the page of the gauge shows."""

    bars: tuple[Comb, ...]
    combs: tuple[Comb, ...]


def context(book: Book) -> GaugePage:
    """Return the bars of 50 mm and 2 in, and the combs from the narrowest to the widest."""
    found: dict[tuple[float, int], list[Use]] = {}
    for claim in book.reference.claims:
        if claim.property.property_id != SPACING:
            continue
        family = book.reference.families[claim.row.family_id]
        for length, note in _lengths(claim):
            found.setdefault((round(length, 2), _teeth(family)), []).append(
                _use(book, claim, family, note)
            )
    combs = []
    for (length, teeth), uses in sorted(found.items()):
        title = f"{length:.2f} mm"
        where = f"between the outer poles, {teeth} teeth" if teeth > 2 else "between the outer ends"
        combs.append(Comb(title, _svg(length, teeth, f"Comb of {title} {where}"), tuple(uses)))
    bars = (
        Comb("50 mm", _svg(50.0, 0, "Bar of 50 mm")),
        Comb("2 in (50.8 mm)", _svg(2 * _INCH_MM, 0, "Bar of 2 in")),
    )
    return GaugePage(bars, tuple(combs))


def _lengths(claim: Claim) -> list[tuple[float, str]]:
    """Return what a claim gives as usual, or the ends of its range where it gives nothing."""
    if claim.typical is not None:
        return [(claim.typical, "usual")]
    ends = ((claim.low, "lower end"), (claim.high, "upper end"))
    return [(value, note) for value, note in ends if value is not None]


def _teeth(family: Family) -> int:
    """Return how many poles lie evenly between the ends, or 2 where only the ends are known."""
    if family.split_coils or family.pole_kind in ("blade", "none") or family.poles < 2:
        return 2
    return family.poles


def _use(book: Book, claim: Claim, family: Family, note: str) -> Use:
    row = claim.row
    source = book.reference.sources.get(row.source_id) if row.source_id else None
    words = f"{note}, {row.position}" if row.position else note
    mark = text.evidence(row.evidence, row.source_id, row.locator, source.title if source else "")
    return Use(family.family_id, family.name, words, mark)


def _svg(length: float, teeth: int, label: str) -> str:
    """Return a bar ``length`` mm long; teeth stand on it, the outer ones' middles at its ends."""
    top = _TEETH_MM if teeth else 0.0
    height = top + _BAR_MM
    parts = [_rect(_MARGIN_MM, top, length, _BAR_MM)]
    parts += [
        _rect(_MARGIN_MM + length * i / (teeth - 1) - _TOOTH_MM / 2, 0, _TOOTH_MM, height)
        for i in range(teeth)
    ]
    width = length + 2 * _MARGIN_MM
    # Browsers round a drawing's height to parts of a pixel; unless length and height are scaled
    # apart, that shortens a low bar by a third of a per cent.
    return (
        f'<svg class="cb-one-to-one" width="{width:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="0 0 {width:.4f} {height:.4f}" preserveAspectRatio="none" role="img" '
        f'aria-label="{escape(label, quote=True)}">{"".join(parts)}</svg>'
    )


def _rect(x: float, y: float, width: float, height: float) -> str:
    return f'<rect x="{x:.4f}" y="{y:.4f}" width="{width:.4f}" height="{height:.4f}"/>'


PAGE = OnePage(
    path="gauge/index.html",
    template="gauge.html.j2",
    section="families",
    title="Pole-spacing gauge",
    description="Combs at every documented pole spacing, to print at 1:1.",
    context=context,
    search_text="gauge comb ruler pole spacing string spacing print actual size 50 mm",
)

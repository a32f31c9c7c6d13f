"""Drawings of a family, seen from above and cut across, to scale, made from its own figures."""

from __future__ import annotations

from html import escape

from coilbook.pages import text, views
from coilbook.pages.page import Book
from coilbook.records.contents import Claim
from coilbook.records.tables.models import Bobbin, Family

_MARGIN_MM = 4.0
_GAP_MM = 1.5
_POLE_MM = 4.8
#: What lies between a coil and the magnet below it in the drawing; no size of anything real.
_BELOW_MM = 1.0


def _usual(claims: tuple[Claim, ...], property_id: str) -> float | None:
    """Return what the first claim of a property gives as usual, or the middle of its range."""
    for claim in claims:
        if claim.property.property_id == property_id:
            if claim.typical is not None:
                return claim.typical
            if claim.low is not None and claim.high is not None:
                return (claim.low + claim.high) / 2
    return None


def _coil(bobbin: Bobbin, x: float, y: float) -> str:
    length = bobbin.core_length_mm + 2 * bobbin.winding_depth_mm
    width = bobbin.core_width_mm + 2 * bobbin.winding_depth_mm
    return (
        f'<rect class="cb-part" x="{x - length / 2:.2f}" y="{y - width / 2:.2f}" '
        f'width="{length:.2f}" height="{width:.2f}" rx="{width / 2:.2f}"/>'
        f'<rect class="cb-core" x="{x - bobbin.core_length_mm / 2:.2f}" '
        f'y="{y - bobbin.core_width_mm / 2:.2f}" width="{bobbin.core_length_mm:.2f}" '
        f'height="{bobbin.core_width_mm:.2f}" rx="{bobbin.core_width_mm / 2:.2f}"/>'
    )


def _pole(x: float, y: float, diameter: float, *, screw: bool) -> str:
    drawn = f'<circle class="cb-pole" cx="{x:.2f}" cy="{y:.2f}" r="{diameter / 2:.2f}"/>'
    if screw:
        half = diameter * 0.35
        drawn += f'<path class="cb-slot" d="M{x - half:.2f} {y:.2f}H{x + half:.2f}"/>'
    return drawn


def top_view(book: Book, family: Family) -> str:
    """Return the family's coils, cores and poles as SVG, or nothing when the bobbin is not known.

    Dimensions come from bobbins.csv and from the family's claims of pole spacing and diameter; a
    pole's diameter that no claim gives is drawn as 4.8 mm, and no pole is drawn without a spacing.
    """
    if family.bobbin_id is None:
        return ""
    bobbin = book.reference.bobbins[family.bobbin_id]
    claims = views.all_claims(book, family.family_id)
    spacing = _usual(claims, "pole-spacing")
    diameter = _usual(claims, "pole-diameter") or _POLE_MM
    coil_length = bobbin.core_length_mm + 2 * bobbin.winding_depth_mm
    coil_width = bobbin.core_width_mm + 2 * bobbin.winding_depth_mm
    if family.coils == 1:
        centres = [(0.0, 0.0)]
    elif family.split_coils:
        # Half of the strings each, side by side: the outer poles of the two rows are the spacing.
        reach = bobbin.core_length_mm - bobbin.core_width_mm
        step_x = ((spacing or 2 * coil_length) - reach) / 2
        step_y = (coil_width + _GAP_MM) / 2
        centres = [(-step_x, -step_y), (step_x, step_y)]
    else:
        centres = [(0.0, -(coil_width + _GAP_MM) / 2), (0.0, (coil_width + _GAP_MM) / 2)]
    half_x = max(abs(x) for x, _ in centres) + coil_length / 2 + _MARGIN_MM
    half_y = max(abs(y) for _, y in centres) + coil_width / 2 + _MARGIN_MM
    foot = 9.0
    parts = [_coil(bobbin, x, y) for x, y in centres]
    draws_poles = spacing is not None and family.poles > 1 and family.pole_kind != "none"
    if draws_poles and spacing is not None and family.pole_kind != "blade":
        for index, (cx, cy) in enumerate(centres):
            screw = family.pole_kind == "screws" or (
                family.pole_kind == "slugs-and-screws" and index == 1
            )
            row = bobbin.core_length_mm - bobbin.core_width_mm if family.split_coils else spacing
            pitch = row / (family.poles - 1)
            parts += [
                _pole(cx - row / 2 + pitch * i, cy, diameter, screw=screw)
                for i in range(family.poles)
            ]
    label = f"{family.name}, seen from above, to scale"
    if draws_poles and spacing is not None:
        x = 0.0
        y = half_y - 1.0
        prop = book.reference.properties["pole-spacing"]
        words = f"{text.quantity(spacing, prop)} between the outer poles"
        parts.append(
            f'<path class="cb-dimension" d="M{x - spacing / 2:.2f} {y:.2f}H{x + spacing / 2:.2f}'
            f"M{x - spacing / 2:.2f} {y - 1.2:.2f}v2.4M{x + spacing / 2:.2f} {y - 1.2:.2f}v2.4"
            f'"/><text x="{x:.2f}" y="{y + 5:.2f}" text-anchor="middle">{escape(words)}</text>'
        )
        label += f"; {words}"
    return (
        f'<svg class="cb-drawing" viewBox="{-half_x:.2f} {-half_y:.2f} {2 * half_x:.2f} '
        f'{2 * half_y + foot:.2f}" role="img" aria-label="{escape(label, quote=True)}">'
        + "".join(parts)
        + "</svg>"
    )


def section(book: Book, family: Family) -> str:
    """Return the coils cut across as SVG: cores, winding windows, and bar magnets below them.

    Cores and windows come from bobbins.csv. Bar magnets are drawn where the family's claims give
    their width and thickness; their sizes are to scale, and how far below they lie is not.
    """
    if family.bobbin_id is None:
        return ""
    bobbin = book.reference.bobbins[family.bobbin_id]
    coil_width = bobbin.core_width_mm + 2 * bobbin.winding_depth_mm
    together = family.coils == 2 and not family.split_coils
    step = (coil_width + _GAP_MM) / 2 if together else 0.0
    centres = (-step, step) if together else (0.0,)
    height = bobbin.winding_height_mm
    parts = [_cut_coil(bobbin, x) for x in centres]
    magnets = _bars(book, family)
    low = height
    for x, y, width, thickness in magnets:
        parts.append(_rect("cb-magnet", x, height + y, width, thickness))
        low = max(low, height + y + thickness)
    wide = [abs(x) + coil_width / 2 for x in centres]
    wide += [abs(x) + abs(width) for x, _, width, _ in magnets]
    half_x = max(*wide, 36.0) + _MARGIN_MM
    words = (
        f"winding {text.number(height, 1)} mm high and "
        f"{text.number(bobbin.winding_depth_mm, 1)} mm deep"
    )
    label = f"{family.name}, cut across, to scale; {words}"
    if magnets:
        size = f"{text.number(magnets[0][2], 1)} × {text.number(magnets[0][3], 1)} mm"
        label += f"; magnet {size}"
    bottom = low + 7.0
    return (
        f'<svg class="cb-drawing" viewBox="{-half_x:.2f} -2.00 {2 * half_x:.2f} '
        f'{bottom + 2.0:.2f}" role="img" aria-label="{escape(label, quote=True)}">'
        + "".join(parts)
        + f'<text x="0.00" y="{low + 5:.2f}" text-anchor="middle">{escape(words)}</text></svg>'
    )


def _cut_coil(bobbin: Bobbin, x: float) -> str:
    core, depth, height = (
        bobbin.core_width_mm,
        bobbin.winding_depth_mm,
        bobbin.winding_height_mm,
    )
    return (
        _rect("cb-window", x - core / 2 - depth, 0.0, depth, height)
        + _rect("cb-window", x + core / 2, 0.0, depth, height)
        + _rect("cb-core", x - core / 2, 0.0, core, height)
    )


def _bars(book: Book, family: Family) -> list[tuple[float, float, float, float]]:
    """Return each bar magnet cut across: its left edge, how far below, its width and thickness."""
    claims = views.all_claims(book, family.family_id)
    width = _usual(claims, "magnet-width")
    thickness = _usual(claims, "magnet-thickness")
    if width is None or thickness is None:
        return []
    count = _usual(claims, "magnet-count")
    if count == 1:
        return [(-width / 2, _BELOW_MM, width, thickness)]
    # Two bars face each other with a pole between them.
    pole = _usual(claims, "pole-diameter") or _POLE_MM
    return [
        (-pole / 2 - width, _BELOW_MM, width, thickness),
        (pole / 2, _BELOW_MM, width, thickness),
    ]


def _rect(kind: str, x: float, y: float, width: float, height: float) -> str:
    return (
        f'<rect class="{kind}" x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"/>'
    )

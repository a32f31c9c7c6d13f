"""A drawing of a family seen from above, to scale, made from its own figures."""

from __future__ import annotations

from html import escape

from coilbook.pages import text, views
from coilbook.pages.types import Book
from coilbook.records.models import Bobbin, Family
from coilbook.records.types import Claim

_MARGIN_MM = 4.0
_GAP_MM = 1.5
_POLE_MM = 4.8


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
    in_line = family.family_id.startswith("split-")
    if family.coils == 1:
        centres = [(0.0, 0.0)]
    elif in_line:
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
            row = bobbin.core_length_mm - bobbin.core_width_mm if in_line else spacing
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

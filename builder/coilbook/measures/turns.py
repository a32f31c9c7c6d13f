"""The turns that a resistance stands for, on assumed wire and bobbin, with the whole budget."""

from __future__ import annotations

from collections.abc import Mapping

from coilbook.measures import combine
from coilbook.measures.coil import Winding, coil_turns, resistance_sensitivities
from coilbook.measures.constants import (
    BOBBIN_HALF_WIDTH_M,
    CONDUCTIVITY_HALF_WIDTH,
    PACKING_RANGE,
    RHO_20_OHM_M,
    STRETCH_RANGE,
)
from coilbook.measures.uncertainty import Contribution, Estimate, rectangular
from coilbook.records.models import Bobbin, Wire

#: Each input of a winding: what a reader calls it, the unit shown, and that unit in SI.
_SHOWN = {
    "bare_diameter_m": (combine.BARE, "mm", 1e-3),
    "overall_diameter_m": (combine.OVERALL, "mm", 1e-3),
    "core_length_m": (combine.CORE_LENGTH, "mm", 1e-3),
    "core_width_m": (combine.CORE_WIDTH, "mm", 1e-3),
    "winding_height_m": (combine.HEIGHT, "mm", 1e-3),
    "packing": (combine.PACKING, "1", 1.0),
    "stretch": (combine.STRETCH, "%", 1e-2),
    "resistivity_ohm_m": (combine.RESISTIVITY, "nΩ·m", 1e-9),
}


def winding_of(wire: Wire, bobbin: Bobbin) -> Winding:
    """Return the winding that a wire makes on a bobbin, at the middle of what is not known of it.

    The wire's diameters are the nominal ones of the reference's table (not the gauge formula's);
    packing and stretch are the middles of their ranges.
    """
    return Winding(
        bare_diameter_m=wire.bare_nom_mm / 1000.0,
        overall_diameter_m=wire.overall_nom_mm / 1000.0,
        core_length_m=bobbin.core_length_mm / 1000.0,
        core_width_m=bobbin.core_width_mm / 1000.0,
        winding_height_m=bobbin.winding_height_mm / 1000.0,
        packing=sum(PACKING_RANGE) / 2.0,
        stretch=sum(STRETCH_RANGE) / 2.0,
    )


def winding_half_widths(wire: Wire) -> dict[str, float]:
    """Return how far each input of :func:`winding_of` may be off, as half-widths in SI units.

    A wire's diameter lies between its standard's least and most; where the nominal is not quite in
    the middle, half the whole span is taken (JCGM 100, 4.3.8). The rest is common practice.
    """
    return {
        "bare_diameter_m": (wire.bare_max_mm - wire.bare_min_mm) / 2000.0,
        "overall_diameter_m": (wire.overall_max_mm - wire.overall_min_mm) / 2000.0,
        "core_length_m": BOBBIN_HALF_WIDTH_M,
        "core_width_m": BOBBIN_HALF_WIDTH_M,
        "winding_height_m": BOBBIN_HALF_WIDTH_M,
        "packing": (PACKING_RANGE[1] - PACKING_RANGE[0]) / 2.0,
        "stretch": (STRETCH_RANGE[1] - STRETCH_RANGE[0]) / 2.0,
        "resistivity_ohm_m": RHO_20_OHM_M * CONDUCTIVITY_HALF_WIDTH,
    }


def turns_estimate(
    resistance_kohm: float,
    resistance_budget: tuple[Contribution, ...],
    winding: Winding,
    half_widths: Mapping[str, float],
) -> Estimate:
    """Return the turns of a coil with their budget, from its resistance at 20 °C with its own.

    Derivatives are analytic. With R(N, x) held at the reading, ∂N/∂x = −(∂R/∂x) / (∂R/∂N), and
    ∂N/∂R = 1 / (∂R/∂N); both are taken through ln R. The resistance's own lines come first, carried
    on, so that two coils' turns can share what their resistances share.
    """
    turns = coil_turns(resistance_kohm * 1000.0, winding)
    by = resistance_sensitivities(turns, winding)
    lines = list(combine.scaled(resistance_budget, 1.0 / (by["turns"] * resistance_kohm)))
    for field, half_width in half_widths.items():
        name, unit, size = _SHOWN[field]
        lines.append(
            Contribution(
                name,
                getattr(winding, field) / size,
                rectangular(half_width) / size,
                -by[field] / by["turns"] * size,
                unit,
                "rectangular",
            )
        )
    return Estimate(turns, tuple(lines))

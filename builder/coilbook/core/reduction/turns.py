"""The turns that a resistance or a mass stands for, on assumed wire and bobbin, with the budget."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from coilbook.core.budgets import combine
from coilbook.core.budgets.budget import Budget, Input, Lines
from coilbook.core.budgets.uncertainty import Contribution, Estimate, rectangular
from coilbook.core.constants import (
    BOBBIN_HALF_WIDTH_M,
    CONDUCTIVITY_HALF_WIDTH,
    DENSITY_HALF_WIDTH,
    DENSITY_KG_PER_M3,
    INSULATION_DENSITY_RANGE,
    PACKING_RANGE,
    RHO_20_OHM_M,
    STRETCH_RANGE,
)
from coilbook.core.formulas.coil import Winding, coil_turns, resistance_sensitivities
from coilbook.core.formulas.layers import INSULATION_KG_PER_M3, mass_sensitivities, turns_of_mass
from coilbook.core.seen import BobbinSeen, WireSeen

#: Each input of a winding: what a reader calls it, the unit shown, and that unit in SI.
SHOWN = {
    "bare_diameter_m": (combine.BARE, "mm", 1e-3),
    "overall_diameter_m": (combine.OVERALL, "mm", 1e-3),
    "core_length_m": (combine.CORE_LENGTH, "mm", 1e-3),
    "core_width_m": (combine.CORE_WIDTH, "mm", 1e-3),
    "winding_height_m": (combine.HEIGHT, "mm", 1e-3),
    "packing": (combine.PACKING, "1", 1.0),
    "stretch": (combine.STRETCH, "%", 1e-2),
    "resistivity_ohm_m": (combine.RESISTIVITY, "nΩ·m", 1e-9),
}


def winding_of(wire: WireSeen, bobbin: BobbinSeen) -> Winding:
    """Return the winding that a wire makes on a bobbin, at the middle of what is not known of it.

    The wire's diameters are the nominal ones of the reference's table (not the gauge formula's);
    packing and stretch are the middles of their ranges.
    """
    return _winding_of(
        wire.bare_nom_mm,
        wire.overall_nom_mm,
        bobbin.core_length_mm,
        bobbin.core_width_mm,
        bobbin.winding_height_mm,
    )


@lru_cache(maxsize=1024)
def _winding_of(
    bare_mm: float, overall_mm: float, length_mm: float, width_mm: float, height_mm: float
) -> Winding:
    """Return a winding from its sizes; a reference has some hundred pairs of wire and bobbin."""
    return Winding(
        bare_diameter_m=bare_mm / 1000.0,
        overall_diameter_m=overall_mm / 1000.0,
        core_length_m=length_mm / 1000.0,
        core_width_m=width_mm / 1000.0,
        winding_height_m=height_mm / 1000.0,
        packing=sum(PACKING_RANGE) / 2.0,
        stretch=sum(STRETCH_RANGE) / 2.0,
    )


def winding_half_widths(wire: WireSeen) -> dict[str, float]:
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
    resistance_budget: Lines,
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
    own = combine.scaled(resistance_budget, 1.0 / (by["turns"] * resistance_kohm))
    derivatives = {field: -by[field] / by["turns"] for field in half_widths}
    return Estimate(turns, own + winding_lines(winding, half_widths, derivatives))


def turns_from_mass_estimate(
    mass_g: float,
    mass_budget: Lines,
    winding: Winding,
    half_widths: Mapping[str, float],
) -> Estimate:
    """Return the turns of a coil with their budget, from the mass of its wire with its own.

    The wire was weighed with its insulation and without leads, tape or wax. Derivatives are
    analytic, as for the resistance: ∂N/∂x = −(∂ln m/∂x) / (∂ln m/∂N), ∂N/∂m = 1 / (m ∂ln m/∂N).
    The densities of copper and insulation come on top of ``half_widths``.
    """
    turns = turns_of_mass(mass_g / 1000.0, winding)
    by = mass_sensitivities(turns, winding)
    own = combine.scaled(mass_budget, 1.0 / (by["turns"] * mass_g))
    mattering = {field: width for field, width in half_widths.items() if field in by}
    derivatives = {field: -slope / by["turns"] for field, slope in by.items()}
    return Estimate(
        turns,
        (*own, *winding_lines(winding, mattering, derivatives), *density_lines(derivatives)),
    )


def winding_lines(
    winding: Winding, half_widths: Mapping[str, float], derivatives: Mapping[str, float]
) -> Budget:
    """Return the budget lines that a winding's inputs bring to a result.

    ``derivatives`` holds the result's by each field of ``half_widths``, in SI units of the field.
    """
    inputs, sensitivities = [], []
    for field, half_width in half_widths.items():
        size = SHOWN[field][2]
        inputs.append(_input(field, getattr(winding, field), half_width))
        sensitivities.append(derivatives[field] * size)
    return Budget(tuple(inputs), sensitivities)


@lru_cache(maxsize=4096)
def _input(field: str, value: float, half_width: float) -> Input:
    """Return one input of a winding as a budget shows it: the same for every coil wound alike."""
    name, unit, size = SHOWN[field]
    return Input(name, value / size, rectangular(half_width) / size, unit, "rectangular")


def density_lines(derivatives: Mapping[str, float]) -> Lines:
    """Return the budget lines that the densities of copper and insulation bring to a result.

    A density that ``derivatives`` does not hold brings none.
    """
    low, high = INSULATION_DENSITY_RANGE
    densities = {
        "copper_kg_per_m3": (
            combine.COPPER_DENSITY,
            DENSITY_KG_PER_M3,
            DENSITY_KG_PER_M3 * DENSITY_HALF_WIDTH,
        ),
        "insulation_kg_per_m3": (
            combine.INSULATION_DENSITY,
            INSULATION_KG_PER_M3,
            (high - low) / 2.0,
        ),
    }
    return tuple(
        Contribution(
            name, density, rectangular(half_width), derivatives[field], "kg/m³", "rectangular"
        )
        for field, (name, density, half_width) in densities.items()
        if field in derivatives
    )

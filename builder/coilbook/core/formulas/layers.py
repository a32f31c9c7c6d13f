"""A coil's layers, and the length and mass of the wire in it."""

from __future__ import annotations

import math
from typing import Any, TypeVar

from coilbook.core.constants import DENSITY_KG_PER_M3, INSULATION_DENSITY_RANGE, require_positive
from coilbook.core.formulas.coil import Winding, mean_turn_m, turns_of_length, wire_length_m
from coilbook.errors import OutOfDomain

Real = TypeVar("Real", float, Any)

#: The middle of what enamels weigh.
INSULATION_KG_PER_M3 = sum(INSULATION_DENSITY_RANGE) / 2.0


def turns_per_layer(winding_height_m: float, overall_diameter_m: float) -> float:
    r"""Return how many turns lie side by side in one layer.

    Formula: n = \frac{h}{D}
    Arguments: winding_height_m h [m], overall_diameter_m D [m]
    Returns: n [turns]
    Validity: turns touching, over the whole height; a hand-guided layer holds fewer.
    Errors: OutOfDomain unless both are above 0.
    Source: geometry
    """
    require_positive(winding_height_m=winding_height_m, overall_diameter_m=overall_diameter_m)
    return winding_height_m / overall_diameter_m


def layer_count(turns: Real, winding_height_m: float, overall_diameter_m: float) -> Real:
    r"""Return how many layers a number of turns makes.

    Formula: k = \frac{N D}{h}
    Arguments: turns N [turns], winding_height_m h [m], overall_diameter_m D [m]
    Returns: k [1]
    Validity: as for the turns of one layer; not rounded, the last layer may be a part.
    Errors: OutOfDomain unless all are above 0.
    Source: geometry
    """
    require_positive(turns=turns)
    return turns / turns_per_layer(winding_height_m, overall_diameter_m)


def spool_length_m(turns: Real, winding: Winding) -> Real:
    r"""Return the length of wire that leaves the spool for a coil.

    Formula: \ell_0 = \frac{N \, (P_0 + \pi t)}{1 + s}
    Arguments: turns N [turns], winding w [L, W, D, h in m; p; s]
    Returns: \ell_0 [m]
    Validity: as for the length in the coil, which is longer by the stretch s.
    Errors: OutOfDomain unless the turns are above 0.
    Source: geometry
    """
    return wire_length_m(turns, winding) / (1.0 + winding.stretch)


def wound_mass_kg_per_m(
    winding: Winding,
    copper_kg_per_m3: float = DENSITY_KG_PER_M3,
    insulation_kg_per_m3: float = INSULATION_KG_PER_M3,
) -> float:
    r"""Return the mass of a metre of wire as it lies in the coil: copper and insulation.

    Formula: \mu = \frac{\pi}{4} \left[ \gamma \frac{d^2}{1 + s} + \delta \left( D^2
        - \frac{d^2}{1 + s} \right) \right]
    Arguments: winding w [d, D in m; s], copper_kg_per_m3 \gamma [kg/m³],
        insulation_kg_per_m3 \delta [kg/m³]
    Returns: \mu [kg/m]
    Validity: round wire in one coat; the copper keeps its volume when it is stretched.
    Errors: OutOfDomain unless the densities are above 0 and the insulated wire is the thicker.
    Source: geometry
    """
    require_positive(copper_kg_per_m3=copper_kg_per_m3, insulation_kg_per_m3=insulation_kg_per_m3)
    bare_m2 = winding.bare_diameter_m**2 / (1.0 + winding.stretch)
    coat_m2 = winding.overall_diameter_m**2 - bare_m2
    if coat_m2 < 0.0:
        raise OutOfDomain(
            f"a wire of {winding.bare_diameter_m} m is thicker than the "
            f"{winding.overall_diameter_m} m over its insulation. Check both diameters."
        )
    return math.pi / 4.0 * (copper_kg_per_m3 * bare_m2 + insulation_kg_per_m3 * coat_m2)


def coil_mass_kg(
    turns: Real,
    winding: Winding,
    copper_kg_per_m3: float = DENSITY_KG_PER_M3,
    insulation_kg_per_m3: float = INSULATION_KG_PER_M3,
) -> Real:
    r"""Return the mass of all the wire of a coil, with its insulation.

    Formula: m = \mu \, N \, (P_0 + \pi t)
    Arguments: turns N [turns], winding w [d, D, L, W, h in m; p; s],
        copper_kg_per_m3 \gamma [kg/m³], insulation_kg_per_m3 \delta [kg/m³]
    Returns: m [kg]
    Validity: the wire alone: no leads, tape or wax. \mu is the mass of a metre in the coil.
    Errors: OutOfDomain unless turns and densities are above 0.
    Source: geometry
    """
    per_m = wound_mass_kg_per_m(winding, copper_kg_per_m3, insulation_kg_per_m3)
    return per_m * wire_length_m(turns, winding)


def turns_of_mass(
    mass_kg: Real,
    winding: Winding,
    copper_kg_per_m3: float = DENSITY_KG_PER_M3,
    insulation_kg_per_m3: float = INSULATION_KG_PER_M3,
) -> Real:
    r"""Return the turns of a coil from the mass of its wire.

    Formula: N = \frac{2 \ell}{P_0 + \sqrt{P_0^2 + 4 \pi g \ell}}, \quad \ell = \frac{m}{\mu}, \quad
        g = \frac{D^2 p}{h}
    Arguments: mass_kg m [kg], winding w [d, D, L, W, h in m; p; s],
        copper_kg_per_m3 \gamma [kg/m³], insulation_kg_per_m3 \delta [kg/m³]
    Returns: N [turns]
    Validity: the wire alone was weighed: no leads, tape or wax. \mu is the mass of a metre in the
        coil. Not rounded to whole turns.
    Errors: OutOfDomain unless mass and densities are above 0.
    Source: geometry
    """
    require_positive(mass_kg=mass_kg)
    per_m = wound_mass_kg_per_m(winding, copper_kg_per_m3, insulation_kg_per_m3)
    return turns_of_length(mass_kg / per_m, winding)


def mass_sensitivities(
    turns: float,
    winding: Winding,
    copper_kg_per_m3: float = DENSITY_KG_PER_M3,
    insulation_kg_per_m3: float = INSULATION_KG_PER_M3,
) -> dict[str, float]:
    r"""Return the derivatives of ln m, the logarithm of a coil's mass, with respect to each input.

    Formula: \frac{\partial \ln m}{\partial x} = \frac{1}{m} \frac{\partial m}{\partial x}
    Arguments: turns N [turns], winding w [d, D, L, W, h in m; p; s],
        copper_kg_per_m3 \gamma [kg/m³], insulation_kg_per_m3 \delta [kg/m³]
    Returns: c_x [1 over the unit of each input]
    Validity: analytic, as for the mass of a coil; the key turns is ∂ln m/∂N.
    Errors: OutOfDomain unless turns and densities are above 0.
    Source: geometry
    """
    mean_m = mean_turn_m(turns, winding)
    grown = math.pi * winding.build_up_per_turn_m * turns / mean_m  # the build-up's share of a turn
    per_m = wound_mass_kg_per_m(winding, copper_kg_per_m3, insulation_kg_per_m3) / (math.pi / 4.0)
    drawn = 1.0 + winding.stretch
    bare_m, overall_m = winding.bare_diameter_m, winding.overall_diameter_m
    heavier = copper_kg_per_m3 - insulation_kg_per_m3  # copper in the place of insulation
    return {
        "turns": (1.0 + grown) / turns,
        "bare_diameter_m": 2.0 * bare_m * heavier / drawn / per_m,
        "overall_diameter_m": 2.0 * overall_m * insulation_kg_per_m3 / per_m
        + 2.0 * grown / overall_m,
        "core_length_m": 2.0 / mean_m,
        "core_width_m": (math.pi - 2.0) / mean_m,
        "winding_height_m": -grown / winding.winding_height_m,
        "packing": grown / winding.packing,
        "stretch": -(bare_m**2) * heavier / drawn**2 / per_m,
        "copper_kg_per_m3": bare_m**2 / drawn / per_m,
        "insulation_kg_per_m3": (overall_m**2 - bare_m**2 / drawn) / per_m,
    }

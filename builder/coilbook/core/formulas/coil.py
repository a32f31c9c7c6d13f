"""A coil wound on a racetrack core: its geometry, and turns against resistance both ways.

The core is a stadium: two straight sides and two half circles. Each layer lies outside the last, so
the mean turn grows with the build-up, and the resistance a little faster than the turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, TypeVar

from coilbook.core.constants import (
    RHO_20_OHM_M,
    every,
    require_not_negative,
    require_positive,
)
from coilbook.errors import OutOfDomain

Real = TypeVar("Real", float, Any)


@dataclass(frozen=True, slots=True)
class Winding:
    """What a coil is wound of and on; lengths in m, ``packing`` and ``stretch`` as ratios.

    ``overall_diameter_m`` is the wire's as it lies in the coil; ``bare_diameter_m`` is the copper's
    before the stretch. ``packing`` is the pitch of the layers over the overall diameter: 1 for a
    square lay, √3/2 for nested layers, above 1 for loose ones.

    Every formula here works element by element, so that fields that are arrays of one length stand
    for as many windings at once.

    What every formula asks of it is worked out once: the perimeter of the bare core, what one turn
    adds to the build-up, spread over the whole layer, and the resistance of a metre of the wire as
    it lies in the coil, stretched.
    """

    bare_diameter_m: float
    overall_diameter_m: float
    core_length_m: float
    core_width_m: float
    winding_height_m: float
    packing: float = 1.0
    stretch: float = 0.0
    resistivity_ohm_m: float = RHO_20_OHM_M
    core_perimeter_m: float = field(init=False, repr=False, compare=False)
    build_up_per_turn_m: float = field(init=False, repr=False, compare=False)
    resistance_ohm_per_m: float = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        require_positive(
            bare_diameter_m=self.bare_diameter_m,
            overall_diameter_m=self.overall_diameter_m,
            core_length_m=self.core_length_m,
            core_width_m=self.core_width_m,
            winding_height_m=self.winding_height_m,
            packing=self.packing,
            resistivity_ohm_m=self.resistivity_ohm_m,
        )
        if not every(self.core_width_m <= self.core_length_m):
            raise OutOfDomain(
                f"the core's width {self.core_width_m} m is above its length "
                f"{self.core_length_m} m. Swap them."
            )
        if not (every(self.stretch >= 0.0) and every(self.stretch < 1.0)):
            raise OutOfDomain(
                f"a stretch of {self.stretch} is not a share from 0 to 1. Give 0.03 for 3 %."
            )
        area_m2 = math.pi * self.bare_diameter_m**2 / 4.0
        for name, value in (
            ("core_perimeter_m", racetrack_perimeter_m(self.core_length_m, self.core_width_m)),
            (
                "build_up_per_turn_m",
                build_up_m(1.0, self.overall_diameter_m, self.winding_height_m, self.packing),
            ),
            ("resistance_ohm_per_m", self.resistivity_ohm_m * (1.0 + self.stretch) / area_m2),
        ):
            object.__setattr__(self, name, value)


def racetrack_perimeter_m(length_m: float, width_m: float, offset_m: float = 0.0) -> float:
    r"""Return the perimeter of a stadium, or of the curve that runs outside it at a distance.

    Formula: P = 2 (L - W) + \pi W + 2 \pi t
    Arguments: length_m L [m], width_m W [m], offset_m t [m]
    Returns: P [m]
    Validity: L ≥ W > 0; t ≥ 0, the distance outside the core. Holds exactly (Steiner's formula for
        the parallel curve of a convex one).
    Errors: OutOfDomain for a width above the length, or a size below 0.
    Source: geometry
    """
    require_positive(length_m=length_m, width_m=width_m)
    require_not_negative(offset_m=offset_m)
    if not every(width_m <= length_m):
        raise OutOfDomain(
            f"a core of {length_m} × {width_m} m is no racetrack. Give the longer side first."
        )
    return 2.0 * (length_m - width_m) + math.pi * width_m + 2.0 * math.pi * offset_m


def build_up_m(
    turns: Real, overall_diameter_m: float, winding_height_m: float, packing: float = 1.0
) -> Real:
    r"""Return how thick a winding grows on its core.

    Formula: t = \frac{N D^2 p}{h}
    Arguments: turns N [turns], overall_diameter_m D [m], winding_height_m h [m], packing p [1]
    Returns: t [m]
    Validity: layers evenly filled over the height; p = 1 for square, √3/2 for hexagonal lay.
    Errors: OutOfDomain unless all are above 0.
    Source: geometry
    """
    require_positive(
        turns=turns,
        overall_diameter_m=overall_diameter_m,
        winding_height_m=winding_height_m,
        packing=packing,
    )
    return turns * (overall_diameter_m**2 * packing / winding_height_m)


def mean_turn_m(turns: Real, winding: Winding) -> Real:
    r"""Return the length of the mean turn: the perimeter half-way through the build-up.

    Formula: l = P_0 + \pi t, \quad P_0 = 2 (L - W) + \pi W, \quad t = \frac{N D^2 p}{h}
    Arguments: turns N [turns], winding w [L, W, D, h in m; p]
    Returns: l [m]
    Validity: layers evenly filled; each turn's length is linear in its distance from the core, so
        the mean turn is the one half-way out.
    Errors: OutOfDomain unless the turns are above 0.
    Source: geometry
    """
    require_positive(turns=turns)
    return winding.core_perimeter_m + math.pi * winding.build_up_per_turn_m * turns


def wire_length_m(turns: Real, winding: Winding) -> Real:
    r"""Return the length of wire in a coil, as it lies there.

    Formula: \ell = N \, (P_0 + \pi t)
    Arguments: turns N [turns], winding w [L, W, D, h in m; p]
    Returns: \ell [m]
    Validity: as for the mean turn. With a stretch s, the wire that leaves the spool is shorter:
        ℓ/(1 + s).
    Errors: OutOfDomain unless the turns are above 0.
    Source: geometry
    """
    return turns * mean_turn_m(turns, winding)


def coil_resistance_ohm(turns: Real, winding: Winding) -> Real:
    r"""Return the resistance of a coil from its turns, at 20 °C.

    Formula: R = \frac{4 \rho \, (1 + s)}{\pi d^2} \, N \, (P_0 + \pi t), \quad
        t = \frac{N D^2 p}{h}
    Arguments: turns N [turns], winding w [d, D, L, W, h in m; p; s; \rho in Ω·m]
    Returns: R [Ω]
    Validity: direct current; layers evenly filled.
    Errors: OutOfDomain unless the turns are above 0.
    Source: geometry

    Stretch: the turns and their places are what they are, so the length of the wire in the coil
    is fixed by the geometry; the copper keeps its volume, so wire stretched by s has a section
    smaller by 1/(1 + s) and R grows by (1 + s). The overall diameter D is that of the wire as it
    lies in the coil and is not shrunk again. (For a given length of spool wire it would be
    (1 + s)², since that length grows as well: that is another question.)
    """
    return winding.resistance_ohm_per_m * wire_length_m(turns, winding)


def turns_of_length(length_m: Real, winding: Winding) -> Real:
    r"""Return the turns that a length of wire makes, as it lies in the coil, in closed form.

    Formula: N = \frac{2 \ell}{P_0 + \sqrt{P_0^2 + 4 \pi g \ell}}, \quad g = \frac{D^2 p}{h}
    Arguments: length_m \ell [m], winding w [D, L, W, h in m; p]
    Returns: N [turns]
    Validity: layers evenly filled. The result is not rounded to whole turns.
    Errors: OutOfDomain unless the length is above 0.
    Source: geometry

    Derivation: The length is ℓ = N (P₀ + π t) with t = g N, which is the quadratic
    π g N² + P₀ N − ℓ = 0. Its positive root is N = (−P₀ + √(P₀² + 4 π g ℓ)) / (2 π g). Multiplying
    above and below by P₀ + √(P₀² + 4 π g ℓ) gives the form used here, in which nothing cancels, and
    which holds for a coil of one layer (g → 0) too.
    """
    require_positive(length_m=length_m)
    perimeter_m = winding.core_perimeter_m
    root = (perimeter_m**2 + 4.0 * math.pi * winding.build_up_per_turn_m * length_m) ** 0.5
    turns: Real = 2.0 * length_m / (perimeter_m + root)
    return turns


def coil_turns(resistance_ohm: Real, winding: Winding) -> Real:
    r"""Return the turns of a coil from its resistance at 20 °C, in closed form.

    Formula: N = \frac{2 \ell}{P_0 + \sqrt{P_0^2 + 4 \pi g \ell}}, \quad
        \ell = \frac{\pi d^2 R}{4 \rho \, (1 + s)}, \quad g = \frac{D^2 p}{h}
    Arguments: resistance_ohm R [Ω], winding w [d, D, L, W, h in m; p; s; \rho in Ω·m]
    Returns: N [turns]
    Validity: direct current; layers evenly filled. The result is not rounded to whole turns.
    Errors: OutOfDomain unless the resistance is above 0.
    Source: geometry

    Derivation: R over the resistance of a metre of the wire is the length ℓ of wire in the coil,
    and the turns follow from that length.
    """
    require_positive(resistance_ohm=resistance_ohm)
    return turns_of_length(resistance_ohm / winding.resistance_ohm_per_m, winding)


def resistance_sensitivities(turns: float, winding: Winding) -> dict[str, float]:
    r"""Return the derivatives of ln R, the logarithm of the resistance, with respect to each input.

    Formula: \frac{\partial \ln R}{\partial x} = \frac{1}{R} \frac{\partial R}{\partial x}
    Arguments: turns N [turns], winding w [d, D, L, W, h in m; p; s; \rho in Ω·m]
    Returns: c_x [1 over the unit of each input]
    Validity: analytic, as for the resistance of a coil; the key turns is ∂ln R/∂N.
    Errors: OutOfDomain unless the turns are above 0.
    Source: geometry
    """
    mean_m = mean_turn_m(turns, winding)
    grown = math.pi * winding.build_up_per_turn_m * turns / mean_m  # the build-up's share of a turn
    return {
        "turns": (1.0 + grown) / turns,
        "bare_diameter_m": -2.0 / winding.bare_diameter_m,
        "overall_diameter_m": 2.0 * grown / winding.overall_diameter_m,
        "core_length_m": 2.0 / mean_m,
        "core_width_m": (math.pi - 2.0) / mean_m,
        "winding_height_m": -grown / winding.winding_height_m,
        "packing": grown / winding.packing,
        "stretch": 1.0 / (1.0 + winding.stretch),
        "resistivity_ohm_m": 1.0 / winding.resistivity_ohm_m,
    }

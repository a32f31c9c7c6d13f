"""The winding window: how many turns it takes, and how full a number of turns leaves it."""

from __future__ import annotations

import math

from coilbook.core.constants import require_positive
from coilbook.errors import OutOfDomain

#: Pitch of the layers over the overall diameter, turns stacked straight above one another.
SQUARE_PACKING = 1.0
#: The same with every layer lying in the grooves of the one below.
HEXAGONAL_PACKING = math.sqrt(3.0) / 2.0


def layered_turns(
    height_m: float, depth_m: float, overall_diameter_m: float, packing: float = SQUARE_PACKING
) -> float:
    r"""Return the turns that a window takes when layer lies on layer, by area.

    Formula: N = \frac{h \, c}{p \, D^2}
    Arguments: height_m h [m], depth_m c [m], overall_diameter_m D [m], packing p [1]
    Returns: N [turns]
    Validity: p = 1 for square, √3/2 for hexagonal lay; the turns lost at the ends of layers are
        not taken off, so it is what a perfect machine would reach.
    Errors: OutOfDomain unless all are above 0.
    Source: geometry
    """
    require_positive(
        height_m=height_m,
        depth_m=depth_m,
        overall_diameter_m=overall_diameter_m,
        packing=packing,
    )
    return height_m * depth_m / (packing * overall_diameter_m**2)


def scatter_turns(
    height_m: float, depth_m: float, overall_diameter_m: float, fill_factor: float
) -> float:
    r"""Return the turns that a window takes when wound scattered, from the share that wire fills.

    Formula: N = F \, \frac{h \, c}{\pi D^2 / 4}
    Arguments: height_m h [m], depth_m c [m], overall_diameter_m D [m], fill_factor F [1]
    Returns: N [turns]
    Validity: F is the share of the window's area that the wire with its insulation takes; it
        cannot pass that of hexagonal lay, π/(2√3) = 0.907.
    Errors: OutOfDomain for a share that no lay can reach, or a size that is not above 0.
    Source: geometry
    """
    require_positive(
        height_m=height_m,
        depth_m=depth_m,
        overall_diameter_m=overall_diameter_m,
        fill_factor=fill_factor,
    )
    if fill_factor > math.pi / (2.0 * math.sqrt(3.0)):
        raise OutOfDomain(
            f"a fill factor of {fill_factor} is above 0.907, the most that round wire can reach. "
            "Give the share of the window's area as a fraction, as in 0.6."
        )
    return fill_factor * height_m * depth_m / (math.pi * overall_diameter_m**2 / 4.0)


def fill_ratio(
    turns: float,
    height_m: float,
    depth_m: float,
    overall_diameter_m: float,
    packing: float = SQUARE_PACKING,
) -> float:
    r"""Return how much of its window a winding takes, layer upon layer; above 1 it does not fit.

    Formula: f = \frac{N \, p \, D^2}{h \, c}
    Arguments: turns N [turns], height_m h [m], depth_m c [m], overall_diameter_m D [m],
        packing p [1]
    Returns: f [1]
    Validity: p = 1 for square, √3/2 for hexagonal lay.
    Errors: OutOfDomain unless all are above 0.
    Source: geometry
    """
    require_positive(turns=turns)
    return turns / layered_turns(height_m, depth_m, overall_diameter_m, packing)

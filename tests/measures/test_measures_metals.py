"""Metals: conductivity, skin depth and gathered field against textbooks and the wave equation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import constants, sparse
from scipy.sparse.linalg import spsolve

from coilbook.core.formulas.rods import RodMagnet
from coilbook.errors import OutOfDomain
from coilbook.measures.magnet_grade import rod_demagnetising_factor
from coilbook.measures.metals import (
    apparent_permeability,
    conductivity_percent,
    permeable_rod_factor,
    skin_depth_m,
)

#: A pole of a usual size, 4.8 x 16 mm.
POLE = RodMagnet(4.8e-3, 16e-3)


def test_conductivity_is_a_share_of_58_megasiemens() -> None:
    """IEC 60028: 100 % is 58.0 MS/m at 20 °C (from memory), whatever the metal."""
    for percent in (6.0, 28.0, 61.0, 100.0):
        siemens_per_m = percent / 100 * 58.0 * constants.mega
        assert conductivity_percent(1 / siemens_per_m) == pytest.approx(percent, rel=1e-12)


@pytest.mark.parametrize(
    ("resistivity", "relative"), [(17.241e-9, 1.0), (290e-9, 1.0), (145e-9, 60.0), (145e-9, 500.0)]
)
def test_skin_depth_agrees_with_the_wave_equation(resistivity: float, relative: float) -> None:
    """The field goes as exp(-k x) with k² = j omega mu / rho; 1/Re k is the depth (any textbook).

    The magnetic constant is scipy's measured one, which differs from 4 pi 1e-7 in the tenth digit.
    """
    for hertz in (50.0, 1e3, 5e3, 1e6):
        k = np.sqrt(2j * math.pi * hertz * constants.mu_0 * relative / resistivity)
        assert skin_depth_m(resistivity, hertz, relative) == pytest.approx(1 / k.real, rel=1e-8)


def test_skin_depth_of_copper_is_the_handbooks() -> None:
    """Copper: 66 µm at 1 MHz and 9.35 mm at 50 Hz (handbook values, from memory)."""
    copper = 1 / 58e6
    assert skin_depth_m(copper, 1e6) == pytest.approx(66e-6, abs=0.5e-6)
    assert skin_depth_m(copper, 50.0) == pytest.approx(9.35e-3, abs=0.005e-3)


def test_a_sphere_gathers_as_the_textbooks_say() -> None:
    """A sphere (N = 1/3): 3 mu/(mu + 2); a needle (N = 0) all, a plate (N = 1) none (textbooks)."""
    for relative in (1.0, 5.0, 60.0, 4000.0):
        assert apparent_permeability(relative, 1 / 3) == pytest.approx(
            3 * relative / (relative + 2), rel=1e-12
        )
        assert apparent_permeability(relative, 0.0) == relative
        assert apparent_permeability(relative, 1.0) == pytest.approx(1.0, rel=1e-12)


def _edges(inner: float, fine: int, outer: float, coarse: int) -> np.ndarray:
    """Return a grid's edges: closer and closer towards the metal's face, wider beyond it."""
    to_face = inner * (1 - (1 - np.linspace(0, 1, fine + 1)) ** 1.6)
    beyond = inner + (outer - inner) * np.linspace(0, 1, coarse + 1)[1:] ** 3.2
    return np.concatenate([to_face, beyond])


def _gathered_on_a_grid(relative: float, radius: float, half: float, cells: int) -> float:
    """Solve div(mu grad phi) = 0 on rings round the axis, in a field of 1, over the upper half.

    Finite volumes, written here from the textbook's equation alone. Far away the field is even; on
    the middle plane phi is 0. The mean field inside follows from phi on the end face alone.
    """
    r_edges = _edges(radius, cells, 25 * radius, 2 * cells)
    z_edges = _edges(half, 2 * cells, 12 * half, 2 * cells)
    r, z = (r_edges[1:] + r_edges[:-1]) / 2, (z_edges[1:] + z_edges[:-1]) / 2
    shape = (len(r), len(z))
    mu = np.where((r[:, None] < radius) & (z[None, :] < half), relative, 1.0)
    dr, dz = np.diff(r_edges), np.diff(z_edges)
    # Conductance between neighbours: two half cells in series.
    across = (
        2 * np.pi * r_edges[1:-1, None] * dz
        / (dr[:-1, None] / (2 * mu[:-1]) + dr[1:, None] / (2 * mu[1:]))
    )  # fmt: skip
    face = np.pi * np.diff(r_edges**2)[:, None]
    along = face / (dz[:-1] / (2 * mu[:, :-1]) + dz[1:] / (2 * mu[:, 1:]))
    number = np.arange(r.size * z.size).reshape(shape)
    one = np.concatenate([number[:-1].ravel(), number[:, :-1].ravel()])
    two = np.concatenate([number[1:].ravel(), number[:, 1:].ravel()])
    flow = np.concatenate([across.ravel(), along.ravel()])
    # phi = -z far away: on top and outside; phi = 0 on the middle plane.
    bound, known = np.zeros(shape), np.zeros(shape)
    bottom, top = 2 * mu[:, 0] * face[:, 0] / dz[0], 2 * face[:, 0] / dz[-1]
    side = 2 * np.pi * r_edges[-1] * dz / (dr[-1] / 2)
    bound[:, 0] += bottom
    bound[:, -1] += top
    known[:, -1] += top * -z_edges[-1]
    bound[-1] += side
    known[-1] += side * -z
    total = np.bincount(one, flow, number.size) + np.bincount(two, flow, number.size)
    matrix = sparse.coo_matrix((-flow, (one, two)), (number.size, number.size))
    matrix = (matrix + matrix.T + sparse.diags(total + bound.ravel())).tocsc()
    phi = spsolve(matrix, known.ravel()).reshape(shape)
    inner, upper = int(np.sum(r < radius)), int(np.sum(z < half))
    below, above = phi[:inner, upper - 1], phi[:inner, upper]
    lower, higher = relative / dz[upper - 1], 1.0 / dz[upper]
    on_face = (lower * below + higher * above) / (lower + higher)
    weight = face[:inner, 0] / face[:inner, 0].sum()
    return relative * -float(on_face @ weight) / half


def test_a_steel_rod_gathers_as_a_grid_of_cells_says() -> None:
    """Boundary elements and finite volumes share nothing and give the same field to 1.5 %.

    A screw or slug of steel gathers 10 to 12 times the field of air, not the 7.7 to 8.6 times of a
    rod taken as evenly magnetised: its field leaves through the side as well.
    """
    for relative, low, high in ((4.3, 3.2, 3.3), (60.0, 10.0, 10.3), (500.0, 11.7, 12.1)):
        gathered = apparent_permeability(relative, permeable_rod_factor(relative, POLE))
        assert low < gathered < high
        grid = _gathered_on_a_grid(relative, 2.4e-3, 8e-3, 40)
        assert gathered == pytest.approx(grid, rel=0.015)
        even = apparent_permeability(relative, rod_demagnetising_factor(POLE))
        assert even < gathered


@pytest.mark.parametrize("slender", [1.0, 2.0, 10 / 3, 10.0])
def test_a_rod_that_is_hardly_magnetised_has_the_even_rods_factor(slender: float) -> None:
    """Near a permeability of 1 the field stays even: 1 less Nagaoka's coefficient (a library's)."""
    rod = RodMagnet(1e-3, slender * 1e-3)
    factor = permeable_rod_factor(1.0 + 1e-6, rod)
    assert factor == pytest.approx(rod_demagnetising_factor(rod), rel=0.011)
    assert permeable_rod_factor(1e6, rod) < permeable_rod_factor(60.0, rod) < factor


def test_what_is_no_metal_is_refused() -> None:
    """Nothing is worked out from a size that is not above 0, or from an impossible factor."""
    with pytest.raises(OutOfDomain, match="resistivity_ohm_m"):
        skin_depth_m(0.0, 1e3)
    with pytest.raises(OutOfDomain, match="resistivity_ohm_m"):
        conductivity_percent(-1.0)
    with pytest.raises(OutOfDomain, match="relative_permeability"):
        permeable_rod_factor(1.0, POLE)
    with pytest.raises(OutOfDomain, match=r"factor of 1.5"):
        apparent_permeability(60.0, 1.5)

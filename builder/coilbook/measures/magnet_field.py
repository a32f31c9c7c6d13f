"""The field around one bar or rod magnet, and how strongly its shape demagnetises it.

The magnet stands alone in air and is magnetised evenly and rigidly along one of its edges, or along
the rod. Places are counted from its centre, z along the magnetisation; a stand-off is counted from
the middle of the face outwards. Steel near it, or a second magnet, is not in these formulas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from scipy.special import elliprd, elliprf, elliprj

from coilbook.core.constants import require_not_negative, require_positive
from coilbook.core.formulas.rods import PLACES, RIM, ROUNDS, RodMagnet, rod_on_axis_t
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray

#: Stands for a distance of nothing where a formula has a limit there but divides by it.
_HAIR = 1e-15


@dataclass(frozen=True, slots=True)
class BarMagnet:
    """A bar magnet: two edges across the magnetisation, and the one along it, in m."""

    edge_x_m: float
    edge_y_m: float
    along_m: float

    def __post_init__(self) -> None:
        require_positive(edge_x_m=self.edge_x_m, edge_y_m=self.edge_y_m, along_m=self.along_m)


MagnetShape: TypeAlias = BarMagnet | RodMagnet


def bar_on_axis_t(polarisation_t: float, bar: BarMagnet, standoff_m: float) -> float:
    r"""Return the flux density over the middle of a bar's face.

    Formula: B = \frac{J}{\pi} \left[ \arctan \frac{a b}{2 z \sqrt{4 z^2 + a^2 + b^2}}
        - \arctan \frac{a b}{2 (z + c) \sqrt{4 (z + c)^2 + a^2 + b^2}} \right]
    Arguments: polarisation_t J [T], bar m [a, b, c in m], standoff_m z [m]
    Returns: B [T]
    Validity: exact for one magnet alone in air, evenly and rigidly magnetised along c; z ≥ 0.
    Errors: OutOfDomain unless the polarisation is above 0 and the stand-off 0 or more.
    Source: common practice
    """
    require_positive(polarisation_t=polarisation_t)
    require_not_negative(standoff_m=standoff_m)
    area = bar.edge_x_m * bar.edge_y_m
    diagonal2 = bar.edge_x_m**2 + bar.edge_y_m**2

    def angle(distance_m: float) -> float:
        return math.atan2(area, 2.0 * distance_m * math.sqrt(4.0 * distance_m**2 + diagonal2))

    return polarisation_t / math.pi * (angle(standoff_m) - angle(standoff_m + bar.along_m))


def _bar_bz(bar: BarMagnet, x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """Return the component along the magnetisation for J = 1 T, outside the bar."""
    total: FloatArray = np.zeros(np.broadcast_shapes(x.shape, y.shape, z.shape))
    for end in (1.0, -1.0):
        w = z - end * bar.along_m / 2.0
        # On a face itself the limit from outside holds: above the upper one, below the lower one.
        side = np.where(w == 0.0, end, np.sign(w))
        for i in (1.0, -1.0):
            u = x + i * bar.edge_x_m / 2.0
            for j in (1.0, -1.0):
                v = y + j * bar.edge_y_m / 2.0
                r = np.sqrt(u * u + v * v + w * w)
                total += end * i * j * side * np.arctan2(u * v, np.abs(w) * r)
    return total / (4.0 * math.pi)


def _bar_across(
    along: float, u_edge: float, v_edge: float, place: tuple[FloatArray, ...]
) -> FloatArray:
    """Return the component across the magnetisation along u, for J = 1 T, outside the bar."""
    x, y, z = place
    total: FloatArray = np.zeros(np.broadcast_shapes(x.shape, y.shape, z.shape))
    for end in (1.0, -1.0):
        w = z - end * along / 2.0
        for i in (1.0, -1.0):
            u = x + i * u_edge / 2.0
            # In line with an edge both terms are endless and their difference is not.
            h = np.maximum(np.hypot(u, w), _HAIR * along)
            total += (
                end * i * (np.arcsinh((y - v_edge / 2.0) / h) - np.arcsinh((y + v_edge / 2.0) / h))
            )
    return total / (4.0 * math.pi)


def bar_field_t(
    polarisation_t: float,
    bar: BarMagnet,
    x_m: npt.ArrayLike,
    y_m: npt.ArrayLike,
    z_m: npt.ArrayLike,
) -> npt.NDArray[np.float64]:
    r"""Return the three components of the flux density anywhere outside a bar.

    Formula: \mathbf{B} = \frac{J}{4 \pi} \int_A \left(
        \frac{\mathbf{r} - \mathbf{r}_+}{|\mathbf{r} - \mathbf{r}_+|^3}
        - \frac{\mathbf{r} - \mathbf{r}_-}{|\mathbf{r} - \mathbf{r}_-|^3} \right) dA
    Arguments: polarisation_t J [T], bar m [a, b, c in m], x_m x [m], y_m y [m], z_m z [m]
    Returns: \mathbf{B} [T]
    Validity: exact for one magnet alone in air, evenly and rigidly magnetised along z; outside it,
        its surface included but for the rims of its two pole faces, where the field has no limit.
        The last axis of the result holds the components along x, y and z.
    Errors: OutOfDomain for a place inside the magnet or on a rim, or a polarisation of 0 or less.
    Source: common practice

    The integral runs over both pole faces, the upper (+) and the lower (−). It is worked out in
    closed form, with arctangents for the part along z and logarithms for the parts across.
    """
    require_positive(polarisation_t=polarisation_t)
    x, y, z = _finite(x_m=x_m, y_m=y_m, z_m=z_m)
    beyond = [abs(p) - e / 2.0 for p, e in ((x, bar.edge_x_m), (y, bar.edge_y_m), (z, bar.along_m))]
    inside = (beyond[0] < 0.0) & (beyond[1] < 0.0) & (beyond[2] < 0.0)
    rim = (np.maximum(beyond[0], beyond[1]) == 0.0) & (beyond[2] == 0.0)
    _require_outside("x_m, y_m, z_m", inside | rim)
    return polarisation_t * np.stack(
        [
            _bar_across(bar.along_m, bar.edge_x_m, bar.edge_y_m, (x, y, z)),
            _bar_across(bar.along_m, bar.edge_y_m, bar.edge_x_m, (y, x, z)),
            _bar_bz(bar, x, y, z),
        ],
        axis=-1,
    )


def _rod_terms(
    rod: RodMagnet, radius: FloatArray, z: FloatArray, end: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the height over one end, and what its elliptic integrals are made of."""
    w = z + end * rod.along_m / 2.0
    a = rod.diameter_m / 2.0
    far2 = w * w + (a + radius) ** 2
    return w, far2, (w * w + (a - radius) ** 2) / far2


def _rod_across(rod: RodMagnet, radius: FloatArray, z: FloatArray) -> FloatArray:
    """Return the radial component for J = 1 T, outside the rod."""
    a = rod.diameter_m / 2.0
    radial: FloatArray = np.zeros(np.broadcast_shapes(radius.shape, z.shape))
    for end in (1.0, -1.0):
        _, far2, k2 = _rod_terms(rod, radius, z, end)
        first = elliprf(0.0, k2, 1.0)
        radial += end * a / np.sqrt(far2) * (first - elliprd(0.0, k2, 1.0) * 2.0 / 3.0)
    return radial / math.pi


def _rod_along(rod: RodMagnet, radius: FloatArray, z: FloatArray) -> FloatArray:
    """Return the axial component for J = 1 T, outside the rod."""
    a = rod.diameter_m / 2.0
    gamma = (a - radius) / (a + radius)
    # On the rod's side the limit from outside holds, where gamma is below nothing.
    gamma = np.where(np.abs(gamma) < _HAIR, -_HAIR, gamma)
    axial: FloatArray = np.zeros(np.broadcast_shapes(radius.shape, z.shape))
    for end in (1.0, -1.0):
        w, far2, k2 = _rod_terms(rod, radius, z, end)
        first = elliprf(0.0, k2, 1.0)
        third = elliprj(0.0, k2, 1.0, gamma**2)
        axial += end * w / np.sqrt(far2) * (first + (gamma - gamma**2) / 3.0 * third)
    return axial * a / (a + radius) / math.pi


def rod_field_t(
    polarisation_t: float, rod: RodMagnet, radius_m: npt.ArrayLike, z_m: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    r"""Return the radial and the axial component of the flux density anywhere outside a rod.

    Formula: B_\rho = \frac{J}{\pi} [\alpha_+ C(k_+, 1, 1, -1) - \alpha_- C(k_-, 1, 1, -1)], \quad
        B_z = \frac{J}{\pi} \frac{a}{a + \rho}
        [\beta_+ C(k_+, \gamma^2, 1, \gamma) - \beta_- C(k_-, \gamma^2, 1, \gamma)]
    Arguments: polarisation_t J [T], rod m [D, L in m], radius_m \rho [m], z_m z [m]
    Returns: (B_\rho,B_z) [T]
    Validity: exact for one magnet alone in air, evenly and rigidly magnetised along L; outside it,
        its surface included but for its two rims, where the field has no limit. The last axis of
        the result holds the two components. Here a = D/2, z± = z ± L/2, γ = (a − ρ)/(a + ρ),
        α± = a/√(z±² + (ρ + a)²), β± = z±/√(z±² + (ρ + a)²) and
        k±² = (z±² + (a − ρ)²)/(z±² + (a + ρ)²).
    Errors: OutOfDomain for a place inside the magnet or on a rim, a radius below 0, or a
        polarisation of 0 or less.
    Source: derby-olbert-2010 equations for the ideal solenoid

    C is the generalised complete elliptic integral; it is evaluated through Carlson's symmetric
    integrals. A rod's field is that of an ideal solenoid of its size.
    """
    require_positive(polarisation_t=polarisation_t)
    radius, z = _finite(radius_m=radius_m, z_m=z_m)
    if bool(np.any(radius < 0.0)):
        raise OutOfDomain(f"radius_m must be 0 or more, and is {radius_m!r}. Give the distance.")
    across, along = radius - rod.diameter_m / 2.0, np.abs(z) - rod.along_m / 2.0
    inside = (across < 0.0) & (along < 0.0)
    _require_outside("radius_m, z_m", inside | ((across == 0.0) & (along == 0.0)))
    return polarisation_t * np.stack(
        [_rod_across(rod, radius, z), _rod_along(rod, radius, z)], axis=-1
    )


def _finite(**places: npt.ArrayLike) -> tuple[FloatArray, ...]:
    arrays = {name: np.asarray(place, dtype=np.float64) for name, place in places.items()}
    for name, array in arrays.items():
        if not bool(np.all(np.isfinite(array))):
            raise OutOfDomain(f"{name} must be finite, and is {places[name]!r}. Check it.")
    return tuple(np.broadcast_arrays(*arrays.values()))


def _require_outside(names: str, wrong: npt.NDArray[np.bool_]) -> None:
    if bool(np.any(wrong)):
        raise OutOfDomain(
            f"{names}: {int(np.sum(wrong))} of the places lie inside the magnet or on the rim of a "
            "pole face, where no probe reads. Count places from the magnet's centre."
        )


def middle_of_face_t(polarisation_t: float, magnet: MagnetShape, standoff_m: float) -> float:
    r"""Return the flux density over the middle of a face, of a bar or a rod.

    Formula: B = B_z(0, 0, z)
    Arguments: polarisation_t J [T], magnet m [sizes in m], standoff_m z [m]
    Returns: B [T]
    Validity: the closed form of the shape's own axis; z ≥ 0 from the face.
    Errors: OutOfDomain unless the polarisation is above 0 and the stand-off 0 or more.
    Source: common practice
    """
    if isinstance(magnet, BarMagnet):
        return bar_on_axis_t(polarisation_t, magnet, standoff_m)
    return rod_on_axis_t(polarisation_t, magnet, standoff_m)


def highest_over_face_t(
    polarisation_t: float, magnet: MagnetShape, standoff_m: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    r"""Return the highest flux density anywhere over a face, at each stand-off.

    Formula: B = \max_{(x, y) \in A} B_z(x, y, z)
    Arguments: polarisation_t J [T], magnet m [sizes in m], standoff_m z [m]
    Returns: B [T]
    Validity: one magnet alone in air, evenly and rigidly magnetised; the component along the
        magnetisation; z ≥ 0 from the face. Over a wide and thin magnet the highest lies near the
        rim, and there it can be more than twice what the middle shows. It is searched on a grid,
        with closer and closer looks around the best place.
    Errors: OutOfDomain unless the polarisation is above 0 and the stand-offs 0 or more.
    Source: geometry
    """
    require_positive(polarisation_t=polarisation_t)
    (standoff,) = _finite(standoff_m=standoff_m)
    if bool(np.any(standoff < 0.0)):
        raise OutOfDomain(f"standoff_m must be 0 or more, and is {standoff_m!r}. Check its unit.")
    z = (standoff.ravel() + magnet.along_m / 2.0)[:, None, None]

    def along(s: FloatArray, t: FloatArray) -> FloatArray:
        if isinstance(magnet, BarMagnet):
            x, y = magnet.edge_x_m / 2.0 * np.sin(s), magnet.edge_y_m / 2.0 * np.sin(t)
            return _bar_bz(magnet, x, y, z)
        return _rod_along(magnet, magnet.diameter_m / 2.0 * np.sin(s), z)

    # A quarter of the face is enough. Angles instead of lengths lie closer towards the rim.
    step = math.pi / 2.0 / PLACES
    angles: FloatArray = step * np.arange(PLACES, dtype=np.float64)
    s: FloatArray = angles[None, :, None]
    t: FloatArray = (angles if isinstance(magnet, BarMagnet) else angles[:1])[None, None, :]
    for _ in range(ROUNDS):
        found = along(s, t)
        best = found.reshape(len(z), -1).argmax(axis=1)
        # The first look has one grid for all stand-offs, the closer ones have one for each.
        rows = np.arange(len(z)) % len(s)
        i, j = np.unravel_index(best, found.shape[1:])
        around = step * np.linspace(-1.0, 1.0, 7)
        s = np.clip(s[rows, i, 0][:, None] + around, 0.0, RIM)[:, :, None]
        if isinstance(magnet, BarMagnet):
            t = np.clip(t[rows, 0, j][:, None] + around, 0.0, RIM)[:, None, :]
        step /= 3.0
    highest: FloatArray = found.max(axis=(1, 2)).reshape(standoff.shape)
    return polarisation_t * highest

"""The field of a rod magnet, on its axis and over its face."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.core.constants import require_not_negative, require_positive

#: The search over a face: places along the radius, then rounds of a closer look at the best.
PLACES = 24
ROUNDS = 8
#: The farthest angle out that the search goes, a hair short of the rim itself.
RIM = math.pi / 2.0 - 1e-6
#: Where the means of the elliptic integral agree so far, they agree to the square of it.
_MEANS_AGREE = 1e-7


@dataclass(frozen=True, slots=True)
class RodMagnet:
    """A rod magnet, magnetised along its length; both in m."""

    diameter_m: float
    along_m: float

    def __post_init__(self) -> None:
        require_positive(diameter_m=self.diameter_m, along_m=self.along_m)


def rod_on_axis_t(polarisation_t: float, rod: RodMagnet, standoff_m: float) -> float:
    r"""Return the flux density over the middle of a rod's face.

    Formula: B = \frac{J}{2} \left[ \frac{z + L}{\sqrt{(z + L)^2 + (D/2)^2}}
        - \frac{z}{\sqrt{z^2 + (D/2)^2}} \right]
    Arguments: polarisation_t J [T], rod m [D, L in m], standoff_m z [m]
    Returns: B [T]
    Validity: exact for one magnet alone in air, evenly and rigidly magnetised along L; z ≥ 0.
    Errors: OutOfDomain unless the polarisation is above 0 and the stand-off 0 or more.
    Source: common practice
    """
    require_positive(polarisation_t=polarisation_t)
    require_not_negative(standoff_m=standoff_m)
    radius = rod.diameter_m / 2.0
    far = standoff_m + rod.along_m
    return (
        polarisation_t
        / 2.0
        * (far / math.hypot(far, radius) - standoff_m / math.hypot(standoff_m, radius))
    )


def _elliptic(k: float, p: float, s: float) -> float:
    """Return the generalised complete elliptic integral C(k, p, 1, s), p and s above 0.

    By the arithmetic and geometric means of Bulirsch (Numerische Mathematik 13, 1969; from memory),
    held in the tests against Carlson's forms.
    """
    pp = math.sqrt(p)
    em, f, ss = 1.0, 1.0, s / pp
    cc = 1.0 + ss / pp
    g = k / pp
    kk = k
    ss = 2.0 * (ss + f * g)
    pp += g
    g = em
    em += k
    while abs(g - k) > g * _MEANS_AGREE:
        k = 2.0 * math.sqrt(kk)
        kk = k * em
        f = cc
        cc += ss / pp
        g = kk / pp
        ss = 2.0 * (ss + f * g)
        pp += g
        g = em
        em += k
    return math.pi / 2.0 * (ss + cc * em) / (em * (em + pp))


def _along(rod: RodMagnet, radius_m: float, z_m: float) -> float:
    """Return the axial component for J = 1 T at a place outside the rod, z from its middle."""
    a = rod.diameter_m / 2.0
    gamma = (a - radius_m) / (a + radius_m)
    axial = 0.0
    for end in (1.0, -1.0):
        w = z_m + end * rod.along_m / 2.0
        far2 = w * w + (a + radius_m) * (a + radius_m)
        near2 = w * w + (a - radius_m) * (a - radius_m)
        axial += end * w / math.sqrt(far2) * _elliptic(math.sqrt(near2 / far2), gamma**2, gamma)
    return axial * a / (a + radius_m) / math.pi


def highest_over_rod_t(polarisation_t: float, rod: RodMagnet, standoff_m: float) -> float:
    r"""Return the highest flux density anywhere over a rod's face.

    Formula: B = \max_{r \le D/2} B_z(r, z)
    Arguments: polarisation_t J [T], rod m [D, L in m], standoff_m z [m]
    Returns: B [T]
    Validity: one rod alone in air, evenly and rigidly magnetised; the component along the axis;
        z ≥ 0 from the face. Over a short and wide rod the highest lies near the rim. It is searched
        along the radius, with closer and closer looks around the best place.
    Errors: OutOfDomain unless the polarisation is above 0 and the stand-off 0 or more.
    Source: geometry
    """
    require_positive(polarisation_t=polarisation_t)
    require_not_negative(standoff_m=standoff_m)
    z_m = standoff_m + rod.along_m / 2.0
    step = math.pi / 2.0 / PLACES
    # Angles instead of lengths lie closer towards the rim.
    angles = [step * place for place in range(PLACES)]
    highest = 0.0
    for _ in range(ROUNDS):
        best, highest = 0.0, -math.inf
        for angle in angles:
            found = _along(rod, rod.diameter_m / 2.0 * math.sin(angle), z_m)
            if found > highest:
                highest, best = found, angle
        angles = [min(max(best + step * part / 3.0, 0.0), RIM) for part in range(-3, 4)]
        step /= 3.0
    return polarisation_t * highest

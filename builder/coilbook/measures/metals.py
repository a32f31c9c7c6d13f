"""How metals conduct beside copper, how deep a field reaches into them, how much they gather."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy.special import ellipe, ellipk

from coilbook.core.constants import RHO_20_OHM_M, require_positive
from coilbook.core.formulas.rods import RodMagnet
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray
from coilbook.measures.magnet_grade import MU_0_H_PER_M

#: Bands on half of a rod's side and rings on one end, and places in each to work out a field of and
#: at. With twice as many bands and rings the factor of a usual pole moves by less than 0.2 %.
_BANDS, _RINGS, _FIELD_OF, _FIELD_AT = 24, 16, 8, 5


def conductivity_percent(resistivity_ohm_m: float) -> float:
    r"""Return how well a metal conducts, as a share of the standard copper.

    Formula: \kappa = 100\,\% \cdot \frac{\rho_{20}}{\rho}
    Arguments: resistivity_ohm_m \rho [Ω·m]
    Returns: \kappa [%]
    Validity: both at 20 °C; 100 % is the international annealed copper standard of 58 MS/m.
    Errors: OutOfDomain unless the resistivity is above 0.
    Source: iec-60028 resistivity
    """
    require_positive(resistivity_ohm_m=resistivity_ohm_m)
    return 100.0 * RHO_20_OHM_M / resistivity_ohm_m


def skin_depth_m(
    resistivity_ohm_m: float, frequency_hz: float, relative_permeability: float = 1.0
) -> float:
    r"""Return how deep an alternating field reaches into a metal, down to 37 % of its surface.

    Formula: \delta = \sqrt{\frac{\rho}{\pi f \mu_0 \mu_r}}
    Arguments: resistivity_ohm_m \rho [Ω·m], frequency_hz f [Hz], relative_permeability \mu_r [1]
    Returns: \delta [m]
    Validity: an even metal, much thicker than the depth and flat beside it. A cover much thinner
        than its depth is passed by the field all the same, and is warmed in its whole thickness.
    Errors: OutOfDomain unless all are above 0.
    Source: common practice
    """
    require_positive(
        resistivity_ohm_m=resistivity_ohm_m,
        frequency_hz=frequency_hz,
        relative_permeability=relative_permeability,
    )
    permeability_h_per_m = MU_0_H_PER_M * relative_permeability
    return math.sqrt(resistivity_ohm_m / (math.pi * frequency_hz * permeability_h_per_m))


def apparent_permeability(relative_permeability: float, demagnetising_factor: float) -> float:
    r"""Return how much more field a piece of metal gathers than air does, its ends counted in.

    Formula: \mu_a = \frac{\mu_r}{1 + N (\mu_r - 1)}
    Arguments: relative_permeability \mu_r [1], demagnetising_factor N [1]
    Returns: \mu_a [1]
    Validity: a weak and even field along the piece, far from saturation; of a rod or a screw it is
        a mean. However permeable the metal, it is never above 1/N. N is exact for a ball or an
        egg-shaped piece; that of a steel rod depends on its permeability and is worked out apart.
    Errors: OutOfDomain unless the permeability is above 0 and the factor from 0 to 1.
    Source: common practice
    """
    require_positive(relative_permeability=relative_permeability)
    if not 0.0 <= demagnetising_factor <= 1.0:
        raise OutOfDomain(
            f"a demagnetising factor of {demagnetising_factor} is not from 0 to 1. Check it."
        )
    return relative_permeability / (1.0 + demagnetising_factor * (relative_permeability - 1.0))


@lru_cache(maxsize=16)
def _charges_on_a_rod(slenderness: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what a rod of diameter 2 and length 2 times ``slenderness`` does to its own surface.

    The normal field of each part of the surface at each, for a charge of 1; how each part faces the
    axis; and what a charge on it adds to the mean magnetisation. The lower half mirrors the upper
    one with the sign turned. Parts are finest at the rim, where the charge grows without bound.
    """
    side = slenderness * (1.0 - (1.0 - np.linspace(0.0, 1.0, _BANDS + 1)) ** 2)
    end = 1.0 - (1.0 - np.linspace(0.0, 1.0, _RINGS + 1)) ** 2
    radii = np.concatenate([np.ones((_BANDS, 2)), np.column_stack([end[:-1], end[1:]])])
    heights = np.concatenate(
        [np.column_stack([side[:-1], side[1:]]), np.full((_RINGS, 2), slenderness)]
    )
    up = np.repeat([0.0, 1.0], [_BANDS, _RINGS])
    lengths = np.hypot(radii[:, 1] - radii[:, 0], heights[:, 1] - heights[:, 0])

    def places(count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        at, weight = np.polynomial.legendre.leggauss(count)
        share = (at + 1.0) / 2.0
        radius = radii[:, :1] + (radii[:, 1:] - radii[:, :1]) * share
        height = heights[:, :1] + (heights[:, 1:] - heights[:, :1]) * share
        return radius, height, lengths[:, None] * weight / 2.0 * radius

    of_r, of_z, of_area = places(_FIELD_OF)
    at_r, at_z, at_area = places(_FIELD_AT)
    r, z = at_r[:, :, None, None], at_z[:, :, None, None]

    def field_of(height: FloatArray) -> FloatArray:
        rise, near2, far2 = z - height, (r - of_r) ** 2, (r + of_r) ** 2
        near2, far2 = near2 + rise**2, far2 + rise**2
        modulus = 4.0 * r * of_r / far2
        first, second = ellipk(modulus), ellipe(modulus)
        axial = rise * second / near2
        radial = (first - (of_r**2 - r**2 + rise**2) / near2 * second) / (2.0 * r)
        facing = up[:, None, None, None]
        return of_area / (math.pi * np.sqrt(far2)) * (facing * axial + (1.0 - facing) * radial)

    own = np.sum(field_of(of_z) - field_of(-of_z), axis=3)
    mean = np.sum(own * (at_area / at_area.sum(axis=1, keepdims=True))[:, :, None], axis=1)
    return mean, up, 2.0 * np.sum(of_area * of_z, axis=1) / slenderness


def permeable_rod_factor(relative_permeability: float, rod: RodMagnet) -> float:
    r"""Return the demagnetising factor of a rod of steel that an even field magnetises.

    Formula: N = \frac{H_0 - \overline{H}}{\overline{M}}, \quad
        \overline{M} = \frac{1}{V} \int_S \sigma z \, dS, \quad
        \frac{\sigma}{\mu_r - 1} + \frac{\sigma}{2} = H_{0n} + H_n[\sigma]
    Arguments: relative_permeability \mu_r [1], rod m [D, L in m]
    Returns: N [1]
    Validity: the mean over the rod, a weak and even field along it, one permeability throughout.
        By boundary elements: the charge σ on rings of its surface is solved for. Near μr = 1 it is
        the factor of an evenly magnetised rod; it falls as the permeability rises, since the field
        then leaves through the side as well. Good to about 1 % for rods 1 to 10 times as long as
        wide.
    Errors: OutOfDomain unless the permeability is above 1.
    Source: common practice
    """
    if not 1.0 < relative_permeability < math.inf:
        raise OutOfDomain(
            f"relative_permeability must be above 1, and is {relative_permeability}. Check it."
        )
    own, up, adds = _charges_on_a_rod(rod.along_m / rod.diameter_m)
    excess = relative_permeability - 1.0
    charge = np.linalg.solve((1.0 + excess / 2.0) * np.eye(len(up)) - excess * own, up)
    inside = float(charge @ adds)  # the mean field inside over the field applied
    return (1.0 - inside) / (excess * inside)

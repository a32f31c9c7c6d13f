"""How metals conduct beside copper, how deep a field reaches into them, how much they gather."""

from __future__ import annotations

import math

from coilbook.core.constants import RHO_20_OHM_M, require_positive
from coilbook.errors import OutOfDomain
from coilbook.measures.magnet_grade import MU_0_H_PER_M


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
        a mean. However well the metal leads, it is never above 1/N.
    Errors: OutOfDomain unless the permeability is above 0 and the factor from 0 to 1.
    Source: common practice
    """
    require_positive(relative_permeability=relative_permeability)
    if not 0.0 <= demagnetising_factor <= 1.0:
        raise OutOfDomain(
            f"a demagnetising factor of {demagnetising_factor} is not from 0 to 1. Check it."
        )
    return relative_permeability / (1.0 + demagnetising_factor * (relative_permeability - 1.0))

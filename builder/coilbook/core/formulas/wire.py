"""Round copper wire: diameter from gauge, resistance and mass from diameter.

The gauge formula and the rounded nominal table of the standards differ by up to about 3 % in
resistance. The table is data (the reference's wires); whatever used one of them records which.
"""

from __future__ import annotations

import math

from coilbook.core.constants import DENSITY_KG_PER_M3, RHO_20_OHM_M, require_positive
from coilbook.errors import OutOfDomain

#: Gauges that the formula is used for: 0 to 56 covers every wire of the standard's tables.
GAUGES = (0, 56)
#: The formula's two fixed points: gauge 36, and what gauge 0000 (-3) is of it, 39 gauges on.
AWG_36_DIAMETER_M = 0.127e-3
AWG_RATIO = 92.0


def awg_diameter_m(awg: float) -> float:
    r"""Return the bare diameter of a gauge by the formula of the American Wire Gauge.

    Formula: d = 0.127\,\mathrm{mm} \cdot 92^{(36 - n)/39}
    Arguments: awg n [1]
    Returns: d [m]
    Validity: solid round wire, gauges 0 to 56; the standards' nominal table rounds this.
    Errors: OutOfDomain outside those gauges.
    Source: astm-b258 formula of the gauge
    """
    if not GAUGES[0] <= awg <= GAUGES[1]:
        raise OutOfDomain(
            f"{awg} is not a gauge from {GAUGES[0]} to {GAUGES[1]}. Check the wire's gauge."
        )
    return AWG_36_DIAMETER_M * float(AWG_RATIO ** ((36.0 - awg) / 39.0))


def wire_resistance_ohm_per_m(
    bare_diameter_m: float, resistivity_ohm_m: float = RHO_20_OHM_M
) -> float:
    r"""Return the resistance of a metre of wire, at the temperature of the resistivity (20 °C).

    Formula: r = \frac{4 \rho}{\pi d^2}
    Arguments: bare_diameter_m d [m], resistivity_ohm_m \rho [Ω·m]
    Returns: r [Ω/m]
    Validity: direct current, solid round wire of even diameter.
    Errors: OutOfDomain unless both are above 0.
    Source: iec-60028 resistivity
    """
    require_positive(bare_diameter_m=bare_diameter_m, resistivity_ohm_m=resistivity_ohm_m)
    return 4.0 * resistivity_ohm_m / (math.pi * bare_diameter_m**2)


def wire_mass_kg_per_m(bare_diameter_m: float) -> float:
    r"""Return the mass of a metre of bare wire; insulation adds a few percent.

    Formula: m = \frac{\pi}{4} \gamma d^2
    Arguments: bare_diameter_m d [m]
    Returns: m [kg/m]
    Validity: copper alone, without insulation.
    Errors: OutOfDomain unless the diameter is above 0.
    Source: iec-60028 density
    """
    require_positive(bare_diameter_m=bare_diameter_m)
    return math.pi / 4.0 * DENSITY_KG_PER_M3 * bare_diameter_m**2

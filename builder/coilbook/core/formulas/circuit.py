"""A coil read while something else is still connected across it."""

from __future__ import annotations

import math

from coilbook.core.constants import require_positive
from coilbook.errors import OutOfDomain


def parallel_ohm(resistance_ohm: float, parallel_resistance_ohm: float) -> float:
    r"""Return what a resistance reads with another in parallel.

    Formula: R_m = \frac{R \, R_p}{R + R_p}
    Arguments: resistance_ohm R [Ω], parallel_resistance_ohm R_p [Ω]
    Returns: R_m [Ω]
    Validity: direct current.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(resistance_ohm=resistance_ohm, parallel_resistance_ohm=parallel_resistance_ohm)
    return resistance_ohm * parallel_resistance_ohm / (resistance_ohm + parallel_resistance_ohm)


def take_out_parallel_ohm(reading_ohm: float, parallel_resistance_ohm: float) -> float:
    r"""Return the resistance behind a reading that was taken with a known one in parallel.

    Formula: R = \frac{R_m \, R_p}{R_p - R_m}
    Arguments: reading_ohm R_m [Ω], parallel_resistance_ohm R_p [Ω]
    Returns: R [Ω]
    Validity: direct current; the reading below the parallel resistance. Near it the result leans
        wholly on how well the parallel resistance is known.
    Errors: OutOfDomain where the reading reaches the parallel resistance, which nothing can do.
    Source: common practice
    """
    if not (0.0 <= reading_ohm < math.inf and 0.0 < parallel_resistance_ohm < math.inf):
        raise OutOfDomain(
            f"a reading of {reading_ohm} Ω with {parallel_resistance_ohm} Ω in parallel is not a "
            "measurement. Check both and their units."
        )
    if reading_ohm >= parallel_resistance_ohm:
        raise OutOfDomain(
            f"a reading of {reading_ohm} Ω cannot reach the {parallel_resistance_ohm} Ω said to be "
            "in parallel with it. Check what is connected, or unsolder one lead and read again."
        )
    return reading_ohm * parallel_resistance_ohm / (parallel_resistance_ohm - reading_ohm)

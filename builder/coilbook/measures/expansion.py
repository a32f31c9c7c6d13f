"""Coverage factors by the t-distribution."""

from __future__ import annotations

import math

from scipy.special import stdtrit

from coilbook.errors import OutOfDomain


def coverage_factor(level: float = 0.95, degrees_of_freedom: float = math.inf) -> float:
    r"""Return the coverage factor for a level of confidence.

    Formula: k = t_{(1 + p)/2}(\nu)
    Arguments: level p [1], degrees_of_freedom \nu [1]
    Returns: k [1]
    Validity: a result near normal whose standard uncertainty has \nu degrees of freedom; 1.96 at
        95 % for infinitely many, which practice rounds to 2.
    Errors: OutOfDomain for a level outside 0 to 1, or degrees of freedom that are not above 0.
    Source: jcgm-100 G.3.2
    """
    if not 0.0 < level < 1.0:
        raise OutOfDomain(f"level must lie between 0 and 1, and is {level}. Give 0.95 for 95 %.")
    if not degrees_of_freedom > 0.0:
        raise OutOfDomain(f"degrees_of_freedom must be above 0, and is {degrees_of_freedom}.")
    return float(stdtrit(degrees_of_freedom, (1.0 + level) / 2.0))

"""Conformity with a range: how probable it is that the true value lies within (JCGM 106)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.errors import OutOfDomain


@dataclass(frozen=True, slots=True)
class Conformance:
    """How probable it is that the true value lies below, within and above a range [1]."""

    below: float
    within: float
    above: float


def conformance(
    value: float,
    standard_uncertainty: float,
    *,
    low: float | None = None,
    high: float | None = None,
) -> Conformance:
    r"""Return the conformance probability of a value, and the two that are left over.

    Formula: p_c = \Phi\left(\frac{T_U - y}{u}\right) - \Phi\left(\frac{T_L - y}{u}\right)
    Arguments: value y [the value's unit], standard_uncertainty u [the value's unit],
        low T_L [the value's unit], high T_U [the value's unit]
    Returns: p_c [1]
    Validity: what is known of the true value is a normal distribution about y with deviation u; a
        limit that is not stated lies infinitely far off; with u = 0 the comparison is sharp.
    Errors: OutOfDomain for a number that is none, u below 0, no limit at all, or low above high.
    Source: jcgm-106 clause 7 (its number from memory)

    The probabilities below, within and above the range are returned; they sum to 1.
    """
    return Conformance(*probabilities(value, standard_uncertainty, low, high))


def probabilities(
    value: float, standard_uncertainty: float, low: float | None, high: float | None
) -> tuple[float, float, float]:
    """Return the probabilities below, within and above a range, as :func:`conformance` has them.

    Every claim on every value comes through here, so that they are handed over bare.
    """
    finite = math.isfinite(value) and math.isfinite(standard_uncertainty)
    finite = (
        finite and (low is None or math.isfinite(low)) and (high is None or math.isfinite(high))
    )
    if not finite or standard_uncertainty < 0.0:
        raise OutOfDomain(
            f"{value} ± {standard_uncertainty} cannot be compared with {low} to {high}. "
            "Give finite numbers and an uncertainty of 0 or more."
        )
    if low is None and high is None:
        raise OutOfDomain("No limit is given to compare with. Give low, high or both.")
    if low is not None and high is not None and low > high:
        raise OutOfDomain(f"The range runs from {low} down to {high}. Swap its ends.")

    from_low = -math.inf if low is None else low - value
    to_high = math.inf if high is None else high - value
    if standard_uncertainty == 0.0:
        below, above = float(from_low > 0.0), float(to_high < 0.0)
        return below, 1.0 - below - above, above
    z_low, z_high = from_low / standard_uncertainty, to_high / standard_uncertainty
    below, above = _phi(z_low), _phi(-z_high)
    # Taken in the tail that both limits lie in, so that a small probability keeps its digits.
    within = _phi(-z_low) - above if z_low > 0.0 else _phi(z_high) - below
    return below, within, above


_ROOT_2 = math.sqrt(2.0)


def _phi(z: float) -> float:
    """Return the standard normal distribution's probability below z."""
    return math.erfc(-z / _ROOT_2) / 2.0

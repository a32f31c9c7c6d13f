"""The normal distribution, to the last digits and far out."""

from __future__ import annotations

import math

from coilbook.errors import OutOfDomain

_ROOT_2 = math.sqrt(2.0)
#: Newton's steps double the digits that agree: from the middle, some ten of them reach any tail.
_STEPS = 100


def normal_below(z: float) -> float:
    r"""Return the probability that a standard normal variable lies below a value.

    Formula: P = \frac{1}{2} \operatorname{erfc}\left(-\frac{z}{\sqrt{2}}\right)
    Arguments: z z [1]
    Returns: P [1]
    Validity: any number; infinite ones too.
    Source: common practice
    """
    return math.erfc(-z / _ROOT_2) / 2.0


def normal_quantile(probability: float) -> float:
    r"""Return the value that a standard normal variable lies below with a probability.

    Formula: \Phi(z) = P
    Arguments: probability P [1]
    Returns: z [1]
    Validity: 0 < P < 1. By Newton's steps on the logarithm of the smaller tail, which is near a
        straight line far out.
    Errors: OutOfDomain for a probability of 0, of 1, or none.
    Source: common practice
    """
    if not 0.0 < probability < 1.0:
        raise OutOfDomain(
            f"a probability of {probability} has no quantile. Give one within 0 to 1."
        )
    tail = min(probability, 1.0 - probability)
    z = 0.0
    if tail < 0.5:
        for _ in range(_STEPS):
            density = math.exp(-z * z / 2.0) / math.sqrt(2.0 * math.pi)
            above = normal_below(-z)
            move = math.log(above / tail) * above / density
            z += move
            if abs(move) <= 1e-15 * z:
                break
    return z if probability >= 0.5 else -z

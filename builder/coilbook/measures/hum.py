"""The hum that two unlike coils leave."""

from __future__ import annotations

import math

from coilbook.measures.constants import require_positive


def hum_left_db(resistance_a_ohm: float, resistance_b_ohm: float) -> float:
    r"""Return how much of the hum that both coils catch is left when they work against each other.

    Formula: H = 20 \log_{10} \frac{|R_a - R_b|}{R_a + R_b}
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω]
    Returns: H [dB]
    Validity: a far and even field, coils of one size wound with one wire, so that resistance stands
        for turns. Equal coils leave nothing: minus infinity.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(resistance_a_ohm=resistance_a_ohm, resistance_b_ohm=resistance_b_ohm)
    difference = abs(resistance_a_ohm - resistance_b_ohm)
    if difference == 0.0:
        return -math.inf
    return 20.0 * math.log10(difference / (resistance_a_ohm + resistance_b_ohm))


def hum_left_of_imbalance_db(imbalance_percent: float) -> float:
    r"""Return the hum that an imbalance leaves, from the imbalance alone.

    Formula: H = 20 \log_{10} \frac{\delta}{200\,\%}
    Arguments: imbalance_percent \delta [%]
    Returns: H [dB]
    Validity: as from the two resistances, of which it is the same figure. An imbalance of nothing,
        or one whose uncertainty reaches below nothing, leaves minus infinity.
    Source: common practice
    """
    return 20.0 * math.log10(imbalance_percent / 200.0) if imbalance_percent > 0.0 else -math.inf

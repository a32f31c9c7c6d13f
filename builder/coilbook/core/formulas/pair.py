"""Two coils in series: whether they add up, and how far they differ."""

from __future__ import annotations

from coilbook.core.constants import require_not_negative, require_positive


def difference_ohm(resistance_a_ohm: float, resistance_b_ohm: float) -> float:
    r"""Return how far two coils differ.

    Formula: \Delta R = |R_a - R_b|
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω]
    Returns: \Delta R [Ω]
    Validity: both at the same temperature.
    Errors: OutOfDomain for a resistance below 0.
    Source: common practice
    """
    require_not_negative(resistance_a_ohm=resistance_a_ohm, resistance_b_ohm=resistance_b_ohm)
    return abs(resistance_a_ohm - resistance_b_ohm)


def imbalance_percent(resistance_a_ohm: float, resistance_b_ohm: float) -> float:
    r"""Return how far two coils differ as a share of their mean.

    Formula: \delta = \frac{2 \, |R_a - R_b|}{R_a + R_b} \cdot 100\,\%
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω]
    Returns: \delta [%]
    Validity: both at the same temperature. It compares resistances: coils of unlike wire may
        differ here and yet have equal turns.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(resistance_a_ohm=resistance_a_ohm, resistance_b_ohm=resistance_b_ohm)
    return 200.0 * abs(resistance_a_ohm - resistance_b_ohm) / (resistance_a_ohm + resistance_b_ohm)


def normalised_error(difference_ohm: float, standard_uncertainty_ohm: float) -> float:
    r"""Return a difference that should be nothing as a share of its expanded uncertainty (k = 2).

    Formula: E_n = \frac{|R_{pair} - (R_a + R_b)|}{2 \, u}
    Arguments: difference_ohm R_{pair}-(R_a+R_b) [Ω], standard_uncertainty_ohm u [Ω]
    Returns: E_n [1]
    Validity: they close at 1 or less; u is the standard uncertainty of the difference.
    Errors: OutOfDomain unless the uncertainty is above 0 and the difference a finite number.
    Source: common practice
    """
    require_positive(standard_uncertainty_ohm=standard_uncertainty_ohm)
    require_not_negative(difference_ohm=abs(difference_ohm))
    return abs(difference_ohm) / (2.0 * standard_uncertainty_ohm)

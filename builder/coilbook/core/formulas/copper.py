"""Copper's resistance and temperature."""

from __future__ import annotations

from typing import Any, TypeVar

from coilbook.core.constants import (
    ALPHA_20_PER_K,
    REFERENCE_TEMPERATURE_C,
    every,
    require_not_negative,
    require_positive,
)
from coilbook.errors import OutOfDomain

Real = TypeVar("Real", float, Any)

#: Where the straight line holds for the purpose of a bench; it leaves room on both sides.
RANGE_C = (-60.0, 150.0)


def temperature_factor(temperature_c: Real, coefficient_per_k: float = ALPHA_20_PER_K) -> Real:
    r"""Return what copper's resistance at a temperature is, over what it is at 20 °C.

    Formula: k = 1 + \alpha_{20} \, (T - 20\,°\mathrm{C})
    Arguments: temperature_c T [°C], coefficient_per_k \alpha_{20} [1/K]
    Returns: k [1]
    Validity: annealed copper between −60 and 150 °C.
    Errors: OutOfDomain outside that range, or for a coefficient that is not above 0.
    Source: iec-60028 temperature coefficient
    """
    require_positive(coefficient_per_k=coefficient_per_k)
    low, high = RANGE_C
    if not (every(temperature_c >= low) and every(temperature_c <= high)):
        stated: float = temperature_c
        raise OutOfDomain(
            f"{stated} °C is outside {low:.0f} to {high:.0f} °C. Check the temperature."
        )
    return 1.0 + coefficient_per_k * (temperature_c - REFERENCE_TEMPERATURE_C)


def to_20c(
    resistance_ohm: Real, temperature_c: Real, coefficient_per_k: float = ALPHA_20_PER_K
) -> Real:
    r"""Return the resistance that copper wire has at 20 °C, from one read at another temperature.

    Formula: R_{20} = \frac{R_T}{1 + \alpha_{20} \, (T - 20\,°\mathrm{C})}
    Arguments: resistance_ohm R_T [Ω], temperature_c T [°C], coefficient_per_k \alpha_{20} [1/K]
    Returns: R_{20} [Ω]
    Validity: annealed copper between −60 and 150 °C, the whole coil at one temperature.
    Errors: OutOfDomain outside that range, for a coefficient that is not above 0, or for a
        resistance below 0.
    Source: iec-60028 temperature coefficient
    """
    require_not_negative(resistance_ohm=resistance_ohm)
    return resistance_ohm / temperature_factor(temperature_c, coefficient_per_k)


def at_temperature(
    resistance_20_ohm: Real, temperature_c: Real, coefficient_per_k: float = ALPHA_20_PER_K
) -> Real:
    r"""Return the resistance that copper wire shows at a temperature, from that at 20 °C.

    Formula: R_T = R_{20} \, [1 + \alpha_{20} \, (T - 20\,°\mathrm{C})]
    Arguments: resistance_20_ohm R_{20} [Ω], temperature_c T [°C],
        coefficient_per_k \alpha_{20} [1/K]
    Returns: R_T [Ω]
    Validity: annealed copper between −60 and 150 °C, the whole coil at one temperature.
    Errors: OutOfDomain outside that range, for a coefficient that is not above 0, or for a
        resistance below 0.
    Source: iec-60028 temperature coefficient
    """
    require_not_negative(resistance_20_ohm=resistance_20_ohm)
    return resistance_20_ohm * temperature_factor(temperature_c, coefficient_per_k)

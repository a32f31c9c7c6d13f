"""The hum that two unlike coils leave, and what the two read together."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.core.constants import require_not_negative, require_positive
from coilbook.core.formulas.circuit import parallel_ohm

#: No two coils differ more: all turns on one of them, or their difference twice their mean.
_WHOLE_PERCENT = 200.0


@dataclass(frozen=True, slots=True)
class HumLeft:
    """The hum left at an imbalance and at both ends of the imbalance's interval, in dB.

    ``low_db`` is minus infinity where the coils may be equal within the uncertainty: then only
    ``high_db`` says something.
    """

    level_db: float
    low_db: float
    high_db: float


def _difference_db(a: float, b: float) -> float:
    return 20.0 * math.log10(abs(a - b) / (a + b)) if a != b else -math.inf


def hum_left_of_turns_db(turns_a: float, turns_b: float) -> float:
    r"""Return how much of the hum is left when two coils in series work against each other.

    Formula: H = 20 \log_{10} \frac{|N_a - N_b|}{N_a + N_b}
    Arguments: turns_a N_a [turns], turns_b N_b [turns]
    Returns: H [dB]
    Validity: over what both would catch in phase, in a far and even field, through cores of one
        kind; screws against plain rods already differ a little at equal turns. Equal coils leave
        nothing: minus infinity.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(turns_a=turns_a, turns_b=turns_b)
    return _difference_db(turns_a, turns_b)


def hum_left_db(resistance_a_ohm: float, resistance_b_ohm: float) -> float:
    r"""Return how much of the hum that both coils catch is left when they work against each other.

    Formula: H = 20 \log_{10} \frac{|R_a - R_b|}{R_a + R_b}
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω]
    Returns: H [dB]
    Validity: as from turns, resistance standing for turns: coils in series, of one size, wound with
        one wire and read at one temperature. Resistance grows a little faster than turns, since
        outer turns are longer: on a full-size coil the figure is some 0.7 dB too high. Unlike wire
        misleads more: 1 % in its diameter is 2 % in resistance. Equal coils leave nothing: minus
        infinity.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(resistance_a_ohm=resistance_a_ohm, resistance_b_ohm=resistance_b_ohm)
    return _difference_db(resistance_a_ohm, resistance_b_ohm)


def hum_left_of_imbalance_db(imbalance_percent: float) -> float:
    r"""Return the hum that an imbalance leaves, from the imbalance alone.

    Formula: H = 20 \log_{10} \frac{\delta}{200\,\%}
    Arguments: imbalance_percent \delta [%]
    Returns: H [dB]
    Validity: as from the two resistances, of which it is the same figure. No imbalance leaves
        nothing, minus infinity. No two coils differ by more than 200 %: the upper end of an
        uncertain imbalance that lies beyond counts as that, one coil alone and 0 dB.
    Errors: OutOfDomain unless the imbalance is 0 or more.
    Source: common practice
    """
    require_not_negative(imbalance_percent=imbalance_percent)
    if imbalance_percent == 0.0:
        return -math.inf
    # A difference of logarithms: the ratio of a vanishing imbalance would itself vanish.
    share = math.log10(min(imbalance_percent, _WHOLE_PERCENT)) - math.log10(_WHOLE_PERCENT)
    return 20.0 * share


def hum_left_interval(
    imbalance_percent: float, standard_uncertainty_percent: float, coverage_factor: float = 2.0
) -> HumLeft:
    r"""Return the hum that an imbalance leaves, with the interval that its uncertainty stands for.

    Formula: H_{low}, H_{high} = 20 \log_{10} \frac{\max(\delta - k u, 0)}{200\,\%}, \;
        20 \log_{10} \frac{\delta + k u}{200\,\%}
    Arguments: imbalance_percent \delta [%], standard_uncertainty_percent u [%],
        coverage_factor k [1]
    Returns: H_{low}, H_{high} [dB]
    Validity: the ends of the imbalance's own interval are carried over one by one. A decibel is no
        straight line near equal coils, so no standard uncertainty in dB is given. Where the
        interval reaches equal coils its lower end is minus infinity.
    Errors: OutOfDomain unless the imbalance and its uncertainty are 0 or more, the factor above 0.
    Source: common practice
    """
    require_not_negative(
        imbalance_percent=imbalance_percent,
        standard_uncertainty_percent=standard_uncertainty_percent,
    )
    require_positive(coverage_factor=coverage_factor)
    extent = coverage_factor * standard_uncertainty_percent
    return HumLeft(
        hum_left_of_imbalance_db(imbalance_percent),
        hum_left_of_imbalance_db(max(imbalance_percent - extent, 0.0)),
        hum_left_of_imbalance_db(imbalance_percent + extent),
    )


def series_ohm(resistance_a_ohm: float, resistance_b_ohm: float) -> float:
    r"""Return what two coils read in series.

    Formula: R = R_a + R_b
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω]
    Returns: R [Ω]
    Validity: direct current, both at the same temperature; the leads between them left out.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(resistance_a_ohm=resistance_a_ohm, resistance_b_ohm=resistance_b_ohm)
    return resistance_a_ohm + resistance_b_ohm


def coils_in_parallel_ohm(resistance_a_ohm: float, resistance_b_ohm: float) -> float:
    r"""Return what two coils read in parallel.

    Formula: R = \frac{R_a \, R_b}{R_a + R_b}
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω]
    Returns: R [Ω]
    Validity: direct current, both at the same temperature.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(resistance_a_ohm=resistance_a_ohm, resistance_b_ohm=resistance_b_ohm)
    return parallel_ohm(resistance_a_ohm, resistance_b_ohm)


def partly_split_ohm(resistance_a_ohm: float, resistance_b_ohm: float, shunt_ohm: float) -> float:
    r"""Return what two coils in series read with a resistor across one of them.

    Formula: R = R_a + \frac{R_b \, R_s}{R_b + R_s}
    Arguments: resistance_a_ohm R_a [Ω], resistance_b_ohm R_b [Ω], shunt_ohm R_s [Ω]
    Returns: R [Ω]
    Validity: direct current, both coils at the same temperature. Between one coil alone (R_s = 0)
        and both in series (R_s without end).
    Errors: OutOfDomain unless all are above 0.
    Source: common practice
    """
    require_positive(resistance_a_ohm=resistance_a_ohm)
    return resistance_a_ohm + parallel_ohm(resistance_b_ohm, shunt_ohm)

"""An inductance with loss: its quality factor, and the two equivalents that a bridge may show."""

from __future__ import annotations

import math

from coilbook.core.constants import require_positive

Pair = tuple[float, float]


def quality_factor(inductance_h: float, resistance_ohm: float, frequency_hz: float) -> float:
    r"""Return the quality factor of a coil at a frequency.

    Formula: Q = \frac{2 \pi f L_s}{R_s}
    Arguments: inductance_h L_s [H], resistance_ohm R_s [Ω], frequency_hz f [Hz]
    Returns: Q [1]
    Validity: series equivalent, both at that frequency, far below resonance. With the resistance
        read by direct current it is the most that Q can be, since losses in cores, covers and
        magnet come on top.
    Errors: OutOfDomain unless all are above 0.
    Source: common practice
    """
    require_positive(
        inductance_h=inductance_h, resistance_ohm=resistance_ohm, frequency_hz=frequency_hz
    )
    return 2.0 * math.pi * frequency_hz * inductance_h / resistance_ohm


def series_inductance_h(parallel_h: float, quality: float) -> float:
    r"""Return the series equivalent of an inductance that was read as a parallel one.

    Formula: L_s = L_p \, \frac{Q^2}{1 + Q^2}
    Arguments: parallel_h L_p [H], quality Q [1]
    Returns: L_s [H]
    Validity: exact for one and the same impedance at one frequency; both read at it.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(parallel_h=parallel_h, quality=quality)
    # In this form nothing overflows, however large Q.
    return parallel_h / (1.0 + (1.0 / quality) ** 2)


def parallel_inductance_h(series_h: float, quality: float) -> float:
    r"""Return what a bridge shows as the parallel equivalent of a series inductance.

    Formula: L_p = L_s \left( 1 + \frac{1}{Q^2} \right)
    Arguments: series_h L_s [H], quality Q [1]
    Returns: L_p [H]
    Validity: exact for one and the same impedance at one frequency; both read at it.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(series_h=series_h, quality=quality)
    return series_h * (1.0 + (1.0 / quality) ** 2)


def extra_loss(
    quality: float, inductance_h: float, resistance_ohm: float, frequency_hz: float
) -> float:
    r"""Return what a coil loses beyond its copper, as a share of its reactance.

    Formula: D = \frac{1}{Q} - \frac{R}{2 \pi f L_s}
    Arguments: quality Q [1], inductance_h L_s [H], resistance_ohm R [Ω], frequency_hz f [Hz]
    Returns: D [1]
    Validity: series equivalent, all at one frequency far below resonance, the resistance by direct
        current at the temperature of the day. What is left are cores, cover and magnet, turns that
        are shorted, and whatever lies across the coil. The gauge of the wire drops out of it. Below
        0 only by the errors of the readings.
    Errors: OutOfDomain unless all are above 0.
    Source: common practice
    """
    require_positive(
        quality=quality,
        inductance_h=inductance_h,
        resistance_ohm=resistance_ohm,
        frequency_hz=frequency_hz,
    )
    return 1.0 / quality - resistance_ohm / (2.0 * math.pi * frequency_hz * inductance_h)


def loss_surplus(
    quality_pair: float, inductance_pair_h: float, qualities: Pair, inductances_h: Pair
) -> float:
    r"""Return by how much a pair's loss exceeds that of its two coils, as a share of its reactance.

    Formula: \Delta D = \frac{1}{Q} - \frac{1}{L} \sum_i \frac{L_i}{Q_i}
    Arguments: quality_pair Q [1], inductance_pair_h L [H], qualities Q_i [1], inductances_h L_i [H]
    Returns: \Delta D [1]
    Validity: series equivalents, all at one frequency far below resonance. It is what the pair's
        loss resistance exceeds the sum of its coils' by, over the pair's reactance. Resistances in
        series add, however the coils are coupled, so that it is near 0, but for metal that both
        coils reach and for the leads' capacitance, which are alike in pieces of one kind. Turns
        that are shorted count in their coil and in the pair alike. What lies across the pair adds
        more to the pair's loss resistance than to both coils', as long as the quality factor is
        well above 1.
    Errors: OutOfDomain unless all are above 0.
    Source: common practice
    """
    (q_a, q_b), (l_a, l_b) = qualities, inductances_h
    require_positive(
        quality_pair=quality_pair,
        inductance_pair_h=inductance_pair_h,
        quality_a=q_a,
        quality_b=q_b,
        inductance_a=l_a,
        inductance_b=l_b,
    )
    return 1.0 / quality_pair - (l_a / q_a + l_b / q_b) / inductance_pair_h

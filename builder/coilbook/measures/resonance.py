"""A pickup as a resonant circuit: its own inductance, resistance and capacitance under a load.

The model is one coil (or a pair taken as one): the winding's inductance and resistance in series,
all capacitance (own, cable, input) and the load's resistance across its leads.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from coilbook.errors import OutOfDomain
from coilbook.measures.constants import require_positive

#: Where the passband is said to end: half the power, 10 log10(2) dB rounded to what the trade says.
BAND_EDGE_DB = -3.0


def _terms(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float
) -> tuple[float, float, float]:
    """Return a, b, c of the denominator (a - b ω²) + j c ω; an infinite load drops out."""
    require_positive(
        inductance_h=inductance_h, resistance_ohm=resistance_ohm, capacitance_f=capacitance_f
    )
    if not load_ohm > 0.0:
        raise OutOfDomain(f"load_ohm must be above 0, and is {load_ohm}. Check it and its unit.")
    return (
        1.0 + resistance_ohm / load_ohm,
        inductance_h * capacitance_f,
        resistance_ohm * capacitance_f + inductance_h / load_ohm,
    )


def undamped_frequency_hz(inductance_h: float, capacitance_f: float) -> float:
    r"""Return the frequency at which an inductance and a capacitance resonate without loss.

    Formula: f_0 = \frac{1}{2 \pi \sqrt{L C}}
    Arguments: inductance_h L [H], capacitance_f C [F]
    Returns: f_0 [Hz]
    Validity: lumped parts; the peak of a loaded pickup lies lower.
    Errors: OutOfDomain unless both are above 0.
    Source: common practice
    """
    require_positive(inductance_h=inductance_h, capacitance_f=capacitance_f)
    return 1.0 / (2.0 * math.pi * math.sqrt(inductance_h * capacitance_f))


def gain_db(
    frequency_hz: npt.ArrayLike,
    inductance_h: float,
    resistance_ohm: float,
    capacitance_f: float,
    load_ohm: float = math.inf,
) -> npt.NDArray[np.float64]:
    r"""Return the voltage at a pickup's leads over what its winding makes, in dB.

    Formula: G = -20 \log_{10} \left| 1 + \frac{R}{R_p} - L C \omega^2
        + j \omega \left( R C + \frac{L}{R_p} \right) \right|
    Arguments: frequency_hz f [Hz], inductance_h L [H], resistance_ohm R [Ω],
        capacitance_f C [F], load_ohm R_p [Ω]
    Returns: G [dB]
    Validity: one coil, or a pair taken as one, with all capacitance across its leads; eddy currents
        in covers and cores are left out, and they lower the peak.
    Errors: OutOfDomain unless all are above 0; the load may be infinite.
    Source: common practice
    """
    a, b, c = _terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    omega = 2.0 * np.pi * np.asarray(frequency_hz, dtype=np.float64)
    return np.asarray(-20.0 * np.log10(np.hypot(a - b * omega**2, c * omega)))


def peak_frequency_hz(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float = math.inf
) -> float | None:
    r"""Return the frequency of the highest output, or None where nothing stands out.

    Formula: f = \frac{1}{2 \pi} \sqrt{\frac{1 + R / R_p}{L C}
        - \frac{1}{2} \left( \frac{R}{L} + \frac{1}{R_p C} \right)^2}
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C [F], load_ohm R_p [Ω]
    Returns: f [Hz]
    Validity: as the gain. Where the root is of a negative number, damping is so strong that the
        output only falls.
    Errors: OutOfDomain unless all are above 0; the load may be infinite.
    Source: common practice
    """
    a, b, c = _terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    square = a / b - (c / b) ** 2 / 2.0
    return math.sqrt(square) / (2.0 * math.pi) if square > 0.0 else None


def band_edge_hz(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float = math.inf
) -> float | None:
    r"""Return the frequency above which the output stays more than 3 dB under what is made.

    Formula: (a - b \omega^2)^2 + c^2 \omega^2 = 10^{0.3}
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C [F], load_ohm R_p [Ω]
    Returns: f [Hz]
    Validity: as the gain, with a = 1 + R/Rp, b = L C, c = R C + L/Rp; the larger root is taken.
        None where the load alone already costs 3 dB and no peak makes up for it.
    Errors: OutOfDomain unless all are above 0; the load may be infinite.
    Source: common practice
    """
    a, b, c = _terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    half = (2.0 * a * b - c * c) / (2.0 * b * b)
    rest = (a * a - 10.0 ** (-BAND_EDGE_DB / 10.0)) / (b * b)
    root = half * half - rest
    if root < 0.0 or half + math.sqrt(root) <= 0.0:
        return None
    return math.sqrt(half + math.sqrt(root)) / (2.0 * math.pi)

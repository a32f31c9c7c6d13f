"""The level of a pickup under a load, at many frequencies at once."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from coilbook.core.constants import require_not_negative
from coilbook.core.formulas.resonance import terms
from coilbook.errors import OutOfDomain


def _angular(frequency_hz: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return the angular frequency; 0 Hz, direct current, is allowed."""
    hertz = np.asarray(frequency_hz, dtype=np.float64)
    bad = hertz[~((hertz >= 0.0) & np.isfinite(hertz))]
    if bad.size:
        raise OutOfDomain(
            f"frequency_hz must be 0 or more, and is {bad[0]}. Check it and its unit."
        )
    return 2.0 * np.pi * hertz


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
    Errors: OutOfDomain unless all are above 0; the load may be infinite, the frequency 0.
    Source: common practice
    """
    a, b, c = terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    omega = _angular(frequency_hz)
    return np.asarray(-20.0 * np.log10(np.hypot(a - b * omega**2, c * omega)))


def gain_with_tone_db(
    frequency_hz: npt.ArrayLike,
    inductance_h: float,
    resistance_ohm: float,
    capacitance_f: float,
    load_ohm: float,
    tone_resistance_ohm: float,
    tone_capacitance_f: float,
) -> npt.NDArray[np.float64]:
    r"""Return the voltage at the leads over what the winding makes, with a tone control across it.

    Formula: G = -20 \log_{10} \left| 1 + (R + j \omega L) \left( \frac{1}{R_p} + j \omega C
        + \frac{j \omega C_t}{1 + j \omega R_t C_t} \right) \right|
    Arguments: frequency_hz f [Hz], inductance_h L [H], resistance_ohm R [Ω],
        capacitance_f C [F], load_ohm R_p [Ω], tone_resistance_ohm R_t [Ω],
        tone_capacitance_f C_t [F]
    Returns: G [dB]
    Validity: as the gain. R_t is what is left of the tone pot at its setting, 0 when turned down;
        without a tone capacitor, C_t = 0, it is the gain itself.
    Errors: OutOfDomain unless the pickup's parts and the load are above 0, the tone parts 0 or
        more; the load may be infinite, the frequency 0.
    Source: common practice
    """
    terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    require_not_negative(
        tone_resistance_ohm=tone_resistance_ohm, tone_capacitance_f=tone_capacitance_f
    )
    s = 1j * _angular(frequency_hz)
    tone = s * tone_capacitance_f / (1.0 + s * tone_resistance_ohm * tone_capacitance_f)
    across = 1.0 / load_ohm + s * capacitance_f + tone
    return np.asarray(-20.0 * np.log10(np.abs(1.0 + (resistance_ohm + s * inductance_h) * across)))

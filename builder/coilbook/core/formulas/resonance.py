"""A pickup as a resonant circuit: its own inductance, resistance and capacitance under a load.

The model is one coil (or a pair taken as one): the winding's inductance and resistance in series,
all capacitance (own, cable, input) and the load's resistance across its leads. A tone control, a
resistance and a capacitance in series, may lie across the leads as well.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from coilbook.core.budgets.uncertainty import Contribution, Estimate
from coilbook.core.constants import require_not_negative, require_positive
from coilbook.errors import OutOfDomain

#: Where the passband is said to end: half the power, 10 log10(2) dB rounded to what the trade says.
BAND_EDGE_DB = -3.0

#: What a reader calls each input of the peak frequency.
_SHOWN = {
    "inductance_h": "inductance",
    "resistance_ohm": "resistance",
    "capacitance_f": "capacitance",
    "load_ohm": "load",
}


def load_above_0(**loads: float) -> None:
    """Raise OutOfDomain unless each is above 0; an infinite one means nothing connected."""
    for name, load in loads.items():
        if not load > 0.0:
            raise OutOfDomain(f"{name} must be above 0, and is {load}. Check it and its unit.")


def terms(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float
) -> tuple[float, float, float]:
    """Return a, b, c of the denominator (a - b ω²) + j c ω; an infinite load drops out."""
    require_positive(
        inductance_h=inductance_h, resistance_ohm=resistance_ohm, capacitance_f=capacitance_f
    )
    load_above_0(load_ohm=load_ohm)
    return (
        1.0 + resistance_ohm / load_ohm,
        inductance_h * capacitance_f,
        resistance_ohm * capacitance_f + inductance_h / load_ohm,
    )


def total_load_ohm(pots_ohm: Sequence[float], input_ohm: float = math.inf) -> float:
    r"""Return the resistance that pots and an input together put across a pickup's leads.

    Formula: \frac{1}{R_p} = \sum_i \frac{1}{R_i} + \frac{1}{R_{in}}
    Arguments: pots_ohm R_i [Ω], input_ohm R_{in} [Ω]
    Returns: R_p [Ω]
    Validity: pots turned up, their whole track across the leads. A tone pot lies behind its
        capacitor and belongs to the tone path. Nothing connected is an infinite load.
    Errors: OutOfDomain unless all are above 0; each may be infinite.
    Source: common practice
    """
    for pot_ohm in pots_ohm:
        load_above_0(pots_ohm=pot_ohm)
    load_above_0(input_ohm=input_ohm)
    conductance = sum(1.0 / each for each in (*pots_ohm, input_ohm))
    return 1.0 / conductance if conductance else math.inf


def total_capacitance_f(own_f: float, cable_f: float = 0.0, input_f: float = 0.0) -> float:
    r"""Return all the capacitance across a pickup's leads.

    Formula: C = C_{own} + C_{cable} + C_{in}
    Arguments: own_f C_{own} [F], cable_f C_{cable} [F], input_f C_{in} [F]
    Returns: C [F]
    Validity: audio frequencies, where a cable is its capacitance and nothing else.
    Errors: OutOfDomain unless the pickup's own is above 0 and the others 0 or more.
    Source: common practice
    """
    require_positive(own_f=own_f)
    require_not_negative(cable_f=cable_f, input_f=input_f)
    return own_f + cable_f + input_f


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


def peak_frequency_hz(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float = math.inf
) -> float | None:
    r"""Return the frequency of the highest output, if any stands out.

    Formula: f = \frac{1}{2 \pi} \sqrt{\frac{1}{L C} - \frac{1}{2} \left( \frac{R}{L} \right)^2
        - \frac{1}{2} \left( \frac{1}{R_p C} \right)^2}
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C [F], load_ohm R_p [Ω]
    Returns: f [Hz]
    Validity: as the gain. Where the root is of no positive number, damping is so strong that the
        output only falls and there is no such frequency: an answer, not an error.
    Errors: OutOfDomain unless all are above 0; the load may be infinite.
    Source: common practice
    """
    # Refuses what is out of range.
    terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    square = (
        1.0 / (inductance_h * capacitance_f)
        - (resistance_ohm / inductance_h) ** 2 / 2.0
        - 1.0 / (load_ohm * capacitance_f) ** 2 / 2.0
    )
    return math.sqrt(square) / (2.0 * math.pi) if square > 0.0 else None


def peak_height_db(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float = math.inf
) -> float | None:
    r"""Return the gain at the peak, if there is one.

    Formula: G = -10 \log_{10} \left[ \frac{c^2}{b} \left( a - \frac{c^2}{4 b} \right) \right]
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C [F], load_ohm R_p [Ω]
    Returns: G [dB]
    Validity: as the gain, with a = 1 + R/Rp, b = L C, c = R C + L/Rp. It counts from what the
        winding makes, which is what an unloaded pickup gives at low frequencies; a loaded one
        starts lower.
    Errors: OutOfDomain unless all are above 0; the load may be infinite.
    Source: common practice
    """
    if peak_frequency_hz(inductance_h, resistance_ohm, capacitance_f, load_ohm) is None:
        return None
    a, b, c = terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    return -10.0 * math.log10(c * c / b * (a - c * c / (4.0 * b)))


def band_edge_hz(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float = math.inf
) -> float | None:
    r"""Return the frequency above which the output stays more than 3 dB under what is made.

    Formula: (a - b \omega^2)^2 + c^2 \omega^2 = 10^{0.3}
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C [F], load_ohm R_p [Ω]
    Returns: f [Hz]
    Validity: as the gain, with a = 1 + R/Rp, b = L C, c = R C + L/Rp; the larger root is taken.
        There is none where the load alone already costs 3 dB and no peak makes up for it.
    Errors: OutOfDomain unless all are above 0; the load may be infinite.
    Source: common practice
    """
    a, b, c = terms(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    half = (2.0 * a * b - c * c) / (2.0 * b * b)
    rest = (a * a - 10.0 ** (-BAND_EDGE_DB / 10.0)) / (b * b)
    root = half * half - rest
    if root < 0.0:
        return None
    # Under strong damping half is far below 0, and the plain sum would lose its digits.
    square = half + math.sqrt(root) if half > 0.0 else -rest / (math.sqrt(root) - half)
    return math.sqrt(square) / (2.0 * math.pi) if square > 0.0 else None


def _partner(reciprocal: float, loss: float, square: float) -> float:
    """Return the larger p of square · p² - reciprocal · p + loss / 2 = 0; p is L or C."""
    root = reciprocal * reciprocal - 2.0 * loss * square
    if root < 0.0:
        raise OutOfDomain(
            "peak_hz is higher than these parts can reach under so much damping. "
            "Check the peak, the resistance and the load, and their units."
        )
    return (reciprocal + math.sqrt(root)) / (2.0 * square)


def inductance_from_peak_h(
    peak_hz: float,
    capacitance_f: float,
    probe_capacitance_f: float = 0.0,
    resistance_ohm: float = 0.0,
    load_ohm: float = math.inf,
) -> float:
    r"""Return the inductance that puts the peak where it was read.

    Formula: L = \frac{1 / C + \sqrt{1 / C^2 - 2 R^2 D}}{2 D}, \quad
        D = (2 \pi f)^2 + \frac{1}{2 R_p^2 C^2}, \quad C = C_{own} + C_{probe}
    Arguments: peak_hz f [Hz], capacitance_f C_{own} [F], probe_capacitance_f C_{probe} [F],
        resistance_ohm R [Ω], load_ohm R_p [Ω]
    Returns: L [H]
    Validity: the peak of a winding that makes the same voltage at every frequency. Where it is
        excited by a coil with a steady current its voltage rises with frequency, and the unloaded
        peak is the undamped one: leave resistance and load out. The larger of two roots is taken;
        the other needs a coil with more resistance than reactance.
    Errors: OutOfDomain unless peak and capacitance are above 0, probe and resistance 0 or more, the
        load above 0, or where no inductance gives so high a peak.
    Source: common practice
    """
    require_positive(peak_hz=peak_hz)
    require_not_negative(resistance_ohm=resistance_ohm, probe_capacitance_f=probe_capacitance_f)
    require_positive(capacitance_f=capacitance_f)
    load_above_0(load_ohm=load_ohm)
    whole_f = capacitance_f + probe_capacitance_f
    square = (2.0 * math.pi * peak_hz) ** 2 + 1.0 / (load_ohm * whole_f) ** 2 / 2.0
    return _partner(1.0 / whole_f, resistance_ohm**2, square)


def capacitance_from_peak_f(
    peak_hz: float,
    inductance_h: float,
    probe_capacitance_f: float = 0.0,
    resistance_ohm: float = 0.0,
    load_ohm: float = math.inf,
) -> float:
    r"""Return the pickup's own capacitance that puts the peak where it was read, the probe's out.

    Formula: C_{own} = \frac{1 / L + \sqrt{1 / L^2 - 2 E / R_p^2}}{2 E} - C_{probe}, \quad
        E = (2 \pi f)^2 + \frac{R^2}{2 L^2}
    Arguments: peak_hz f [Hz], inductance_h L [H], probe_capacitance_f C_{probe} [F],
        resistance_ohm R [Ω], load_ohm R_p [Ω]
    Returns: C_{own} [F]
    Validity: as for the inductance from the peak. The inductance is that near the peak; read at a
        low frequency on solid cores it is higher, and the capacitance then comes out too low.
    Errors: OutOfDomain unless peak and inductance are above 0, probe and resistance 0 or more, the
        load above 0; where no capacitance gives so high a peak; where the probe takes up all of it.
    Source: common practice
    """
    require_positive(peak_hz=peak_hz, inductance_h=inductance_h)
    require_not_negative(resistance_ohm=resistance_ohm, probe_capacitance_f=probe_capacitance_f)
    load_above_0(load_ohm=load_ohm)
    square = (2.0 * math.pi * peak_hz) ** 2 + (resistance_ohm / inductance_h) ** 2 / 2.0
    whole_f = _partner(1.0 / inductance_h, 1.0 / load_ohm**2, square)
    if probe_capacitance_f >= whole_f:
        raise OutOfDomain(
            f"probe_capacitance_f of {probe_capacitance_f} F leaves nothing of the {whole_f:.3g} F "
            "that the peak stands for. Check the probe, the inductance and the peak."
        )
    return whole_f - probe_capacitance_f


def peak_frequency_sensitivities(
    inductance_h: float, resistance_ohm: float, capacitance_f: float, load_ohm: float = math.inf
) -> dict[str, float]:
    r"""Return the derivatives of the peak frequency with respect to each part.

    Formula: \frac{\partial f}{\partial x} = \frac{1}{8 \pi^2 f}
        \frac{\partial (2 \pi f)^2}{\partial x}
    Arguments: inductance_h L [H], resistance_ohm R [Ω], capacitance_f C [F], load_ohm R_p [Ω]
    Returns: c_x [Hz over the unit of each part]
    Validity: analytic, as for the peak; an infinite load counts for nothing.
    Errors: OutOfDomain unless all are above 0, or where nothing stands out; the load may be
        infinite.
    Source: common practice
    """
    peak_hz = peak_frequency_hz(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    if peak_hz is None:
        raise OutOfDomain(
            "there is no peak under a load_ohm and resistance_ohm that damp it so strongly, and so "
            "nothing that could move. Ask for the peak first."
        )
    squares = {
        "inductance_h": resistance_ohm**2 / inductance_h**3
        - 1.0 / (inductance_h**2 * capacitance_f),
        "resistance_ohm": -resistance_ohm / inductance_h**2,
        "capacitance_f": 1.0 / (load_ohm**2 * capacitance_f**3)
        - 1.0 / (inductance_h * capacitance_f**2),
        "load_ohm": 1.0 / (load_ohm**3 * capacitance_f**2),
    }
    return {part: square / (8.0 * math.pi**2 * peak_hz) for part, square in squares.items()}


def peak_frequency_estimate(
    inductance_h: float,
    resistance_ohm: float,
    capacitance_f: float,
    load_ohm: float,
    budgets: Mapping[str, Sequence[Contribution]],
) -> Estimate | None:
    """Return the peak frequency with its budget, or None where nothing stands out.

    ``budgets`` has, by the argument's name, the budget of each part that is not exact, its effects
    in the argument's own unit. Parts are taken as independent, and derivatives as analytic. The
    budget is a straight line: near the damping at which the peak goes out the frequency bends away
    from it, and the uncertainty is then too small.
    """
    unknown = sorted(budgets.keys() - _SHOWN.keys())
    if unknown:
        raise OutOfDomain(f"budgets names {unknown[0]}, which is none of {', '.join(_SHOWN)}.")
    peak_hz = peak_frequency_hz(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    if peak_hz is None:
        return None
    by = peak_frequency_sensitivities(inductance_h, resistance_ohm, capacitance_f, load_ohm)
    lines = tuple(
        replace(line, name=f"{_SHOWN[part]}: {line.name}", sensitivity=by[part] * line.sensitivity)
        for part, budget in budgets.items()
        for line in budget
    )
    return Estimate(peak_hz, lines)

"""The response of a pickup under a load, for many circuits at once, and its inductance as it is.

The model is that of :mod:`coilbook.measures.resonance`, with a tone control across the leads. Here
it is worked out for whole columns of circuits, so that a band of uncertainty can be drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from coilbook.core.formulas.resonance import BAND_EDGE_DB
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray, each_not_negative, each_positive

#: How closely a peak or an edge is looked at, as a share of its frequency; rounds of looking.
LOOK = 0.01
ROUNDS = 2


@dataclass(frozen=True, slots=True)
class Load:
    """What hangs on a pickup's leads; an infinite resistance is nothing connected.

    ``tone_ohm`` and ``tone_f`` are a tone control, turned up: its whole track before its capacitor.
    """

    code: str
    volume_ohm: float = math.inf
    input_ohm: float = math.inf
    cable_f: float = 0.0
    tone_ohm: float = math.inf
    tone_f: float = 0.0


#: A pickup on its own lead.
UNLOADED = Load("unloaded")
#: Examples of what pickups are played through, by common practice: a volume and a tone control
#: turned up, a cable of some 5 m, an amplifier's input. They are no standard.
EXAMPLE_LOADS = (
    Load("volume-500k", 500e3, 1e6, 500e-12, 500e3, 22e-9),
    Load("volume-250k", 250e3, 1e6, 500e-12, 500e3, 22e-9),
)


@dataclass(frozen=True, slots=True)
class Circuits:
    """Pickups as circuits, a row each: inductance, resistance, self-capacitance; one length."""

    inductance_h: FloatArray
    resistance_ohm: FloatArray
    capacitance_f: FloatArray

    def __post_init__(self) -> None:
        each_positive(
            inductance_h=self.inductance_h,
            resistance_ohm=self.resistance_ohm,
            capacitance_f=self.capacitance_f,
        )

    @property
    def columns(self) -> Circuits:
        """Return the same circuits standing upright, to be crossed with a row of frequencies."""
        return Circuits(
            self.inductance_h[:, None], self.resistance_ohm[:, None], self.capacitance_f[:, None]
        )


@dataclass(frozen=True, slots=True)
class Marks:
    """Peak, height and edge of each circuit; no number (nan) where there is none."""

    peak_hz: FloatArray
    height_db: FloatArray
    edge_hz: FloatArray


def inductance_without_capacitance_h(
    apparent_inductance_h: float | FloatArray,
    resistance_ohm: float | FloatArray,
    capacitance_f: float | FloatArray,
    test_frequency_hz: float,
) -> FloatArray:
    r"""Return a coil's inductance with the effect of its own capacitance on the bridge taken out.

    Formula: L = \frac{2 c}{b + \sqrt{b^2 - 4 k (1 + k L_m) c}}, \quad k = (2 \pi f)^2 C, \quad
        b = 1 + 2 k L_m, \quad c = L_m (1 + (2 \pi f R C)^2) + R^2 C
    Arguments: apparent_inductance_h L_m [H], resistance_ohm R [Ω], capacitance_f C [F],
        test_frequency_hz f [Hz]
    Returns: L [H]
    Validity: L_m is the series reading of a coil with its capacitance across it, below resonance;
        the smaller of two roots. Without resistance it is L = L_m / (1 + k L_m), the inverse of
        L_m = L / (1 - k L). Eddy currents and the core's own fall with frequency are left in.
    Errors: OutOfDomain unless inductance, capacitance and frequency are above 0 and the resistance
        0 or more, or where no inductance gives such a reading.
    Source: common practice
    """
    each_positive(
        apparent_inductance_h=apparent_inductance_h,
        capacitance_f=capacitance_f,
        test_frequency_hz=test_frequency_hz,
    )
    each_not_negative(resistance_ohm=resistance_ohm)
    omega = 2.0 * math.pi * test_frequency_hz
    lm = np.asarray(apparent_inductance_h, dtype=np.float64)
    r, cap = np.asarray(resistance_ohm), np.asarray(capacitance_f)
    k = omega**2 * cap
    b = 1.0 + 2.0 * k * lm
    c = lm * (1.0 + (omega * r * cap) ** 2) + r**2 * cap
    root = b * b - 4.0 * k * (1.0 + k * lm) * c
    if bool(np.any(root < 0.0)):
        raise OutOfDomain(
            f"apparent_inductance_h with such resistance_ohm and capacitance_f cannot be read at "
            f"a test_frequency_hz of {test_frequency_hz}. Check all four and their units."
        )
    return np.asarray(2.0 * c / (b + np.sqrt(root)))


def _gain_squared(circuits: Circuits, load: Load, frequency_hz: FloatArray) -> FloatArray:
    """Return the square of what the winding makes over what its leads show."""
    omega = 2.0 * math.pi * frequency_hz
    conductance: float | FloatArray = 1.0 / load.volume_ohm + 1.0 / load.input_ohm
    susceptance = omega * (circuits.capacitance_f + load.cable_f)
    if load.tone_f > 0.0 and math.isfinite(load.tone_ohm):
        turn = omega * load.tone_ohm * load.tone_f
        share = turn / (1.0 + turn * turn) / load.tone_ohm
        conductance = conductance + turn * share
        susceptance = susceptance + share
    reactance = omega * circuits.inductance_h
    real = 1.0 + circuits.resistance_ohm * conductance - reactance * susceptance
    imaginary = circuits.resistance_ohm * susceptance + reactance * conductance
    return np.asarray(real * real + imaginary * imaginary)


def levels_db(circuits: Circuits, load: Load, frequency_hz: FloatArray) -> FloatArray:
    r"""Return the output of circuits under a load over what their windings make, in dB.

    Formula: G = -20 \log_{10} \left| 1 + (R + j \omega L) \left( \frac{1}{R_v} + \frac{1}{R_{in}}
        + j \omega (C + C_k) + \frac{j \omega C_t}{1 + j \omega R_t C_t} \right) \right|
    Arguments: circuits (L,R,C) [H, Ω, F], load (R_v,R_{in},C_k,R_t,C_t) [Ω, Ω, F, Ω, F],
        frequency_hz f [Hz]
    Returns: G [dB]
    Validity: as the gain with a tone control, of which it is the same figure; a row for each
        circuit and a column for each frequency.
    Errors: OutOfDomain, when the circuits are made, unless all their parts are above 0.
    Source: common practice
    """
    return np.asarray(-10.0 * np.log10(_gain_squared(circuits.columns, load, frequency_hz)))


def level_interval_db(
    circuits: Circuits, load: Load, frequency_hz: FloatArray, level: float = 0.95
) -> tuple[FloatArray, FloatArray]:
    r"""Return between what levels a share of drawn circuits lies at each frequency.

    Formula: G_{low}, G_{high} = G_{(\frac{1 - p}{2} M)}, \; G_{(\frac{1 + p}{2} M)}
    Arguments: circuits (L,R,C) [H, Ω, F], load (R_v,R_{in},C_k,R_t,C_t) [Ω, Ω, F, Ω, F],
        frequency_hz f [Hz], level p [1]
    Returns: G_{low}, G_{high} [dB]
    Validity: the circuits are M draws of one pickup; its levels in order of size at each frequency
        by itself. A level is no frequency: where the peak may stand here or there, the band is deep
        on its flanks.
    Errors: OutOfDomain, when the circuits are made, unless all their parts are above 0.
    Source: jcgm-101 7.7
    """
    squared = np.ascontiguousarray(_gain_squared(circuits.columns, load, frequency_hz).T)
    draws = squared.shape[1]
    left = (draws - round(level * draws)) // 2
    right = draws - 1 - left
    ends = np.partition(squared, (left, right), axis=1)[:, (right, left)]
    low, high = -10.0 * np.log10(ends.T)
    return low, high


def marks(circuits: Circuits, load: Load) -> Marks:
    r"""Return the peak, its height and the edge of the band of circuits under a load.

    Formula: \left. \frac{d G}{d f} \right|_{f_p} = 0, \quad G_p = G(f_p), \quad
        G(f_e) = -3 \, dB, \; f_e > f_p
    Arguments: circuits (L,R,C) [H, Ω, F], load (R_v,R_{in},C_k,R_t,C_t) [Ω, Ω, F, Ω, F]
    Returns: f_p, G_p, f_e [Hz, dB, Hz]
    Validity: as the gain with a tone control. The search starts from the closed form with the tone
        pot as a plain load and looks closer twice, to within some 1e-6 of the frequency. No number
        where nothing stands out, or where the load alone costs 3 dB.
    Errors: OutOfDomain, when the circuits are made, unless all their parts are above 0.
    Source: common practice
    """
    inductance, resistance = circuits.inductance_h, circuits.resistance_ohm
    capacitance = circuits.capacitance_f + load.cable_f
    tone_ohm = load.tone_ohm if load.tone_f > 0.0 else math.inf
    conductance = 1.0 / load.volume_ohm + 1.0 / load.input_ohm + 1.0 / tone_ohm
    a = 1.0 + resistance * conductance
    b = inductance * capacitance
    c = resistance * capacitance + inductance * conductance
    half = (2.0 * a * b - c * c) / (2.0 * b * b)
    rest = (a * a - 10.0 ** (-BAND_EDGE_DB / 10.0)) / (b * b)
    with np.errstate(invalid="ignore", divide="ignore"):
        peak = np.sqrt(np.where(half > 0.0, half, np.nan)) / (2.0 * math.pi)
        edge = np.sqrt(half + np.sqrt(half * half - rest)) / (2.0 * math.pi)
        if math.isfinite(tone_ohm):
            peak = _closer_peak(circuits, load, peak)
            edge = _closer_edge(circuits, load, edge)
        height = -10.0 * np.log10(_gain_squared(circuits, load, peak))
    return Marks(peak, height, edge)


def _closer_peak(circuits: Circuits, load: Load, peak_hz: FloatArray) -> FloatArray:
    """Return where the parabola through three neighbouring levels has its top, over and over."""
    step = LOOK
    for _ in range(ROUNDS):
        below, here, above = (
            np.log(_gain_squared(circuits, load, peak_hz * (1.0 + d))) for d in (-step, 0.0, step)
        )
        bend = below - 2.0 * here + above
        # Upright only around a top; elsewhere there is none, and the square root has no number.
        move = np.where(bend > 0.0, 0.5 * (below - above) / bend, np.nan)
        peak_hz = peak_hz * (1.0 + step * np.clip(move, -10.0, 10.0))
        step /= 8.0
    return peak_hz


def _closer_edge(circuits: Circuits, load: Load, edge_hz: FloatArray) -> FloatArray:
    """Return where the level passes the band's edge, by a straight line in logarithms."""
    for _ in range(ROUNDS):
        here, above = (
            -10.0 * np.log10(_gain_squared(circuits, load, edge_hz * (1.0 + d)))
            for d in (0.0, 1e-4)
        )
        edge_hz = edge_hz * (
            1.0 + 1e-4 * np.clip((BAND_EDGE_DB - here) / (above - here), -1e3, 1e3)
        )
    return edge_hz

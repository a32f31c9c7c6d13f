"""The physics of the invented pickups: what a coil and its magnet truly are.

It is written apart from ``coilbook.measures`` on purpose, and by another way: measures has a closed
form for a coil, here each layer is laid and measured round. So the one can test the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: Resistivity of annealed copper at 20 °C, Ω·mm²/m, and its temperature coefficient, 1/K.
#: IEC 60028 (from memory).
COPPER_OHM_MM2_PER_M = 1 / 58
COPPER_ALPHA_PER_K = 0.00393
#: Density of copper at 20 °C, g/cm³. IEC 60028 (from memory).
COPPER_G_PER_CM3 = 8.89


@dataclass(frozen=True, slots=True)
class Core:
    """The racetrack core that a coil is wound on, and the height between its flanges."""

    length_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Winding:
    """A coil as it was wound. ``packing`` widens a turn's room; ``stretch`` thins the wire."""

    turns: int
    bare_mm: float
    overall_mm: float
    packing: float
    stretch: float


def laid_mm(core: Core, winding: Winding) -> float:
    """Return the length of wire in a coil, mm, by laying it layer after layer.

    A layer holds the whole turns that fit between the flanges; each next one runs one pitch further
    out, round straights and two half circles.
    """
    per_layer = int(core.height_mm // winding.overall_mm)
    pitch_mm = winding.overall_mm * winding.packing
    around_core_mm = 2 * (core.length_mm - core.width_mm) + math.pi * core.width_mm
    left, layer, wire_mm = winding.turns, 0, 0.0
    while left > 0:
        laid = min(per_layer, left)
        wire_mm += laid * (around_core_mm + 2 * math.pi * (layer + 0.5) * pitch_mm)
        left -= laid
        layer += 1
    return wire_mm


def _copper_mm2(winding: Winding) -> float:
    """Return the section of the stretched copper; stretching keeps its volume."""
    return math.pi / 4 * winding.bare_mm**2 / (1 + winding.stretch)


def coil_ohm(core: Core, winding: Winding) -> float:
    """Return the resistance at 20 °C, Ω: the length laid, over the section left by the stretch."""
    return COPPER_OHM_MM2_PER_M * laid_mm(core, winding) / 1000 / _copper_mm2(winding)


def wire_gram(core: Core, winding: Winding, insulation_g_per_cm3: float) -> float:
    """Return the mass of a coil's wire, g: its copper, and enamel for the rest of its section."""
    copper = _copper_mm2(winding)
    enamel = math.pi / 4 * winding.overall_mm**2 - copper
    per_mm = (COPPER_G_PER_CM3 * copper + insulation_g_per_cm3 * enamel) / 1000
    return laid_mm(core, winding) * per_mm


def warm_ohm(ohm_at_20: float, temperature_c: float) -> float:
    """Return a copper resistance at a temperature, Ω."""
    return ohm_at_20 * (1 + COPPER_ALPHA_PER_K * (temperature_c - 20))


def beside_ohm(ohm: float, parallel_ohm: float) -> float:
    """Return what a meter sees of a resistance with another in parallel, Ω."""
    return 1 / (1 / ohm + 1 / parallel_ohm)


def resonance_hz(inductance_h: float, capacitance_f: float) -> float:
    """Return the frequency at which an unloaded coil peaks, Hz."""
    return 1 / (2 * math.pi * math.sqrt(inductance_h * capacitance_f))


def probed_hz(
    inductance_h: float, ohm: float, capacitance_f: float, probe_f: float, probe_ohm: float
) -> float:
    """Return where a coil with a probe across it peaks, driven by a field of steady size, Hz.

    The voltage made then rises with frequency; of the whole network of R, L, C and the probe the
    output is highest where the reactive part of (R + jωL)(1/Rp + jωC) + 1 vanishes.
    """
    whole_f = capacitance_f + probe_f
    return math.sqrt((1 + ohm / probe_ohm) / (inductance_h * whole_f)) / (2 * math.pi)


def quality(inductance_h: float, ohm: float, hertz: float, core_loss: float) -> float:
    """Return a coil's quality factor; cores and cover lose ``core_loss`` of the reactance."""
    reactance = 2 * math.pi * hertz * inductance_h
    return reactance / (ohm + core_loss * reactance)


def rod_row_mt(length_mm: float, diameter_mm: float, pitch_mm: float, probe_mm: float) -> float:
    """Return the field over a rod with a like one at either side, mT for 1 T of magnetisation.

    Each neighbour counts as a charge at either end, which is good enough a pitch away.
    """
    area = math.pi / 4 * diameter_mm**2
    near, far = probe_mm, probe_mm + length_mm
    one = near / math.hypot(near, pitch_mm) ** 3 - far / math.hypot(far, pitch_mm) ** 3
    neighbours = 2 * 1000 * area / (4 * math.pi) * one
    return rod_face_mt(1000, length_mm, diameter_mm, probe_mm) + neighbours


def rod_face_mt(
    magnetisation_mt: float, length_mm: float, diameter_mm: float, probe_mm: float
) -> float:
    """Return the field on the axis of a rod magnet, mT, a probe's depth from its face.

    The rod is taken as evenly magnetised along its length.
    """
    radius = diameter_mm / 2
    far = (probe_mm + length_mm) / math.hypot(probe_mm + length_mm, radius)
    near = probe_mm / math.hypot(probe_mm, radius)
    return magnetisation_mt / 2 * (far - near)

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


def coil_ohm(core: Core, winding: Winding) -> float:
    """Return the resistance at 20 °C, Ω, by laying the coil layer after layer.

    A layer holds the whole turns that fit between the flanges; each next one runs one pitch further
    out, round straights and two half circles. Stretching keeps the copper's volume, so what counts
    for a coil of given shape is the thinner section: the resistance grows by 1 + stretch.
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
    section_mm2 = math.pi / 4 * winding.bare_mm**2 / (1 + winding.stretch)
    return COPPER_OHM_MM2_PER_M * wire_mm / 1000 / section_mm2


def warm_ohm(ohm_at_20: float, temperature_c: float) -> float:
    """Return a copper resistance at a temperature, Ω."""
    return ohm_at_20 * (1 + COPPER_ALPHA_PER_K * (temperature_c - 20))


def beside_ohm(ohm: float, parallel_ohm: float) -> float:
    """Return what a meter sees of a resistance with another in parallel, Ω."""
    return 1 / (1 / ohm + 1 / parallel_ohm)


def resonance_hz(inductance_h: float, capacitance_f: float) -> float:
    """Return the frequency at which an unloaded coil peaks, Hz."""
    return 1 / (2 * math.pi * math.sqrt(inductance_h * capacitance_f))


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

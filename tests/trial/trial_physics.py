"""The physics of the trial's pickups, written out apart from measures and from the demo.

A winding is laid turn by turn into layers. Its impedance is that of coupled loops: the winding, one
loop that stands for all metal near it, and the turns that are shorted, each with its resistance and
its share of one common flux. A magnet is only a strength. Sources: copper after IEC 60028 (from
memory); coupled loops are textbook circuit theory; couplings and losses are the trial's own
assumptions, of the size that benches report (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: Resistivity of annealed copper at 20 °C, Ω·m, and its temperature coefficient, 1/K.
COPPER_OHM_M = 1.0 / 58.0e6
COPPER_PER_K = 3.93e-3


@dataclass(frozen=True, slots=True)
class Former:
    """The stadium-shaped core that a coil is wound on, and the height between its flanges, mm."""

    length: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Coil:
    """One coil as it is.

    ``ohm`` is its copper at 20 °C before any turns were shorted, ``henry_per_turn2`` its permeance.
    ``metal_coupling`` and ``metal_s`` are the coupling to the loop that stands for cores, plate and
    cover, and that loop's time constant. ``shorted`` is the share of turns that are shorted,
    coupled to the rest by ``short_coupling`` and closed through ``contact_ohm``.
    """

    turns: float
    ohm: float
    henry_per_turn2: float
    metal_coupling: float
    metal_s: float
    farad: float
    shorted: float = 0.0
    short_coupling: float = 0.9
    contact_ohm: float = 0.0


def wound_ohm(
    former: Former, turns: int, bare_mm: float, overall_mm: float, packing: float, stretch: float
) -> float:
    """Return a winding's resistance at 20 °C, Ω, layer after layer from the core outwards.

    Each layer has the turns that fit into the height side by side, and lies ``packing`` overall
    diameters further out than the last. A stretched wire keeps its volume of copper, so that its
    section shrinks by as much as it grew longer.
    """
    side_by_side = former.height / overall_mm
    straights = 2.0 * (former.length - former.width)
    metres, left, radius = 0.0, float(turns), former.width / 2.0 + packing * overall_mm / 2.0
    while left > 0.0:
        laid = min(side_by_side, left)
        metres += laid * (straights + 2.0 * math.pi * radius) / 1000.0
        radius += packing * overall_mm
        left -= laid
    square_metres = math.pi * (bare_mm / 2000.0) ** 2 / (1.0 + stretch)
    return COPPER_OHM_M * metres / square_metres


def warmth(celsius: float) -> float:
    """Return by what copper's resistance exceeds that at 20 °C, as a factor."""
    return 1.0 + COPPER_PER_K * (celsius - 20.0)


def direct_ohm(coil: Coil, celsius: float) -> float:
    """Return the resistance of the turns that are still in the way of a direct current, Ω."""
    return coil.ohm * (1.0 - coil.shorted) * warmth(celsius)


def impedance_ohm(coil: Coil, hertz: float, celsius: float) -> complex:
    """Return a coil's impedance, Ω, without its capacitance.

    Three loops share flux: the live turns, the metal (taken as one turn), the shorted turns. With
    no current forced into the last two, the first sees its own impedance and what they reflect.
    """
    jw = 2j * math.pi * hertz
    unit = coil.henry_per_turn2
    live, dead = coil.turns * (1.0 - coil.shorted), coil.turns * coil.shorted
    own = direct_ohm(coil, celsius) + jw * unit * live**2
    metal = unit / coil.metal_s + jw * unit
    to_metal = jw * unit * coil.metal_coupling * live
    if dead == 0.0:
        return own - to_metal**2 / metal
    copper = coil.ohm * coil.shorted * warmth(celsius) + coil.contact_ohm
    short = copper + jw * unit * dead**2
    to_short = jw * unit * coil.short_coupling * live * dead
    between = jw * unit * coil.metal_coupling * dead
    # The inverse of the two passive loops' matrix, written out.
    determinant = metal * short - between**2
    reflected = to_metal**2 * short - 2.0 * to_metal * to_short * between + to_short**2 * metal
    return own - reflected / determinant


def mutual_ohm(one: Coil, other: Coil, coupling: float, shared: float, hertz: float) -> complex:
    """Return the mutual impedance of two coils in series, Ω.

    ``coupling`` is that of their own fluxes. Metal that both reach adds loss, or takes some away
    where the coils drive it against each other: ``shared`` times the root of what it would reflect
    into each, plus or minus.
    """
    jw = 2j * math.pi * hertz
    live = [coil.turns * (1.0 - coil.shorted) for coil in (one, other)]
    unit = math.sqrt(one.henry_per_turn2 * other.henry_per_turn2)
    metal = unit / math.sqrt(one.metal_s * other.metal_s) + jw * unit
    to_metal = jw * unit * math.prod(live) * one.metal_coupling * other.metal_coupling * jw * unit
    return jw * unit * coupling * math.prod(live) - shared * to_metal / metal


def beside(one: complex, other: complex) -> complex:
    """Return two impedances in parallel, Ω."""
    return one * other / (one + other)


def with_capacitance(ohm: complex, farad: float, hertz: float) -> complex:
    """Return an impedance with a capacitance across it, Ω."""
    return ohm / (1.0 + 2j * math.pi * hertz * farad * ohm)


def through_the_junction(
    one: complex, other: complex, mutual: complex, across: float | None
) -> complex:
    """Return what an instrument on one coil of a pair sees, Ω, with ``across`` over the pair.

    The path closes a second way to the junction, through the other coil; there the current runs
    against that coil's own sense, so that the mutual impedance counts with a minus.
    """
    if across is None:
        return one
    way = other + across
    # Kirchhoff: v = one i1 - mutual i2 and v = way i2 - mutual i1; seen is v / (i1 + i2).
    return (one * way - mutual**2) / (one + way + 2.0 * mutual)


def series_reading(ohm: complex, hertz: float) -> tuple[float, float]:
    """Return what a bridge shows of an impedance: series inductance, H, and quality factor."""
    return ohm.imag / (2.0 * math.pi * hertz), ohm.imag / ohm.real

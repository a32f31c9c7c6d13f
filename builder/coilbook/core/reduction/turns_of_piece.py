"""The turns of a piece's coils: by resistance, by the weight of the wire, by a counter."""

from __future__ import annotations

from collections.abc import Mapping

from coilbook.core.budgets.combine import combined_budget, derived_value, scaled
from coilbook.core.budgets.joint import combined_turns
from coilbook.core.budgets.uncertainty import Estimate
from coilbook.core.reduction.gauges import gauge_fits
from coilbook.core.reduction.measured_piece import Turns
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.turns import (
    turns_estimate,
    turns_from_mass_estimate,
    winding_half_widths,
    winding_of,
)
from coilbook.core.seen import PieceSeen, ReferenceSeen, WireSeen
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain

COIL_RESISTANCE = "coil-resistance"
COIL_TURNS = "coil-turns"
PAIR_TURNS = "pair-turns"
WIRE_GAUGE = "wire-gauge"
WIRE_MASS = "wire-mass"
COILS = ("coil", "coil_a", "coil_b")

Best = Mapping[tuple[str, str], ReducedValue]


def number_of(best: Best, component: str, property_id: str) -> tuple[float, ReducedValue] | None:
    """Return the number that stands for a property of a part, with its value, if there is one."""
    found = best.get((component, property_id))
    if found is None or not found.comparable or found.value is None:
        return None
    return found.value, found


def wire_of(
    component: str, piece: PieceSeen, reference: ReferenceSeen, best: Best
) -> WireSeen | None:
    """Return the wire to reckon with: the gauge read on this coil, else the family's usual one."""
    if piece.family.wire_id is None:
        return None
    usual = reference.wires[piece.family.wire_id]
    gauge = best.get((component, WIRE_GAUGE))
    if gauge is None or gauge.category is None:
        return usual
    for wire in reference.wires.values():
        if f"{wire.awg} AWG" == gauge.category and wire.build == usual.build:
            return wire
    return usual


def turns_of_coils(piece: PieceSeen, reference: ReferenceSeen, best: Best) -> tuple[Turns, ...]:
    """Return the turns that each coil's resistance stands for, and what else was read makes of it.

    They rest on the family's usual bobbin and wire, or the gauge read on the coil in the same
    build. Where its wire was weighed or its turns were counted as well, all estimates are combined
    by their weights. ``fit`` says how full these turns leave the window.
    """
    if piece.family.bobbin_id is None:
        return ()
    bobbin = reference.bobbins[piece.family.bobbin_id]
    found: list[Turns] = []
    for component in COILS:
        number = number_of(best, component, COIL_RESISTANCE)
        wire = wire_of(component, piece, reference, best)
        if number is None or wire is None or number[0] <= 0.0:
            continue
        value, read = number
        to_kohm = scale(read.unit, "kΩ")
        winding, half_widths = winding_of(wire, bobbin), winding_half_widths(wire)
        estimate = turns_estimate(
            value * to_kohm, scaled(read.budget, to_kohm), winding, half_widths
        )
        estimates = {"resistance": estimate}
        mass = number_of(best, component, WIRE_MASS)
        if mass is not None and mass[0] > 0.0:
            estimates["mass"] = turns_from_mass_estimate(
                mass[0], mass[1].budget, winding, half_widths
            )
        counted = number_of(best, component, COIL_TURNS)
        if counted is not None:
            estimates["counter"] = Estimate(counted[0], counted[1].budget)
        try:
            combined = combined_turns(estimates) if len(estimates) > 1 else None
        except OutOfDomain:
            combined = None
        agreed = combined is not None and combined.agrees
        stated = combined.estimate if combined is not None and agreed else estimate
        found.append(
            Turns(
                component,
                estimate.value,
                estimate.standard_uncertainty,
                wire.wire_id,
                bobbin.bobbin_id,
                estimate.contributions,
                gauge_fits(stated, wire, bobbin),
                estimates,
                combined,
            )
        )
    return tuple(found)


def derived_turns(
    found: tuple[Turns, ...], reference: ReferenceSeen, best: Best
) -> list[ReducedValue]:
    """Return turns as values of the piece, for each coil whose turns were not read.

    The combined estimate stands where there is one that agrees, else that by resistance.
    """
    values = []
    for turns in found:
        if number_of(best, turns.component, COIL_TURNS) is not None:
            continue
        read = best[turns.component, COIL_RESISTANCE]
        sources = [read]
        estimate = turns.estimates["resistance"]
        data: dict[str, float | str] = {
            "resistance_kohm": (read.value or 0.0) * scale(read.unit, "kΩ"),
            "wire_id": turns.wire_id,
            "bobbin_id": turns.bobbin_id,
        }
        if turns.combined is not None and turns.combined.agrees:
            weighed = best[turns.component, WIRE_MASS]
            estimate = turns.combined.estimate
            sources.append(weighed)
            data["mass_g"] = weighed.value or 0.0
        values.append(
            derived_value(
                turns.component,
                reference.properties[COIL_TURNS],
                estimate,
                sources,
                data=data,
                flags=("assumed_construction",),
            )
        )
    return values


def pair_turns(reference: ReferenceSeen, best: Best) -> ReducedValue | None:
    """Return the turns of both coils as a sum, unless both together were read."""
    first = number_of(best, "coil_a", COIL_TURNS)
    second = number_of(best, "coil_b", COIL_TURNS)
    if first is None or second is None or number_of(best, "pair", PAIR_TURNS) is not None:
        return None
    (a, coil_a), (b, coil_b) = first, second
    return derived_value(
        "pair",
        reference.properties[PAIR_TURNS],
        Estimate(a + b, combined_budget(((1.0, coil_a), (1.0, coil_b)))),
        (coil_a, coil_b),
        data={"coil_a": a, "coil_b": b, "unit": coil_a.unit},
    )

"""A piece's main results drawn at random beside the straight line of their budgets (JCGM 101).

What enters a formula as a curve is drawn through the formula; the rest of a budget (the meter, its
leads) enters as it does there, by its sensitivity. The same draws stand for the same input.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from coilbook.core.budgets import combine
from coilbook.core.constants import ALPHA_20_PER_K, REFERENCE_TEMPERATURE_C
from coilbook.core.formulas.coil import Winding, coil_turns
from coilbook.core.reduction.instrument import as_one_limit
from coilbook.core.reduction.measured_piece import MeasuredPiece, Turns
from coilbook.core.reduction.reduce import PARALLEL
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.turns import SHOWN, winding_of
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray
from coilbook.measures.monte_carlo import DRAWS, Comparison, compare, draw_input, drawn_result
from coilbook.records.contents import Reference

COIL_RESISTANCE, COIL_IMBALANCE = "coil-resistance", "coil-imbalance"


@dataclass(frozen=True, slots=True)
class ResultCheck:
    """One result's straight-line interval beside its drawn one, in the property's unit."""

    component: str
    property_id: str
    comparison: Comparison


def resistance_draws(value: ReducedValue, key: str = "", draws: int = DRAWS) -> FloatArray:
    """Return draws of a resistance at 20 °C and out of circuit, in the unit of ``value``.

    The parallel path and the temperature go through their formulas. A draw in which the path could
    not be taken out is not a number.
    """
    if value.value is None:
        raise OutOfDomain("there is no number to draw. Take a reading that is one.")
    curved = {
        step.code: step.data for step in value.steps if step.code in ("parallel", "temperature")
    }
    lines = {line.name: line for line in as_one_limit(value.budget)}
    at_20c = np.full(draws, value.value)
    warm: FloatArray | float = 1.0
    base = 1.0
    if "temperature" in curved:
        temperature = draw_input(lines.pop(combine.TEMPERATURE), key, draws)
        coefficient = draw_input(lines.pop(combine.COEFFICIENT), key, draws)
        warm = 1.0 + coefficient * (temperature - REFERENCE_TEMPERATURE_C)
        stated = float(curved["temperature"]["temperature_c"])
        base = 1.0 + ALPHA_20_PER_K * (stated - REFERENCE_TEMPERATURE_C)
    path = lines.pop(PARALLEL, None) if "parallel" in curved else None
    for line in lines.values():
        at_20c += line.sensitivity * (draw_input(line, key, draws) - line.estimate)
    if path is None:
        return np.asarray(at_20c * base / warm)
    # Back to what the meter showed, with its own errors, and out again by the drawn path.
    unit = scale("kΩ", value.unit)
    free = value.value * base
    stated_path = path.estimate * unit
    read = free * stated_path / (free + stated_path)
    rise = (stated_path / (stated_path - read)) ** 2
    seen = read + (at_20c - value.value) * base / rise
    drawn_path = draw_input(path, key, draws) * unit
    with np.errstate(divide="ignore", invalid="ignore"):
        out = seen * drawn_path / (drawn_path - seen)
    return np.asarray(np.where(drawn_path > seen, out, np.nan) / warm)


def turns_draws(
    resistance_ohm: FloatArray, turns: Turns, reference: Reference, draws: int = DRAWS
) -> FloatArray:
    """Return draws of a coil's turns from draws of its resistance, on drawn wire and bobbin."""
    winding = winding_of(reference.wires[turns.wire_id], reference.bobbins[turns.bobbin_id])
    lines = {line.name: line for line in turns.budget}
    drawn: dict[str, Any] = {}
    for field, (name, _, size) in SHOWN.items():
        line = lines.get(name)
        drawn[field] = (
            np.full(draws, getattr(winding, field))
            if line is None
            else draw_input(line, "", draws) * size
        )
    return coil_turns(resistance_ohm, Winding(**cast(Mapping[str, Any], drawn)))


def result_checks(
    measured: MeasuredPiece, reference: Reference, draws: int = DRAWS
) -> tuple[ResultCheck, ...]:
    """Return the comparison for every resistance read, turns worked out, and the imbalance.

    A result whose draws reach where its formula has no answer is left out: its interval has no end.
    """
    found: list[ResultCheck] = []

    def add(component: str, property_id: str, value: float, u: float, drawn: FloatArray) -> None:
        if u > 0.0 and np.isfinite(drawn).all():
            found.append(
                ResultCheck(component, property_id, compare(value, u, drawn_result(drawn)))
            )

    resistances: dict[str, FloatArray] = {}
    for (component, property_id), value in measured.best.items():
        u = value.standard_uncertainty
        brought = any(step.code == "temperature" for step in value.steps)
        if brought and value.comparable and value.value is not None and u is not None:
            drawn = resistance_draws(value, component, draws)
            add(component, property_id, value.value, u, drawn)
            if property_id == COIL_RESISTANCE:
                resistances[component] = drawn
    for turns in measured.turns:
        read = resistances.get(turns.component)
        if read is not None and np.isfinite(read).all() and read.min() > 0.0:
            ohm = read * scale(measured.best[turns.component, COIL_RESISTANCE].unit, "ohm")
            through = turns_draws(ohm, turns, reference, draws)
            add(turns.component, "coil-turns", turns.turns, turns.standard_uncertainty, through)
    imbalance = measured.best.get(("pair", COIL_IMBALANCE))
    if imbalance is not None and imbalance.value is not None and imbalance.standard_uncertainty:
        # Apart on purpose: a budget of a difference takes no credit for what both coils share.
        a, b = resistances["coil_a"], resistances["coil_b"]
        folded = 200.0 * np.abs(a - b) / (a + b)
        add("pair", COIL_IMBALANCE, imbalance.value, imbalance.standard_uncertainty, folded)
    return tuple(found)

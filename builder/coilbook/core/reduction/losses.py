"""What a coil's inductance and losses come to once turns and copper are taken out of them."""

from __future__ import annotations

import math

from coilbook.core.budgets.combine import combined_budget, derived_value
from coilbook.core.budgets.uncertainty import Estimate
from coilbook.core.formulas.copper import temperature_factor
from coilbook.core.formulas.inductor import extra_loss, loss_surplus
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.turns_of_piece import COILS, Best, number_of
from coilbook.core.seen import ReferenceSeen
from coilbook.core.units import scale


def inductance_ratios(reference: ReferenceSeen, best: Best) -> list[ReducedValue]:
    """Return inductance over resistance squared of each coil, and of the pair, where both are."""
    derived = []
    for component in (*COILS, "pair"):
        of = "pair" if component == "pair" else "coil"
        inductance = number_of(best, component, f"{of}-inductance")
        resistance = number_of(best, component, f"{of}-resistance")
        if inductance is None or resistance is None or resistance[0] ** 2 <= 0.0:
            continue
        (henry, of_l), (ohm, of_r) = inductance, resistance
        ratio = henry / ohm**2
        estimate = Estimate(
            ratio, combined_budget(((1.0 / ohm**2, of_l), (-2.0 * ratio / ohm, of_r)))
        )
        data: dict[str, float | str] = {"inductance_h": henry, "resistance_kohm": ohm}
        derived.append(
            derived_value(
                component,
                reference.properties[f"{of}-inductance-ratio"],
                estimate,
                (of_l, of_r),
                data=data,
            )
        )
    return derived


def extra_losses(reference: ReferenceSeen, best: Best) -> list[ReducedValue]:
    """Return the loss beyond the copper of each coil, and of the pair, where it can be told.

    It needs inductance, quality factor with its test frequency, and resistance. The copper's share
    is taken at the temperature of the resistance's reading: one sitting, as a rule.
    """
    derived = []
    for component in (*COILS, "pair"):
        of = "pair" if component == "pair" else "coil"
        inductance = number_of(best, component, f"{of}-inductance")
        quality = number_of(best, component, f"{of}-quality")
        resistance = number_of(best, component, f"{of}-resistance")
        if inductance is None or quality is None or resistance is None:
            continue
        (henry, of_l), (q, of_q), (at_20c, of_r) = inductance, quality, resistance
        hertz = of_q.test_frequency_hz
        if hertz is None or min(henry, q, at_20c, hertz) <= 0.0:
            continue
        to_ohm = scale(of_r.unit, "ohm") * _warmth(of_r)
        ohm = at_20c * to_ohm
        loss = extra_loss(q, henry, ohm, hertz)
        reactance = 2.0 * math.pi * hertz * henry
        budget = combined_budget(
            (
                (-1.0 / q**2, of_q),
                (ohm / reactance / henry, of_l),
                (-to_ohm / reactance, of_r),
            )
        )
        data: dict[str, float | str] = {"quality": q, "inductance_h": henry, "resistance_ohm": ohm}
        derived.append(
            derived_value(
                component,
                reference.properties[f"{of}-extra-loss"],
                Estimate(loss, budget),
                (of_q, of_l, of_r),
                data=data,
            )
        )
    return derived


def loss_surpluses(reference: ReferenceSeen, best: Best) -> list[ReducedValue]:
    """Return by how much the pair loses more than its coils, where all three were read alike.

    It needs quality factors and inductances of the pair and of both coils, the quality factors at
    one frequency.
    """
    parts = (("pair", "pair"), *((coil, "coil") for coil in COILS[1:]))
    read = [
        (number_of(best, part, f"{of}-quality"), number_of(best, part, f"{of}-inductance"))
        for part, of in parts
    ]
    known = [(q, henry) for q, henry in read if q is not None and henry is not None]
    if len(known) < len(parts):
        return []
    hertz = {of_q.test_frequency_hz for (_, of_q), _henry in known}
    if None in hertz or len(hertz) > 1 or min(min(q[0], henry[0]) for q, henry in known) <= 0.0:
        return []
    ((q, of_q), (henry, of_l)), *coils = known
    lost = sum(of_l[0] / of_q[0] for of_q, of_l in coils) / henry
    weights = [(-1.0 / q**2, of_q), (lost / henry, of_l)]
    for (q_i, of_qi), (l_i, of_li) in coils:
        weights += [(l_i / henry / q_i**2, of_qi), (-1.0 / henry / q_i, of_li)]
    (q_a, q_b), (l_a, l_b) = ([coil[at][0] for coil in coils] for at in range(2))
    surplus = Estimate(loss_surplus(q, henry, (q_a, q_b), (l_a, l_b)), combined_budget(weights))
    data: dict[str, float | str] = {"quality": q, "quality_a": q_a, "quality_b": q_b}
    prop = reference.properties["pair-loss-surplus"]
    return [derived_value("pair", prop, surplus, [of for _, of in weights], data=data)]


def _warmth(resistance: ReducedValue) -> float:
    """Return what a resistance was on the day, over what it is at 20 °C."""
    for step in resistance.steps:
        if step.code == "temperature":
            return temperature_factor(float(step.data["temperature_c"]))
    return 1.0

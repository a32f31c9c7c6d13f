"""What a coil's inductance and losses come to once turns and copper are taken out of them."""

from __future__ import annotations

import math

from coilbook.measures.combine import combined_budget, derived_value
from coilbook.measures.copper import temperature_factor
from coilbook.measures.inductor import extra_loss, loss_surplus
from coilbook.measures.turns_of_piece import COILS, Best, number_of
from coilbook.measures.types import ReducedValue
from coilbook.measures.uncertainty import Estimate
from coilbook.records.types import Reference
from coilbook.units import scale


def inductance_ratios(reference: Reference, best: Best) -> list[ReducedValue]:
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


def extra_losses(reference: Reference, best: Best) -> list[ReducedValue]:
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


def loss_surpluses(reference: Reference, best: Best) -> list[ReducedValue]:
    """Return by how much the pair loses more than its coils, where all three were read alike.

    It needs the quality factors of the pair and of both coils, read at one frequency, and the
    coils' inductances, which weigh them.
    """
    pair = number_of(best, "pair", "pair-quality")
    qualities = [number_of(best, coil, "coil-quality") for coil in COILS[1:]]
    inductances = [number_of(best, coil, "coil-inductance") for coil in COILS[1:]]
    if pair is None or None in qualities or None in inductances:
        return []
    (q_a, of_qa), (q_b, of_qb) = (found for found in qualities if found is not None)
    (l_a, of_la), (l_b, of_lb) = (found for found in inductances if found is not None)
    q, of_q = pair
    hertz = {of.test_frequency_hz for of in (of_q, of_qa, of_qb)}
    if hertz.pop() is None or hertz or min(q, q_a, q_b, l_a, l_b) <= 0.0:
        return []
    both = l_a + l_b
    loss = (l_a / q_a + l_b / q_b) / both
    budget = combined_budget(
        (
            (-1.0 / q**2, of_q),
            (l_a / both / q_a**2, of_qa),
            (l_b / both / q_b**2, of_qb),
            ((loss - 1.0 / q_a) / both, of_la),
            ((loss - 1.0 / q_b) / both, of_lb),
        )
    )
    data: dict[str, float | str] = {"quality": q, "quality_a": q_a, "quality_b": q_b}
    surplus = Estimate(loss_surplus(q, (q_a, q_b), (l_a, l_b)), budget)
    prop = reference.properties["pair-loss-surplus"]
    sources = (of_q, of_qa, of_qb, of_la, of_lb)
    return [derived_value("pair", prop, surplus, sources, data=data)]


def _warmth(resistance: ReducedValue) -> float:
    """Return what a resistance was on the day, over what it is at 20 °C."""
    for step in resistance.steps:
        if step.code == "temperature":
            return temperature_factor(float(step.data["temperature_c"]))
    return 1.0

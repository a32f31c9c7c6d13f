"""A whole piece: every reading reduced, the best chosen, and what follows from several of them."""

from __future__ import annotations

from coilbook.core.budgets.combine import combined_budget, derived_value
from coilbook.core.budgets.uncertainty import Estimate
from coilbook.core.formulas.pair import difference_ohm, imbalance_percent, normalised_error
from coilbook.core.reduction.losses import extra_losses, inductance_ratios, loss_surpluses
from coilbook.core.reduction.measured_piece import Closure, MeasuredPiece
from coilbook.core.reduction.reduce_in_piece import best_of, reduce_readings
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.troubles import contradictions
from coilbook.core.reduction.turns_of_piece import (
    COIL_RESISTANCE,
    PAIR_TURNS,
    Best,
    derived_turns,
    number_of,
    pair_turns,
    turns_of_coils,
)
from coilbook.core.seen import PieceSeen, ReferenceSeen
from coilbook.core.units import scale

PAIR_RESISTANCE = "pair-resistance"
COIL_DIFFERENCE = "coil-difference"
COIL_IMBALANCE = "coil-imbalance"


def measure_piece(piece: PieceSeen, reference: ReferenceSeen) -> MeasuredPiece:
    """Return everything that can be said of one piece from its readings.

    Derived values are added only where the bench has not read them: the resistance of the pair from
    its two coils (unless the pair was read as a number, or found open), the difference and the
    imbalance of the coils, the turns of each coil with a resistance, and of both. Turns rest on the
    family's usual wire (or the gauge read on that coil, in the same build) and bobbin, and are
    flagged ``assumed_construction`` whatever the piece's state. A reading that cannot be is named
    among the troubles, and everything else of the piece is still worked out.
    """
    values, troubles = reduce_readings(piece)
    best = best_of(values)
    closure = _closure(best)
    turns = turns_of_coils(piece, reference, best)
    for derived in (
        *_of_the_pair(reference, best),
        *inductance_ratios(reference, best),
        *extra_losses(reference, best),
        *loss_surpluses(reference, best),
        *derived_turns(turns, reference, best),
    ):
        values.append(derived)
        best[derived.component, derived.property_id] = derived
    both = pair_turns(reference, best)
    if both is not None:
        values.append(both)
        best["pair", PAIR_TURNS] = both
    return MeasuredPiece(
        piece.row.piece_id,
        tuple(values),
        best,
        closure,
        turns,
        (*troubles, *contradictions(values, best, closure)),
    )


def _of_the_pair(reference: ReferenceSeen, best: Best) -> list[ReducedValue]:
    """Return what two coils' resistances say of their pair, and was not read."""
    first = number_of(best, "coil_a", COIL_RESISTANCE)
    second = number_of(best, "coil_b", COIL_RESISTANCE)
    if first is None or second is None:
        return []
    (a, coil_a), (b, coil_b) = first, second

    def derive(property_id: str, value: float, by_a: float, by_b: float) -> ReducedValue:
        prop = reference.properties[property_id]
        # a and b are in the coils' unit; a property in % takes the share as it is.
        to = 1.0 if prop.unit == "%" else scale(coil_a.unit, prop.unit or "")
        budget = combined_budget(((by_a * to, coil_a), (by_b * to, coil_b)))
        data: dict[str, float | str] = {"coil_a": a, "coil_b": b, "unit": coil_a.unit}
        return derived_value(
            "pair", prop, Estimate(value * to, budget), (coil_a, coil_b), data=data
        )

    sign = 1.0 if a >= b else -1.0
    derived = []
    read = best.get(("pair", PAIR_RESISTANCE))
    if read is None or not (read.comparable or read.qualifier == "open"):
        derived.append(derive(PAIR_RESISTANCE, a + b, 1.0, 1.0))
    derived.append(derive(COIL_DIFFERENCE, difference_ohm(a, b), sign, -sign))
    if a > 0.0 and b > 0.0:
        share = 400.0 * sign / (a + b) ** 2
        derived.append(derive(COIL_IMBALANCE, imbalance_percent(a, b), share * b, -share * a))
    return derived


def _closure(best: Best) -> Closure | None:
    """Return whether the coils add up to the pair, all three read."""
    pair = number_of(best, "pair", PAIR_RESISTANCE)
    first = number_of(best, "coil_a", COIL_RESISTANCE)
    second = number_of(best, "coil_b", COIL_RESISTANCE)
    if pair is None or first is None or second is None:
        return None
    of_pair, of_coil = scale(pair[1].unit, "kΩ"), scale(first[1].unit, "kΩ")
    pair_kohm, sum_kohm = pair[0] * of_pair, (first[0] + second[0]) * of_coil
    parts = ((of_pair, pair[1]), (-of_coil, first[1]), (-of_coil, second[1]))
    budget = combined_budget(parts, one_sitting=True)
    difference_kohm = pair_kohm - sum_kohm
    uncertainty_kohm = Estimate(difference_kohm, budget).standard_uncertainty
    return Closure(
        sum_kohm,
        pair_kohm,
        difference_kohm,
        uncertainty_kohm,
        normalised_error(difference_kohm, uncertainty_kohm),
    )

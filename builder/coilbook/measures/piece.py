"""A whole piece: every reading reduced, the best chosen, and what follows from several of them."""

from __future__ import annotations

from coilbook.measures.combine import combined_budget, derived_value, scaled
from coilbook.measures.pair import difference_ohm, imbalance_percent, normalised_error
from coilbook.measures.reduce import choose, reduce_reading
from coilbook.measures.turns import turns_estimate, winding_half_widths, winding_of
from coilbook.measures.types import Closure, MeasuredPiece, ReducedValue, Turns
from coilbook.measures.uncertainty import Estimate
from coilbook.measures.window import fill_ratio
from coilbook.records.models import Wire
from coilbook.records.types import Piece, Reference
from coilbook.units import scale

COIL_RESISTANCE = "coil-resistance"
PAIR_RESISTANCE = "pair-resistance"
COIL_DIFFERENCE = "coil-difference"
COIL_IMBALANCE = "coil-imbalance"
COIL_TURNS = "coil-turns"
PAIR_TURNS = "pair-turns"
WIRE_GAUGE = "wire-gauge"
COILS = ("coil", "coil_a", "coil_b")

_Best = dict[tuple[str, str], ReducedValue]


def measure_piece(piece: Piece, reference: Reference) -> MeasuredPiece:
    """Return everything that can be said of one piece from its readings.

    Derived values are added only where the bench has not read them: the resistance of the pair from
    its two coils (unless the pair was read as a number, or found open), the difference and the
    imbalance of the coils, the turns of each coil with a resistance, and of both. Turns rest on the
    family's usual wire (or the gauge read on that coil, in the same build) and bobbin, and are
    flagged ``assumed_construction`` whatever the piece's state.
    """
    values = [reduce_reading(reading) for reading in piece.readings]
    groups: dict[tuple[str, str], list[ReducedValue]] = {}
    for value in values:
        groups.setdefault((value.component, value.property_id), []).append(value)
    best: _Best = {key: choose(group) for key, group in groups.items()}
    closure = _closure(best)
    turns, coil_turns = _turns(piece, reference, best)
    for derived in (*_of_the_pair(reference, best), *coil_turns):
        values.append(derived)
        best[derived.component, derived.property_id] = derived
    both = _pair_turns(reference, best)
    if both is not None:
        values.append(both)
        best["pair", PAIR_TURNS] = both
    return MeasuredPiece(piece.row.piece_id, tuple(values), best, closure, turns)


def _number(best: _Best, component: str, property_id: str) -> tuple[float, ReducedValue] | None:
    found = best.get((component, property_id))
    if found is None or not found.comparable or found.value is None:
        return None
    return found.value, found


def _of_the_pair(reference: Reference, best: _Best) -> list[ReducedValue]:
    """Return what two coils' resistances say of their pair, and was not read."""
    first = _number(best, "coil_a", COIL_RESISTANCE)
    second = _number(best, "coil_b", COIL_RESISTANCE)
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


def _closure(best: _Best) -> Closure | None:
    """Return whether the coils add up to the pair, all three read."""
    pair = _number(best, "pair", PAIR_RESISTANCE)
    first = _number(best, "coil_a", COIL_RESISTANCE)
    second = _number(best, "coil_b", COIL_RESISTANCE)
    if pair is None or first is None or second is None:
        return None
    of_pair, of_coil = scale(pair[1].unit, "kΩ"), scale(first[1].unit, "kΩ")
    pair_kohm, sum_kohm = pair[0] * of_pair, (first[0] + second[0]) * of_coil
    budget = combined_budget(((of_pair, pair[1]), (-of_coil, first[1]), (-of_coil, second[1])))
    difference_kohm = pair_kohm - sum_kohm
    uncertainty_kohm = Estimate(difference_kohm, budget).standard_uncertainty
    return Closure(
        sum_kohm,
        pair_kohm,
        difference_kohm,
        uncertainty_kohm,
        normalised_error(difference_kohm, uncertainty_kohm),
    )


def _wire_of(component: str, piece: Piece, reference: Reference, best: _Best) -> Wire | None:
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


def _turns(
    piece: Piece, reference: Reference, best: _Best
) -> tuple[tuple[Turns, ...], list[ReducedValue]]:
    """Return each coil's turns with their budget, and as values where no turns were read."""
    found: list[Turns] = []
    derived: list[ReducedValue] = []
    if piece.family.bobbin_id is None:
        return (), derived
    bobbin = reference.bobbins[piece.family.bobbin_id]
    for component in COILS:
        number = _number(best, component, COIL_RESISTANCE)
        wire = _wire_of(component, piece, reference, best)
        if number is None or wire is None or number[0] <= 0.0:
            continue
        value, read = number
        to_kohm = scale(read.unit, "kΩ")
        winding = winding_of(wire, bobbin)
        estimate = turns_estimate(
            value * to_kohm, scaled(read.budget, to_kohm), winding, winding_half_widths(wire)
        )
        fill = fill_ratio(
            estimate.value,
            winding.winding_height_m,
            bobbin.winding_depth_mm / 1000.0,
            winding.overall_diameter_m,
        )
        found.append(
            Turns(
                component,
                estimate.value,
                estimate.standard_uncertainty,
                wire.wire_id,
                bobbin.bobbin_id,
                estimate.contributions,
                fill,
            )
        )
        if _number(best, component, COIL_TURNS) is None:
            derived.append(
                derived_value(
                    component,
                    reference.properties[COIL_TURNS],
                    estimate,
                    (read,),
                    data={
                        "resistance_kohm": value * to_kohm,
                        "wire_id": wire.wire_id,
                        "bobbin_id": bobbin.bobbin_id,
                    },
                    flags=("assumed_construction",),
                )
            )
    return tuple(found), derived


def _pair_turns(reference: Reference, best: _Best) -> ReducedValue | None:
    """Return the turns of both coils as a sum, unless both together were read."""
    first = _number(best, "coil_a", COIL_TURNS)
    second = _number(best, "coil_b", COIL_TURNS)
    if first is None or second is None or _number(best, "pair", PAIR_TURNS) is not None:
        return None
    (a, coil_a), (b, coil_b) = first, second
    return derived_value(
        "pair",
        reference.properties[PAIR_TURNS],
        Estimate(a + b, combined_budget(((1.0, coil_a), (1.0, coil_b)))),
        (coil_a, coil_b),
        data={"coil_a": a, "coil_b": b, "unit": coil_a.unit},
    )

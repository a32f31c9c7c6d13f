"""Budgets of results that rest on several readings, with what those readings have in common."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from coilbook.core.budgets.budget import Budget, Input
from coilbook.core.budgets.uncertainty import Contribution, Estimate, rectangular
from coilbook.core.constants import HANDLING_HALF_WIDTH_K
from coilbook.core.reduction.instrument import PERCENT
from coilbook.core.reduction.reduced_value import Flag, ReducedValue, Step
from coilbook.core.seen import Calibration, PropertySeen

TEMPERATURE = "temperature of the coil"
BY_HAND = "warmth of a part by handling"
COEFFICIENT = "temperature coefficient of copper"
BARE = "bare diameter of the wire"
OVERALL = "overall diameter of the wire"
CORE_LENGTH = "length of the core"
CORE_WIDTH = "width of the core"
HEIGHT = "winding height"
PACKING = "packing of the layers"
STRETCH = "stretch of the wire"
RESISTIVITY = "resistivity of the copper"
COPPER_DENSITY = "density of the copper"
INSULATION_DENSITY = "density of the insulation"
DEPTH = "winding depth"

#: Inputs that are one and the same for all parts of a piece.
COMMON_INPUTS = frozenset(
    {
        COEFFICIENT,
        BARE,
        OVERALL,
        CORE_LENGTH,
        CORE_WIDTH,
        HEIGHT,
        PACKING,
        STRETCH,
        RESISTIVITY,
        COPPER_DENSITY,
        INSULATION_DENSITY,
        DEPTH,
    }
)

_CALIBRATIONS: tuple[Calibration, ...] = ("valid", "unknown", "lapsed")  # from good to bad


#: A part may be this much warmer or colder than another of the same sitting.
_BY_HAND = Input(BY_HAND, 0.0, rectangular(HANDLING_HALF_WIDTH_K), "K", "rectangular")


def combined_budget(
    parts: Sequence[tuple[float, ReducedValue]], *, one_sitting: bool = False
) -> Budget:
    """Return the budget of a result from its parts, each with the result's derivative by it.

    Parts share inputs: the percent share of one instrument's error, the temperature of one day, the
    copper, the wire and the bobbin. A shared input that pushes two parts the same way is counted
    once with both sensitivities added, so that its effects add linearly and not in squares
    (JCGM 100, 5.2.2 with a correlation of 1). Where its effects would cancel (a difference), no
    credit is taken for that: the readings may have been made on two ranges, or with the coil warmer
    by a hand, and the parts then count as independent. The result is never too small for it.

    With ``one_sitting`` a temperature that was noted once for several parts (the same figure on the
    same day) is one input whatever its signs, so that its error cancels in a difference; what a
    hand warms of one part alone is then each part's own, within
    :data:`~coilbook.core.constants.HANDLING_HALF_WIDTH_K`. A temperature that nobody noted
    stays each part's own.
    """
    places: dict[tuple[object, ...], int] = {}
    shared: list[Input] = []
    shared_by: list[float] = []
    own: list[Input] = []
    own_by: list[float] = []
    for weight, part in parts:
        budget = Budget.of(part.budget)
        for line, by in zip(budget.inputs, budget.sensitivities, strict=True):
            name = line.name
            sensitivity = weight * by
            if name in COMMON_INPUTS:
                which: str | None = ""
            elif name == TEMPERATURE:
                which = part.date
            else:
                # The percent of readings by meters that are not known is shared by none.
                which = part.instrument_id if name == PERCENT else None
            if which is None:
                own.append(Input(_of_part(part.component, name), *line[1:]))
                own_by.append(sensitivity)
                continue
            noted = one_sitting and name == TEMPERATURE and "no_temperature" not in part.flags
            if noted:
                own.append(_BY_HAND._replace(name=_of_part(part.component, BY_HAND)))
                own_by.append(sensitivity)
            sign = noted or sensitivity >= 0.0
            key = (name, line.estimate, line.standard_uncertainty, which, sign)
            at = places.setdefault(key, len(shared))
            if at == len(shared):
                shared.append(line)
                shared_by.append(0.0)
            shared[at] = line
            shared_by[at] = shared_by[at] + sensitivity
    return Budget((*shared, *own), shared_by + own_by)


@cache
def _of_part(component: str, name: str) -> str:
    """Return the name of an input that belongs to one part alone."""
    return f"{component.replace('_', ' ')}: {name}"


def scaled(budget: Iterable[Contribution], factor: float) -> Budget:
    """Return a budget carried through one more step, whose derivative is ``factor``."""
    return Budget.of(budget).scaled(factor)


def derived_value(
    component: str,
    prop: PropertySeen,
    estimate: Estimate,
    sources: Sequence[ReducedValue],
    *,
    data: Mapping[str, float | str],
    flags: Sequence[Flag] = (),
) -> ReducedValue:
    """Return an estimate of ``prop``, computed from ``sources``, as a value of the piece.

    What stands against any source stands against the result: flags are joined, and the worst
    calibration, the latest date and the instrument, if it is one and the same, are kept.
    """
    instruments = {source.instrument_id for source in sources}
    return ReducedValue(
        piece_id=sources[0].piece_id,
        component=component,
        property_id=prop.property_id,
        unit=prop.unit or "",
        value=estimate.value,
        standard_uncertainty=estimate.standard_uncertainty,
        qualifier="",
        category=None,
        line=0,
        written="",
        date=max(source.date for source in sources),
        instrument_id=instruments.pop() if len(instruments) == 1 else None,
        calibration=_worst(tuple([source.calibration for source in sources])),
        steps=(Step.of("derived", estimate.value, estimate.value, data),),
        budget=estimate.contributions,
        flags=_joined((("derived", *flags), *[source.flags for source in sources])),
    )


@cache
def _joined(flags: tuple[tuple[Flag, ...], ...]) -> tuple[Flag, ...]:
    """Return all of these flags, each once."""
    return tuple(dict.fromkeys(flag for several in flags for flag in several))


@cache
def _worst(calibrations: tuple[Calibration, ...]) -> Calibration:
    """Return the worst of these."""
    return max(calibrations, key=_CALIBRATIONS.index)

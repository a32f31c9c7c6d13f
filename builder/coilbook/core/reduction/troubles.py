"""A reading that cannot be: named, with its place, instead of stopping the whole piece."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from coilbook.core.reduction.measured_piece import Closure, Trouble, TroubleCode
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ReadingSeen
from coilbook.errors import OutOfDomain

#: Of these nothing at all is a reading like another: a dead magnet, a short to the metal. The same
#: goes for any bound, as in "below 0.1".
_MAY_BE_NOTHING = frozenset({"flux", "insulation"})


def reduce_or_trouble(reading: ReadingSeen) -> ReducedValue | Trouble:
    """Return a reading reduced, or what is wrong with it; nothing is raised for one bad reading.

    A number that is none or without end is ``not_finite``; nothing, or less than nothing, is
    ``not_above_zero`` wherever there must be something; a condition that no bench has is
    ``out_of_domain``. Less than zero is never let through.
    """
    value = reading.value
    if value is not None:
        if not math.isfinite(value):
            return _trouble(reading, "not_finite", {"value": str(value)})
        nothing = reading.property.reduction in _MAY_BE_NOTHING or reading.qualifier != ""
        if value < 0.0 or (value == 0.0 and not nothing):
            return _trouble(reading, "not_above_zero", {"value": value})
    try:
        return reduce_reading(reading)
    except OutOfDomain as error:
        return _trouble(reading, "out_of_domain", {"sentence": str(error)})
    except OverflowError:
        return _trouble(reading, "not_finite", {"value": str(value)})


def trouble_of(value: ReducedValue) -> Trouble | None:
    """Return the trouble that a value which could be kept as a bound still tells of."""
    if "parallel_impossible" not in value.flags:
        return None
    return Trouble(
        "parallel_impossible",
        value.component,
        value.property_id,
        value.line,
        {"written": value.written},
    )


def contradictions(
    values: Iterable[ReducedValue],
    best: Mapping[tuple[str, str], ReducedValue],
    closure: Closure | None,
) -> list[Trouble]:
    """Return what a piece's readings say that cannot be, each with its line where it has one.

    A bound that a reading above its parallel path was kept as; a coil that is open while there is a
    way through the pair, or a pair that is open between two coils that read; coils that do not add
    up to their pair. Readings in circuit prove nothing of an open coil: the way round it is read.
    """
    told = [trouble_of(value) for value in values]
    found = [trouble for trouble in told if trouble is not None]
    pair = best.get(("pair", "pair-resistance"))
    both = [best.get((name, "coil-resistance")) for name in ("coil_a", "coil_b")]
    coils = [coil for coil in both if coil is not None]
    if pair is not None and pair.line:
        through = pair.comparable and not any(s.code == "parallel" for s in pair.steps)
        found += [
            Trouble(
                "coil_open_pair_reads",
                coil.component,
                coil.property_id,
                coil.line,
                {"pair_written": pair.written},
            )
            for coil in coils
            if coil.qualifier == "open" and through
        ]
        if pair.qualifier == "open" and len(coils) == 2 and all(c.comparable for c in coils):
            found.append(Trouble("pair_open_coils_read", "pair", pair.property_id, pair.line))
    if closure is not None and not closure.closes:
        found.append(
            Trouble(
                "closure_fails",
                "pair",
                "pair-resistance",
                0,
                {
                    "sum_kohm": closure.sum_kohm,
                    "pair_kohm": closure.pair_kohm,
                    "normalised_error": closure.normalised_error,
                },
            )
        )
    return found


def _trouble(reading: ReadingSeen, code: TroubleCode, data: dict[str, float | str]) -> Trouble:
    row = reading.row
    data["written"] = row.value
    return Trouble(code, row.component, row.property_id, reading.line, data)

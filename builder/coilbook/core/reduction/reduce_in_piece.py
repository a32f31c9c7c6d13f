"""What other values of a piece make of one reading: its quality factor, its parts, its rods.

Each function takes a value as ``reduce_reading`` left it, the reading
that it came from and the best values of the piece, and returns it settled, or as it was where the
other values do not suffice. :func:`reduce_readings` does it all in the order in which one needs
another.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from coilbook.core.budgets.combine import scaled
from coilbook.core.budgets.uncertainty import Contribution, rectangular
from coilbook.core.constants import (
    FARTHEST_STANDOFF_M,
    FRACTION_DENOMINATOR,
    NEIGHBOURS_PER_M2,
    SENSOR_DEPTH_HALF_WIDTH_M,
    STANDOFF_HALF_WIDTH_M,
    UNSTATED_SENSOR_DEPTH_M,
)
from coilbook.core.formulas.inductor import series_inductance_h
from coilbook.core.formulas.rods import RodMagnet
from coilbook.core.reduction.measured_piece import Trouble
from coilbook.core.reduction.probe import standoff_ratio, standoff_sensitivities, unloaded_peak
from coilbook.core.reduction.reduce import Work, choose, finish, without_zero
from coilbook.core.reduction.reduced_value import Flag, ReducedValue, Step
from coilbook.core.reduction.troubles import reduce_or_trouble
from coilbook.core.seen import FamilySeen, PieceSeen, ReadingSeen
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain

Best = Mapping[tuple[str, str], ReducedValue]

STANDOFF = "stand-off of the probe"
SENSOR_DEPTH = "depth of the probe's sensing spot"
NEIGHBOURS = "the other rods of the row"

_QUALITY = {"coil-inductance": "coil-quality", "pair-inductance": "pair-quality"}
#: Two readings at test frequencies this near to each other were made at one.
SAME_FREQUENCY = 0.01
#: What stands against a value whose uncertainty another one needs stands against that one too.
PASSED_ON: tuple[Flag, ...] = ("calibration_lapsed", "no_instrument")


def reduce_readings(piece: PieceSeen) -> tuple[list[ReducedValue], list[Trouble]]:
    """Return every reading of a piece reduced, in the order of the file, and what cannot be.

    A reading that cannot be reduced is a trouble and no value; the others go on without it. Then
    parallel inductances become series ones, fields are brought to the face, and peaks, which need
    the inductances, lose their probes.
    """
    values: list[ReducedValue] = []
    readings: list[ReadingSeen] = []
    troubles: list[Trouble] = []
    for reading in piece.readings:
        found = reduce_or_trouble(reading)
        if isinstance(found, Trouble):
            troubles.append(found)
        else:
            values.append(found)
            readings.append(reading)
    best = best_of(values)
    series = [series_inductance(v, r, best) for v, r in zip(values, readings, strict=True)]
    if series != values:
        values, best = series, best_of(series)
    values = [
        without_probe(at_the_face(v, r, piece.family, best), r, best)
        for v, r in zip(values, readings, strict=True)
    ]
    return values, troubles


_KEYS: dict[tuple[str, str], tuple[str, str]] = {}


def best_of(values: Iterable[ReducedValue]) -> dict[tuple[str, str], ReducedValue]:
    """Return, for each component and property, the value that stands for it."""
    groups: dict[tuple[str, str], list[ReducedValue]] = {}
    for value in values:
        key = (value.component, value.property_id)
        # Of all pieces the keys are the same few, and are kept once.
        groups.setdefault(_KEYS.setdefault(key, key), []).append(value)
    return {key: choose(group) for key, group in groups.items()}


def series_inductance(value: ReducedValue, reading: ReadingSeen, best: Best) -> ReducedValue:
    """Return an inductance read as a parallel equivalent as the series one.

    It needs the quality factor of the same component, read at the same test frequency (one that is
    not written counts as the same). Without it the value stays the upper bound that it is.
    """
    quality = _number(best, value.component, _QUALITY.get(value.property_id, ""))
    if "parallel_equivalent" not in value.flags or reading.value is None or quality is None:
        return value
    q, of_q = quality
    if q <= 0.0 or not _at_one_frequency(value.test_frequency_hz, of_q.test_frequency_hz):
        return value
    work = Work(reading, reading.value)
    parallel = work.value
    lines = scaled(of_q.budget, 2.0 * parallel * q / (1.0 + q * q) ** 2)
    work.step(
        "series",
        series_inductance_h(parallel, q),
        q * q / (1.0 + q * q),
        lines.named("quality factor"),
        {"quality": q},
    )
    return _passing_on(finish(reading, work), of_q)


def _at_one_frequency(first_hz: float | None, second_hz: float | None) -> bool:
    if first_hz is None or second_hz is None:
        return True
    return abs(first_hz - second_hz) <= SAME_FREQUENCY * max(first_hz, second_hz)


def without_probe(value: ReducedValue, reading: ReadingSeen, best: Best) -> ReducedValue:
    """Return a peak read under a probe as it is without.

    It needs the pickup's resistance, and its capacitance or, failing that, its inductance: the
    capacitance is asked first, since an inductance read low down is not that near the peak. Without
    them, or where the probe would account for all of the peak, the value stays a lower bound.
    """
    if "probe_across" not in value.flags or reading.value is None:
        return value
    resistance = _first(best, (("pair", "pair-resistance"), ("coil", "coil-resistance")))
    capacitance = _number(best, "pickup", "self-capacitance")
    inductance = _first(best, (("pair", "pair-inductance"), ("coil", "coil-inductance")))
    given = capacitance or inductance
    if resistance is None or given is None:
        return value
    work = Work(reading, reading.value)
    to_hz = scale(value.unit, "hertz")
    name, si = ("capacitance", "farad") if capacitance else ("inductance", "henry")
    to_ohm, to_si = scale(resistance[1].unit, "ohm"), scale(given[1].unit, si)
    part = given[0] * to_si
    probe_ohm = math.inf if reading.input_resistance_ohm is None else reading.input_resistance_ohm
    try:
        estimate = unloaded_peak(
            work.value * to_hz,
            resistance[0] * to_ohm,
            reading.input_capacitance_f,
            probe_ohm,
            capacitance_f=part if capacitance else None,
            inductance_h=None if capacitance else part,
            budgets={
                "peak": scaled(work.budget, to_hz),
                "resistance": scaled(resistance[1].budget, to_ohm),
                name: scaled(given[1].budget, to_si),
            },
        )
    except OutOfDomain:
        return value
    data: dict[str, float | str] = {
        "by": name,
        "probe_pf": reading.input_capacitance_f * 1e12,
        name: given[0],
        "unit": given[1].unit,
    }
    if math.isfinite(probe_ohm):
        data["probe_megohm"] = probe_ohm / 1e6
    after = estimate.value / to_hz
    work.steps.append(Step.of("probe", work.value, after, data))
    work.value, work.budget = after, scaled(estimate.contributions, 1.0 / to_hz)
    return _passing_on(finish(reading, work), given[1])


def at_the_face(
    value: ReducedValue, reading: ReadingSeen, family: FamilySeen, best: Best
) -> ReducedValue:
    """Return a flux density read off a pole as the same probe would read it touching.

    It is done for rod magnets whose diameter and length were read, by the shape of a rod's field,
    which does not depend on how strongly the rod is magnetised; as far as 5 mm, since the other
    rods of a row make more and more of a difference. Everywhere else the value stays a lower bound.
    """
    if "standoff" not in value.flags or "above_reading" in value.flags or reading.value is None:
        return value
    if family.pole_kind != "rods":
        return value
    magnet = reading.row.component
    diameter = _first(best, ((magnet, "magnet-width"), ("pickup", "pole-diameter")))
    length = _first(best, ((magnet, "magnet-length"),))
    if diameter is None or length is None or reading.standoff_m > FARTHEST_STANDOFF_M:
        return value
    to_m = scale(diameter[1].unit, "meter"), scale(length[1].unit, "meter")
    gap_m = reading.standoff_m
    depth_m, depth_half_m = reading.sensor_depth_m, SENSOR_DEPTH_HALF_WIDTH_M
    if depth_m <= 0.0:
        depth_m = depth_half_m = UNSTATED_SENSOR_DEPTH_M
    try:
        rod = RodMagnet(diameter[0] * to_m[0], length[0] * to_m[1])
    except OutOfDomain:
        return value
    ratio = standoff_ratio(rod, gap_m, depth_m)
    by = standoff_sensitivities(rod, gap_m, depth_m)
    work = Work(reading, reading.value)
    without_zero(reading, work)
    after = work.value * ratio
    step_m = reading.standoff_step_m or 0.0254 / FRACTION_DENOMINATOR
    gap_half_m = max(step_m / 2.0, STANDOFF_HALF_WIDTH_M)
    lines = [
        _line(STANDOFF, gap_m * 1e3, gap_half_m * 1e3, after * by["standoff_m"] / 1e3, "mm"),
        _line(
            SENSOR_DEPTH,
            depth_m * 1e3,
            depth_half_m * 1e3,
            after * by["sensor_depth_m"] / 1e3,
            "mm",
        ),
        _line(NEIGHBOURS, 1.0, NEIGHBOURS_PER_M2 * gap_m**2, after, "1"),
    ]
    for name, (_, size), factor, key in (
        ("diameter", diameter, to_m[0], "diameter_m"),
        ("length", length, to_m[1], "along_m"),
    ):
        lines += scaled(size.budget, after * by[key] * factor).named(f"{name} of the rod")
    data: dict[str, float | str] = {
        "standoff_mm": gap_m * 1e3,
        "sensor_depth_mm": depth_m * 1e3,
        "diameter_mm": rod.diameter_m * 1e3,
        "length_mm": rod.along_m * 1e3,
        "ratio": ratio,
    }
    work.step("standoff", after, ratio, lines, data)
    return _passing_on(finish(reading, work), diameter[1], length[1])


def _line(
    name: str, estimate: float, half_width: float, sensitivity: float, unit: str
) -> Contribution:
    return Contribution(name, estimate, rectangular(half_width), sensitivity, unit, "rectangular")


def _number(best: Best, component: str, property_id: str) -> tuple[float, ReducedValue] | None:
    found = best.get((component, property_id))
    if found is None or not found.comparable or found.value is None or found.value <= 0.0:
        return None
    return found.value, found


def _first(best: Best, keys: Iterable[tuple[str, str]]) -> tuple[float, ReducedValue] | None:
    """Return the number of the first of several places that has one."""
    return next((n for key in keys if (n := _number(best, *key)) is not None), None)


def _passing_on(value: ReducedValue, *used: ReducedValue) -> ReducedValue:
    more = [flag for one in used for flag in one.flags if flag in PASSED_ON]
    return value._replace(flags=tuple(dict.fromkeys((*value.flags, *more))))

"""The one place where formulas meet records: a reading reduced, the best of several chosen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from coilbook.errors import OutOfDomain
from coilbook.measures.circuit import take_out_parallel_ohm
from coilbook.measures.combine import COEFFICIENT, TEMPERATURE, scaled
from coilbook.measures.constants import (
    ALPHA_20_PER_K,
    CONDUCTIVITY_HALF_WIDTH,
    REFERENCE_TEMPERATURE_C,
    UNSTATED_TEMPERATURE_HALF_WIDTH_K,
)
from coilbook.measures.copper import temperature_factor, to_20c
from coilbook.measures.instrument import instrument_budget
from coilbook.measures.types import Flag, ReducedValue, Step
from coilbook.measures.uncertainty import Contribution, Estimate, rectangular
from coilbook.records.types import Qualifier, Reading
from coilbook.units import scale

PARALLEL = "resistance in parallel"


class _Work:
    """A reading on its way: the value so far in the property's unit, and all that came of it."""

    def __init__(self, reading: Reading, value: float) -> None:
        self.value = value
        self.qualifier: Qualifier = reading.qualifier
        self.steps: list[Step] = []
        budget, flags = instrument_budget(reading, value)
        self.budget: tuple[Contribution, ...] = budget
        self.flags: list[Flag] = list(flags)

    def step(
        self,
        code: str,
        after: float,
        derivative: float,
        inputs: Iterable[Contribution],
        data: dict[str, float | str],
    ) -> None:
        """Take one step: ``derivative`` is that of the new value with respect to the old."""
        self.steps.append(Step(code, self.value, after, data))
        self.budget = (*scaled(self.budget, derivative), *inputs)
        self.value = after


def reduce_reading(reading: Reading) -> ReducedValue:
    """Return a reading at 20 °C and out of circuit, with its standard uncertainty.

    Copper (``reduction`` of its property): first the parallel path is taken out, since it acted on
    the coil at the temperature of the day, then the coil is brought to 20 °C. Where no temperature
    was written, 20 °C ± 6 K is taken and flagged. Everything else keeps its value, with the
    instrument's uncertainty. An open circuit and a category pass through. A bound stays a bound and
    is reduced like a value.

    In circuit, with what is connected unknown, the coil has at least the resistance that was read:
    the value becomes a lower bound. The same where the reading reaches the resistance said to be in
    parallel, which cannot be. (An upper bound read that way says nothing: more than 0.)

    Raises :class:`OutOfDomain`, naming the line, for a temperature that no bench has.
    """
    if reading.value is None:
        return _finish(reading, None)
    work = _Work(reading, reading.value)
    if reading.property.reduction == "copper":
        try:
            if reading.row.circuit == "in_circuit":
                _out_of_circuit(reading, work)
            _to_20c(reading, work)
        except OutOfDomain as error:
            raise OutOfDomain(f"readings.csv:{reading.line}: {error}") from error
    return _finish(reading, work)


def _out_of_circuit(reading: Reading, work: _Work) -> None:
    to_ohm = scale(reading.property.unit or "", "ohm")
    read_ohm, path_ohm = work.value * to_ohm, reading.parallel_ohm
    if path_ohm is None or read_ohm >= path_ohm:
        work.flags.append("parallel_unknown" if path_ohm is None else "parallel_impossible")
        if work.qualifier == "<":
            work.value, work.budget = 0.0, ()
        work.qualifier = ">"
        return
    free_ohm = take_out_parallel_ohm(read_ohm, path_ohm)
    gap_ohm = path_ohm - read_ohm
    tolerance_percent = reading.parallel_tolerance
    path = Contribution(
        PARALLEL,
        path_ohm / 1000.0,
        rectangular(path_ohm / 1000.0 * tolerance_percent / 100.0),
        -((read_ohm / gap_ohm) ** 2) * 1000.0 / to_ohm,
        "kΩ",
        "rectangular",
    )
    work.step(
        "parallel",
        free_ohm / to_ohm,
        (path_ohm / gap_ohm) ** 2,
        (path,),
        {"parallel_kohm": path_ohm / 1000.0, "tolerance_percent": tolerance_percent},
    )


def _to_20c(reading: Reading, work: _Work) -> None:
    temperature_c, half_width_k = reading.temperature_c, reading.temperature_half_width_k
    if temperature_c is None:
        temperature_c = REFERENCE_TEMPERATURE_C
        half_width_k = UNSTATED_TEMPERATURE_HALF_WIDTH_K
        work.flags.append("no_temperature")
    factor = temperature_factor(temperature_c)
    after = to_20c(work.value, temperature_c)
    warmer_k = temperature_c - REFERENCE_TEMPERATURE_C
    inputs = (
        Contribution(
            TEMPERATURE,
            temperature_c,
            rectangular(half_width_k),
            -after * ALPHA_20_PER_K / factor,
            "°C",
            "rectangular",
        ),
        Contribution(
            COEFFICIENT,
            ALPHA_20_PER_K,
            rectangular(ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH),
            -after * warmer_k / factor,
            "1/K",
            "rectangular",
        ),
    )
    work.step(
        "temperature",
        after,
        1.0 / factor,
        inputs,
        {
            "temperature_c": temperature_c,
            "half_width_k": half_width_k,
            "coefficient_per_k": ALPHA_20_PER_K,
        },
    )


def _finish(reading: Reading, work: _Work | None) -> ReducedValue:
    row = reading.row
    return ReducedValue(
        piece_id=row.piece_id,
        component=row.component,
        property_id=row.property_id,
        unit=reading.property.unit or "",
        value=work.value if work else None,
        standard_uncertainty=(
            Estimate(work.value, work.budget).standard_uncertainty if work else None
        ),
        qualifier=work.qualifier if work else reading.qualifier,
        category=reading.category,
        line=reading.line,
        written=row.value,
        date=row.date.isoformat() if row.date else "",
        instrument_id=row.instrument_id,
        calibration=reading.calibration,
        steps=tuple(work.steps) if work else (),
        budget=work.budget if work else (),
        flags=tuple(work.flags) if work else (),
    )


def choose(values: Sequence[ReducedValue]) -> ReducedValue:
    """Return the value that stands for a component's property, from all that were read of it.

    In this order: a number before a bound, an open circuit or a word; an instrument within its
    calibration before one past it; for the flux density at a pole the earliest dated, which is the
    magnet as found, before any recharge; for every other number the smallest standard uncertainty;
    then the latest date; then the order of the file. An undated reading counts as the last of the
    flux densities and the oldest of the rest. ``values`` holds at least one, in the file's order.
    """
    return min(values, key=_rank)


def _rank(value: ReducedValue) -> tuple[bool, bool, float, float]:
    day = float(dt.date.fromisoformat(value.date).toordinal()) if value.date else 0.0
    trusted = (not value.comparable, "calibration_lapsed" in value.flags)
    if value.property_id == "pole-flux-density" and value.comparable:
        return (*trusted, day or float("inf"), 0.0)
    if value.comparable and value.standard_uncertainty is not None:
        return (*trusted, value.standard_uncertainty, -day)
    return (*trusted, 0.0, -day)

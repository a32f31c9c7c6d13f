"""The one place where formulas meet records: a reading reduced, the best of several chosen."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Literal

from coilbook.core.budgets.budget import NOTHING, Budget, Input
from coilbook.core.budgets.combine import COEFFICIENT, TEMPERATURE
from coilbook.core.budgets.uncertainty import Contribution, Estimate, rectangular
from coilbook.core.constants import (
    ALPHA_20_PER_K,
    CONDUCTIVITY_HALF_WIDTH,
    INPUT_CAPACITANCE_HALF_WIDTH,
    INPUT_RESISTANCE_HALF_WIDTH,
    LEADS_HALF_WIDTH,
    REFERENCE_TEMPERATURE_C,
    SMALLEST_ACROSS_OHM,
    UNSTATED_TEMPERATURE_HALF_WIDTH_K,
)
from coilbook.core.formulas.circuit import take_out_parallel_ohm
from coilbook.core.formulas.copper import temperature_factor, to_20c
from coilbook.core.reduction.instrument import instrument_budget
from coilbook.core.reduction.reduced_value import Flag, ReducedValue, Step
from coilbook.core.seen import Qualifier, ReadingSeen
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain

PARALLEL = "resistance in parallel"
METER = "the meter's own resistance"
LEADS = "test leads and contacts"
FIXTURE = "capacitance of the fixture"
ZERO = "last digit of the probe's zero"


class Work:
    """A reading on its way: the value so far in the property's unit, and all that came of it."""

    def __init__(self, reading: ReadingSeen, value: float) -> None:
        self.value = value
        self.unit = reading.property.unit or ""
        self.qualifier: Qualifier = reading.qualifier
        self.steps: list[Step] = []
        budget, flags = instrument_budget(reading, value)
        self.budget: Budget = budget
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
        self.steps.append(Step.of(code, self.value, after, data))
        self.budget = self.budget.scaled(derivative) + inputs
        self.value = after

    def bound(self, qualifier: Literal["<", ">"], flag: Flag) -> None:
        """Let the value stand as a bound only; one that pointed the other way says nothing more."""
        self.flags.append(flag)
        if self.qualifier not in ("", qualifier):
            self.value, self.budget, qualifier = 0.0, NOTHING, ">"
        self.qualifier = qualifier


def reduce_reading(reading: ReadingSeen) -> ReducedValue:
    """Return a reading as it would have been read at 20 °C, out of circuit, by a perfect meter.

    By the ``reduction`` of its property:

    - ``copper``: what lay across is taken out from the meter inwards (the meter's own resistance,
      its leads, the parallel path), since it acted on the coil at the temperature of the day; then
      the coil is brought to 20 °C. Where no temperature was written, 20 °C ± 6 K is taken and
      flagged.
    - ``inductance``: a series equivalent is kept. Of a parallel one, which is never lower, the
      series equivalent is at most that: an upper bound.
    - ``capacitance``: the fixture's own is taken out.
    - ``frequency``: with a probe that says what it puts across, the peak alone is at least what was
      read: a lower bound.
    - ``flux``: the probe's zero is taken out; read off the pole, it is a lower bound.
    - ``insulation``: kept as read and flagged. It roughly halves with every 10 K and falls with
      damp (common practice, and different for every material), and it depends on the test voltage,
      so that a correction would promise what nobody knows.
    - ``length`` and ``none``: kept as read, with the instrument's uncertainty. For lengths see
      :func:`coilbook.core.reduction.probe.thermal_expansion_m`.

    What other values of the piece can make of the bounds is in
    ``reduce_in_piece``. An open circuit and a category pass through. A bound
    stays a bound and is reduced like a value.

    In circuit, with what is connected unknown, the coil has at least the resistance that was read:
    the value becomes a lower bound, with an ``interval``. The same, without an upper end, where the
    reading reaches the resistance said to be in parallel, which cannot be. (An upper bound read
    that way says nothing: more than 0.) Where leads, fixture or zero are as large as the reading,
    it is an upper bound.

    Raises :class:`OutOfDomain`, naming the line, for a temperature that no bench has and for a
    number that is none.
    """
    if reading.value is None:
        return finish(reading, None)
    work = Work(reading, reading.value)
    reduction = reading.property.reduction
    at_most: float | None = None
    try:
        if not math.isfinite(reading.value):
            raise OutOfDomain(f"a value of {reading.value} is no number. Write what was shown.")
        if reduction == "copper":
            _from_the_meter(reading, work)
            if reading.row.circuit == "in_circuit":
                at_most = _out_of_circuit(reading, work)
            at_most = _to_20c(reading, work, at_most)
        elif reduction == "inductance" and reading.equivalent == "parallel":
            work.bound("<", "parallel_equivalent")
        elif reduction == "capacitance":
            _without_fixture(reading, work)
        elif reduction == "frequency" and loads(reading):
            work.bound(">", "probe_across")
        elif reduction == "flux":
            without_zero(reading, work)
            if reading.standoff_m > 0.0:
                work.bound(">", "standoff")
        elif reduction == "insulation":
            work.flags.append("insulation")
    except OutOfDomain as error:
        raise OutOfDomain(f"readings.csv:{reading.line}: {error}") from error
    interval = (work.value, at_most) if "parallel_unknown" in work.flags else None
    return finish(reading, work, interval)


def loads(reading: ReadingSeen) -> bool:
    """Whether the instrument says that it puts something across what it reads."""
    return reading.input_capacitance_f > 0.0 or reading.input_resistance_ohm is not None


def _from_the_meter(reading: ReadingSeen, work: Work) -> None:
    """Take out the meter's own resistance, then its leads."""
    to_ohm = scale(reading.property.unit or "", "ohm")
    meter_ohm, leads_ohm = reading.input_resistance_ohm, reading.lead_resistance_ohm
    if meter_ohm is not None:
        _take_out(work, to_ohm, METER, "meter", meter_ohm, 100.0 * INPUT_RESISTANCE_HALF_WIDTH)
    if leads_ohm <= 0.0:
        return
    if work.value * to_ohm <= leads_ohm:
        work.bound("<", "above_reading")
        return
    leads = Contribution(
        LEADS,
        leads_ohm,
        rectangular(LEADS_HALF_WIDTH * leads_ohm),
        -1.0 / to_ohm,
        "Ω",
        "rectangular",
    )
    after = work.value - leads_ohm / to_ohm
    work.step("leads", after, 1.0, (leads,), {"lead_ohm": leads_ohm})


def _take_out(
    work: Work, to_ohm: float, name: str, code: str, path_ohm: float, tolerance_percent: float
) -> bool:
    """Take out a known parallel path; whether that could be done."""
    read_ohm = work.value * to_ohm
    if read_ohm >= path_ohm:
        work.bound(">", "parallel_impossible")
        return False
    free_ohm = take_out_parallel_ohm(read_ohm, path_ohm)
    gap_ohm = path_ohm - read_ohm
    path = Contribution(
        name,
        path_ohm / 1000.0,
        rectangular(path_ohm / 1000.0 * tolerance_percent / 100.0),
        -((read_ohm / gap_ohm) ** 2) * 1000.0 / to_ohm,
        "kΩ",
        "rectangular",
    )
    work.step(
        code,
        free_ohm / to_ohm,
        (path_ohm / gap_ohm) ** 2,
        (path,),
        {"parallel_kohm": path_ohm / 1000.0, "tolerance_percent": tolerance_percent},
    )
    return True


def _out_of_circuit(reading: ReadingSeen, work: Work) -> float | None:
    """Take out what lay across the coil; where that is unknown, return the most it can have."""
    to_ohm = scale(reading.property.unit or "", "ohm")
    if reading.parallel_ohm is not None:
        _take_out(
            work, to_ohm, PARALLEL, "parallel", reading.parallel_ohm, reading.parallel_tolerance
        )
        return None
    read_ohm, at_most = work.value * to_ohm, None
    if read_ohm < SMALLEST_ACROSS_OHM and work.qualifier != ">":
        at_most = take_out_parallel_ohm(read_ohm, SMALLEST_ACROSS_OHM) / to_ohm
    work.bound(">", "parallel_unknown")
    return at_most


def _to_20c(reading: ReadingSeen, work: Work, at_most: float | None) -> float | None:
    """Bring the value to 20 °C, and what it is at the most, which is returned."""
    temperature_c, half_width_k = reading.temperature_c, reading.temperature_half_width_k
    if temperature_c is None:
        temperature_c = REFERENCE_TEMPERATURE_C
        half_width_k = UNSTATED_TEMPERATURE_HALF_WIDTH_K
        work.flags.append("no_temperature")
    factor = temperature_factor(temperature_c)
    if at_most is not None:
        at_most /= factor
    if "parallel_unknown" in work.flags:
        data: dict[str, float | str] = {"smallest_kohm": SMALLEST_ACROSS_OHM / 1000.0}
        if at_most is not None:
            data["at_most"] = at_most
        work.step("path_unknown", work.value, 1.0, (), data)
    after = to_20c(work.value, temperature_c)
    warmer_k = temperature_c - REFERENCE_TEMPERATURE_C
    inputs = Budget(
        _warmth(temperature_c, half_width_k),
        (-after * ALPHA_20_PER_K / factor, -after * warmer_k / factor),
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
    return at_most


@lru_cache(maxsize=4096)
def _warmth(temperature_c: float, half_width_k: float) -> tuple[Input, Input]:
    """Return the inputs of bringing a resistance to 20 °C, the same for a whole sitting."""
    return (
        Input(TEMPERATURE, temperature_c, rectangular(half_width_k), "°C", "rectangular"),
        Input(
            COEFFICIENT,
            ALPHA_20_PER_K,
            rectangular(ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH),
            "1/K",
            "rectangular",
        ),
    )


def _without_fixture(reading: ReadingSeen, work: Work) -> None:
    """Take out the capacitance that a bridge's fixture has with nothing in it."""
    own = reading.input_capacitance_f * scale("farad", reading.property.unit or "")
    if own <= 0.0:
        return
    if work.value <= own:
        work.bound("<", "above_reading")
        return
    width = rectangular(INPUT_CAPACITANCE_HALF_WIDTH * own)
    line = Contribution(FIXTURE, own, width, -1.0, work.unit, "rectangular")
    work.step("fixture", work.value - own, 1.0, (line,), {"fixture": own})


def without_zero(reading: ReadingSeen, work: Work) -> None:
    """Take out what a flux probe showed away from any magnet."""
    zero = reading.zero
    if zero is None:
        return
    if work.value <= zero:
        # Written without its sign, either may be: the field is at most as large as the zero.
        work.step("zero", zero, 1.0, (), {"zero": zero})
        work.bound("<", "above_reading")
        return
    digit = reading.zero_step if reading.zero_step is not None else 0.0
    line = Contribution(ZERO, zero, rectangular(digit / 2.0), -1.0, work.unit, "rectangular")
    work.step("zero", work.value - zero, 1.0, (line,), {"zero": zero})


def finish(
    reading: ReadingSeen, work: Work | None, interval: tuple[float, float | None] | None = None
) -> ReducedValue:
    """Return the reduced value that the work on a reading came to."""
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
        date=reading.day,
        instrument_id=row.instrument_id,
        calibration=reading.calibration,
        steps=tuple(work.steps) if work else (),
        budget=work.budget if work else NOTHING,
        flags=tuple(dict.fromkeys(work.flags)) if work else (),
        interval=interval,
        test_frequency_hz=reading.test_frequency_hz,
    )


def choose(values: Sequence[ReducedValue]) -> ReducedValue:
    """Return the value that stands for a component's property, from all that were read of it.

    In this order: a number before a bound, an open circuit or a word; an instrument within its
    calibration before one past it; for the flux density at a pole the earliest dated, which is the
    magnet as found, before any recharge; for every other number the smallest standard uncertainty;
    then the latest date; then the order of the file. An undated reading counts as the last of the
    flux densities and the oldest of the rest. ``values`` holds at least one, in the file's order.
    """
    return values[0] if len(values) == 1 else min(values, key=_rank)


def _rank(value: ReducedValue) -> tuple[bool, bool, float, float]:
    day = float(dt.date.fromisoformat(value.date).toordinal()) if value.date else 0.0
    trusted = (not value.comparable, "calibration_lapsed" in value.flags)
    if value.property_id == "pole-flux-density" and value.comparable:
        return (*trusted, day or float("inf"), 0.0)
    if value.comparable and value.standard_uncertainty is not None:
        return (*trusted, value.standard_uncertainty, -day)
    return (*trusted, 0.0, -day)

"""What an instrument's accuracy statement, or its absence, means for one reading."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from functools import cache

from coilbook.core.budgets.budget import NOTHING, Budget, Input, Lines
from coilbook.core.budgets.uncertainty import Contribution, rectangular
from coilbook.core.constants import FRACTION_DENOMINATOR
from coilbook.core.reduction.reduced_value import Flag
from coilbook.core.seen import ReadingSeen
from coilbook.core.units import convert, kind_of

#: Names of the lines that the reader's meter brings into a budget.
PERCENT = "instrument, percent of reading"
DIGITS = "instrument, digits"
RESOLUTION = "last digit written"

_FRACTION = re.compile(r"\d\s*[/⁄]\s*(\d+)")


def accuracy_half_width(
    reading: float, accuracy_percent: float, accuracy_digits: float, step: float
) -> float:
    r"""Return the limit of error that an accuracy of percent of reading and digits states.

    Formula: a = \frac{q}{100} \, |x| + n \, \delta
    Arguments: reading x [unit], accuracy_percent q [%], accuracy_digits n [1], step \delta [unit]
    Returns: a [unit]
    Validity: the statement holds for the instrument as calibrated, in its stated surroundings.
    Source: common practice
    """
    return accuracy_percent / 100.0 * abs(reading) + accuracy_digits * step


def _step(reading: ReadingSeen) -> float:
    """Return what one count is worth; for a value written as a fraction, a graduation of the rule.

    1 1/2 in does not mean that the rule was divided into halves, so the coarsest taken is 1/16.
    """
    if reading.step is not None:
        return reading.step
    unit = reading.property.unit or ""
    written = _FRACTION.search(reading.row.value)
    part = max(FRACTION_DENOMINATOR, int(written[1]) if written else 0)
    return convert(1.0 / part, "inch", unit) if kind_of(unit).name == "length" else 1.0 / part


def instrument_budget(reading: ReadingSeen, value: float) -> tuple[Budget, tuple[Flag, ...]]:
    """Return the lines that the instrument brings to ``value``, and what stands against it.

    ``value`` is in the property's unit, and so are the effects; sensitivities are those of the
    reading itself, for the caller to chain.

    An accuracy statement is one limit, percent of reading plus digits, taken as rectangular
    (JCGM 100, 4.3.7). It is shown as two lines whose squares sum to that: the percent share, which
    every reading by this instrument has in common, and the rest, which belongs to this reading.
    Nothing is known better than its last digit, so half a step counts at the least; without an
    instrument that is all there is, and the value is flagged, since the true error may be larger.
    Things counted one by one (the unit ``pieces``) are exact unless an instrument is named.

    A reading made after the due date loses its claim to an uncertainty. It keeps its value and the
    uncertainty of the last calibration, since by how much an instrument drifts past its date is not
    known, and a guess would look like knowledge; but it is flagged ``calibration_lapsed``, which
    says that nothing backs that uncertainty any more. Such a value gives way to any in calibration,
    enters no typical range, and tells every verdict on it.
    """
    unit = reading.property.unit or ""
    instrument = reading.instrument
    if instrument is None:
        if unit == "pieces":
            return NOTHING, ()
        half_step = rectangular(_step(reading) / 2.0)
        line = Input(RESOLUTION, 0.0, half_step, unit, "rectangular")
        return Budget((line,), (1.0,)), ("no_instrument",)
    percent = instrument.accuracy_percent
    digits = max(instrument.accuracy_digits, 0.5)
    share = rectangular(percent)
    whole = rectangular(accuracy_half_width(value, percent, digits, _step(reading)))
    rest = math.sqrt(max(0.0, whole**2 - (share * value / 100.0) ** 2))
    line = Input(DIGITS, 0.0, rest, unit, "rectangular")
    budget = Budget((line,), (1.0,))
    if percent:
        budget = Budget((_percent(share), line), (value / 100.0, 1.0))
    return budget, ("calibration_lapsed",) if reading.calibration == "lapsed" else ()


@cache
def _percent(share: float) -> Input:
    """Return the input that all readings by an instrument have in common."""
    return Input(PERCENT, 0.0, share, "%", "rectangular")


def as_one_limit(budget: Iterable[Contribution]) -> Lines:
    """Return a budget with the two lines of one accuracy statement as the one limit that they are.

    They are told apart so that several readings can share the percent; of a single reading they are
    one rectangular limit, and drawn apart they would spread into a bell that nobody stated.
    """
    lines = list(budget)
    parts = [line for line in lines if line.name in (PERCENT, DIGITS)]
    if len(parts) < 2:
        return tuple(lines)
    whole = math.hypot(*(line.effect for line in parts))
    rest = [line for line in lines if line.name not in (PERCENT, DIGITS)]
    return (Contribution(DIGITS, 0.0, whole, 1.0, parts[-1].unit, "rectangular"), *rest)

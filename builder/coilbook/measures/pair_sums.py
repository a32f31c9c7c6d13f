"""What a piece's two coils read together, in each way that they are commonly switched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilbook.core.budgets.budget import Lines
from coilbook.core.budgets.combine import combined_budget
from coilbook.core.budgets.uncertainty import Contribution, Estimate, rectangular
from coilbook.core.formulas.hum import coils_in_parallel_ohm, partly_split_ohm, series_ohm
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.units import scale

Way = Literal["series", "parallel", "coil_a", "coil_b", "partly_split"]

#: Resistors that partly split a coil in common practice, as examples, and their tolerance.
EXAMPLE_SHUNTS_OHM = (2.2e3, 4.7e3)
SHUNT_TOLERANCE_PERCENT = 5.0
SHUNT = "resistor across a coil"


@dataclass(frozen=True, slots=True)
class CoilSum:
    """What both coils come to in one way of switching them, in kΩ at 20 °C.

    ``shunt_ohm`` is the resistor across coil B of a partial split, else None.
    """

    way: Way
    shunt_ohm: float | None
    estimate: Estimate


def coil_sums(measured: MeasuredPiece) -> tuple[CoilSum, ...]:
    """Return what two coils read in series, in parallel, one alone and partly split.

    From the two coils' own values, with what they share (the meter's percent error, the day's
    temperature) counted as ``combined_budget`` does. Nothing unless
    both are numbers above 0: a bound or an open coil has no sum.
    """
    coils = [measured.best.get((part, "coil-resistance")) for part in ("coil_a", "coil_b")]
    good = [c for c in coils if c is not None and c.comparable and c.value is not None]
    if len(good) != 2:
        return ()
    a, b = ((c.value or 0.0) * scale(c.unit, "ohm") for c in good)
    if not (a > 0.0 and b > 0.0):
        return ()

    def made(
        way: Way,
        ohm: float,
        by_a: float,
        by_b: float,
        more: Lines = (),
        shunt_ohm: float | None = None,
    ) -> CoilSum:
        to = scale(good[0].unit, "kΩ")
        parts: list[tuple[float, ReducedValue]] = [
            (by * to, coil) for by, coil in zip((by_a, by_b), good, strict=True) if by
        ]
        budget = (*combined_budget(parts), *more)
        return CoilSum(way, shunt_ohm, Estimate(ohm / 1000.0, budget))

    both = a + b
    found = [
        made("series", series_ohm(a, b), 1.0, 1.0),
        made("parallel", coils_in_parallel_ohm(a, b), (b / both) ** 2, (a / both) ** 2),
        made("coil_a", a, 1.0, 0.0),
        made("coil_b", b, 0.0, 1.0),
    ]
    for shunt in EXAMPLE_SHUNTS_OHM:
        share = shunt / (b + shunt)
        resistor = Contribution(
            SHUNT,
            shunt / 1000.0,
            rectangular(shunt / 1000.0 * SHUNT_TOLERANCE_PERCENT / 100.0),
            (1.0 - share) ** 2,
            "kΩ",
            "rectangular",
        )
        ohm = partly_split_ohm(a, b, shunt)
        found.append(made("partly_split", ohm, 1.0, share**2, (resistor,), shunt))
    return tuple(found)

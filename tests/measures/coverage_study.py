"""How often the stated 95 % intervals hold the truth, over coils whose truth is known.

Every pickup here is invented by numbers alone: its turns are known, its wire, bobbin, lay, copper,
day and meter are drawn from the limits that the budgets state. Coils are laid layer by layer by the
demo's physics, which shares no code with measures. What is tested is thus whether the intervals are
honest for the limits that they name; whether a bench's wire keeps to those limits is another
matter, which no simulation tells.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from measures_bench import REFERENCE, meter, piece, reading

from coilbook.core.constants import (
    BOBBIN_HALF_WIDTH_M,
    CONDUCTIVITY_HALF_WIDTH,
    PACKING_RANGE,
    STRETCH_RANGE,
)
from coilbook.core.reduction.piece import measure_piece
from coilbook.measures.checks import result_checks
from coilbook.measures.response_of_piece import response_of_piece
from coilbook.records.tables.models import InstrumentRow

sys.path.insert(0, str(Path(__file__).parents[1] / "demo"))
import demo_physics

WIRE, BOBBIN = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]
#: The meter of the study: percent of reading and counts of 10 Ω, and how well the day is known.
PERCENT, DIGITS, COUNT_KOHM, DAY_K = 0.5, 2.0, 0.01, 2.0


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many of the stated intervals held the truth."""

    held: int
    stated: int

    @property
    def share(self) -> float:
        """Return the share that did."""
        return self.held / self.stated

    @property
    def interval(self) -> tuple[float, float]:
        """Return a 95 % interval of that share (Wilson's)."""
        n, p, z = self.stated, self.share, 1.959964
        middle, below = p + z * z / (2 * n), 1 + z * z / n
        half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
        return (middle - half) / below, (middle + half) / below


def coverage(pickups: int, draws: int, seed: int, shared: bool = False) -> dict[str, Coverage]:
    """Return the coverage of turns, resistance and imbalance over two-coil pickups.

    ``shared`` gives both coils of a pickup the same error of meter and temperature; else each
    reading has its own, as the budget of a difference takes it.
    """
    rng = np.random.default_rng(seed)
    counts = {name: [0, 0] for name in ("turns", "resistance", "imbalance")}

    def told(name: str, truth: float, interval: tuple[float, float]) -> None:
        counts[name][0] += interval[0] <= truth <= interval[1]
        counts[name][1] += 1

    def within(middle: float, half: float) -> float:
        return float(rng.uniform(middle - half, middle + half))

    off_mm = BOBBIN_HALF_WIDTH_M * 1e3
    for _ in range(pickups):
        core = demo_physics.Core(
            within(BOBBIN.core_length_mm, off_mm),
            within(BOBBIN.core_width_mm, off_mm),
            within(BOBBIN.winding_height_mm, off_mm),
        )
        bare_half = (WIRE.bare_max_mm - WIRE.bare_min_mm) / 2
        over_half = (WIRE.overall_max_mm - WIRE.overall_min_mm) / 2
        bare, over = within(WIRE.bare_nom_mm, bare_half), within(WIRE.overall_nom_mm, over_half)
        packing, stretch = rng.uniform(*PACKING_RANGE), rng.uniform(*STRETCH_RANGE)
        copper = within(1.0, CONDUCTIVITY_HALF_WIDTH)
        alpha = demo_physics.COPPER_ALPHA_PER_K * within(1.0, CONDUCTIVITY_HALF_WIDTH)
        day_c = round(float(rng.uniform(15.0, 30.0)), 1)
        turns, kohm, shown = [], [], []
        errors = rng.uniform(-1.0, 1.0, (2, 2))
        if shared:
            errors[1] = errors[0]
        for meter_error, day_error in errors:
            turns.append(int(rng.integers(4500, 5501)))
            winding = demo_physics.Winding(turns[-1], bare, over, packing, stretch)
            kohm.append(demo_physics.coil_ohm(core, winding) / 1e3 * copper)
            warm = kohm[-1] * (1.0 + alpha * (day_c + DAY_K * day_error - 20.0))
            # The limit is stated for what is shown, which is within a hair of what is there.
            limit = PERCENT / 100.0 * warm + DIGITS * COUNT_KOHM
            shown.append(warm + meter_error * limit)
        made = piece(
            *(
                reading(
                    value,
                    component=component,
                    temperature_c=day_c,
                    half_width_k=DAY_K,
                    step=COUNT_KOHM,
                    instrument=meter(PERCENT, DIGITS),
                    line=line,
                )
                for line, (component, value) in enumerate(
                    zip(("coil_a", "coil_b"), shown, strict=True), 2
                )
            )
        )
        truth = {
            ("coil_a", "coil-turns"): ("turns", turns[0]),
            ("coil_b", "coil-turns"): ("turns", turns[1]),
            ("coil_a", "coil-resistance"): ("resistance", kohm[0]),
            ("coil_b", "coil-resistance"): ("resistance", kohm[1]),
            ("pair", "coil-imbalance"): (
                "imbalance",
                200.0 * abs(kohm[0] - kohm[1]) / (kohm[0] + kohm[1]),
            ),
        }
        for check in result_checks(measure_piece(made, REFERENCE), REFERENCE, draws):
            name, value = truth[check.component, check.property_id]
            told(name, value, check.comparison.interval)
    return {name: Coverage(*count) for name, count in counts.items()}


def peak_coverage(pickups: int, seed: int) -> Coverage:
    """Return the coverage of the unloaded peak frequency from resistance, inductance, capacitance.

    The circuit is written out here again: what a bridge shows of an inductance at 1 kHz with its
    capacitance across, and where the voltage of the whole is highest.
    """
    rng = np.random.default_rng(seed)
    held = 0
    for _ in range(pickups):
        henry, ohm = float(rng.uniform(2.0, 8.0)), float(rng.uniform(4e3, 12e3))
        farad = float(rng.uniform(80e-12, 200e-12))
        square = 1.0 / (henry * farad) - (ohm / henry) ** 2 / 2.0
        truth_hz = math.sqrt(square) / (2.0 * math.pi)
        omega = 2.0 * math.pi * 1e3
        impedance = 1.0 / (1.0 / complex(ohm, omega * henry) + 1j * omega * farad)
        shown = {
            "pair-resistance": (ohm / 1e3, 0.5, 2.0, 0.01, "resistance"),
            "pair-inductance": (impedance.imag / omega, 0.5, 3.0, 0.001, "inductance"),
            "self-capacitance": (farad * 1e12, 1.0, 2.0, 1.0, "capacitance"),
        }
        readings = []
        for line, (prop, (true, percent, digits, count, kind)) in enumerate(shown.items(), 2):
            limit = percent / 100.0 * true + digits * count
            made = reading(
                true + float(rng.uniform(-limit, limit)),
                prop=prop,
                component="pickup" if prop == "self-capacitance" else "pair",
                temperature_c=20.0,
                half_width_k=0.0,
                step=count,
                instrument=meter_of(percent, digits, kind),
                line=line,
            )
            readings.append(replace(made, test_frequency_hz=1e3))
        whole = piece(*readings)
        found = response_of_piece(whole, measure_piece(whole, REFERENCE)).curves[0].comparison
        assert found is not None
        low, high = found.interval
        held += low <= truth_hz <= high
    return Coverage(held, pickups)


def meter_of(percent: float, digits: float, kind: str) -> InstrumentRow:
    """Return a bench meter for another kind of quantity."""
    return InstrumentRow(
        instrument_id=f"{kind}-meter",
        name="bench meter",
        measures=kind,  # type: ignore[arg-type]
        accuracy_percent=percent,
        accuracy_digits=digits,
    )

"""Wire, temperature, circuit, coil, window and budgets against figures from outside.

measures.csv names the source beside each figure, and how it is known: ``run`` was computed apart
from this project with an independent library or program, ``seen`` was read in an independent text,
``memory`` is recalled and the printed source was not open.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coilbook.core.budgets.uncertainty import Contribution, Estimate, expanded, rectangular
from coilbook.core.formulas.circuit import parallel_ohm, take_out_parallel_ohm
from coilbook.core.formulas.coil import (
    Winding,
    build_up_m,
    coil_resistance_ohm,
    coil_turns,
    mean_turn_m,
    racetrack_perimeter_m,
    resistance_sensitivities,
)
from coilbook.core.formulas.copper import temperature_factor, to_20c
from coilbook.core.formulas.window import layered_turns, scatter_turns
from coilbook.core.formulas.wire import (
    awg_diameter_m,
    wire_mass_kg_per_m,
    wire_resistance_ohm_per_m,
)
from coilbook.core.reduction.turns import turns_estimate, winding_half_widths, winding_of
from coilbook.records import load_reference

FOOT_M = 0.3048

with (Path(__file__).parent / "measures.csv").open(encoding="utf-8", newline="") as _file:
    CHECKS = list(csv.DictReader(_file))


def _winding(stretch: float = 0.0) -> Winding:
    """Return the worked coil: 42 AWG nominal, single build, on a 64 × 4.8 mm core 6.4 mm high."""
    return Winding(63.5e-6, 71e-6, 64e-3, 4.8e-3, 6.4e-3, stretch=stretch)


def _turns_of_ranges(resistance_ohm: float) -> Estimate:
    """Return the turns with what is not known of 42 AWG, packing and stretch; the rest exact."""
    reference = load_reference().value
    assert reference is not None
    wire, bobbin = reference.wires["awg-42-single"], reference.bobbins["humbucker-bobbin"]
    half = winding_half_widths(wire)
    fields = ("bare_diameter_m", "overall_diameter_m", "packing", "stretch")
    return turns_estimate(
        resistance_ohm / 1e3, (), winding_of(wire, bobbin), {field: half[field] for field in fields}
    )


def _combined(**effects: float) -> float:
    lines = [Contribution(name, 0.0, effect, 1.0, "1") for name, effect in effects.items()]
    return Estimate(0.0, tuple(lines)).standard_uncertainty


def _log_sensitivity(turns: float, of: str) -> float:
    at = turns if of == "turns" else getattr(_winding(), of)
    return float(resistance_sensitivities(turns, _winding())[of] * at)


FORMULAS: dict[str, Callable[..., float]] = {
    "awg_diameter_mm": lambda awg: awg_diameter_m(awg) * 1e3,
    "awg_ohm_per_m": lambda awg: wire_resistance_ohm_per_m(awg_diameter_m(awg)),
    "awg_ohm_per_1000_ft": lambda awg: (
        wire_resistance_ohm_per_m(awg_diameter_m(awg)) * 1000.0 * FOOT_M
    ),
    "wire_ohm_per_km": lambda bare_mm: wire_resistance_ohm_per_m(bare_mm / 1e3) * 1e3,
    "wire_g_per_km": lambda bare_mm: wire_mass_kg_per_m(bare_mm / 1e3) * 1e6,
    "factor": lambda temperature_c: temperature_factor(temperature_c),
    "to_20c_ohm": lambda resistance_ohm, temperature_c: to_20c(resistance_ohm, temperature_c),
    "parallel_ohm": parallel_ohm,
    "take_out_parallel_ohm": take_out_parallel_ohm,
    "perimeter_mm": lambda length_mm, width_mm, offset_mm: (
        racetrack_perimeter_m(length_mm / 1e3, width_mm / 1e3, offset_mm / 1e3) * 1e3
    ),
    "build_up_mm": lambda turns: build_up_m(turns, 71e-6, 6.4e-3) * 1e3,
    "mean_turn_mm": lambda turns: mean_turn_m(turns, _winding()) * 1e3,
    "coil_ohm": lambda turns, stretch=0.0: coil_resistance_ohm(turns, _winding(stretch)),
    "coil_turns": lambda resistance_ohm: coil_turns(resistance_ohm, _winding()),
    "turns_of_ranges": lambda resistance_ohm: _turns_of_ranges(resistance_ohm).value,
    "turns_of_ranges_u": lambda resistance_ohm: (
        _turns_of_ranges(resistance_ohm).standard_uncertainty
    ),
    "log_sensitivity": _log_sensitivity,
    "layered_turns": lambda height_mm, depth_mm, overall_mm, packing: layered_turns(
        height_mm / 1e3, depth_mm / 1e3, overall_mm / 1e3, packing
    ),
    "scatter_turns": lambda height_mm, depth_mm, overall_mm, fill_factor: scatter_turns(
        height_mm / 1e3, depth_mm / 1e3, overall_mm / 1e3, fill_factor
    ),
    "rectangular": rectangular,
    "combined": _combined,
    "expanded": expanded,
}


def _inputs(text: str) -> dict[str, Any]:
    pairs = (part.split("=") for part in text.split(";"))
    return {name: value if name == "of" else float(value) for name, value in pairs}


def _half_last_digit(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check["check_id"])
def test_published_value(check: dict[str, str]) -> None:
    """The formula gives the figure to half its last printed digit, or to the row's tolerance."""
    got = FORMULAS[check["formula"]](**_inputs(check["inputs"]))
    tolerance = float(check["tolerance"] or 0.0) or _half_last_digit(check["expected"])
    # A hair's breadth for a figure that was itself rounded at exactly the half.
    assert math.isclose(got, float(check["expected"]), rel_tol=1e-12, abs_tol=tolerance)


def test_every_check_names_its_source() -> None:
    """No row without source, locator and how it is known; a tolerance of its own has a reason."""
    for check in CHECKS:
        assert check["source"], check
        assert check["locator"], check
        assert check["known"] in {"run", "seen", "memory"}, check
        assert bool(check["tolerance"]) == bool(check["tolerance_reason"]), check
    assert len({check["check_id"] for check in CHECKS}) == len(CHECKS)

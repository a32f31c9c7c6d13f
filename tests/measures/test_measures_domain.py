"""Nothing, less than nothing, no number and without end: each is refused by name, or is fine."""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from coilbook.core.formulas import circuit, coil, copper, layers, pair, window, wire
from coilbook.core.formulas.coil import Winding
from coilbook.errors import OutOfDomain
from coilbook.measures.formulas import FORMULA_FUNCTIONS, document

#: 42 AWG nominal, single build, on a 64 × 4.8 mm core 6.4 mm high.
WORKED = Winding(63.5e-6, 71e-6, 64e-3, 4.8e-3, 6.4e-3)

#: What each argument may sensibly be; an argument of any name not here fails the test.
GOOD: dict[str, object] = {
    "awg": 42,
    "bare_diameter_m": 63.5e-6,
    "resistivity_ohm_m": 1.7e-8,
    "temperature_c": 26.0,
    "coefficient_per_k": 0.0039,
    "resistance_ohm": 8000.0,
    "resistance_20_ohm": 8000.0,
    "parallel_resistance_ohm": 500e3,
    "reading_ohm": 7800.0,
    "length_m": 64e-3,
    "width_m": 4.8e-3,
    "offset_m": 1e-3,
    "turns": 5000.0,
    "overall_diameter_m": 71e-6,
    "winding_height_m": 6.4e-3,
    "packing": 1.0,
    "winding": WORKED,
    "height_m": 6.4e-3,
    "depth_m": 4e-3,
    "fill_factor": 0.6,
    "copper_kg_per_m3": 8890.0,
    "insulation_kg_per_m3": 1225.0,
    "mass_kg": 0.021,
    "resistance_a_ohm": 4100.0,
    "resistance_b_ohm": 3900.0,
    "difference_ohm": 30.0,
    "standard_uncertainty_ohm": 20.0,
}
MODULES = (wire, copper, circuit, coil, layers, window, pair)
FUNCTIONS = [
    function
    for functions in FORMULA_FUNCTIONS.values()
    for function in functions
    if function.__module__ in {module.__name__ for module in MODULES}
]
#: Where nothing or less is a value like another.
FINE_AT_ZERO = {
    (wire.awg_diameter_m, "awg"),
    (copper.to_20c, "resistance_ohm"),
    (copper.at_temperature, "resistance_20_ohm"),
    (circuit.take_out_parallel_ohm, "reading_ohm"),
    (coil.racetrack_perimeter_m, "offset_m"),
    (pair.difference_ohm, "resistance_a_ohm"),
    (pair.difference_ohm, "resistance_b_ohm"),
    (pair.normalised_error, "difference_ohm"),
}
FINE_BELOW_ZERO = {(pair.normalised_error, "difference_ohm")}


def _is_fine(function: Callable[..., object], name: str, bad: float) -> bool:
    if name == "temperature_c":
        return math.isfinite(bad)
    return (bad == 0.0 and (function, name) in FINE_AT_ZERO) or (
        bad == -1.0 and (function, name) in FINE_BELOW_ZERO
    )


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_nonsense_is_refused_by_name(function: Callable[..., object], bad: float) -> None:
    """Each argument in turn; the message holds the value and ends with a next step."""
    good = {name: GOOD[name] for name in inspect.signature(function).parameters}
    function(**good)
    for name in good:
        if name == "winding":
            continue  # its fields are tried below
        if _is_fine(function, name, bad):
            function(**good | {name: bad})
            continue
        with pytest.raises(OutOfDomain) as refusal:
            function(**good | {name: bad})
        message = str(refusal.value)
        assert f"{bad}".lstrip("-").removesuffix(".0") in message
        assert re.search(r"\. (Check|Give|Swap) [^.]+( and read again)?\.$", message), message
        assert document(function, "test").errors, "it refuses, and its docstring does not say so"


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, -math.inf])
def test_nonsense_in_a_winding_is_refused(bad: float) -> None:
    """Every field of what a coil is wound of; a stretch of nothing alone is fine."""
    for name in inspect.signature(Winding).parameters:
        if name == "stretch" and bad == 0.0:
            assert replace(WORKED, stretch=bad) == WORKED
            continue
        with pytest.raises(OutOfDomain, match=rf"{name} must be above 0|a stretch of {bad} is not"):
            replace(WORKED, **{name: bad})


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_one_bad_value_in_an_array_is_refused(bad: float) -> None:
    """An array is looked through, not only its first value."""
    many = np.array([100.0, 200.0, bad])
    with pytest.raises(OutOfDomain, match="turns must be above 0"):
        coil.coil_resistance_ohm(many, WORKED)
    with pytest.raises(OutOfDomain, match="resistance_ohm must be 0 or more"):
        copper.to_20c(many, np.full(3, 26.0))

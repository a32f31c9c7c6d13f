"""Hum left by unlike coils, and sums of two coils, beside simulation and beside each other.

That the level is 20 log10 of the difference over the sum has no published source here: it is common
practice, and the figures below are its arithmetic done by hand.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coilbook.core.formulas import hum
from coilbook.core.formulas.coil import Winding, coil_resistance_ohm
from coilbook.core.formulas.hum import (
    coils_in_parallel_ohm,
    hum_left_db,
    hum_left_interval,
    hum_left_of_imbalance_db,
    hum_left_of_turns_db,
    series_ohm,
)
from coilbook.core.formulas.pair import imbalance_percent
from coilbook.errors import OutOfDomain
from coilbook.measures.formulas import document

OHMS = st.floats(500.0, 20e3)


@given(OHMS, OHMS)
def test_hum_from_resistances_is_hum_from_their_imbalance(a: float, b: float) -> None:
    """Both ways of asking give one figure, and it does not matter which coil is which."""
    assume(abs(a - b) > 1e-3)
    left = hum_left_db(a, b)
    assert left == pytest.approx(hum_left_db(b, a))
    assert left == pytest.approx(hum_left_of_imbalance_db(imbalance_percent(a, b)), abs=1e-9)
    assert left < 0.0


def test_hum_of_uneven_coils() -> None:
    """3.5 kΩ and 4.5 kΩ leave an eighth, 20 log10(1/8) = -18.06 dB; 1 turn to 3 a half, -6.02."""
    assert hum_left_db(3500.0, 4500.0) == pytest.approx(-18.06, abs=0.005)
    assert hum_left_of_turns_db(1000.0, 3000.0) == pytest.approx(-6.02, abs=0.005)
    assert hum_left_of_imbalance_db(200.0) == 0.0


def test_equal_coils_leave_nothing() -> None:
    """At no difference at all the level is minus infinity, by each way of asking."""
    assert hum_left_db(4000.0, 4000.0) == -math.inf
    assert hum_left_of_turns_db(5000.0, 5000.0) == -math.inf
    assert hum_left_of_imbalance_db(0.0) == -math.inf


@given(st.floats(3000.0, 5500.0), st.floats(0.01, 0.15))
def test_resistance_overstates_the_hum_of_turns_by_less_than_a_decibel(
    turns: float, more: float
) -> None:
    """What the docstring says of resistance as a stand-in holds for coils of one wire."""
    winding = Winding(63.5e-6, 71e-6, 64e-3, 4.8e-3, 6.4e-3)
    resistances = [coil_resistance_ohm(n, winding) for n in (turns, turns * (1.0 + more))]
    excess = hum_left_db(*resistances) - hum_left_of_turns_db(turns, turns * (1.0 + more))
    assert 0.4 < excess < 0.9


@pytest.mark.parametrize(
    ("imbalance", "uncertainty"), [(25.0, 1.5), (3.0, 1.4), (2.0, 1.5), (0.0, 1.0), (0.4, 2.0)]
)
def test_the_interval_holds_the_share_of_draws_that_k_2_promises(
    imbalance: float, uncertainty: float
) -> None:
    """Signed imbalances drawn about the value: 95.45 % fall inside, well clear of equal coils.

    Near them draws with the other coil ahead come back into the interval, which then holds more.
    """
    draw = np.random.default_rng(20240611).normal(imbalance, uncertainty, 200_000)
    with np.errstate(divide="ignore"):
        levels = 20.0 * np.log10(np.abs(draw) / 200.0)
    left = hum_left_interval(imbalance, uncertainty)
    share = float(np.mean((left.low_db <= levels) & (levels <= left.high_db)))
    if imbalance > 5.0 * uncertainty:
        assert share == pytest.approx(0.9545, abs=0.002)
    assert share >= 0.9525
    assert math.isfinite(left.low_db) == (imbalance > 2.0 * uncertainty)


@given(st.floats(0.0, 200.0), st.floats(0.0, 60.0), st.floats(0.5, 3.0))
def test_the_interval_encloses_its_level(imbalance: float, uncertainty: float, k: float) -> None:
    """Low to high in order, none above one coil alone, and no width without uncertainty."""
    left = hum_left_interval(imbalance, uncertainty, k)
    assert left.low_db <= left.level_db <= left.high_db <= 0.0
    sure = hum_left_interval(imbalance, 0.0, k)
    assert sure.low_db == sure.level_db == sure.high_db


@given(OHMS, OHMS)
def test_sums_of_two_coils(a: float, b: float) -> None:
    """In series above either, in parallel below either; their product is that of the two."""
    series, parallel = series_ohm(a, b), coils_in_parallel_ohm(a, b)
    assert series == a + b
    assert parallel < min(a, b)
    assert series * parallel == pytest.approx(a * b)


def test_sums_of_the_trades_own_coils() -> None:
    """3.5 kΩ and 4.5 kΩ make 8.0 kΩ in series (common practice); two of 4 kΩ read 2 in parallel."""
    assert series_ohm(3500.0, 4500.0) == 8000.0
    assert coils_in_parallel_ohm(4000.0, 4000.0) == 2000.0


BAD: list[tuple[str, Callable[[float], object]]] = [
    ("turns_a", lambda bad: hum_left_of_turns_db(bad, 5000.0)),
    ("turns_b", lambda bad: hum_left_of_turns_db(5000.0, bad)),
    ("resistance_a_ohm", lambda bad: hum_left_db(bad, 4000.0)),
    ("resistance_b_ohm", lambda bad: hum_left_db(4000.0, bad)),
    ("imbalance_percent", hum_left_of_imbalance_db),
    ("imbalance_percent", lambda bad: hum_left_interval(bad, 1.0)),
    ("standard_uncertainty_percent", lambda bad: hum_left_interval(10.0, bad)),
    ("coverage_factor", lambda bad: hum_left_interval(10.0, 1.0, bad)),
    ("resistance_a_ohm", lambda bad: series_ohm(bad, 4000.0)),
    ("resistance_b_ohm", lambda bad: series_ohm(4000.0, bad)),
    ("resistance_a_ohm", lambda bad: coils_in_parallel_ohm(bad, 4000.0)),
    ("resistance_b_ohm", lambda bad: coils_in_parallel_ohm(4000.0, bad)),
]


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
@pytest.mark.parametrize(("name", "call"), BAD)
def test_nonsense_is_refused_by_name(
    name: str, call: Callable[[float], object], bad: float
) -> None:
    """What is negative, infinite or no number is refused by the argument's name."""
    with pytest.raises(OutOfDomain, match=rf"^{name} must be"):
        call(bad)


def test_every_function_is_documented_for_the_methods_page() -> None:
    """Formula, arguments in the code's order with units, result, validity and source."""
    functions = [
        function
        for name, function in inspect.getmembers(hum, inspect.isfunction)
        if function.__module__ == hum.__name__ and not name.startswith("_")
    ]
    assert len(functions) == 7
    for function in functions:
        arguments = [argument.name for argument in document(function, "pair").arguments]
        assert arguments == list(inspect.signature(function).parameters)

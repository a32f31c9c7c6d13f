"""Draws through whole formulas (JCGM 101), the columns of an archive, and what each refuses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from scipy import stats

from coilbook.core.budgets.uncertainty import (
    Contribution,
    Correlation,
    Estimate,
    standard_uncertainty_of_mean,
)
from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.errors import OutOfDomain
from coilbook.measures.checks import resistance_draws, result_checks
from coilbook.measures.columns import ResistanceColumns, columns_of, reduce_columns
from coilbook.measures.expansion import coverage_factor
from coilbook.measures.monte_carlo import (
    compare,
    correlated_draws,
    draw_input,
    drawn_result,
    meaningful_tolerance,
    propagate,
    standard_draws,
)

#: scipy's distribution of mean 0 and standard deviation 1 for each shape.
SHAPES = {
    "normal": stats.norm(),
    "rectangular": stats.uniform(-math.sqrt(3.0), 2.0 * math.sqrt(3.0)),
    "triangular": stats.triang(0.5, -math.sqrt(6.0), 2.0 * math.sqrt(6.0)),
    "arcsine": stats.arcsine(-math.sqrt(2.0), 2.0 * math.sqrt(2.0)),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_draws_have_the_shape_they_name(shape: str) -> None:
    """Kolmogorov and Smirnov against scipy's distribution: sliced draws stand closer than 1/n."""
    draws = standard_draws("any input", shape)
    assert stats.kstest(draws, SHAPES[shape].cdf).statistic <= 1.01 / len(draws)
    assert float(np.std(draws)) == pytest.approx(1.0, rel=2e-3)


def test_few_degrees_of_freedom_draw_wider() -> None:
    """JCGM 101, 6.4.9.7: with 5 degrees of freedom the t-distribution, beside scipy's."""
    draws = standard_draws("few readings", "normal", 5.0)
    assert stats.kstest(draws, stats.t(5.0).cdf).statistic <= 1.01 / len(draws)


def test_inputs_of_two_names_vary_apart_and_of_one_name_together() -> None:
    """The name is the input: its draws repeat, and another's do not follow them."""
    first = draw_input(Contribution("a", 1.0, 0.5, 1.0, "1"))
    assert np.array_equal(first, draw_input(Contribution("a", 1.0, 0.5, 9.0, "1")))
    other = draw_input(Contribution("b", 1.0, 0.5, 1.0, "1"))
    apart = draw_input(Contribution("a", 1.0, 0.5, 1.0, "1"), key="coil_b")
    # A correlation of 10,000 independent pairs has a standard error of 0.01.
    for beside in (other, apart):
        assert abs(float(np.corrcoef(first, beside)[0, 1])) < 0.05


@settings(deadline=None, max_examples=25)
@given(r=st.floats(-0.9, 0.9))
def test_correlated_draws_vary_together_as_told(r: float) -> None:
    """The matrix comes back out of the draws, and their sum spreads as the law says."""
    lines = [Contribution("a", 5.0, 0.3, 1.0, "1"), Contribution("b", -2.0, 0.7, 1.0, "1")]
    a, b = correlated_draws(lines, np.array([[1.0, r], [r, 1.0]]))
    assert float(np.corrcoef(a, b)[0, 1]) == pytest.approx(r, abs=0.05)
    law = Estimate(3.0, tuple(lines), (Correlation(0, 1, r),)).standard_uncertainty
    assert float(np.std(a + b)) == pytest.approx(law, rel=0.03)


def test_a_straight_line_is_found_to_be_one() -> None:
    """Two normal inputs added: the drawn interval is the budget's, mean and shortest too."""
    budget = (Contribution("a", 3.0, 0.2, 1.0, "1"), Contribution("b", 4.0, 0.1, 2.0, "1"))
    drawn = propagate(lambda x: x["a"] + 2.0 * x["b"], budget)
    beside = compare(11.0, Estimate(11.0, budget).standard_uncertainty, drawn)
    assert beside.agrees
    assert drawn.mean == pytest.approx(11.0, abs=0.001)
    assert drawn.shortest == pytest.approx((drawn.low, drawn.high), abs=0.05)


def test_a_curve_is_found_to_be_one() -> None:
    """Y = x² of x = 0.1 ± 1: chi-square with one degree of freedom, beside scipy's.

    The straight line gives 0.01 ± 0.4 and is found out; the drawn interval is scipy's.
    """
    drawn = propagate(lambda x: x["x"] ** 2, [Contribution("x", 0.1, 1.0, 0.2, "1")])
    assert not compare(0.01, 0.2, drawn).agrees
    shifted = stats.ncx2(1, 0.1**2)
    assert drawn.low == pytest.approx(float(shifted.ppf(0.025)), abs=0.001)
    assert drawn.high == pytest.approx(float(shifted.ppf(0.975)), rel=0.02)
    # Its shortest interval begins where there is most of it, at nothing.
    assert drawn.shortest[0] == pytest.approx(0.0, abs=1e-6)
    assert drawn.shortest[1] < drawn.high


@given(u=st.floats(1e-9, 1e9), digits=st.integers(1, 3))
def test_tolerance_is_half_the_last_printed_digit(u: float, digits: int) -> None:
    """JCGM 101, 7.9.2, beside numpy's printing of the number with so many digits."""
    exponent = int(np.format_float_scientific(u, digits - 1, unique=False).split("e")[1])
    step = 10.0 ** (exponent - digits + 1)
    assert meaningful_tolerance(u, digits) == pytest.approx(step / 2.0)


def test_tolerance_as_the_supplement_works_it() -> None:
    """JCGM 101, 7.9.2, its own examples from memory: 0.35 g gives 0.005, 1 K with one digit 0.5."""
    assert meaningful_tolerance(0.35, 2) == pytest.approx(0.005)
    assert meaningful_tolerance(2.0, 1) == pytest.approx(0.5)
    assert meaningful_tolerance(0.0) == 0.0


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: standard_draws("x", "gamma"), "no shape that can be drawn"),
        (lambda: drawn_result(np.zeros(50)), "50 draws"),
        (lambda: drawn_result(np.full(500, np.nan)), "no number"),
        (lambda: drawn_result(np.zeros(500), level=1.0), "level must lie"),
        (lambda: propagate(lambda x: x["a"], [Contribution("a", 0, 1, 1, "1")] * 2), "two lines"),
        (lambda: meaningful_tolerance(1.0, 0), "digits must be 1"),
        (lambda: meaningful_tolerance(-1.0), "standard_uncertainty"),
        (lambda: coverage_factor(95.0), "level must lie"),
        (lambda: coverage_factor(0.95, 0.0), "degrees_of_freedom"),
        (lambda: standard_uncertainty_of_mean([1.0]), "two or more"),
        (lambda: Estimate(0.0, (), (Correlation(0, 1, 0.5),)), "budget of 0"),
        (
            lambda: Estimate(0.0, (Contribution("a", 0, 1, 1, "1"),) * 2, (Correlation(0, 1, 2),)),
            "from -1 to 1",
        ),
        (
            lambda: correlated_draws([Contribution("a", 0, 1, 1, "1")] * 2, np.eye(3)),
            "no matrix of correlations",
        ),
        (
            lambda: correlated_draws(
                [Contribution(n, 0, 1, 1, "1") for n in "abc"],
                np.array([[1, 0.9, 0.9], [0.9, 1, -0.9], [0.9, -0.9, 1.0]]),
            ),
            "positive definite",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused(call: object, said: str) -> None:
    """Each mistake is named; nothing comes back as if it were a result."""
    assert callable(call)
    with pytest.raises(OutOfDomain, match=said):
        call()


def test_correlations_that_cannot_all_be_true_are_refused() -> None:
    """Three inputs, each pair against the other, take the variance below nothing."""
    lines = tuple(Contribution(n, 0.0, 1.0, 1.0, "1") for n in "abc")
    pairs = tuple(Correlation(i, j, -1.0) for i, j in ((0, 1), (0, 2), (1, 2)))
    with pytest.raises(OutOfDomain, match="cannot all be true"):
        _ = Estimate(0.0, lines, pairs).standard_uncertainty


# --- a piece -------------------------------------------------------------------------------------


def _two_coils(a: float, b: float, **more: object) -> object:
    return measure_piece(
        piece(
            reading(a, component="coil_a", line=2, instrument=meter(0.5, 2.0), **more),
            reading(b, component="coil_b", line=3, instrument=meter(0.5, 2.0), **more),
        ),
        REFERENCE,
    )


def test_equal_coils_have_no_straight_line() -> None:
    """An imbalance near nothing is folded at 0: the line reaches below it, the draws do not."""
    checks = {c.property_id: c for c in result_checks(_two_coils(4.0, 4.0004), REFERENCE)}
    imbalance = checks["coil-imbalance"].comparison
    assert imbalance.linear_low < 0.0 <= imbalance.drawn.low
    assert not imbalance.agrees


def test_unlike_coils_are_not_folded() -> None:
    """Coils 20 % apart: the draws lie about the value on both sides, and hold less than a bell.

    Two flat limits make a triangle: its 95 % are 3.80 spreads wide, a normal distribution's 3.92.
    """
    checks = {c.property_id: c for c in result_checks(_two_coils(3.6, 4.4), REFERENCE)}
    imbalance = checks["coil-imbalance"].comparison
    assert imbalance.drawn.mean == pytest.approx(20.0, abs=0.02)
    wide = (imbalance.drawn.high - imbalance.drawn.low) / imbalance.drawn.standard_uncertainty
    assert 3.75 < wide < 3.9


@settings(deadline=None, max_examples=20)
@given(
    kohm=st.floats(2.0, 12.0),
    path_kohm=st.floats(100.0, 1000.0),
    temperature_c=st.floats(10.0, 32.0),
)
def test_draws_of_a_resistance_beside_plain_draws(
    kohm: float, path_kohm: float, temperature_c: float
) -> None:
    """A reading in circuit drawn input by input with numpy alone, by the textbook formulas.

    Both sets' means and spreads are good to about 1 % of the spread.
    """
    made = reading(
        kohm,
        circuit="in_circuit",
        parallel_ohm=path_kohm * 1e3,
        parallel_tolerance=20.0,
        temperature_c=temperature_c,
        half_width_k=2.0,
        instrument=meter(0.5, 2.0),
    )
    ours = resistance_draws(reduce_reading(made))
    draw = np.random.default_rng(7)

    def flat(at: float, half: float) -> np.ndarray:
        return draw.uniform(at - half, at + half, 100_000)

    seen = flat(kohm, 0.005 * kohm + 0.02)
    path = flat(path_kohm, 0.2 * path_kohm)
    factor = 1.0 + flat(0.00393, 0.0000393) * (flat(temperature_c, 2.0) - 20.0)
    theirs = 1.0 / (1.0 / seen - 1.0 / path) / factor
    spread = float(np.std(theirs))
    assert float(np.mean(ours)) == pytest.approx(float(np.mean(theirs)), abs=0.03 * spread)
    assert float(np.std(ours)) == pytest.approx(spread, rel=0.03)


# --- columns -------------------------------------------------------------------------------------


@settings(max_examples=60)
@given(
    rows=st.lists(
        st.tuples(
            st.floats(0.1, 30.0),
            st.floats(0.0, 2.0),
            st.floats(0.0, 5.0),
            st.floats(-10.0, 40.0),
            st.floats(0.0, 5.0),
            st.one_of(st.none(), st.floats(50.0, 1000.0)),
            st.floats(0.0, 30.0),
            st.one_of(st.none(), st.floats(1.0, 10.0)),
            st.floats(0.0, 2.0),
        ),
        min_size=1,
        max_size=8,
    )
)
def test_columns_tell_what_single_readings_do(rows: list[tuple[float, ...]]) -> None:
    """An archive at once and its readings one by one: value and standard uncertainty to 1e-9."""
    readings = [
        replace(
            reading(
                kohm,
                instrument=meter(percent, digits),
                temperature_c=celsius,
                half_width_k=half,
                circuit="in_circuit" if path else "free",
                parallel_ohm=path * 1e3 if path else None,
                parallel_tolerance=tolerance,
            ),
            input_resistance_ohm=meter_megohm * 1e6 if meter_megohm else None,
            lead_resistance_ohm=lead_ohm,
        )
        for (
            kohm,
            percent,
            digits,
            celsius,
            half,
            path,
            tolerance,
            meter_megohm,
            lead_ohm,
        ) in rows
    ]
    out = reduce_columns(columns_of(readings))
    for each, ohm, u, bound in zip(
        readings, out.resistance_ohm, out.standard_uncertainty_ohm, out.bound, strict=True
    ):
        alone = reduce_reading(each)
        assert alone.value is not None
        assert alone.standard_uncertainty is not None
        assert ohm == pytest.approx(alone.value * 1e3, rel=1e-9)
        assert u == pytest.approx(alone.standard_uncertainty * 1e3, rel=1e-9)
        assert not bound


def test_a_reading_above_its_path_is_a_bound_in_a_column_too() -> None:
    """600 kΩ read across 500 kΩ: kept as it is, marked, and the rows beside it are as ever."""
    readings = [reading(kohm, circuit="in_circuit", parallel_ohm=500e3) for kohm in (600.0, 8.0)]
    out = reduce_columns(columns_of(readings))
    assert out.bound.tolist() == [True, False]
    assert out.resistance_ohm[0] == pytest.approx(600e3)
    assert out.resistance_ohm[1] == pytest.approx(1.0 / (1.0 / 8e3 - 1.0 / 500e3))


def test_what_is_no_column_is_refused() -> None:
    """An open circuit has no number, and columns of unlike length no rows."""
    with pytest.raises(OutOfDomain, match=r"readings\.csv:2"):
        columns_of([reading(None, qualifier="open")])
    one, two = np.ones(1), np.ones(2)
    with pytest.raises(OutOfDomain, match="lengths"):
        ResistanceColumns(one, one, one, one, one, one, one, two)
    with pytest.raises(OutOfDomain, match="reading_ohm"):
        reduce_columns(ResistanceColumns(-one, one, one, one, one, one, one, one))

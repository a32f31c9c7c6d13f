"""Sums of two coils beside the uncertainties library and a circuit solved by numpy."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from uncertainties import correlated_values, ufloat

from coilbook.core.formulas.hum import partly_split_ohm
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.piece import measure_piece
from coilbook.errors import OutOfDomain
from coilbook.measures.pair_sums import (
    EXAMPLE_SHUNTS_OHM,
    SHUNT,
    SHUNT_TOLERANCE_PERCENT,
    coil_sums,
)

OHMS = st.floats(300.0, 20e3)


def _coils(a_kohm: float, b_kohm: float, *, one_meter: bool) -> MeasuredPiece:
    meters = (meter(), meter() if one_meter else meter(instrument_id="meter-2"))
    dates = ("2026-03-14", "2026-03-14" if one_meter else "2026-03-15")
    return measure_piece(
        piece(
            *(
                reading(value, component=part, instrument=m, date=day, temperature_c=25.0, line=i)
                for i, (value, part, m, day) in enumerate(
                    zip((a_kohm, b_kohm), ("coil_a", "coil_b"), meters, dates, strict=True), 2
                )
            )
        ),
        REFERENCE,
    )


@given(OHMS, OHMS, OHMS)
def test_a_partial_split_is_what_the_nodes_of_the_circuit_say(a: float, b: float, s: float) -> None:
    """1 mA through the solved conductance matrix: an independent way to the same resistance."""
    conductance = np.array([[1 / a, -1 / a], [-1 / a, 1 / a + 1 / b + 1 / s]])
    volts = np.linalg.solve(conductance, [1e-3, 0.0])
    assert partly_split_ohm(a, b, s) == pytest.approx(volts[0] / 1e-3, rel=1e-9)
    assert a < partly_split_ohm(a, b, s) < a + b


@pytest.mark.parametrize("one_meter", [True, False])
def test_sums_have_the_uncertainty_that_the_library_gives(one_meter: bool) -> None:
    """Two coils whose covariance is built from their shared inputs go through the formulas.

    With one meter and day the shared inputs are one; else the coils share only the coefficient of
    copper. The library propagates with the correlation, ours adds shared effects by name.
    """
    measured = _coils(3.6, 4.3, one_meter=one_meter)
    a, b = (measured.best[part, "coil-resistance"] for part in ("coil_a", "coil_b"))
    shared = {"temperature coefficient of copper"}
    if one_meter:
        shared |= {"instrument, percent of reading", "temperature of the coil"}
    effects = [
        {line.name: line.sensitivity * line.standard_uncertainty for line in coil.budget}
        for coil in (a, b)
    ]
    cross = sum(effects[0][name] * effects[1][name] for name in shared)
    variances = [sum(e * e for e in one.values()) for one in effects]
    ra, rb = correlated_values([a.value, b.value], [[variances[0], cross], [cross, variances[1]]])
    expected = [ra + rb, ra * rb / (ra + rb), ra, rb]
    for shunt in EXAMPLE_SHUNTS_OHM:
        k = shunt / 1000.0
        rs = ufloat(k, k * SHUNT_TOLERANCE_PERCENT / 100.0 / 3**0.5)
        expected.append(ra + rb * rs / (rb + rs))
    found = coil_sums(measured)
    assert [s.way for s in found] == ["series", "parallel", "coil_a", "coil_b"] + 2 * [
        "partly_split"
    ]
    for ours, theirs in zip(found, expected, strict=True):
        assert ours.estimate.value == pytest.approx(theirs.n, rel=1e-12)
        assert ours.estimate.standard_uncertainty == pytest.approx(theirs.s, rel=1e-6)
    assert any(c.name == SHUNT for c in found[-1].estimate.contributions)


def test_the_series_sum_is_the_derived_pair() -> None:
    """Where the pair was not read, measures derives it from the coils: the same figure."""
    measured = _coils(3.6, 4.3, one_meter=True)
    pair = measured.best["pair", "pair-resistance"]
    series = coil_sums(measured)[0].estimate
    assert (series.value, series.standard_uncertainty) == pytest.approx(
        (pair.value, pair.standard_uncertainty)
    )


ODD = [
    (),
    (reading(3.6, component="coil_a"),),
    (reading(3.6, component="coil_a"), reading(0.0, component="coil_b", line=3)),
    (reading(3.6, component="coil_a"), reading(None, component="coil_b", qualifier="open", line=3)),
    (reading(3.6, component="coil_a"), reading(4.0, component="coil_b", qualifier=">", line=3)),
    (
        reading(3.6, component="coil_a"),
        reading(4.0, component="coil_b", circuit="in_circuit", line=3),
    ),
]


@pytest.mark.parametrize("readings", ODD)
def test_a_coil_that_is_no_number_has_no_sums(readings: tuple[object, ...]) -> None:
    """Missing, nothing, open, a bound, in an unknown circuit: no sum, and nothing is raised."""
    assert coil_sums(measure_piece(piece(*readings), REFERENCE)) == ()


@pytest.mark.parametrize(
    "bad", list(itertools.product((3000.0, 0.0, -1.0, float("inf")), repeat=3))
)
def test_a_partial_split_of_nonsense_is_refused(bad: tuple[float, float, float]) -> None:
    """Anything that is not a resistance above 0 is refused."""
    if bad == (3000.0, 3000.0, 3000.0):
        assert partly_split_ohm(*bad) == 4500.0
        return
    with pytest.raises(OutOfDomain):
        partly_split_ohm(*bad)

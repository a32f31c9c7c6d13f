"""Conformance probabilities against published values, scipy, a simulation and their laws."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from coilbook.core.judging.conformity import conformance
from coilbook.errors import OutOfDomain

PUBLISHED: list[dict[str, Any]] = tomllib.loads(
    Path(__file__).with_name("published_conformity.toml").read_text(encoding="utf-8")
)["conformance"]

values = st.floats(-100.0, 100.0)
uncertainties = st.floats(1e-3, 50.0)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"{row['source']}, {row['locator']}")
def test_probabilities_meet_values_from_outside(row: dict[str, Any]) -> None:
    """The digits are those of the source that the file names."""
    found = conformance(
        row["value"], row["standard_uncertainty"], low=row.get("low"), high=row.get("high")
    )
    exponent = Decimal(row["expected"]).as_tuple().exponent
    assert isinstance(exponent, int)
    assert found.within == pytest.approx(float(row["expected"]), abs=0.5 * 10.0**exponent)


@given(value=values, u=uncertainties, low=values, width=st.floats(0.0, 100.0))
def test_two_sided_agrees_with_another_library(
    value: float, u: float, low: float, width: float
) -> None:
    """All three probabilities are those of scipy's normal distribution."""
    high = low + width
    found = conformance(value, u, low=low, high=high)
    assert found.below == pytest.approx(norm.cdf(low, value, u), abs=1e-12)
    assert found.above == pytest.approx(norm.sf(high, value, u), abs=1e-12)
    expected = norm.cdf(high, value, u) - norm.cdf(low, value, u)
    assert found.within == pytest.approx(expected, abs=1e-12)


@given(value=values, u=uncertainties, limit=values)
def test_one_sided_agrees_with_another_library(value: float, u: float, limit: float) -> None:
    """One limit takes one tail of scipy's normal distribution, to a relative 1e-9 far out."""
    lower, upper = conformance(value, u, low=limit), conformance(value, u, high=limit)
    assert lower.within == pytest.approx(norm.sf(limit, value, u), rel=1e-9, abs=1e-300)
    assert upper.within == pytest.approx(norm.cdf(limit, value, u), rel=1e-9, abs=1e-300)
    assert lower.above == upper.below == 0.0


@given(value=values, u=st.one_of(st.just(0.0), uncertainties), low=values, width=st.floats(0, 99))
def test_probabilities_are_probabilities(value: float, u: float, low: float, width: float) -> None:
    """They lie within 0 and 1 and sum to 1, and a mirrored question has the mirrored answer."""
    found = conformance(value, u, low=low, high=low + width)
    parts = (found.below, found.within, found.above)
    assert all(0.0 <= part <= 1.0 for part in parts)
    assert sum(parts) == pytest.approx(1.0, abs=1e-12)
    mirrored = conformance(-value, u, low=-low - width, high=-low)
    assert (mirrored.above, mirrored.below) == (found.below, found.above)
    assert mirrored.within == pytest.approx(found.within, abs=1e-12)


@given(value=values, u=uncertainties, low=values, width=st.floats(0, 99), more=st.floats(0, 99))
def test_a_wider_range_is_never_less_probable(
    value: float, u: float, low: float, width: float, more: float
) -> None:
    """Widening a range can only raise the conformance probability."""
    narrow = conformance(value, u, low=low, high=low + width)
    wide = conformance(value, u, low=low - more, high=low + width + more)
    assert wide.within >= narrow.within - 1e-12


def test_no_uncertainty_is_a_sharp_comparison() -> None:
    """With u = 0 the probability is 1 within the range and on its limits, 0 elsewhere."""
    found = {y: conformance(y, 0.0, low=7.5, high=9.0) for y in (7.4, 7.5, 8.0, 9.0, 9.1)}
    assert [f.within for f in found.values()] == [0.0, 1.0, 1.0, 1.0, 0.0]
    assert [f.below for f in found.values()] == [1.0, 0.0, 0.0, 0.0, 0.0]
    assert [f.above for f in found.values()] == [0.0, 0.0, 0.0, 0.0, 1.0]
    assert conformance(1.0, 0.0, high=1.0).within == 1.0
    assert conformance(1.0, 0.0, low=1.0).within == 1.0
    assert conformance(0.9, 0.0, low=1.0).below == 1.0


def test_a_small_probability_keeps_its_digits() -> None:
    """Far outside, on either side, the probability is scipy's to 9 digits and not rounded to 0."""
    expected = norm.sf(8.0) - norm.sf(9.0)
    assert conformance(0.0, 1.0, low=8.0, high=9.0).within == pytest.approx(expected, rel=1e-9)
    assert conformance(17.0, 1.0, low=8.0, high=9.0).within == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "u", "low", "high"),
    [(8.05, 0.2, 7.5, 9.0), (9.1, 0.2, 7.5, 9.0), (7.5, 1.0, 7.5, 9.0), (8.0, 0.3, None, 8.2)],
)
def test_a_simulation_finds_the_same_share(
    value: float, u: float, low: float | None, high: float | None
) -> None:
    """Of 200 000 simulated true values the share in the range is the stated probability."""
    true_values = np.random.default_rng(106).normal(value, u, 200_000)
    inside = (true_values >= (-np.inf if low is None else low)) & (
        true_values <= (np.inf if high is None else high)
    )
    p = conformance(value, u, low=low, high=high).within
    assert abs(inside.mean() - p) < 4.0 * np.sqrt(p * (1.0 - p) / true_values.size)


def test_bad_input_is_told() -> None:
    """No limit, a range upside down, an uncertainty below 0, and what is no number."""
    with pytest.raises(OutOfDomain, match="No limit"):
        conformance(8.0, 0.1)
    with pytest.raises(OutOfDomain, match="Swap its ends"):
        conformance(8.0, 0.1, low=9.0, high=7.5)
    with pytest.raises(OutOfDomain, match="uncertainty of 0 or more"):
        conformance(8.0, -0.1, low=7.5)
    with pytest.raises(OutOfDomain, match="finite numbers"):
        conformance(float("nan"), 0.1, low=7.5)
    with pytest.raises(OutOfDomain, match="finite numbers"):
        conformance(8.0, 0.1, low=7.5, high=float("inf"))

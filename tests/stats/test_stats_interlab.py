"""Repeatability and reproducibility: NIST's certified values, another library, simulation."""

from __future__ import annotations

import csv
import math
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from coilbook.errors import OutOfDomain
from coilbook.stats.interlab import lab_consistency, precision

HERE = Path(__file__).parent
PUBLISHED: dict[str, list[dict[str, Any]]] = tomllib.loads(
    (HERE / "published_stats.toml").read_text(encoding="utf-8")
)


def silicon() -> dict[str, list[float]]:
    """Return NIST StRD's SiRstv: silicon's resistance, five instruments, five readings each.

    The numbers alone, of Ehrstein and Croarkin's data set in NIST/ITL's Statistical Reference
    Datasets (a work of the United States government, in the public domain).
    """
    found: dict[str, list[float]] = {}
    with (HERE / "nist_sirstv.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            found.setdefault(row["instrument"], []).append(float(row["resistance"]))
    return found


def right_digits(found: float | None, certified: float) -> float:
    """Return how many leading digits agree (the log relative error that NIST uses)."""
    assert found is not None
    return 15.0 if found == certified else -math.log10(abs(found - certified) / certified)


def test_nist_s_certified_values_are_met() -> None:
    """NIST StRD SiRstv, certified values (read in the file that travels with scipy): 10 digits."""
    found = precision([silicon()])
    assert (found.levels, found.labs, found.readings) == (1, 5, 25)
    assert (found.degrees_between, found.degrees_within) == (4, 20)
    assert right_digits(found.f, 1.18046237440255) >= 10
    assert right_digits(found.repeatability_sd, 0.104076068334656) >= 10
    assert right_digits(found.sum_squares_between, 5.11462616000000e-02) >= 10
    assert right_digits(found.sum_squares_within, 2.16636560000000e-01) >= 10


def test_the_certified_digits_survive_a_large_offset() -> None:
    """The same readings with a million added: what a one-pass sum of squares loses is kept.

    The readings have four decimals, so that the sum is exact to 1e-10 of a reading in a double.
    """
    moved = {lab: [value + 1e6 for value in read] for lab, read in silicon().items()}
    found = precision([moved])
    assert right_digits(found.f, 1.18046237440255) >= 7
    everything = np.array([value for read in moved.values() for value in read])
    naive = float((everything**2).sum() - everything.sum() ** 2 / 25)
    total = 5.11462616e-02 + 2.16636560e-01
    assert abs(naive - total) / total > 1e-6
    assert found.sum_squares_between + found.sum_squares_within == pytest.approx(total, rel=1e-7)


labs = st.lists(
    st.lists(st.integers(0, 50).map(float), min_size=2, max_size=6), min_size=2, max_size=6
)


@given(read=labs)
def test_one_level_is_the_one_way_analysis_of_another_library(read: list[list[float]]) -> None:
    """The f_oneway of scipy gives the same F and p, for any number of readings of each lab."""
    found = precision([{str(i): values for i, values in enumerate(read)}])
    if found.repeatability_sd == 0.0:
        assert (found.f, found.p_value) == (None, None)
        return
    expected = scipy_stats.f_oneway(*read)
    assume(expected.statistic >= 0.0)  # its differences of sums may come out just below 0
    assert found.f == pytest.approx(float(expected.statistic), rel=1e-9, abs=1e-12)
    assert found.p_value == pytest.approx(float(expected.pvalue), rel=1e-9, abs=1e-12)


def test_unbalanced_trials_use_the_standard_s_mean_number() -> None:
    """ISO 5725-2, 7.4.5.3 (recalled), by hand: 2, 3 and 4 readings of three labs.

    Sums: within 0.5 + 2 + 5 = 7.5 on 6; means 1.5, 5, 8.5; grand mean 52/9;
    n0 = (9 - 29/9) / 2 = 26/9.
    """
    level = {"a": [1.0, 2.0], "b": [4.0, 5.0, 6.0], "c": [7.0, 8.0, 9.0, 10.0]}
    found = precision([level])
    between = 2 * (1.5 - 52 / 9) ** 2 + 3 * (5 - 52 / 9) ** 2 + 4 * (8.5 - 52 / 9) ** 2
    assert found.sum_squares_within == pytest.approx(7.5)
    assert found.sum_squares_between == pytest.approx(between)
    assert found.readings_per_lab == pytest.approx(26 / 9)
    lab_squared = (between / 2 - 1.25) / (26 / 9)
    assert found.between_labs_sd == pytest.approx(math.sqrt(lab_squared))
    assert found.reproducibility_sd == pytest.approx(math.sqrt(lab_squared + 1.25))


def test_levels_are_pooled_and_their_own_sizes_do_not_count() -> None:
    """A level ten times as large, read alike, changes no spread; its degrees of freedom add."""
    level = {"a": [1.0, 2.0], "b": [4.0, 5.5]}
    other = {lab: [value + 100.0 for value in read] for lab, read in level.items()}
    one, two = precision([level]), precision([level, other])
    assert (two.levels, two.labs, two.readings) == (2, 2, 8)
    assert (two.degrees_between, two.degrees_within) == (2, 4)
    assert two.repeatability_sd == pytest.approx(one.repeatability_sd)
    assert two.between_labs_sd == pytest.approx(one.between_labs_sd)
    assert two.f == pytest.approx(one.f)


def test_what_readings_cannot_tell_is_none() -> None:
    """One lab tells repeatability alone; single readings of two labs, reproducibility alone."""
    alone = precision([{"a": [1.0, 2.0]}, {"a": [4.0, 5.0], "b": []}])
    assert alone.repeatability_sd == pytest.approx(math.sqrt(0.5))
    assert (alone.f, alone.between_labs_sd, alone.reproducibility_sd) == (None, None, None)
    single = precision([{"a": [1.0], "b": [2.0]}, {"a": [4.0], "b": [6.0]}])
    assert (single.repeatability_sd, single.between_labs_sd, single.f) == (None, None, None)
    assert single.reproducibility_sd == pytest.approx(math.sqrt((0.5 + 2.0) / 2))
    assert single.reproducibility_degrees == 2.0


def test_labs_closer_than_chance_count_as_alike() -> None:
    """A negative between-lab variance is set to 0, as the standard says, and flagged."""
    found = precision([{"a": [1.0, 3.0], "b": [1.1, 2.9]}])
    assert found.between_truncated
    assert found.between_labs_sd == 0.0
    assert found.reproducibility_sd == found.repeatability_sd
    assert found.reproducibility_degrees == 2.0


def test_the_parts_of_the_spread_come_back_from_a_simulation() -> None:
    """3000 trials of 6 labs with 1 to 4 readings each: s_r² and s_L² average what was put in.

    s_r = 0.3, s_L = 0.5; F exceeds its 5 % limit in 5 % of trials without a difference.
    """
    draw = np.random.default_rng(20260314)
    sizes = [1, 2, 2, 3, 4, 4]
    repeat, between, alarms = [], [], 0
    for _ in range(3000):
        offsets = draw.normal(0.0, 0.5, 6)
        noise = [draw.normal(0.0, 0.3, size) for size in sizes]
        found = precision([{str(i): list(x + offsets[i] + 8.0) for i, x in enumerate(noise)}])
        assert found.repeatability_sd is not None
        assert found.readings_per_lab is not None
        repeat.append(found.repeatability_sd**2)
        mean_square = found.sum_squares_between / found.degrees_between
        between.append((mean_square - found.repeatability_sd**2) / found.readings_per_lab)
        alike = precision([{str(i): list(x) for i, x in enumerate(noise)}])
        assert alike.p_value is not None
        alarms += alike.p_value < 0.05
    assert np.mean(repeat) == pytest.approx(0.09, rel=0.03)
    assert np.mean(between) == pytest.approx(0.25, rel=0.06)
    assert alarms / 3000 == pytest.approx(0.05, abs=4.0 * math.sqrt(0.05 * 0.95 / 3000))


@pytest.mark.parametrize("row", PUBLISHED["mandel"])
def test_limits_of_consistency_meet_the_standard(row: dict[str, Any]) -> None:
    """Mandel's h and k, at 5 % and 1 %, have the digits of ISO 5725-2's tables (recalled)."""
    level = {str(i): [1.0 * i, 1.0 * i + 1.0] for i in range(row["labs"])}
    first = lab_consistency(level)[0]
    assert first.k_limits is not None
    pairs = [*zip(first.h_limits, row["h"], strict=True)]
    pairs += zip(first.k_limits, row["k"], strict=True) if row["k"] else []
    for found, printed in pairs:
        exponent = Decimal(printed).as_tuple().exponent
        assert isinstance(exponent, int)
        assert found == pytest.approx(float(printed), abs=0.5 * 10.0**exponent)


def test_consistency_statistics_are_their_definition() -> None:
    """Mandel's h is scipy's z-score of the mean; squares of k average 1 over labs that repeat."""
    found = lab_consistency(silicon())
    means = [np.mean(read) for read in silicon().values()]
    assert [lab.h for lab in found] == pytest.approx(list(scipy_stats.zscore(means, ddof=1)))
    assert np.mean([lab.k**2 for lab in found if lab.k is not None]) == pytest.approx(1.0)
    once = lab_consistency({"a": [1.0], "b": [2.0, 3.0], "c": [2.0, 2.5]})[0]
    assert (once.sd, once.k, once.k_limits) == (None, None, None)


def test_consistency_limits_are_exceeded_as_often_as_they_say() -> None:
    """20 000 balanced trials of 5 labs: one lab's h and k pass their 5 % limits in 5 %."""
    draws = np.random.default_rng(20260314).normal(size=(20_000, 5, 2))
    limits = lab_consistency({str(i): [0.0, 1.0 + i] for i in range(5)})[0]
    assert limits.k_limits is not None
    means, spreads = draws.mean(axis=2), draws.var(axis=2, ddof=1)
    h = (means[:, 0] - means.mean(axis=1)) / means.std(axis=1, ddof=1)
    k = np.sqrt(spreads[:, 0] / spreads.mean(axis=1))
    slack = 4.0 * math.sqrt(0.05 * 0.95 / len(draws))
    assert (np.abs(h) > limits.h_limits[0]).mean() == pytest.approx(0.05, abs=slack)
    assert (k > limits.k_limits[0]).mean() == pytest.approx(0.05, abs=slack)


def test_bad_input_is_told() -> None:
    """Nothing read twice, something that is no number, two labs."""
    with pytest.raises(OutOfDomain, match="No two readings"):
        precision([{"a": [1.0]}, {"b": [2.0]}])
    with pytest.raises(OutOfDomain, match="not a number"):
        precision([{"a": [1.0, float("nan")]}])
    with pytest.raises(OutOfDomain, match="needs three"):
        lab_consistency({"a": [1.0], "b": [2.0], "c": []})
    with pytest.raises(OutOfDomain, match="not a number"):
        lab_consistency({"a": [1.0], "b": [2.0], "c": [float("inf")]})

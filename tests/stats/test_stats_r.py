"""Statistics against R, in one call of it: quantiles, spreads, factors, Kendall, one-way analysis.

R's base functions share no code with numpy, scipy or this project.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from typing import Any

import numpy as np
import pytest

from coilbook.stats.interlab import lab_consistency, precision
from coilbook.stats.intervals import quantile_ranks
from coilbook.stats.quantiles import quantiles
from coilbook.stats.robust import critical_deviate, median_absolute_deviation
from coilbook.stats.tolerance import normal_factor, normal_factor_one_sided
from coilbook.stats.trends import trend

SIZES = (2, 3, 8, 20, 92, 200)
PROBABILITIES = (0.01, 0.1, 0.25, 0.5, 0.9, 0.99)

#: Prints one line for each check: its name, then its numbers with 17 digits.
PROGRAM = """
say <- function(name, x) cat(name, sprintf("%.17g", x), "\\n")
p <- c(0.01, 0.1, 0.25, 0.5, 0.9, 0.99)
for (type in 1:9) say(paste0("quantile", type), quantile(x, p, type = type, names = FALSE))
say("mad", mad(x))
for (n in c(2, 3, 8, 20, 92, 200)) {
  say(paste0("one_sided", n), qt(0.95, n - 1, ncp = qnorm(0.95) * sqrt(n)) / sqrt(n))
  reached <- function(k) 2 * integrate(function(t) dnorm(t) * pchisq(
    (n - 1) * qchisq(0.95, 1, ncp = t^2 / n) / k^2, n - 1, lower.tail = FALSE),
    0, 8, rel.tol = 1e-10, subdivisions = 1000)$value
  say(paste0("two_sided", n),
    uniroot(function(k) reached(k) - 0.95, c(1, 100), tol = 1e-11)$root)
  if (n > 2) {
    t <- qt(0.025 / n, n - 2)
    say(paste0("critical", n), (n - 1) / sqrt(n) * sqrt(t^2 / (n - 2 + t^2)))
  }
}
for (n in c(120, 200, 500)) say(paste0("ranks", n),
  c(qbinom(0.05, n, 0.025), qbinom(0.95, n, 0.025) + 1))
k <- suppressWarnings(cor.test(t0, x, method = "kendall", exact = FALSE))
say("kendall", c(k$estimate, k$p.value))
a <- anova(lm(y ~ factor(lab)))
say("anova", c(a[["Sum Sq"]], a[["F value"]][1], a[["Pr(>F)"]][1]))
t5 <- qt(0.975, 3)
say("mandel", c(4 * t5 / sqrt(5 * (t5^2 + 3)), sqrt(5 / (1 + 4 * qf(0.05, 8, 2)))))
"""


def _need_r() -> str:
    """Return R's command; skip without it, but never where a CI run stands for all."""
    command = shutil.which("Rscript")
    if command is None:
        reason = "Rscript is not on PATH: install R (Debian: apt-get install r-base-core)"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return command


def _vector(name: str, values: Any) -> str:
    return f"{name} <- c({', '.join(repr(float(value)) for value in values)})\n"


@pytest.fixture(scope="module")
def data() -> dict[str, list[float]]:
    """Return a sample with ties, its years, and readings of five labs."""
    draw = np.random.default_rng(20260314)
    return {
        "x": [round(float(value), 2) for value in draw.gamma(4.0, 2.0, 41)],
        "t0": [float(year) for year in draw.integers(1950, 1958, 41)],
        "y": [float(value) for value in draw.normal(8.0, 0.1, 14)],
        "lab": [1.0, 1, 1, 2, 2, 3, 3, 3, 3, 4, 4, 5, 5, 5],
    }


@pytest.fixture(scope="module")
def told(data: dict[str, list[float]]) -> dict[str, list[float]]:
    """Return what R says, by name of the check: one process for the whole module."""
    command = _need_r()
    program = "".join(_vector(name, values) for name, values in data.items()) + PROGRAM
    run = subprocess.run(
        [command, "--vanilla", "-"], input=program, capture_output=True, text=True, timeout=600
    )
    assert run.returncode == 0, run.stderr
    rows = [line.split() for line in run.stdout.splitlines() if line.strip()]
    return {name: [float(word) for word in words] for name, *words in rows}


@pytest.mark.parametrize("kind", range(1, 10))
def test_all_nine_quantile_types_are_r_s(
    kind: int, data: dict[str, list[float]], told: dict[str, list[float]]
) -> None:
    """Hyndman and Fan's types 1 to 9, as R's quantile has them."""
    found = quantiles(data["x"], PROBABILITIES, kind)
    assert found == pytest.approx(told[f"quantile{kind}"], rel=1e-12)


def test_mad_is_r_s(data: dict[str, list[float]], told: dict[str, list[float]]) -> None:
    """R rounds the constant to 1.4826; six digits agree."""
    assert median_absolute_deviation(data["x"]) == pytest.approx(told["mad"][0], rel=2e-6)


@pytest.mark.parametrize("n", SIZES)
def test_tolerance_factors_are_r_s(n: int, told: dict[str, list[float]]) -> None:
    """One-sided by R's noncentral t; two-sided by its quadrature, chi-square and root finder."""
    assert normal_factor_one_sided(n) == pytest.approx(told[f"one_sided{n}"][0], rel=1e-7)
    assert normal_factor(n) == pytest.approx(told[f"two_sided{n}"][0], rel=1e-7)


@pytest.mark.parametrize("n", [n for n in SIZES if n > 2])
def test_critical_deviates_are_r_s(n: int, told: dict[str, list[float]]) -> None:
    """Grubbs' critical value of both sides at 5 %, by R's t distribution."""
    found = critical_deviate(n, 0.05 / (2 * n))
    assert found == pytest.approx(told[f"critical{n}"][0], rel=1e-10)


@pytest.mark.parametrize("n", [120, 200, 500])
def test_ranks_of_a_reference_limit_are_r_s(n: int, told: dict[str, list[float]]) -> None:
    """By R's binomial quantiles: the last rank below with 5 % at most, the first above."""
    found = quantile_ranks(n, 0.025, 0.90)
    assert found is not None
    assert [found.low, found.high] == told[f"ranks{n}"]


def test_kendall_s_tau_is_r_s(data: dict[str, list[float]], told: dict[str, list[float]]) -> None:
    """Tau-b and its p-value with ties on both sides, R's normal approximation."""
    found = trend(data["t0"], data["x"])
    assert [found.tau, found.p_value] == pytest.approx(told["kendall"], rel=1e-9)


def test_the_one_way_analysis_is_r_s(
    data: dict[str, list[float]], told: dict[str, list[float]]
) -> None:
    """R's table of an unbalanced one-way analysis: sums of squares, F and p."""
    labs: dict[str, list[float]] = {}
    for lab, value in zip(data["lab"], data["y"], strict=True):
        labs.setdefault(str(int(lab)), []).append(value)
    found = precision([labs])
    table = [found.sum_squares_between, found.sum_squares_within, found.f, found.p_value]
    assert table == pytest.approx(told["anova"], rel=1e-9)


def test_limits_of_consistency_are_r_s(told: dict[str, list[float]]) -> None:
    """Mandel's h and k at 5 % for five labs of three readings, by R's t and F."""
    first = lab_consistency({str(i): [float(i), i + 1.0, i + 3.0] for i in range(5)})[0]
    assert first.k_limits is not None
    assert [first.h_limits[0], first.k_limits[0]] == pytest.approx(told["mandel"], rel=1e-9)

"""Fields, demagnetising factors and a one-sided limit against figures from outside (magnet.csv).

The columns are those of measures.csv.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from coilbook.core.formulas.rods import RodMagnet, rod_on_axis_t
from coilbook.core.reduction.rod_ceilings import GradeRemanence
from coilbook.measures.magnet_field import BarMagnet, bar_on_axis_t
from coilbook.measures.magnet_grade import (
    bar_demagnetising_factor,
    ceiling_t,
    rod_demagnetising_factor,
    rule_out,
)

with (Path(__file__).parent / "magnet.csv").open(encoding="utf-8", newline="") as _file:
    CHECKS = list(csv.DictReader(_file))


def _bar(x_mm: float, y_mm: float, along_mm: float) -> BarMagnet:
    return BarMagnet(x_mm / 1e3, y_mm / 1e3, along_mm / 1e3)


def _rod(diameter_mm: float, along_mm: float) -> RodMagnet:
    return RodMagnet(diameter_mm / 1e3, along_mm / 1e3)


def _probability(ceilings_over: float) -> float:
    """Return how sure a reading is above a ceiling that it passes by so many uncertainties."""
    rod = _rod(4.8, 16.0)
    reading = ceiling_t(1.0, rod, 1e-3) + ceilings_over * 0.05
    (ruling,) = rule_out(reading, 0.05, 1e-3, 0.0, rod, [GradeRemanence("a", 1.0, "typical")])
    assert ruling.probability is not None
    return ruling.probability


FORMULAS: dict[str, Callable[..., float]] = {
    "bar_mt": lambda standoff_mm, **sizes: (
        bar_on_axis_t(1.0, _bar(**sizes), standoff_mm / 1e3) * 1e3
    ),
    "rod_mt": lambda standoff_mm, **sizes: (
        rod_on_axis_t(1.0, _rod(**sizes), standoff_mm / 1e3) * 1e3
    ),
    "bar_factor": lambda **sizes: bar_demagnetising_factor(_bar(**sizes)),
    "rod_factor": lambda **sizes: rod_demagnetising_factor(_rod(**sizes)),
    "probability": _probability,
}


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check["check_id"])
def test_published_value(check: dict[str, str]) -> None:
    """The formula gives the figure to half its last printed digit."""
    inputs = {n: float(v) for n, v in (part.split("=") for part in check["inputs"].split(";"))}
    decimals = len(check["expected"].partition(".")[2])
    found = FORMULAS[check["formula"]](**inputs)
    assert found == pytest.approx(float(check["expected"]), rel=0.0, abs=0.5 * 10.0**-decimals)


def test_every_check_names_its_source() -> None:
    """No row without source, locator and how it is known, and none with a tolerance of its own."""
    for check in CHECKS:
        assert check["source"], check
        assert check["locator"], check
        assert check["known"] in {"run", "seen", "memory"}, check
        assert not check["tolerance"], check
    assert len({check["check_id"] for check in CHECKS}) == len(CHECKS)

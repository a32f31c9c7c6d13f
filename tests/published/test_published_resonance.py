"""The loaded response of one pickup against figures from outside the project (resonance.csv)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from coilbook.measures.resonance import band_edge_hz, gain_db, peak_frequency_hz

with (Path(__file__).parent / "resonance.csv").open(encoding="utf-8", newline="") as _file:
    CHECKS = list(csv.DictReader(_file))


def computed(formula: str, l: float, r: float, c: float, load: float, f: float = 0.0) -> float:  # noqa: E741
    """Return what a row of the table asks for."""
    peak = peak_frequency_hz(l, r, c, load)
    edge = band_edge_hz(l, r, c, load)
    assert peak is not None
    assert edge is not None
    return {
        "peak_hz": peak,
        "peak_db": float(gain_db(peak, l, r, c, load)),
        "gain_db": float(gain_db(f, l, r, c, load)) if f else 0.0,
        "edge_hz": edge,
    }[formula]


@pytest.mark.parametrize("check", CHECKS, ids=[c["check_id"] for c in CHECKS])
def test_the_response_is_that_of_the_simulated_circuit(check: dict[str, str]) -> None:
    """Each printed figure is met within half its last digit."""
    inputs = {n: float(v) for n, v in (part.split("=") for part in check["inputs"].split(";"))}
    decimals = len(check["expected"].partition(".")[2])
    found = computed(check["formula"], **inputs)
    assert found == pytest.approx(float(check["expected"]), abs=0.5 * 10.0**-decimals)

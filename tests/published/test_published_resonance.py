"""The response of pickups under load against figures from outside the project (resonance.csv).

The columns are those of measures.csv.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from coilbook.core.formulas.resonance import (
    band_edge_hz,
    peak_frequency_hz,
    peak_height_db,
    total_capacitance_f,
    total_load_ohm,
)
from coilbook.measures.resonance import gain_db, gain_with_tone_db

with (Path(__file__).parent / "resonance.csv").open(encoding="utf-8", newline="") as _file:
    CHECKS = list(csv.DictReader(_file))


def _parts(
    henry: float, ohm: float, own_pf: float, cable_pf: float = 0.0, pot_kohm: float | None = None
) -> tuple[float, float, float, float]:
    """Return inductance, resistance, all capacitance and the whole load, in SI units."""
    pots = () if pot_kohm is None else (pot_kohm * 1e3,)
    capacitance = total_capacitance_f(own_pf * 1e-12, cable_pf * 1e-12)
    return henry, ohm, capacitance, total_load_ohm(pots)


def _tone(hertz: float, tone_kohm: float, tone_nf: float, **parts: float) -> float:
    return float(gain_with_tone_db(hertz, *_parts(**parts), tone_kohm * 1e3, tone_nf * 1e-9))


FORMULAS: dict[str, Callable[..., float | None]] = {
    "peak_hz": lambda **parts: peak_frequency_hz(*_parts(**parts)),
    "peak_db": lambda **parts: peak_height_db(*_parts(**parts)),
    "edge_hz": lambda **parts: band_edge_hz(*_parts(**parts)),
    "gain_db": lambda hertz, **parts: float(gain_db(hertz, *_parts(**parts))),
    "tone_db": _tone,
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

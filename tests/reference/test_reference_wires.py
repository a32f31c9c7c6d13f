"""The wire table against the standards' formula and against outside tables."""

from __future__ import annotations

import math

import pytest

from coilbook.records.contents import Reference

BUILDS = ("single", "heavy")
#: Half of the last digit of the limits in mm, which are rounded.
ROUNDING_MM = 0.0005


def test_formula_diameter_lies_within_the_table(reference: Reference) -> None:
    """The ASTM B258 formula, 0.127 mm x 92^((36 - n)/39), lies within the gauge's limits."""
    for wire in reference.wires.values():
        diameter = 0.127 * 92 ** ((36 - wire.awg) / 39)
        assert wire.bare_min_mm - ROUNDING_MM <= diameter <= wire.bare_max_mm + ROUNDING_MM


def test_nominal_diameter_is_near_the_formula(reference: Reference) -> None:
    """The rounded nominal diameter differs from the ASTM B258 formula by no more than 1.5 %."""
    for wire in reference.wires.values():
        formula = 0.127 * 92 ** ((36 - wire.awg) / 39)
        assert wire.bare_nom_mm == pytest.approx(formula, rel=0.015), wire.wire_id


def test_nominal_diameter_is_the_published_one(
    reference: Reference, published_wires: list[dict[str, str]]
) -> None:
    """Nominal mils (seen for 36 to 40 AWG, from memory above) convert exactly at 0.0254 mm."""
    for row in published_wires:
        for build in BUILDS:
            wire = reference.wires[f"awg-{row['awg']}-{build}"]
            assert wire.bare_nom_mm == pytest.approx(float(row["nominal_mil"]) * 0.0254, abs=1e-9)


def test_diameters_are_the_published_ones(
    reference: Reference, published_wires: list[dict[str, str]]
) -> None:
    """Limits and overall diameters are digit for digit those of NEMA MW 1000 as transcribed."""
    for row in published_wires:
        for build in BUILDS:
            wire = reference.wires[f"awg-{row['awg']}-{build}"]
            for which in ("min", "nom", "max"):
                assert getattr(wire, f"overall_{which}_mm") == float(row[f"{build}_{which}_mm"])
            assert wire.bare_min_mm == float(row["bare_min_mm"])
            assert wire.bare_max_mm == float(row["bare_max_mm"])


def test_resistance_per_length_agrees_with_tables(
    reference: Reference, published_wires: list[dict[str, str]]
) -> None:
    """The nominal diameter, with copper of 1/58 Ω mm²/m (IEC 60028), gives the outside Ω/km."""
    checked = 0
    for row in published_wires:
        if not row["ohm_per_km"]:
            continue
        wire = reference.wires[f"awg-{row['awg']}-single"]
        ohm_per_km = 1000 / 58 / (math.pi * wire.bare_nom_mm**2 / 4)
        assert ohm_per_km == pytest.approx(float(row["ohm_per_km"]), abs=0.05)
        checked += 1
    assert checked == 7


def test_resistance_per_foot_agrees_with_the_circular_mil_rule(reference: Reference) -> None:
    """10.371 Ω for a foot of one circular mil at 20 °C (NBS Handbook 100, from memory)."""
    for wire in reference.wires.values():
        by_rule = 10.371 / (wire.bare_nom_mm / 0.0254) ** 2
        by_metre = 0.3048 / 58 / (math.pi * wire.bare_nom_mm**2 / 4)
        assert by_metre == pytest.approx(by_rule, rel=1e-4), wire.wire_id


def test_both_builds_share_a_conductor_and_heavy_is_thicker(reference: Reference) -> None:
    """Build says how thick the insulation is and nothing else; thicker gauges come first."""
    for awg in range(38, 47):
        single, heavy = (reference.wires[f"awg-{awg}-{build}"] for build in BUILDS)
        for which in ("min", "nom", "max"):
            assert getattr(single, f"bare_{which}_mm") == getattr(heavy, f"bare_{which}_mm")
            assert getattr(single, f"overall_{which}_mm") < getattr(heavy, f"overall_{which}_mm")
        if awg < 46:
            thinner = reference.wires[f"awg-{awg + 1}-single"]
            assert thinner.bare_nom_mm < single.bare_nom_mm
            assert thinner.overall_nom_mm < single.overall_nom_mm

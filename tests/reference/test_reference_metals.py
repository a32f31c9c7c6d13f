"""Metals, permeabilities and insulations against physics and second texts from memory."""

from __future__ import annotations

import math

import pytest
from scipy import constants

from coilbook.records.contents import Reference

#: %IACS of metals as metal handbooks list them, from memory: the figure, and the metal's row.
HANDBOOK_IACS = {
    "copper": (100.0, 101.0),  # annealed, electrolytic
    "aluminium": (61.0, 62.0),  # the purest of commerce
    "brass": (28.0, 28.0),  # 70 % copper, 30 % zinc
    "nickel-silver": (6.0, 6.0),  # 65 % copper, 18 % nickel, 17 % zinc
}
#: Thermal conductivity, W/(m K), as ISO 10456 tabulates it for building (from memory).
ISO_10456 = {"copper": 380.0, "brass": 120.0, "low-carbon-steel": 50.0, "aluminium": 160.0}
#: Thermal classes of IEC 60085, °C (from memory).
THERMAL_CLASSES = {90, 105, 120, 130, 155, 180, 200, 220, 250}


def ends(reference: Reference, alloy_id: str) -> tuple[float, float]:
    """Return the least and the most of a metal's resistivity, nΩ·m."""
    row = reference.alloys[alloy_id]
    given = [
        v
        for v in (
            row.resistivity_low_nohm_m,
            row.resistivity_typical_nohm_m,
            row.resistivity_high_nohm_m,
        )
        if v is not None
    ]
    return min(given), max(given)


def test_copper_is_the_standard_one(reference: Reference) -> None:
    """IEC 60028: 58.0 MS/m at 20 °C (from memory), to the digits written."""
    row = reference.alloys["copper"]
    assert row.source_id == "iec-60028"
    assert row.resistivity_typical_nohm_m == pytest.approx(1e9 / 58e6, abs=0.0005)


@pytest.mark.parametrize("alloy_id", sorted(HANDBOOK_IACS))
def test_bands_hold_the_handbooks_conductivity(reference: Reference, alloy_id: str) -> None:
    """Handbook %IACS (second text, from memory) comes to a resistivity within the band, or 1 %."""
    low, high = ends(reference, alloy_id)
    for percent in HANDBOOK_IACS[alloy_id]:
        resistivity = 1e9 / (58e6 * percent / 100)
        assert 0.99 * low <= resistivity <= 1.01 * high
    usual = reference.alloys[alloy_id].resistivity_typical_nohm_m
    assert usual == pytest.approx(1e9 / (58e6 * HANDBOOK_IACS[alloy_id][0] / 100), rel=0.02)


@pytest.mark.parametrize("alloy_id", sorted(ISO_10456))
def test_bands_agree_with_how_the_metals_lead_heat(reference: Reference, alloy_id: str) -> None:
    """Wiedemann and Franz: resistivity = L T / conductivity of heat, with Sommerfeld's number.

    The law holds to about 15 % in such metals; the conductivities are rounded for building.
    """
    lorenz = math.pi**2 / 3 * (constants.k / constants.e) ** 2
    resistivity = 1e9 * lorenz * 293.15 / ISO_10456[alloy_id]
    low, high = ends(reference, alloy_id)
    assert 0.85 * low <= resistivity <= 1.15 * high


def test_pure_metals_are_the_low_ends_of_their_platings(reference: Reference) -> None:
    """Nickel 69 to 70, chromium 125 to 130, gold 22 nΩ·m (element tables, from memory), rounded."""
    for alloy_id, pure in (("nickel", 70.0), ("chromium", 130.0), ("gold", 22.0)):
        low, high = ends(reference, f"{alloy_id}-plating")
        assert low == pytest.approx(pure, abs=1.0)
        assert high > low


def test_metals_are_in_order_of_conduction(reference: Reference) -> None:
    """Copper, aluminium, brass, steel, nickel silver, magnet alloy: the textbooks' order."""
    order = ("copper", "aluminium", "brass", "low-carbon-steel", "nickel-silver", "alnico")
    usual = [reference.alloys[i].resistivity_typical_nohm_m or 0.0 for i in order]
    assert usual == sorted(usual)


def test_all_but_copper_is_marked_as_recalled(reference: Reference) -> None:
    """No other page was open."""
    rows = [*reference.alloys.values(), *reference.permeabilities.values()]
    assert {row.evidence for row in rows if getattr(row, "alloy_id", "") != "copper"} == {
        "recalled"
    }


def test_recoil_permeability_is_possible(reference: Reference) -> None:
    """No recoil line is steeper than the mean of its grade's curve, Br / (mu0 Hc), nor below air.

    The curve from Br to Hc only bends down, and recoil follows its flat beginning (textbooks).
    """
    magnets, rows = reference.magnets, reference.permeabilities
    pairs = {
        "alnico-2-3-recoil": ("mmpa-2-cast", "mmpa-3-cast"),
        "alnico-5-recoil": ("mmpa-5-cast",),
        "alnico-8-recoil": ("mmpa-8-cast",),
        "ferrite-recoil": ("mmpa-ferrite-1",),
    }
    assert set(pairs) == {i for i, row in rows.items() if row.kind == "recoil"}
    for row_id, grades in pairs.items():
        assert rows[row_id].relative_low > 1.0
        for grade in grades:
            magnet = magnets[grade]
            mean = magnet.br_mt / 1e3 / (constants.mu_0 * magnet.hc_ka_per_m * 1e3)
            assert rows[row_id].relative_high <= mean, (row_id, grade)


def test_a_straight_ferrite_recoils_along_its_curve(reference: Reference) -> None:
    """Ferrite 7 has a straight curve, so Br / (mu0 Hc) is its recoil permeability (textbooks)."""
    magnet, row = reference.magnets["mmpa-ferrite-7"], reference.permeabilities["ferrite-recoil"]
    slope = magnet.br_mt / 1e3 / (constants.mu_0 * magnet.hc_ka_per_m * 1e3)
    assert row.relative_low <= slope <= row.relative_high


def test_steel_bands_are_broad_and_in_order(reference: Reference) -> None:
    """The initial permeability lies below the maximum one; both bands say how little is known."""
    initial = reference.permeabilities["low-carbon-steel-initial"]
    maximum = reference.permeabilities["low-carbon-steel-maximum"]
    assert initial.relative_low < maximum.relative_low
    assert initial.relative_high < maximum.relative_high
    for row in (initial, maximum):
        assert row.relative_high / row.relative_low >= 5
        assert row.relative_typical is None


def test_insulations_are_those_of_the_property(reference: Reference) -> None:
    """Each word that a reading or a claim can give is described once."""
    words = reference.properties["wire-insulation"].categories
    assert sorted(row.wire_word for row in reference.insulations.values()) == sorted(words)


def test_thermal_classes_are_of_the_standards_list(reference: Reference) -> None:
    """A class of IEC 60085 (from memory), marked as recalled."""
    for row in reference.insulations.values():
        assert row.thermal_class_c in THERMAL_CLASSES
        assert row.class_checked == "recalled"


def test_what_solders_unstripped_warns_of_its_fumes(reference: Reference) -> None:
    """Polyurethane alone of the three solders unstripped; its row names isocyanates and air."""
    solders = [row for row in reference.insulations.values() if row.solderable]
    assert [row.insulation_id for row in solders] == ["polyurethane"]
    assert "isocyanates" in solders[0].strip
    assert "extraction" in solders[0].strip

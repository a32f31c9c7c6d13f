"""Claims that physics ties together must not contradict each other.

Turns, wire and bobbin imply a resistance; the coil's formula is written out here again, so that the
check does not lean on the package's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from coilbook.assessment.review.crosscheck import cross_checks
from coilbook.records.contents import Claim, Reference
from coilbook.records.tables.models import Bobbin, Wire

#: Turns from resistance alone are good to about this much: wire, packing and stretch (GUM budget of
#: the outside check values: 4954 ± 217 turns at k = 1, plus the bobbin, whose sizes are recalled).
TOLERANCE = 0.07


def implied_kohm(turns: float, wire: Wire, bobbin: Bobbin) -> float:
    """Resistance of a racetrack coil at 20 °C: square packing, nominal wire, no stretch."""
    build_mm = turns * wire.overall_nom_mm**2 / bobbin.winding_height_mm
    core_mm = 2 * (bobbin.core_length_mm - bobbin.core_width_mm) + math.pi * bobbin.core_width_mm
    mean_turn_mm = core_mm + math.pi * build_mm
    ohm_per_m = 1 / 58 / (math.pi * wire.bare_nom_mm**2 / 4)
    return turns * mean_turn_mm / 1000 * ohm_per_m / 1000


def claim_for(reference: Reference, claim: Claim, property_id: str) -> Claim | None:
    """Return the claim of another property for the same period, else for the whole family."""
    mine = [
        other
        for other in reference.claims
        if other.row.family_id == claim.row.family_id and other.row.property_id == property_id
    ]
    for period_id in (claim.row.period_id, None):
        for other in mine:
            if other.row.period_id == period_id:
                return other
    return None


def cases(reference: Reference) -> Iterator[tuple[str, float, float]]:
    """Yield claim, implied and claimed resistance in kΩ, for each claim with a usual resistance."""
    for claim in reference.claims:
        coils = {"coil-resistance": 1, "pair-resistance": 2}.get(claim.row.property_id)
        if coils is None or claim.typical is None:
            continue
        family = reference.families[claim.row.family_id]
        assert family.bobbin_id is not None
        turns = claim_for(reference, claim, "coil-turns")
        gauge = claim_for(reference, claim, "wire-gauge")
        insulation = claim_for(reference, claim, "wire-insulation")
        assert turns is not None
        assert turns.typical is not None
        assert gauge is not None
        assert gauge.row.category is not None
        heavy = insulation is not None and insulation.row.category == "heavy formvar"
        build = "heavy" if heavy else "single"
        wire = reference.wires[f"awg-{gauge.row.category.split()[0]}-{build}"]
        implied = coils * implied_kohm(turns.typical, wire, reference.bobbins[family.bobbin_id])
        yield claim.row.claim_id, implied, claim.typical


def test_the_worked_coil_comes_out() -> None:
    """5000 turns of 42 AWG on 64 x 4.8 x 6.4 mm are 3970.2 Ω (check value, run; shapely agrees)."""
    row = {"evidence": "recalled"}
    wire = Wire.model_validate(
        {
            "wire_id": "w", "awg": "42", "build": "single", "standard": "none",
            "bare_min_mm": "0.061", "bare_nom_mm": "0.0635", "bare_max_mm": "0.066",
            "overall_min_mm": "0.066", "overall_nom_mm": "0.071", "overall_max_mm": "0.076", **row,
        }
    )  # fmt: skip
    bobbin = Bobbin.model_validate(
        {
            "bobbin_id": "b", "name": "b", "core_length_mm": "64", "core_width_mm": "4.8",
            "winding_height_mm": "6.4", "winding_depth_mm": "4", **row,
        }
    )  # fmt: skip
    assert implied_kohm(5000, wire, bobbin) * 1000 == pytest.approx(3970.2, abs=0.05)


def test_claimed_turns_imply_the_claimed_resistance(reference: Reference) -> None:
    """Turns, gauge, insulation and bobbin give each usual resistance to ±7 %, for every family."""
    checked = list(cases(reference))
    far = [
        f"{claim_id}: implied {implied:.2f} kΩ, claimed {claimed:.2f} kΩ"
        for claim_id, implied, claimed in checked
        if abs(implied / claimed - 1) > TOLERANCE
    ]
    assert far == []
    named = {claim.row.family_id for claim in reference.claims}
    covered = {f for f in named if any(claim_id.startswith(f) for claim_id, _, _ in checked)}
    assert covered == set(reference.families)


def test_turns_that_were_worked_back_say_so_in_the_data(reference: Reference) -> None:
    """A claim whose remark says that it was reckoned from the resistance has its derivation."""
    said = {
        claim.row.claim_id
        for claim in reference.claims
        if "the resistance and the wire come to" in (claim.row.remark or "").lower()
    }
    resistances = {
        claim.row.claim_id
        for claim in reference.claims
        if claim.row.property_id in ("coil-resistance", "pair-resistance")
    }
    told = {
        row.claim_id
        for row in reference.derivations
        if row.part == "all" and row.rests_on in resistances and "-coil-turns" in row.claim_id
    }
    assert said == told
    assert len(said) == 6


def test_the_cross_check_agrees_with_the_formula_written_out_here(reference: Reference) -> None:
    """What claims imply comes to what this file's own formula does, to 6 % for lay and stretch.

    This file takes a square lay and no stretch; the cross-check takes the middle of what is met
    (packing 0.87 to 1.2, stretch up to 3 %), which lies some percent higher.
    """
    checked = {claim_id: implied for claim_id, implied, _ in cases(reference)}
    compared = 0
    for check in cross_checks(reference):
        if check.claim.row.claim_id not in checked or len(check.implied) > 1:
            continue
        estimate = check.implied[0].typical
        assert estimate is not None
        assert 1.0 < estimate.value / checked[check.claim.row.claim_id] < 1.06
        compared += 1
    assert compared > 40


def test_two_coils_of_5000_turns_come_near_the_middle_of_the_trade_band(
    reference: Reference,
) -> None:
    """A full-size humbucker of the late 1950s: 7.5 to 9.0 kΩ (common practice, no source)."""
    family = reference.families["full-size-humbucker"]
    assert family.turns_per_coil == 5000
    wire, bobbin = reference.wires["awg-42-single"], reference.bobbins["humbucker-bobbin"]
    coil = implied_kohm(5000, wire, bobbin)
    assert coil == pytest.approx(4.0, abs=0.1)
    assert 2 * coil == pytest.approx((7.5 + 9.0) / 2, abs=0.4)


def test_family_facts_agree_with_its_claims(reference: Reference) -> None:
    """The turns and wire of families.csv are among those that the family's claims allow."""
    for family_id, family in reference.families.items():
        turns = [
            c
            for c in reference.claims
            if c.row.family_id == family_id and c.row.property_id == "coil-turns"
        ]
        assert family.turns_per_coil in {c.typical for c in turns}, family_id
        gauges = {
            c.row.category
            for c in reference.claims
            if c.row.family_id == family_id and c.row.property_id == "wire-gauge"
        }
        assert family.wire_id is not None
        assert f"{reference.wires[family.wire_id].awg} AWG" in gauges, family_id


def test_the_usual_coil_fits_its_bobbin(reference: Reference) -> None:
    """Turns lying square fill no more than the depth of the bobbin that the family names."""
    for family in reference.families.values():
        assert family.bobbin_id is not None
        assert family.wire_id is not None
        assert family.turns_per_coil is not None
        bobbin, wire = reference.bobbins[family.bobbin_id], reference.wires[family.wire_id]
        build_mm = family.turns_per_coil * wire.overall_nom_mm**2 / bobbin.winding_height_mm
        assert build_mm <= bobbin.winding_depth_mm, family.family_id


def test_rods_are_the_core_of_coils_wound_on_rods(reference: Reference) -> None:
    """Where the wire goes round the rods, core length is pole spacing and one rod's diameter."""
    for family_id in (
        "staggered-rod-single-coil",
        "covered-small-rod-single-coil",
        "base-plate-rod-single-coil",
        "flush-rod-single-coil",
        "flat-wide-rod-single-coil",
        "eight-string-lap-steel",
    ):
        family = reference.families[family_id]
        assert family.bobbin_id is not None
        bobbin = reference.bobbins[family.bobbin_id]
        spacing = next(
            c.typical
            for c in reference.claims
            if c.row.family_id == family_id and c.row.property_id == "pole-spacing"
        )
        assert spacing is not None
        assert bobbin.core_length_mm == pytest.approx(spacing + bobbin.core_width_mm, abs=0.05)


def test_resonance_is_one_that_inductance_and_capacitance_allow(reference: Reference) -> None:
    """The claimed resonance lies within 1/(2π√(LC)) (elementary) of the claimed ends of L and C.

    Both far ends at once are rare, so the claim may be narrower; 3 % is for its rounding.
    """
    checked = 0
    for family_id, family in reference.families.items():
        band = {
            c.row.property_id: (c.low, c.high)
            for c in reference.claims
            if c.row.family_id == family_id and c.row.period_id is None
        }
        inductance = "pair-inductance" if family.coils == 2 else "coil-inductance"
        wanted = (inductance, "self-capacitance", "resonant-frequency")
        if not all(name in band for name in wanted):
            continue
        (l_low, l_high), (c_low, c_high), (f_low, f_high) = (band[name] for name in wanted)
        assert l_low and l_high and c_low and c_high and f_low and f_high, family_id  # noqa: PT018
        # H and pF under the root make 1e6 Hz, which is 1e3 kHz.
        least = 1e3 / (2 * math.pi * math.sqrt(l_high * c_high))
        most = 1e3 / (2 * math.pi * math.sqrt(l_low * c_low))
        assert least * 0.97 <= f_low < f_high <= most * 1.03, family_id
        checked += 1
    assert checked == 5

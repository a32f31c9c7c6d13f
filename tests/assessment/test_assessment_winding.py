"""The winding sheet's targets on the real reference, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbook.assessment.winding_targets import winding_targets
from coilbook.errors import OutOfDomain, UnknownId
from coilbook.measures.expected import ExpectedCoil
from coilbook.records import load_reference
from coilbook.records.contents import Reference


@pytest.fixture(scope="module")
def reference() -> Reference:
    """Return the real reference."""
    loaded = load_reference().value
    assert loaded is not None
    return loaded


def test_what_is_left_out_is_the_familys_usual(reference: Reference) -> None:
    """Wire, bobbin and turns come from families.csv, and the sheet says that it is so."""
    for family in reference.families.values():
        sheet = winding_targets(reference, family.family_id)
        assert sheet.usual
        assert sheet.wire.wire_id == family.wire_id
        assert sheet.coil.turns == family.turns_per_coil
        assert sheet.two_coils == (family.coils == 2)
        assert not winding_targets(reference, family.family_id, 4321.0).usual


def test_the_usual_winding_is_not_outside_its_own_familys_claims(reference: Reference) -> None:
    """Of every family at least one documented range holds the middle of what is expected.

    And the verdicts are those of measured values: none is outside for all periods together.
    """
    for family_id in reference.families:
        sheet = winding_targets(reference, family_id)
        words = [v.word for v in sheet.verdicts]
        assert words, family_id
        assert set(words) - {"outside", "not_judged"}, family_id
        holding = [
            v
            for v in sheet.verdicts
            if v.claim.low is not None
            and v.claim.high is not None
            and v.value.value is not None
            and v.claim.low <= v.value.value <= v.claim.high
        ]
        assert holding, family_id


def test_every_claim_of_the_resistance_is_judged_once(reference: Reference) -> None:
    """A coil for coil-resistance, the pair for pair-resistance, always at 20 °C."""
    sheet = winding_targets(reference, "full-size-humbucker", temperature_c=30.0)
    claims = [
        c
        for c in reference.claims
        if c.row.family_id == "full-size-humbucker"
        and c.row.property_id in ("coil-resistance", "pair-resistance")
    ]
    assert [v.claim for v in sheet.verdicts] == claims
    cold = ExpectedCoil(sheet.wire, sheet.bobbin, sheet.coil.turns)
    for verdict in sheet.verdicts:
        both = verdict.claim.row.property_id == "pair-resistance"
        expected = cold.pair_kohm if both else cold.resistance_20_kohm
        assert verdict.value.value == pytest.approx(expected.value)
        codes = {r.code for r in verdict.reasons}
        assert {"derived", "assumed_construction"} <= codes


def test_far_too_many_turns_are_outside_and_do_not_fit(reference: Reference) -> None:
    """9000 turns on a humbucker's coil: beyond every range, and past the window even nested."""
    sheet = winding_targets(reference, "full-size-humbucker", 9000.0)
    assert sheet.coil.fit.fits == "cannot_fit"
    assert {v.word for v in sheet.verdicts} == {"outside", "not_judged"}


def test_departures_have_the_sizes_that_whole_coils_have(reference: Reference) -> None:
    """Each shift against the coil that it stands for, wound out in full; temperature by hand."""
    sheet = winding_targets(reference, "full-size-humbucker", temperature_c=24.0)
    by_code = {d.code: d for d in sheet.departures}
    target = sheet.coil.resistance_kohm.value
    for code in ("thinner_wire", "thicker_wire", "other_build"):
        wire = reference.wires[by_code[code].wire_id or ""]
        other = ExpectedCoil(wire, sheet.bobbin, 5000.0, 24.0).resistance_kohm.value
        assert by_code[code].percent == pytest.approx(100.0 * (other / target - 1.0))
    assert by_code["thinner_wire"].wire_id == "awg-43-single"
    assert by_code["thicker_wire"].wire_id == "awg-41-single"
    assert by_code["other_build"].wire_id == "awg-42-heavy"
    fewer = ExpectedCoil(sheet.wire, sheet.bobbin, 4950.0, 24.0).resistance_kohm.value
    assert by_code["turns_missed"].percent == pytest.approx(100.0 * (fewer / target - 1.0))
    # 0.393 % of what it is at 20 °C, over 1.01572 at 24 °C.
    assert by_code["warmer"].percent == pytest.approx(0.393 / 1.01572)
    assert by_code["thinner_wire"].apparent
    assert not by_code["turns_missed"].apparent
    # What hides after the first check is far less than what hides in the band.
    hidden, late = by_code["turns_shorted"].turns, by_code["turns_lost_late"].turns
    assert hidden is not None
    assert late is not None
    assert late < hidden / 4.0


def test_the_thickest_wire_has_no_thicker_neighbour(reference: Reference) -> None:
    """38 AWG is the first of the table: nothing is made up below it."""
    codes = {d.code for d in winding_targets(reference, "horseshoe-lap-steel").departures}
    assert "thicker_wire" not in codes
    assert "thinner_wire" in codes


def test_inductance_is_scaled_where_it_is_documented_and_else_not_stated(
    reference: Reference,
) -> None:
    """Ten per cent more turns, 21 per cent more; a family without a claim has none."""
    sheet = winding_targets(reference, "full-size-humbucker", 5500.0)
    coil = next(i for i in sheet.inductances if i.claim.row.property_id == "coil-inductance")
    assert coil.claim.typical is not None
    assert coil.typical == pytest.approx(1.21 * coil.claim.typical)
    assert winding_targets(reference, "horseshoe-lap-steel").inductances == ()


def test_temperatures_run_over_every_bench(reference: Reference) -> None:
    """15 to 30 °C, each 0.393 % of the 20 °C value further."""
    sheet = winding_targets(reference, "full-size-humbucker")
    assert [t for t, _ in sheet.temperatures] == [float(t) for t in range(15, 31)]
    at = dict(sheet.temperatures)
    assert at[25.0].value / at[20.0].value == pytest.approx(1.01965)


def test_a_mistyped_id_earns_a_near_miss(reference: Reference) -> None:
    """Family and wire; and what is not near at all is listed."""
    with pytest.raises(UnknownId, match="Did you mean 'full-size-humbucker'"):
        winding_targets(reference, "fullsize-humbucker")
    with pytest.raises(UnknownId, match="It has: full-size-humbucker, small-humbucker"):
        winding_targets(reference, "zzz")
    with pytest.raises(UnknownId, match="Did you mean 'awg-42-single'"):
        winding_targets(reference, "full-size-humbucker", wire_id="awg42-single")


def test_a_family_that_lacks_something_says_what(reference: Reference) -> None:
    """No bobbin, no wire, no turns: each is named with the next step, or can be given."""
    family = reference.families["full-size-humbucker"]

    def without(**lacking: None) -> Reference:
        changed = family.model_copy(update=lacking)
        return replace(reference, families={family.family_id: changed})

    with pytest.raises(OutOfDomain, match="no usual bobbin"):
        winding_targets(without(bobbin_id=None), family.family_id)
    with pytest.raises(OutOfDomain, match="Name the wire"):
        winding_targets(without(wire_id=None), family.family_id)
    with pytest.raises(OutOfDomain, match="Give the turns"):
        winding_targets(without(turns_per_coil=None), family.family_id)
    given = winding_targets(without(turns_per_coil=None), family.family_id, 5000.0)
    assert given.inductances == ()
    with pytest.raises(OutOfDomain, match="turns must be above 0"):
        winding_targets(reference, family.family_id, 0.0)

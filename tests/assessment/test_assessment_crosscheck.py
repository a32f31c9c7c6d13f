"""Resistances against turns: verdicts, reasons, and what was worked out from what.

The coil of these tests is the full-size humbucker's usual one: 5000 turns of 42 AWG on a core of 64
by 4.8 mm, 6.4 mm high, near 4.0 kΩ (common practice; computed outside the project with a square lay
and no stretch: 3970 Ω).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbook.assessment.review.crosscheck import CrossCheck, cross_checks, nearest_scope
from coilbook.records import load_reference
from coilbook.resources import dataset_dir

HEADER = (
    "claim_id,family_id,period_id,position,property_id,low,typical,high,category,unit,remark,"
    "evidence,source_id,locator\n"
)
GAUGE = "g,full-size-humbucker,,,wire-gauge,,,,42 AWG,,,recalled,,\n"
TURNS = "t,full-size-humbucker,,,coil-turns,4800,5000,5200,,turns,,recalled,,\n"


def _coil(low: str, typical: str, high: str, period: str = "", name: str = "r") -> str:
    return (
        f"{name},full-size-humbucker,{period},,coil-resistance,{low},{typical},{high},,kΩ,,"
        "recalled,,\n"
    )


def _checks(folder: Path, claims: str, derivations: str = "") -> tuple[CrossCheck, ...]:
    """Return the comparisons of the committed reference with other claims."""
    for path in (dataset_dir() / "reference").glob("*.csv"):
        (folder / path.name).write_bytes(path.read_bytes())
    (folder / "claims.csv").write_text(HEADER + claims, encoding="utf-8")
    head = "claim_id,rests_on,part,how\n"
    (folder / "derivations.csv").write_text(head + derivations, encoding="utf-8")
    loaded = load_reference(folder)
    assert loaded.value is not None, loaded.problems
    return cross_checks(loaded.value)


def _check(folder: Path, claims: str, derivations: str = "") -> CrossCheck:
    (check,) = _checks(folder, claims, derivations)
    return check


def test_the_usual_coil_agrees(tmp_path: Path) -> None:
    """4.0 kΩ and 5000 turns agree, and the formula comes near the outside figure for them."""
    check = _check(tmp_path, _coil("3.8", "4.0", "4.2") + TURNS + GAUGE)
    assert (check.word, check.parts_at, check.basis) == ("agrees", (), "not_derived")
    (implied,) = check.implied
    assert implied.typical is not None
    assert implied.typical.value == pytest.approx(3.9702 * 1.015, rel=0.02)
    assert [beyond.at for beyond in check.compared] == ["low", "usual", "high"]


@pytest.mark.parametrize(
    ("numbers", "parts_at"),
    [
        (("", "5.0", ""), ("usual",)),
        (("", "3.0", ""), ("usual",)),
        (("3.0", "4.0", "4.2"), ("low",)),
        (("3.8", "4.0", "5.5"), ("high",)),
        (("3.0", "", "5.5"), ("low", "high")),
        # Narrower than the turns allow is no disagreement, however narrow.
        (("4.0", "4.0", "4.0"), ()),
        (("4.9", "", "5.0"), ("high",)),
    ],
)
def test_where_a_claim_parts(
    tmp_path: Path, numbers: tuple[str, str, str], parts_at: tuple[str, ...]
) -> None:
    """The usual value parts to either side, an end only where it reaches farther than the turns."""
    check = _check(tmp_path, _coil(*numbers) + TURNS + GAUGE)
    assert check.parts_at == parts_at
    assert check.word == ("parts" if parts_at else "agrees")


def test_a_claim_that_parts_has_its_reason(tmp_path: Path) -> None:
    """5.0 kΩ is a tenth and more above; it takes 6000 turns and more, or the next gauge."""
    check = _check(tmp_path, _coil("", "5.0", "") + TURNS + GAUGE)
    worst = check.worst
    assert worst is not None
    assert worst.normalised_error == pytest.approx(
        (5.0 - worst.implied_kohm) / worst.expanded_kohm, rel=1e-12
    )
    assert worst.normalised_error > 1
    # Resistance grows a little faster than turns: a quarter more of it is not a quarter more turns.
    assert 5000 < worst.turns_needed < 5000 * 5.0 / worst.implied_kohm
    assert worst.other_wire is not None
    assert worst.other_wire.awg == 43


def test_a_pair_is_two_coils_of_one_spool(tmp_path: Path) -> None:
    """The pair's claim is held against twice the coil, with twice its uncertainty."""
    pair = "p,full-size-humbucker,,,pair-resistance,,8.0,,,kΩ,,recalled,,\n"
    coil, both = _checks(tmp_path, _coil("", "4.0", "") + pair + TURNS + GAUGE)
    one, two = coil.implied[0].typical, both.implied[0].typical
    assert one is not None
    assert two is not None
    assert two.value == pytest.approx(2 * one.value, rel=1e-12)
    assert two.standard_uncertainty == pytest.approx(2 * one.standard_uncertainty, rel=1e-12)
    assert both.word == "agrees"


@pytest.mark.parametrize(
    ("claims", "why"),
    [
        (_coil("", "4.0", "") + GAUGE, "no_turns"),
        (_coil("", "4.0", "") + TURNS, "no_wire"),
        (_coil("", "4.0", "") + TURNS.replace("5000", "") + GAUGE, "no_number"),
    ],
)
def test_what_cannot_be_compared_says_why(tmp_path: Path, claims: str, why: str) -> None:
    """Without turns, wire, or a number on both sides there is nothing to compare."""
    check = _check(tmp_path, claims)
    assert (check.word, check.why_not) == ("not_compared", why)


def test_of_several_wires_the_nearest_counts(tmp_path: Path) -> None:
    """5.0 kΩ parts from 5000 turns of 42 AWG; where 43 AWG is claimed as well, it agrees."""
    more = "g2,full-size-humbucker,,,wire-gauge,,,,43 AWG,,,recalled,,\n"
    check = _check(tmp_path, _coil("", "5.0", "") + TURNS + GAUGE + more)
    assert check.word == "agrees"
    assert len(check.implied) == 2


def test_heavy_formvar_is_taken_for_heavy_build(tmp_path: Path) -> None:
    """Thicker insulation builds up faster, so the same turns come to a little more."""
    formvar = "i,full-size-humbucker,,,wire-insulation,,,,heavy formvar,,,recalled,,\n"
    check = _check(tmp_path, _coil("", "4.0", "") + TURNS + GAUGE + formvar)
    assert check.implied[0].wire.build == "heavy"


def test_a_claim_of_the_same_years_goes_before_one_of_all(tmp_path: Path) -> None:
    """A claim is held against the turns of its own period where there are any."""
    period = "full-size-humbucker-1961"
    own = TURNS.replace("t,", "t2,").replace("humbucker,,,", f"humbucker,{period},,")
    one, other = _checks(
        tmp_path, _coil("", "4.0", "") + _coil("", "4.0", "", period, "r2") + TURNS + own + GAUGE
    )
    assert [claim.row.claim_id for claim in one.turns] == ["t"]
    assert [claim.row.claim_id for claim in other.turns] == ["t2"]
    assert nearest_scope([], one.claim) == []


@pytest.mark.parametrize(
    ("rows", "basis", "steps"),
    [
        ("", "not_derived", 0),
        ("t,r,all,Reckoned.\n", "worked_back", 1),
        ("r,t,all,Reckoned.\n", "worked_back", 1),
        ("t,r,ends,Reckoned.\n", "ends_worked_back", 1),
        # Through a third claim, and from a third that both rest on.
        ("t,p,all,Reckoned.\np,r,all,Reckoned.\n", "worked_back", 2),
        ("t,p,all,Reckoned.\nr,p,all,Reckoned.\n", "worked_back", 2),
        ("t,p,ends,Reckoned.\nr,p,all,Reckoned.\n", "ends_worked_back", 2),
        ("t,g,all,Reckoned.\n", "not_derived", 0),
    ],
)
def test_agreement_by_its_making_is_told(tmp_path: Path, rows: str, basis: str, steps: int) -> None:
    """Where one claim rests on the other, or both on a third, their agreement is no evidence."""
    pair = "p,full-size-humbucker,,,pair-turns,,10000,,,turns,,recalled,,\n"
    check = _check(tmp_path, _coil("", "4.0", "") + pair + TURNS + GAUGE, rows)
    assert check.basis == basis
    assert len(check.derivations) == steps

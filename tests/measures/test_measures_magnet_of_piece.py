"""What is said of a piece's magnets beside magpylib, the uncertainties library and simulation."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measures_bench import meter, piece, reading
from uncertainties import ufloat

from coilbook.core.reduction.piece import measure_piece
from coilbook.measures.magnet_of_piece import MagnetOfPiece, magnet_of_piece
from coilbook.records import load_reference
from coilbook.records.contents import Reading

_loaded = load_reference().value
assert _loaded is not None
REFERENCE = _loaded
RODS = "staggered-rod-single-coil"


def _read(
    prop: str, value: float | None, line: int, component: str = "magnet", **more: Any
) -> Reading:
    depth = more.pop("depth_m", 0.0)
    made = reading(
        value,
        prop=prop,
        component=component,
        line=line,
        step=more.pop("step", 0.1),
        instrument=meter(1.0, 1.0),
        **more,
    )
    return replace(made, sensor_depth_m=depth)


def _found(*readings: Reading, family: str = RODS) -> MagnetOfPiece | None:
    item = piece(*readings, family=family)
    return magnet_of_piece(item, measure_piece(item, REFERENCE), REFERENCE)


FIELD = _read("pole-flux-density", 90.0, 2)
WIDTH = _read("magnet-width", 4.8, 3)
LENGTH = _read("magnet-length", 16.0, 4)


def _rod_highest_t(remanence_t: float, diameter_m: float, length_m: float, off_m: float) -> float:
    """Return the highest axial field over a rod's face that magpylib finds."""
    rod = magpylib.magnet.Cylinder(
        polarization=(0.0, 0.0, remanence_t), dimension=(diameter_m, length_m)
    )
    across = np.linspace(0.0, diameter_m / 2.0, 400)
    places = np.column_stack((across, 0.0 * across, 0.0 * across + length_m / 2.0 + off_m))
    return float(rod.getB(places)[:, 2].max())


@pytest.mark.parametrize("length", [True, False])
def test_ceilings_and_estimates_are_magpylibs(length: bool) -> None:
    """A rod of 4.8 mm under a probe of 0.6 mm depth: each typical grade's ceiling and estimate.

    The ceiling is a rod's of twice the length, which must lie above one of the length itself with
    its image in a plate of steel behind it; of unread length it is a rod's without end. What the
    load line leaves is put into magpylib as a polarisation: the same field over the middle.
    """
    field = replace(FIELD, sensor_depth_m=0.6e-3)
    found = _found(field, WIDTH, *([LENGTH] if length else []))
    assert found is not None
    assert found.why_not is None
    rods = found.ceilings
    assert rods is not None
    assert rods.depth_stated
    assert (rods.diameter_m, rods.length_m) == pytest.approx(
        (4.8e-3, 16e-3) if length else (4.8e-3, None)
    )
    long_m = 32e-3 if length else 480e-3
    typical = [g for g in rods.grades if g.magnet.value_kind == "typical"]
    assert len(typical) > 5
    for grade in typical:
        theirs = _rod_highest_t(grade.magnet.br_mt / 1e3, 4.8e-3, long_m, 0.6e-3)
        assert grade.ruling.ceiling_t == pytest.approx(theirs, rel=2e-3)
        alone = _rod_highest_t(grade.magnet.br_mt / 1e3, 4.8e-3, 16e-3, 0.6e-3)
        assert alone < grade.ruling.ceiling_t
        if length:
            assert grade.estimate_t is not None
            assert 0.0 < grade.estimate_t < alone
    assert all((g.estimate_t is not None) == length for g in rods.grades)
    for grade in rods.grades:
        if grade.magnet.value_kind == "minimum":
            assert grade.ruling.ruling == "no_ceiling"
            assert grade.ruling.ceiling_t is None


@pytest.mark.parametrize("millitesla", [90.0, 225.0, 300.0, 425.0])
def test_what_is_ruled_out_is_what_a_simulation_rules_out(millitesla: float) -> None:
    """Readings and stand-offs drawn with numpy, ceilings by magpylib: the same grades go.

    Grades whose share of draws lies within 2 % of the limit may go either way and are left out.
    """
    found = _found(_read("pole-flux-density", millitesla, 2), WIDTH, LENGTH)
    assert found is not None
    assert found.ceilings is not None
    assert not found.ceilings.depth_stated
    u = found.ceilings.reading.standard_uncertainty or 0.0
    rng = np.random.default_rng(11)
    read_t = rng.normal(millitesla, u, 20_000) / 1e3
    off = rng.normal(0.5e-3, 0.5e-3 / 3**0.5, 60_000)
    off = off[off >= 0.0][:20_000]
    table_m = np.linspace(0.0, 2.5e-3, 60)
    per_tesla = np.interp(
        off, table_m, [_rod_highest_t(1.0, 4.8e-3, 32e-3, z + 1e-7) for z in table_m]
    )
    clear = 0
    for grade in found.ceilings.grades:
        if grade.magnet.value_kind == "minimum":
            continue
        share = float(np.mean(read_t > grade.magnet.br_mt / 1e3 * per_tesla))
        assert grade.ruling.probability == pytest.approx(share, abs=0.02)
        if abs(share - 0.95) > 0.02:
            clear += 1
            assert (grade.ruling.ruling == "ruled_out") == (share > 0.95)
    assert clear > 5
    if millitesla == 425.0:
        out = {g.magnet.grade for g in found.ceilings.grades if g.ruling.ruling == "ruled_out"}
        assert "4" in out
        assert "5" not in out


@pytest.mark.parametrize(
    "family",
    ["full-size-humbucker", "small-humbucker", "wide-bar-single-coil", "horseshoe-lap-steel"],
)
def test_over_steel_no_grade_is_ruled_out(family: str) -> None:
    """Steel poles, and steel rods under magnets apart: however strong, the reading says nothing."""
    found = _found(_read("pole-flux-density", 900.0, 2), WIDTH, LENGTH, family=family)
    assert found is not None
    assert (found.ceilings, found.why_not) == (None, "over_steel")


def test_the_pieces_own_count_of_magnets_goes_before_the_documented_one() -> None:
    """Six rods with one magnet counted are steel over a bar; without a diameter it is said."""
    counted = _read("magnet-count", 1.0, 5, "pickup", step=1.0)
    found = _found(FIELD, WIDTH, counted)
    assert found is not None
    assert found.why_not == "over_steel"
    without = _found(FIELD)
    assert without is not None
    assert without.why_not == "no_diameter"


def test_the_poles_diameter_stands_in_for_the_rods() -> None:
    """A rod that is the pole has one diameter, wherever it was read."""
    found = _found(FIELD, _read("pole-diameter", 4.8, 3, "pickup"))
    assert found is not None
    assert found.ceilings is not None
    assert found.ceilings.diameter_m == pytest.approx(4.8e-3)


def test_a_lapsed_reading_does_not_go_before_a_backed_one() -> None:
    """The strongest reading by a meter within its calibration is held against the grades."""
    lapsed = _read("pole-flux-density", 400.0, 6, calibration="lapsed")
    found = _found(FIELD, lapsed, WIDTH)
    assert found is not None
    assert found.ceilings is not None
    assert found.ceilings.reading.value == 90.0
    alone = _found(lapsed, WIDTH)
    assert alone is not None
    assert alone.ceilings is not None
    assert not alone.ceilings.reading.uncertainty_backed


def test_changes_go_by_date_with_the_uncertainty_that_the_library_gives() -> None:
    """Three dated readings out of order make two changes: a loss, then a recharge; undated none."""
    readings = [
        _read("pole-flux-density", 80.0, 2, date="2026-03-01"),
        _read("pole-flux-density", 99.0, 3, date="2026-05-01"),
        _read("pole-flux-density", 92.0, 4, date="2025-01-01"),
        _read("pole-flux-density", 10.0, 5, date=None),
    ]
    found = _found(*readings)
    assert found is not None
    values = {v.date: ufloat(v.value, v.standard_uncertainty) for v in found.readings}
    assert [c.earlier.date for c in found.changes] == ["2025-01-01", "2026-03-01"]
    for change in found.changes:
        expected = values[change.later.date] - values[change.earlier.date]
        assert change.change.difference_t * 1e3 == pytest.approx(expected.n)
        assert change.change.standard_uncertainty_t * 1e3 == pytest.approx(expected.s)
        assert change.change.normalised_error == pytest.approx(abs(expected.n) / 2 / expected.s)
    assert found.changes[0].change.difference_t < 0.0 < found.changes[1].change.difference_t
    assert all(c.change.normalised_error > 1.0 for c in found.changes)


def test_a_loss_smaller_than_its_uncertainty_is_none() -> None:
    """A tenth of a millitesla by a meter of 1 %: normalised error below 1."""
    found = _found(
        _read("pole-flux-density", 90.0, 2, date="2026-03-01"),
        _read("pole-flux-density", 89.9, 3, date="2026-05-01"),
    )
    assert found is not None
    assert found.changes[0].change.normalised_error < 1.0


def test_parts_are_not_mixed_and_polarity_is_passed_on() -> None:
    """Magnets A and B are two magnets: no change from one to the other."""
    found = _found(
        _read("pole-flux-density", 90.0, 2, "magnet_a", date="2026-03-01"),
        _read("pole-flux-density", 50.0, 3, "magnet_b", date="2026-05-01"),
        _read("pole-polarity", None, 4, "coil", category="south"),
    )
    assert found is not None
    assert found.changes == ()
    assert found.polarity == (("coil", "south"),)
    assert _found() is None


ODD = st.one_of(st.none(), st.just(0.0), st.floats(1e-6, 1e6))


@settings(max_examples=60, deadline=None)
@given(ODD, ODD, ODD, st.sampled_from(["", "<", ">"]), st.floats(0.0, 1.0))
def test_nothing_is_raised_for_odd_readings(
    field: float | None, width: float | None, length: float | None, qualifier: str, depth_m: float
) -> None:
    """Whatever is typed, a page can be made; a bound is never held against a grade."""
    readings = [
        _read(prop, value, line, qualifier=qualifier if line == 2 else "", depth_m=depth_m)
        for line, (prop, value) in enumerate(
            (("pole-flux-density", field), ("magnet-width", width), ("magnet-length", length)), 2
        )
        if value is not None
    ]
    found = _found(*readings)
    if qualifier or field is None:
        assert found is None

"""Magnets beside magpylib (a general-purpose field library), numerics, and their own symmetry."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from types import ModuleType
from typing import Any

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar
from uncertainties import correlated_values

from coilbook.core.formulas.rods import RodMagnet, rod_on_axis_t
from coilbook.core.reduction.rod_ceilings import GradeRemanence
from coilbook.errors import OutOfDomain
from coilbook.measures import magnet_field, magnet_grade
from coilbook.measures.formulas import document
from coilbook.measures.magnet_field import (
    BarMagnet,
    MagnetShape,
    bar_field_t,
    bar_on_axis_t,
    highest_over_face_t,
    middle_of_face_t,
    rod_field_t,
)
from coilbook.measures.magnet_grade import (
    MU_0_H_PER_M,
    MagnetCurve,
    bar_demagnetising_factor,
    ceiling_t,
    demagnetisation_curve_t,
    demagnetising_factor,
    field_change,
    rod_demagnetising_factor,
    row_demagnetising_factor,
    rule_out,
    self_demagnetised_t,
    working_polarisation_t,
)
from coilbook.records import load_reference

#: J for all comparisons, and how far ours may be off: 1e-6 mT.
J_T = 1.0
TOLERANCE_T = 1e-9

BAR = BarMagnet(63.5e-3, 3.2e-3, 12.7e-3)
PLATE = BarMagnet(63.5e-3, 12.7e-3, 3.2e-3)
ROD = RodMagnet(4.8e-3, 16e-3)
SHAPES = (BAR, PLATE, ROD)

EDGE = st.floats(1e-3, 80e-3)
BARS = st.builds(BarMagnet, EDGE, EDGE, EDGE)
RODS = st.builds(RodMagnet, st.floats(1e-3, 20e-3), EDGE)
STANDOFF = st.floats(0.0, 60e-3)
SEED = st.integers(0, 2**32 - 1)

_loaded = load_reference().value
assert _loaded is not None
MAGNETS = {key: row for key, row in _loaded.magnets.items() if row.material == "alnico"}
CURVES = {
    magnet.magnet_id: MagnetCurve(
        magnet.br_mt / 1e3, magnet.hc_ka_per_m * 1e3, magnet.bhmax_kj_per_m3 * 1e3
    )
    for magnet in MAGNETS.values()
}
FACTOR = st.floats(0.001, 0.999)


def _as_magpylib(magnet: MagnetShape) -> Any:
    if isinstance(magnet, BarMagnet):
        return magpylib.magnet.Cuboid(
            polarization=(0.0, 0.0, J_T),
            dimension=(magnet.edge_x_m, magnet.edge_y_m, magnet.along_m),
        )
    return magpylib.magnet.Cylinder(
        polarization=(0.0, 0.0, J_T), dimension=(magnet.diameter_m, magnet.along_m)
    )


def _half_sizes(magnet: MagnetShape) -> np.ndarray[Any, Any]:
    if isinstance(magnet, BarMagnet):
        return np.array([magnet.edge_x_m, magnet.edge_y_m, magnet.along_m]) / 2.0
    return np.array([magnet.diameter_m, magnet.diameter_m, magnet.along_m]) / 2.0


def _places_outside(magnet: MagnetShape, seed: int) -> np.ndarray[Any, Any]:
    """Return random places round a magnet, at least 10 µm off its surface."""
    half = _half_sizes(magnet)
    places = np.random.default_rng(seed).uniform(-3.0, 3.0, (60, 3)) * (half + 2e-3)
    beyond = np.abs(places) - half
    if isinstance(magnet, RodMagnet):
        beyond[:, 0] = beyond[:, 1] = np.hypot(places[:, 0], places[:, 1]) - half[0]
    outside: np.ndarray[Any, Any] = places[beyond.max(axis=1) > 10e-6]
    return outside


@given(BARS, SEED)
def test_the_field_round_a_bar_is_that_of_magpylib(bar: BarMagnet, seed: int) -> None:
    """All three components at random places off the axis agree to 1e-6 mT for 1 T."""
    places = _places_outside(bar, seed)
    np.testing.assert_allclose(
        bar_field_t(J_T, bar, *places.T),
        _as_magpylib(bar).getB(places).reshape(-1, 3),
        rtol=0.0,
        atol=TOLERANCE_T,
    )


@given(RODS, SEED)
def test_the_field_round_a_rod_is_that_of_magpylib(rod: RodMagnet, seed: int) -> None:
    """Both components at random places off the axis agree to 1e-6 mT for 1 T."""
    places = _places_outside(rod, seed)
    radius = np.hypot(places[:, 0], places[:, 1])
    theirs = _as_magpylib(rod).getB(places).reshape(-1, 3)
    radial = (theirs[:, 0] * places[:, 0] + theirs[:, 1] * places[:, 1]) / radius
    np.testing.assert_allclose(
        rod_field_t(J_T, rod, radius, places[:, 2]),
        np.stack([radial, theirs[:, 2]], axis=-1),
        rtol=0.0,
        atol=TOLERANCE_T,
    )


@given(st.one_of(BARS, RODS), st.floats(10e-6, 60e-3))
def test_the_field_on_the_axis_is_that_of_magpylib(magnet: MagnetShape, standoff: float) -> None:
    """The closed forms over the middle of a face agree to 1e-6 mT for 1 T."""
    theirs = _as_magpylib(magnet).getB((0.0, 0.0, magnet.along_m / 2.0 + standoff))
    assert middle_of_face_t(J_T, magnet, standoff) == pytest.approx(
        theirs[2], rel=0.0, abs=TOLERANCE_T
    )


@given(BARS, RODS, STANDOFF)
def test_the_general_field_meets_the_one_on_the_axis(
    bar: BarMagnet, rod: RodMagnet, standoff: float
) -> None:
    """From the face itself outwards both ways to the same figure agree; nothing points aside."""
    on_bar = bar_field_t(J_T, bar, 0.0, 0.0, bar.along_m / 2.0 + standoff)
    on_rod = rod_field_t(J_T, rod, 0.0, rod.along_m / 2.0 + standoff)
    assert on_bar == pytest.approx([0.0, 0.0, bar_on_axis_t(J_T, bar, standoff)], abs=1e-12)
    assert on_rod == pytest.approx([0.0, rod_on_axis_t(J_T, rod, standoff)], abs=1e-12)


@given(BARS, RODS, SEED)
def test_the_field_is_symmetrical(bar: BarMagnet, rod: RodMagnet, seed: int) -> None:
    """Mirrored in any plane through the centre, the field is the mirrored field of a magnet."""
    x, y, z = _places_outside(bar, seed).T
    here = bar_field_t(J_T, bar, x, y, z)
    for mirrored, signs in (
        ((-x, y, z), (-1, 1, 1)),
        ((x, -y, z), (1, -1, 1)),
        ((x, y, -z), (-1, -1, 1)),
    ):
        np.testing.assert_allclose(bar_field_t(J_T, bar, *mirrored), here * signs, atol=1e-12)
    turned = bar_field_t(J_T, BarMagnet(bar.edge_y_m, bar.edge_x_m, bar.along_m), y, x, z)
    np.testing.assert_allclose(turned, here[:, [1, 0, 2]], atol=1e-12)
    places = _places_outside(rod, seed)
    radius = np.hypot(places[:, 0], places[:, 1])
    np.testing.assert_allclose(
        rod_field_t(J_T, rod, radius, -places[:, 2]),
        rod_field_t(J_T, rod, radius, places[:, 2]) * (-1, 1),
        atol=1e-12,
    )


@given(st.one_of(BARS, RODS), STANDOFF, st.floats(1e-4, 20e-3))
def test_the_field_falls_with_distance(magnet: MagnetShape, standoff: float, step: float) -> None:
    """Over the middle: more than nothing, at most half of J, less with every step away."""
    near = middle_of_face_t(J_T, magnet, standoff)
    far = middle_of_face_t(J_T, magnet, standoff + step)
    assert 0.0 < far < near <= J_T / 2.0


@given(st.one_of(BARS, RODS), st.floats(0.0, math.pi))
def test_far_away_the_field_is_a_dipoles(magnet: MagnetShape, angle: float) -> None:
    """At 40 sizes both components are those of a dipole of the same moment, to a percent."""
    size = 2.0 * float(np.linalg.norm(_half_sizes(magnet)))
    distance = 40.0 * size
    radius, z = distance * math.sin(angle), distance * math.cos(angle)
    if isinstance(magnet, BarMagnet):
        volume = magnet.edge_x_m * magnet.edge_y_m * magnet.along_m
        found = bar_field_t(J_T, magnet, radius, 0.0, z)[[0, 2]]
    else:
        volume = math.pi / 4.0 * magnet.diameter_m**2 * magnet.along_m
        found = rod_field_t(J_T, magnet, radius, z)
    unit = J_T * volume / (4.0 * math.pi * distance**3)
    dipole = unit * np.array(
        [3.0 * math.cos(angle) * math.sin(angle), 3.0 * math.cos(angle) ** 2 - 1.0]
    )
    assert np.abs(found - dipole).max() < 0.01 * unit + 1e-15


def test_the_surface_takes_its_limit_from_outside() -> None:
    """On faces and sides the field is that of a hair outside, in line with edges it is finite."""
    for z in (6.35e-3, -6.35e-3):
        on, off = (bar_field_t(J_T, BAR, 0.01, 0.001, z * k) for k in (1.0, 1.0 + 1e-9))
        np.testing.assert_allclose(on, off, atol=1e-7)
    on, off = (bar_field_t(J_T, BAR, 31.75e-3 * k, 0.001, 0.002) for k in (1.0, 1.0 + 1e-9))
    np.testing.assert_allclose(on, off, atol=1e-7)
    on, off = (rod_field_t(J_T, ROD, 2.4e-3 * k, 0.002) for k in (1.0, 1.0 + 1e-9))
    np.testing.assert_allclose(on, off, atol=1e-7)
    in_line, beside = (bar_field_t(J_T, BAR, 31.75e-3, 0.004, 6.35e-3 + h) for h in (0.0, 1e-12))
    np.testing.assert_allclose(in_line, beside, atol=1e-7)


@pytest.mark.parametrize("magnet", SHAPES)
def test_the_highest_over_a_face_is_what_magpylib_finds(magnet: MagnetShape) -> None:
    """A dense search with the outside library finds no more than ours, and nearly as much."""
    half = _half_sizes(magnet)
    x, y = np.meshgrid(*(np.linspace(0.0, h, 150) for h in half[:2]), indexing="ij")
    if isinstance(magnet, RodMagnet):
        x, y = x[:, :1], 0.0 * y[:, :1]
    for standoff in (0.3e-3, 1e-3, 3e-3, 10e-3):
        places = np.stack([x, y, np.full_like(x, half[2] + standoff)], axis=-1)
        theirs = float(_as_magpylib(magnet).getB(places)[..., 2].max())
        ours = float(highest_over_face_t(J_T, magnet, standoff))
        assert theirs <= ours + 1e-12
        assert ours == pytest.approx(theirs, rel=2e-3)
        assert ours >= middle_of_face_t(J_T, magnet, standoff) - 1e-12


def test_a_flat_magnet_reads_far_higher_near_its_rim_than_over_its_middle() -> None:
    """Why the ceiling is the highest over the face unless the probe is over the middle."""
    assert ceiling_t(1.0, PLATE, 1e-3) > 1.3 * ceiling_t(1.0, PLATE, 1e-3, over_the_middle=True)


@pytest.mark.parametrize(
    "magnet", [BAR, PLATE, ROD, BarMagnet(0.01, 0.01, 0.01), RodMagnet(0.01, 0.003)]
)
def test_the_factor_is_the_mean_field_that_magpylib_finds_inside(magnet: MagnetShape) -> None:
    """Over a magnet's volume the outside library's mean of H is minus N J/µ0, to a thousandth."""
    half = _half_sizes(magnet)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    if isinstance(magnet, BarMagnet):
        places = np.stack(np.meshgrid(*(nodes * h for h in half), indexing="ij"), axis=-1)
        weight = weights[:, None, None] * weights[:, None] * weights / 8.0
    else:
        radius, z = np.meshgrid((nodes + 1.0) / 2.0 * half[0], nodes * half[2], indexing="ij")
        places = np.stack([radius, 0.0 * radius, z], axis=-1)
        weight = (weights * (nodes + 1.0) / 2.0)[:, None] * weights / 2.0
    assert weight.sum() == pytest.approx(1.0)
    field = _as_magpylib(magnet).getH(places)[..., 2]
    mean = float((field * weight).sum()) * MU_0_H_PER_M / J_T
    assert demagnetising_factor(magnet) == pytest.approx(-mean, abs=1e-3)


def test_rods_in_a_row_weaken_each_other_as_magpylib_finds() -> None:
    """The other five rods' field, averaged by the library over one rod's volume, adds to N.

    Six rods of 4.8 x 16 mm, 10.4 mm apart: the factor of a rod alone is 0.116; one in the middle
    has 0.137, one at the end 0.127, and the row as a whole about 0.13.
    """
    pitch, found = 10.4e-3, []
    at, weight = np.polynomial.legendre.leggauss(12)
    out, turned, along = np.meshgrid(
        2.4e-3 * np.sqrt((np.arange(6) + 0.5) / 6),
        (np.arange(12) + 0.5) * math.pi / 6,
        at * 8e-3,
        indexing="ij",
    )
    weights = np.broadcast_to(weight / 2 / 72, out.shape)
    for which in range(6):
        others = magpylib.Collection(
            *(
                magpylib.magnet.Cylinder(
                    magnetization=(0, 0, 1.0),
                    dimension=(4.8e-3, 16e-3),
                    position=((other - which) * pitch, 0, 0),
                )
                for other in range(6)
                if other != which
            )
        )
        places = np.stack([out * np.cos(turned), out * np.sin(turned), along], axis=-1)
        added = -float(np.sum(others.getH(places)[..., 2] * weights))
        found.append(row_demagnetising_factor(ROD, pitch, 6, which + 1))
        assert found[-1] == pytest.approx(rod_demagnetising_factor(ROD) + added, rel=1e-4)
    assert found == pytest.approx(found[::-1])
    assert (round(found[0], 3), round(found[2], 3)) == (0.127, 0.137)
    assert float(np.mean(found)) == pytest.approx(0.13, abs=0.005)
    assert row_demagnetising_factor(ROD, pitch, 1, 1) == rod_demagnetising_factor(ROD)


@given(EDGE, EDGE, EDGE)
def test_the_factors_of_the_three_edges_sum_to_one(a: float, b: float, c: float) -> None:
    """True of every body; each lies between 0 and 1, and the shortest edge has the largest."""
    factors = [bar_demagnetising_factor(BarMagnet(*e)) for e in ((b, c, a), (c, a, b), (a, b, c))]
    assert sum(factors) == pytest.approx(1.0, abs=1e-10)
    assert all(0.0 < factor < 1.0 for factor in factors)
    edges = (a, b, c)
    for i in range(3):
        for j in range(3):
            if edges[i] < edges[j]:
                assert factors[i] >= factors[j] - 1e-12


@given(st.floats(0.5e-3, 20e-3), EDGE, st.floats(1.01, 3.0))
def test_a_longer_magnet_is_demagnetised_less(across: float, along: float, more: float) -> None:
    """The factor falls with length, and lies between 0 and 1 from disc to needle."""
    for short, long in (
        (RodMagnet(across, along), RodMagnet(across, along * more)),
        (BarMagnet(across, 0.01, along), BarMagnet(across, 0.01, along * more)),
    ):
        assert 0.0 < demagnetising_factor(long) < demagnetising_factor(short) < 1.0


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES)
def test_the_curve_meets_the_three_figures_that_it_is_made_of(curve: MagnetCurve) -> None:
    """Remanence, coercivity and, sought by numeric means, the largest energy product."""
    assert demagnetisation_curve_t(0.0, curve) == curve.remanence_t
    assert demagnetisation_curve_t(curve.coercivity_a_per_m, curve) == 0.0
    best = minimize_scalar(
        lambda h: -h * demagnetisation_curve_t(h, curve),
        bounds=(0.0, curve.coercivity_a_per_m),
        method="bounded",
        options={"xatol": 1e-3},
    )
    assert -best.fun == pytest.approx(curve.energy_product_j_per_m3, rel=1e-6)


@given(st.sampled_from(list(CURVES.values())), FACTOR)
def test_the_working_point_lies_on_the_curve_and_on_the_load_line(
    curve: MagnetCurve, factor: float
) -> None:
    """A root finder on the two curves finds the same polarisation, or one above the remanence."""
    slope = MU_0_H_PER_M * (1.0 - factor) / factor
    field = brentq(
        lambda h: demagnetisation_curve_t(h, curve) - slope * h,
        0.0,
        curve.coercivity_a_per_m,
        xtol=1e-6,
    )
    found = working_polarisation_t(factor, curve)
    crossing = demagnetisation_curve_t(field, curve) + MU_0_H_PER_M * field
    assert found == pytest.approx(min(crossing, curve.remanence_t), rel=1e-6)


@given(st.sampled_from(list(CURVES.values())), FACTOR, st.floats(1.0, 1.2))
def test_more_demagnetising_leaves_less(curve: MagnetCurve, factor: float, more: float) -> None:
    """The polarisation never rises with the factor, nor above the remanence."""
    one, other = (working_polarisation_t(min(0.9999, factor * k), curve) for k in (1.0, more))
    assert 0.0 < other <= one * (1.0 + 1e-12)
    assert one <= curve.remanence_t


def test_every_grade_of_the_reference_loads() -> None:
    """All 30 keep some and lose some of their remanence, in a bar and in a rod."""
    assert len(CURVES) == 30
    for curve in CURVES.values():
        for magnet in SHAPES:
            kept = working_polarisation_t(demagnetising_factor(magnet), curve) / curve.remanence_t
            assert 0.0 < kept < 1.0
            shown = self_demagnetised_t(curve, magnet, 1e-3)
            assert shown == pytest.approx(
                kept * ceiling_t(curve.remanence_t, magnet, 1e-3, over_the_middle=True)
            )
            assert shown < ceiling_t(curve.remanence_t, magnet, 1e-3)


def test_grades_of_low_coercivity_keep_a_fifth_to_a_half_in_a_bar() -> None:
    """What the trade says of this alloy holds below 60 kA/m; harder ones keep up to four fifths."""
    factor = bar_demagnetising_factor(BAR)
    for curve in CURVES.values():
        kept = working_polarisation_t(factor, curve) / curve.remanence_t
        if curve.coercivity_a_per_m < 60e3:
            assert 0.2 < kept < 0.5
        else:
            assert 0.2 < kept < 0.8


def _grades() -> list[GradeRemanence]:
    return [
        GradeRemanence(magnet.magnet_id, magnet.br_mt / 1e3, magnet.value_kind)
        for magnet in MAGNETS.values()
    ]


def test_minimum_values_give_no_ceiling_and_nothing_is_identified() -> None:
    """The kind is carried along; the words are three, and none of them says which grade it is."""
    rulings = rule_out(0.3, 0.005, 1e-3, 0.1e-3, ROD, _grades())
    assert {r.ruling for r in rulings} == {"ruled_out", "not_ruled_out", "no_ceiling"}
    for ruling in rulings:
        assert ruling.value_kind == MAGNETS[ruling.grade_id].value_kind
        if ruling.value_kind == "minimum":
            assert ruling.ruling == "no_ceiling"
            assert ruling.ceiling_t is None
            assert ruling.probability is None
        else:
            assert ruling.probability is not None
            expected = "ruled_out" if ruling.probability >= 0.95 else "not_ruled_out"
            assert ruling.ruling == expected


def test_a_strong_reading_rules_out_the_weak_grades_only() -> None:
    """300 mT at 1 mm from a rod is too much for a remanence of 0.7 T and none for 1.28 T."""
    found = {r.grade_id: r.ruling for r in rule_out(0.3, 0.005, 1e-3, 0.1e-3, ROD, _grades())}
    assert found["mmpa-3-cast"] == "ruled_out"
    assert found["mmpa-5-cast"] == "not_ruled_out"
    weak = rule_out(0.0, 0.005, 1e-3, 0.1e-3, ROD, _grades())
    assert not any(ruling.ruling == "ruled_out" for ruling in weak)


@given(st.floats(0.0, 0.6), st.floats(0.001, 0.05), st.floats(0.5, 1.4), st.floats(1.0, 1.5))
@settings(max_examples=40)
def test_a_stronger_grade_is_never_ruled_out_sooner(
    reading: float, uncertainty: float, remanence: float, more: float
) -> None:
    """The probability falls with the remanence and rises with the reading."""
    grades = [GradeRemanence("weak", remanence, "typical")]
    grades.append(GradeRemanence("strong", remanence * more, "typical"))
    weak, strong = rule_out(reading, uncertainty, 1e-3, 0.2e-3, ROD, grades, over_the_middle=True)
    higher, _ = rule_out(reading * more, uncertainty, 1e-3, 0.2e-3, ROD, grades, True)
    assert weak.probability is not None
    assert strong.probability is not None
    assert higher.probability is not None
    assert strong.probability <= weak.probability <= higher.probability


@pytest.mark.parametrize("magnet", SHAPES)
@pytest.mark.parametrize(("standoff", "uncertainty"), [(1e-3, 0.2e-3), (0.2e-3, 0.4e-3)])
def test_the_probability_is_that_of_a_simulation(
    magnet: MagnetShape, standoff: float, uncertainty: float
) -> None:
    """Drawing readings and stand-offs (JCGM 101's way) gives it to within a hundredth.

    The second case has a stand-off that its uncertainty carries to the face: there the draws that
    would lie inside the magnet are left out, and a straight-line propagation would go wrong.
    """
    draw = np.random.default_rng(20240611)
    z = draw.normal(standoff, uncertainty, 40_000)
    z = z[z >= 0.0]
    ceiling = ceiling_t(0.7, magnet, standoff, over_the_middle=True)
    reading, noise = 1.05 * ceiling, 0.02 * ceiling
    seen = draw.normal(reading, noise, len(z))
    limits = np.array([middle_of_face_t(0.7, magnet, float(each)) for each in z])
    (ruling,) = rule_out(
        reading,
        noise,
        standoff,
        uncertainty,
        magnet,
        [GradeRemanence("a", 0.7, "typical")],
        over_the_middle=True,
    )
    assert ruling.ceiling_t == pytest.approx(ceiling)
    assert ruling.probability == pytest.approx(float(np.mean(seen > limits)), abs=0.01)


@given(
    st.floats(-0.5, 0.5),
    st.floats(1e-4, 0.02),
    st.floats(-0.5, 0.5),
    st.floats(1e-4, 0.02),
    st.floats(-0.99, 0.9),
)
def test_a_change_has_the_uncertainty_that_the_library_gives(
    earlier: float, u1: float, later: float, u2: float, correlation: float
) -> None:
    """The package uncertainties propagates the same difference with the same correlation."""
    covariance = [[u1 * u1, correlation * u1 * u2], [correlation * u1 * u2, u2 * u2]]
    before, after = correlated_values([earlier, later], covariance)
    change = field_change(earlier, u1, later, u2, correlation)
    theirs = after - before
    assert change.difference_t == theirs.nominal_value
    assert change.standard_uncertainty_t == pytest.approx(theirs.std_dev, rel=1e-6)
    assert change.normalised_error == pytest.approx(
        abs(change.difference_t) / (2.0 * change.standard_uncertainty_t)
    )


def test_a_loss_is_below_nothing_and_a_recharge_above() -> None:
    """The change is the later less the earlier reading."""
    loss = field_change(0.060, 0.001, 0.045, 0.001)
    assert loss.difference_t == pytest.approx(-0.015)
    assert loss.normalised_error > 1.0
    assert field_change(0.045, 0.001, 0.060, 0.001).difference_t == pytest.approx(0.015)


CURVE = MagnetCurve(1.28, 51e3, 43.8e3)
GRADE = [GradeRemanence("a", 1.0, "typical")]
BAD: list[tuple[str, Callable[[], object]]] = [
    ("edge_x_m", lambda: BarMagnet(0.0, 1e-3, 1e-3)),
    ("edge_y_m", lambda: BarMagnet(1e-3, -1e-3, 1e-3)),
    ("along_m", lambda: BarMagnet(1e-3, 1e-3, math.nan)),
    ("diameter_m", lambda: RodMagnet(math.inf, 1e-3)),
    ("along_m", lambda: RodMagnet(1e-3, 0.0)),
    ("polarisation_t", lambda: bar_on_axis_t(0.0, BAR, 1e-3)),
    ("standoff_m", lambda: bar_on_axis_t(1.0, BAR, -1e-3)),
    ("polarisation_t", lambda: rod_on_axis_t(-1.0, ROD, 1e-3)),
    ("standoff_m", lambda: rod_on_axis_t(1.0, ROD, math.nan)),
    ("polarisation_t", lambda: bar_field_t(0.0, BAR, 0.0, 0.0, 1.0)),
    ("x_m", lambda: bar_field_t(1.0, BAR, 0.0, 0.0, 0.0)),
    ("y_m", lambda: bar_field_t(1.0, BAR, 0.0, math.inf, 1.0)),
    ("z_m", lambda: bar_field_t(1.0, BAR, 31.75e-3, 0.0, 6.35e-3)),
    ("radius_m", lambda: rod_field_t(1.0, ROD, -1e-3, 1.0)),
    ("radius_m", lambda: rod_field_t(1.0, ROD, 0.0, 0.0)),
    ("radius_m", lambda: rod_field_t(1.0, ROD, 2.4e-3, 8e-3)),
    ("z_m", lambda: rod_field_t(1.0, ROD, 0.0, math.nan)),
    ("polarisation_t", lambda: highest_over_face_t(0.0, BAR, 1e-3)),
    ("standoff_m", lambda: highest_over_face_t(1.0, BAR, [1e-3, -1e-3])),
    ("remanence_t", lambda: ceiling_t(0.0, BAR, 1e-3)),
    ("standoff_m", lambda: ceiling_t(1.0, ROD, -1e-3)),
    ("remanence_t", lambda: MagnetCurve(0.0, 51e3, 43.8e3)),
    ("coercivity_a_per_m", lambda: MagnetCurve(1.28, -51e3, 43.8e3)),
    ("energy_product_j_per_m3", lambda: MagnetCurve(1.28, 51e3, math.inf)),
    ("energy_product_j_per_m3", lambda: MagnetCurve(1.28, 51e3, 70e3)),
    ("opposing_field_a_per_m", lambda: demagnetisation_curve_t(52e3, CURVE)),
    ("opposing_field_a_per_m", lambda: demagnetisation_curve_t(-1.0, CURVE)),
    ("demagnetising_factor", lambda: working_polarisation_t(0.0, CURVE)),
    ("demagnetising_factor", lambda: working_polarisation_t(1.0, CURVE)),
    ("standoff_m", lambda: self_demagnetised_t(CURVE, BAR, -1.0)),
    ("pitch_m", lambda: row_demagnetising_factor(ROD, 4.8e-3, 6, 1)),
    ("which", lambda: row_demagnetising_factor(ROD, 10.4e-3, 6, 7)),
    ("reading_t", lambda: rule_out(-0.1, 0.01, 1e-3, 0.0, BAR, GRADE)),
    ("reading_uncertainty_t", lambda: rule_out(0.1, 0.0, 1e-3, 0.0, BAR, GRADE)),
    ("standoff_m", lambda: rule_out(0.1, 0.01, -1e-3, 0.0, BAR, GRADE)),
    ("standoff_uncertainty_m", lambda: rule_out(0.1, 0.01, 1e-3, math.inf, BAR, GRADE)),
    (
        "remanence_t",
        lambda: rule_out(0.1, 0.01, 1e-3, 0.0, BAR, [GradeRemanence("a", 0.0, "typical")]),
    ),
    ("earlier_t", lambda: field_change(math.nan, 0.01, 0.1, 0.01)),
    ("earlier_uncertainty_t", lambda: field_change(0.1, 0.0, 0.1, 0.01)),
    ("later_t", lambda: field_change(0.1, 0.01, math.inf, 0.01)),
    ("later_uncertainty_t", lambda: field_change(0.1, 0.01, 0.1, -0.01)),
    ("correlation", lambda: field_change(0.1, 0.01, 0.1, 0.01, 1.0)),
]


@pytest.mark.parametrize(("name", "call"), BAD)
def test_bad_input_is_named(name: str, call: Callable[[], object]) -> None:
    """Each argument out of its range is refused by its name."""
    with pytest.raises(OutOfDomain, match=rf"\b{name}\b"):
        call()


@pytest.mark.parametrize("module", [magnet_field, magnet_grade])
def test_every_function_is_documented_for_the_methods_page(module: ModuleType) -> None:
    """Formula, arguments in the code's order with units, result, validity and source."""
    functions = [
        function
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith(("_", "require_"))
    ]
    assert functions
    for function in functions:
        arguments = [argument.name for argument in document(function, "magnet").arguments]
        assert arguments == list(inspect.signature(function).parameters)


def test_a_rod_as_long_as_wide_lies_near_a_cube() -> None:
    """A rough check of one factor by the other: 0.312 for the rod, 1/3 for the cube."""
    rod = rod_demagnetising_factor(RodMagnet(0.01, 0.01))
    assert rod == pytest.approx(bar_demagnetising_factor(BarMagnet(0.01, 0.01, 0.01)), abs=0.03)

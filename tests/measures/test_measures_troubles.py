"""Readings that cannot be: each is named with its place, and the rest is worked out as ever."""

from __future__ import annotations

import math

import pytest
from measures_bench import REFERENCE, meter, piece, reading

from coilbook.core.reduction.measured_piece import MeasuredPiece, Trouble
from coilbook.core.reduction.piece import measure_piece


def _sound_and(*more: object) -> MeasuredPiece:
    """Measure a piece of two sound coils, a pair and a capacitance, with more readings."""
    sound = (
        reading(4.1, component="coil_a", line=2, instrument=meter()),
        reading(3.9, component="coil_b", line=3, instrument=meter()),
        reading(8.0, prop="pair-resistance", component="pair", line=4, instrument=meter()),
        reading(120.0, prop="self-capacitance", component="pickup", line=5, step=1.0),
    )
    return measure_piece(piece(*sound, *more), REFERENCE)  # type: ignore[arg-type]


def _only(measured: MeasuredPiece) -> Trouble:
    (trouble,) = measured.troubles
    return trouble


@pytest.mark.parametrize(
    ("value", "code"),
    [
        (0.0, "not_above_zero"),
        (-4.0, "not_above_zero"),
        (math.inf, "not_finite"),
        (math.nan, "not_finite"),
    ],
)
@pytest.mark.parametrize(
    ("prop", "component"),
    [
        ("pair-inductance", "pair"),
        ("resonant-frequency", "pickup"),
        ("pole-spacing", "pickup"),
        ("pickup-mass", "pickup"),
    ],
)
def test_a_number_that_cannot_be_is_named(
    value: float, code: str, prop: str, component: str
) -> None:
    """Nothing, less than nothing, no number, without end: code, line, and the rest reduced."""
    measured = _sound_and(reading(value, prop=prop, component=component, line=9))
    trouble = _only(measured)
    assert (trouble.code, trouble.line, trouble.property_id) == (code, 9, prop)
    assert (component, prop) not in measured.best
    assert measured.best["pair", "coil-imbalance"].value == pytest.approx(5.0)
    assert len(measured.turns) == 2
    assert measured.closure is not None


@pytest.mark.parametrize("value", [0.0, -4.0, math.inf])
def test_a_bad_coil_leaves_its_sister(value: float) -> None:
    """One coil's reading cannot be: the other still has turns, and no imbalance is made up."""
    measured = measure_piece(
        piece(
            reading(value, component="coil_a", line=2, instrument=meter()),
            reading(3.9, component="coil_b", line=3, instrument=meter()),
        ),
        REFERENCE,
    )
    assert _only(measured).line == 2
    assert [turns.component for turns in measured.turns] == ["coil_b"]
    assert ("pair", "coil-imbalance") not in measured.best


def test_a_temperature_that_no_bench_has_is_named() -> None:
    """900 °C: the sentence says so with its limits, and the coil beside it is as ever."""
    measured = measure_piece(
        piece(
            reading(4.1, component="coil_a", line=2, temperature_c=900.0),
            reading(3.9, component="coil_b", line=3),
        ),
        REFERENCE,
    )
    trouble = _only(measured)
    assert (trouble.code, trouble.line) == ("out_of_domain", 2)
    assert "900" in str(trouble.data["sentence"])
    assert measured.best["coil_b", "coil-resistance"].value == pytest.approx(3.9)


def test_a_reading_above_its_path_is_named_and_kept_as_a_bound() -> None:
    """600 kΩ across a pot of 500 kΩ cannot be: at least that, and nothing is taken out."""
    measured = measure_piece(
        piece(
            reading(600.0, component="coil_a", line=2, circuit="in_circuit", parallel_ohm=500e3),
            reading(3.9, component="coil_b", line=3),
        ),
        REFERENCE,
    )
    trouble = _only(measured)
    assert (trouble.code, trouble.line) == ("parallel_impossible", 2)
    assert measured.best["coil_a", "coil-resistance"].qualifier == ">"
    assert [turns.component for turns in measured.turns] == ["coil_b"]


def test_an_open_coil_in_a_pair_that_reads_is_named() -> None:
    """There is no way through an open coil, so one of the two is wrong."""
    measured = measure_piece(
        piece(
            reading(None, component="coil_a", qualifier="open", line=2),
            reading(3.9, component="coil_b", line=3),
            reading(8.0, prop="pair-resistance", component="pair", line=4),
        ),
        REFERENCE,
    )
    trouble = _only(measured)
    assert (trouble.code, trouble.component, trouble.line) == ("coil_open_pair_reads", "coil_a", 2)
    assert measured.best["pair", "pair-resistance"].value == pytest.approx(8.0)
    assert [turns.component for turns in measured.turns] == ["coil_b"]


def test_a_pair_open_between_sound_coils_is_named() -> None:
    """Both coils read and the pair is open: the link between them is at fault."""
    measured = measure_piece(
        piece(
            reading(4.1, component="coil_a", line=2),
            reading(3.9, component="coil_b", line=3),
            reading(None, prop="pair-resistance", component="pair", qualifier="open", line=4),
        ),
        REFERENCE,
    )
    trouble = _only(measured)
    assert (trouble.code, trouble.line) == ("pair_open_coils_read", 4)
    assert len(measured.turns) == 2


def test_coils_that_do_not_add_up_are_named() -> None:
    """4.1 kΩ and 3.9 kΩ beside a pair of 7.2 kΩ, with how far beyond the uncertainties it is."""
    measured = measure_piece(
        piece(
            reading(4.1, component="coil_a", line=2, instrument=meter()),
            reading(3.9, component="coil_b", line=3, instrument=meter()),
            reading(7.2, prop="pair-resistance", component="pair", line=4, instrument=meter()),
        ),
        REFERENCE,
    )
    trouble = _only(measured)
    assert (trouble.code, trouble.line) == ("closure_fails", 0)
    assert trouble.data["sum_kohm"] == pytest.approx(8.0)
    assert float(trouble.data["normalised_error"]) > 1.0


def test_a_sound_piece_has_no_trouble() -> None:
    """Nothing is named where nothing is wrong."""
    assert _sound_and().troubles == ()


def test_turns_by_weight_and_resistance_are_combined() -> None:
    """5,000 turns of 42 AWG weighed and read: one estimate, better than that by resistance.

    Resistance and mass are worked out here from the wire's nominal sizes by the textbook formulas
    (copper 8,890 kg/m³; the insulation's density is the middle of measures' stated range).
    """
    from coilbook.core.formulas.layers import coil_mass_kg
    from coilbook.core.reduction.turns import winding_of

    wire, bobbin = REFERENCE.wires["awg-42-single"], REFERENCE.bobbins["humbucker-bobbin"]
    w = winding_of(wire, bobbin)
    growth = w.overall_diameter_m**2 * w.packing / w.winding_height_m
    around = 2.0 * (w.core_length_m - w.core_width_m) + math.pi * w.core_width_m
    length = 5000.0 * (around + math.pi * growth * 5000.0)
    area = math.pi * w.bare_diameter_m**2 / 4.0 / (1.0 + w.stretch)
    kohm = length / 58.0e6 / area / 1e3
    mass_g = float(coil_mass_kg(5000.0, w)) * 1e3
    copper_g = length * area * 8890.0 * 1e3
    assert copper_g < mass_g < 1.25 * copper_g
    measured = measure_piece(
        piece(
            reading(kohm, component="coil_a", line=2, instrument=meter()),
            reading(mass_g, prop="wire-mass", component="coil_a", line=3, step=0.05),
        ),
        REFERENCE,
    )
    turns = measured.best["coil_a", "coil-turns"]
    (coil,) = measured.turns
    assert turns.value == pytest.approx(5000.0, rel=1e-6)
    assert turns.standard_uncertainty is not None
    assert turns.standard_uncertainty < coil.standard_uncertainty / 1.5
    assert coil.combined is not None
    assert coil.combined.agrees


def test_a_weight_that_disagrees_leaves_the_turns_by_resistance() -> None:
    """Half the weight that the resistance stands for: told apart, never averaged."""
    measured = measure_piece(
        piece(
            reading(4.0, component="coil_a", line=2, instrument=meter()),
            reading(6.0, prop="wire-mass", component="coil_a", line=3, step=0.05),
        ),
        REFERENCE,
    )
    (coil,) = measured.turns
    assert coil.combined is not None
    assert not coil.combined.agrees
    assert measured.best["coil_a", "coil-turns"].value == pytest.approx(coil.turns)


@pytest.mark.parametrize("value", [1e300, 1e-300])
def test_a_number_beyond_all_measure_stops_nothing(value: float) -> None:
    """As large or as small as a computer holds: named or kept, and the other coil is as ever."""
    measured = measure_piece(
        piece(
            reading(value, component="coil_a", line=2, instrument=meter()),
            reading(2.0, prop="coil-inductance", component="coil_a", step=0.001, line=3),
            reading(3.9, component="coil_b", line=4, instrument=meter()),
        ),
        REFERENCE,
    )
    assert measured.best["coil_b", "coil-resistance"].value == pytest.approx(3.9)
    assert "coil_b" in [turns.component for turns in measured.turns]

"""A whole piece: derived values, what their parts share, closure, turns."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from measures_bench import REFERENCE, meter, piece, reading
from uncertainties import UFloat, ufloat

from coilbook.core.budgets.uncertainty import Contribution
from coilbook.core.constants import (
    ALPHA_20_PER_K,
    CONDUCTIVITY_HALF_WIDTH,
    HANDLING_HALF_WIDTH_K,
)
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.piece import measure_piece
from coilbook.records.contents import Reading

ROOT3 = math.sqrt(3.0)


def _coils(a: float = 4.1, b: float = 3.9, **conditions: object) -> list[Reading]:
    return [
        reading(a, component="coil_a", line=2, **conditions),  # type: ignore[arg-type]
        reading(b, component="coil_b", line=3, **conditions),  # type: ignore[arg-type]
    ]


def _measure(*readings: Reading, family: str = "full-size-humbucker") -> MeasuredPiece:
    return measure_piece(piece(*readings, family=family), REFERENCE)


def _names(budget: tuple[Contribution, ...]) -> list[str]:
    return [line.name for line in budget]


@given(
    a=st.floats(1.0, 10.0),
    b=st.floats(1.0, 10.0),
    temperature_c=st.floats(5.0, 35.0),
    percent=st.floats(0.1, 3.0),
    digits=st.floats(0.5, 5.0),
)
def test_pair_from_coils_shares_what_the_coils_share(
    a: float, b: float, temperature_c: float, percent: float, digits: float
) -> None:
    """uncertainties, given common variables for gain, temperature and copper, finds the same.

    The rest of each accuracy limit is the coil's own, as instrument_budget says.
    """
    measured = _measure(
        *_coils(a, b, temperature_c=temperature_c, instrument=meter(percent, digits))
    )
    pair = measured.best["pair", "pair-resistance"]
    gain = ufloat(0.0, percent / 100.0 / ROOT3)
    temperature = ufloat(temperature_c, 1.0 / ROOT3)
    alpha = ufloat(ALPHA_20_PER_K, ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH / ROOT3)
    seen = 0.0
    for kohm in (a, b):
        share = percent / 100.0 * kohm
        own = math.sqrt((share + digits * 0.01) ** 2 - share**2) / ROOT3
        seen += kohm * (1.0 + gain) + ufloat(0.0, own)
    expected = seen / (1.0 + alpha * (temperature - 20.0))
    assert pair.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert pair.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-6)
    assert pair.flags == ("derived",)
    assert pair.instrument_id == "meter-1"


def test_two_instruments_share_no_gain() -> None:
    """With another meter on the second coil the pair is known better: two gains, independent."""
    same = _measure(*_coils(instrument=meter())).best["pair", "pair-resistance"]
    first, _ = _coils(instrument=meter())
    _, second = _coils(instrument=meter(instrument_id="meter-2"))
    other = _measure(first, second).best["pair", "pair-resistance"]
    assert same.standard_uncertainty is not None
    assert other.standard_uncertainty is not None
    assert other.standard_uncertainty < same.standard_uncertainty
    assert other.instrument_id is None


def test_difference_takes_no_credit_for_a_shared_error() -> None:
    """The gains of one meter would cancel in a difference; they are counted as independent."""
    measured = _measure(*_coils(4.0, 4.0, instrument=meter(), half_width_k=0.0))
    difference = measured.best["pair", "coil-difference"]
    coil = measured.best["coil_a", "coil-resistance"]
    assert difference.value == 0.0
    assert coil.standard_uncertainty is not None
    assert difference.standard_uncertainty == pytest.approx(
        math.sqrt(2.0) * coil.standard_uncertainty, rel=1e-9
    )


@given(a=st.floats(1.0, 10.0), b=st.floats(1.0, 10.0))
def test_imbalance_agrees_with_an_independent_library(a: float, b: float) -> None:
    """Value and uncertainty of the imbalance, at exactly 20 °C, as uncertainties finds them."""
    measured = _measure(*_coils(a, b, instrument=meter(), half_width_k=0.0))
    imbalance = measured.best["pair", "coil-imbalance"]
    first, second = (ufloat(v, (0.005 * v + 0.02) / ROOT3) for v in (a, b))
    expected = 100.0 * (first - second) / ((first + second) / 2.0)
    assert imbalance.value == pytest.approx(abs(expected.nominal_value), rel=1e-9, abs=1e-12)
    assert imbalance.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-6)
    assert imbalance.unit == "%"


def test_a_pair_that_was_read_is_not_derived_and_must_close() -> None:
    """3.5 + 4.5 kΩ against 8.0 kΩ closes; against 9.0 kΩ it does not."""
    coils = _coils(3.5, 4.5, instrument=meter())
    for pair_kohm, closes in ((8.0, True), (9.0, False)):
        read = reading(
            pair_kohm, prop="pair-resistance", component="pair", line=4, instrument=meter()
        )
        measured = _measure(*coils, read)
        assert measured.best["pair", "pair-resistance"].line == 4
        closure = measured.closure
        assert closure is not None
        assert closure.closes is closes
        assert closure.difference_kohm == pytest.approx(pair_kohm - 8.0)
        # The coils' shared gain counts on all 8 kΩ, beside the pair's own.
        assert closure.standard_uncertainty_kohm > 0.005 * math.hypot(8.0, pair_kohm) / ROOT3


@given(a=st.floats(1.0, 10.0), b=st.floats(1.0, 10.0), temperature_c=st.floats(5.0, 35.0))
def test_closure_knows_that_one_sitting_had_one_temperature(
    a: float, b: float, temperature_c: float
) -> None:
    """The thermometer's error cancels in pair less coils; what a hand warms does not.

    Against `uncertainties` with one common variable for the noted temperature and one for copper,
    and for each part its own warmth and last digit, and no instrument.
    """
    conditions: dict[str, Any] = {"temperature_c": temperature_c, "half_width_k": 2.0}
    pair_kohm = 1.002 * (a + b)
    pair = reading(pair_kohm, prop="pair-resistance", component="pair", line=4, **conditions)
    closure = _measure(*_coils(a, b, **conditions), pair).closure
    noted = ufloat(temperature_c, 2.0 / ROOT3)
    # Copper's coefficient pushes coils and pair the same way; no credit is taken for that.
    of_pair, of_coils = (
        ufloat(ALPHA_20_PER_K, ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH / ROOT3) for _ in range(2)
    )

    def at_20c(kohm: float, alpha: UFloat) -> UFloat:
        by_hand = ufloat(0.0, HANDLING_HALF_WIDTH_K / ROOT3)
        seen = kohm + ufloat(0.0, 0.005 / ROOT3)
        return seen / (1.0 + alpha * (noted + by_hand - 20.0))

    theirs = at_20c(pair_kohm, of_pair) - (at_20c(a, of_coils) + at_20c(b, of_coils))
    assert closure is not None
    assert closure.difference_kohm == pytest.approx(theirs.nominal_value, rel=1e-6, abs=1e-9)
    assert closure.standard_uncertainty_kohm == pytest.approx(theirs.std_dev, rel=1e-6)


def test_a_temperature_that_nobody_noted_is_no_common_one() -> None:
    """Three assumed temperatures may be three: their errors do not cancel."""
    pair = reading(8.0, prop="pair-resistance", component="pair", line=4, temperature_c=None)
    closure = _measure(*_coils(4.0, 4.0, temperature_c=None), pair).closure
    assert closure is not None
    one = 8.0 * ALPHA_20_PER_K * 6.0 / ROOT3
    assert closure.standard_uncertainty_kohm == pytest.approx(math.hypot(one, one), rel=0.01)


@pytest.mark.parametrize("other", ["half_width_k", "temperature_c", "date"])
def test_another_sitting_has_another_temperature(other: str) -> None:
    """The pair read at another warmth, by another thermometer or on another day stands alone."""
    same: dict[str, Any] = {"temperature_c": 24.0, "half_width_k": 2.0}
    apart: dict[str, Any] = {"half_width_k": 1.9, "temperature_c": 23.9, "date": "2026-03-15"}
    found = []
    for conditions in (same, {**same, other: apart[other]}):
        pair = reading(8.0, prop="pair-resistance", component="pair", line=4, **conditions)
        closure = _measure(*_coils(4.0, 4.0, **same), pair).closure
        assert closure is not None
        found.append(closure.standard_uncertainty_kohm)
    assert found[1] > 2.0 * found[0]


def test_a_pair_known_only_as_a_bound_is_derived_but_an_open_one_is_not() -> None:
    """The coils better a lower bound read in circuit; an open pair is a finding and stays."""
    coils = _coils(instrument=meter())
    bound = reading(7.0, prop="pair-resistance", component="pair", line=4, circuit="in_circuit")
    measured = _measure(*coils, bound)
    assert measured.best["pair", "pair-resistance"].flags[0] == "derived"
    assert measured.closure is None
    broken = reading(None, prop="pair-resistance", component="pair", line=4, qualifier="open")
    assert _measure(*coils, broken).best["pair", "pair-resistance"].qualifier == "open"


def test_an_open_coil_leaves_nothing_to_derive() -> None:
    """With coil b open there is no sum, no difference and no turns of it."""
    first, _ = _coils(instrument=meter())
    broken = reading(None, component="coil_b", line=3, qualifier="open")
    measured = _measure(first, broken)
    assert ("pair", "pair-resistance") not in measured.best
    assert ("pair", "coil-difference") not in measured.best
    assert [turns.component for turns in measured.turns] == ["coil_a"]
    assert ("pair", "pair-turns") not in measured.best


def test_flags_and_the_worst_calibration_are_carried_to_what_is_derived() -> None:
    """A doubt on one coil is a doubt on the pair and on the turns."""
    first, _ = _coils(instrument=meter())
    _, second = _coils(instrument=meter(), calibration="lapsed", temperature_c=None)
    measured = _measure(first, second)
    pair = measured.best["pair", "pair-resistance"]
    assert pair.flags == ("derived", "calibration_lapsed", "no_temperature")
    assert pair.calibration == "lapsed"
    assert measured.best["coil_b", "coil-turns"].flags == (
        "derived",
        "assumed_construction",
        "calibration_lapsed",
        "no_temperature",
    )


def test_readings_come_first_in_the_files_order_and_derived_ones_after() -> None:
    """The order that MeasuredPiece promises, with nothing dropped."""
    coils = _coils(instrument=meter())
    measured = _measure(*reversed(coils))
    lines = [value.line for value in measured.values]
    assert lines == [3, 2, 0, 0, 0, 0, 0, 0]
    assert [v.property_id for v in measured.values if v.line == 0] == [
        "pair-resistance",
        "coil-difference",
        "coil-imbalance",
        "coil-turns",
        "coil-turns",
        "pair-turns",
    ]


@pytest.mark.parametrize("state", ["untouched", "rewound"])
def test_trade_check_five_thousand_turns(state: str) -> None:
    """4.0 kΩ a coil stands for 5,000 turns within one standard uncertainty, filling the bobbin.

    Common practice, no source: about 10,000 turns in all, the pair usually 7.5–9.0 kΩ. A rewound
    piece gets its turns in the same way, flagged the same.
    """
    coils = _coils(4.0, 4.0, instrument=meter())
    measured = measure_piece(piece(*coils, state=state), REFERENCE)
    assert 7.5 < (measured.best["pair", "pair-resistance"].value or 0.0) < 9.0
    for turns in measured.turns:
        assert abs(turns.turns - 5000.0) < turns.standard_uncertainty
        assert 0.9 < turns.fit.ratio_square < 1.0
        assert (turns.wire_id, turns.bobbin_id) == ("awg-42-single", "humbucker-bobbin")
        dominant = max(turns.budget, key=lambda line: line.effect)
        assert dominant.name == "bare diameter of the wire"
        assert "assumed_construction" in measured.best[turns.component, "coil-turns"].flags


def test_turns_of_a_pair_share_wire_and_bobbin() -> None:
    """Both coils are off the same way, so the pair is nearly twice as uncertain, not √2 times."""
    measured = _measure(*_coils(4.0, 4.0, instrument=meter()))
    one = measured.best["coil_a", "coil-turns"]
    both = measured.best["pair", "pair-turns"]
    assert one.standard_uncertainty is not None
    assert both.standard_uncertainty is not None
    assert both.value == pytest.approx(2.0 * (one.value or 0.0))
    assert 1.99 < both.standard_uncertainty / one.standard_uncertainty <= 2.0
    assert _names(both.budget).count("bare diameter of the wire") == 1


def test_turns_that_were_counted_are_kept() -> None:
    """A count read at the machine stands; the resistance still gives its own in ``turns``."""
    counted = reading(5100.0, prop="coil-turns", component="coil_a", line=4, step=1.0)
    measured = _measure(*_coils(instrument=meter()), counted)
    assert measured.best["coil_a", "coil-turns"].line == 4
    assert measured.best["coil_b", "coil-turns"].line == 0
    assert [turns.component for turns in measured.turns] == ["coil_a", "coil_b"]
    both = measured.best["pair", "pair-turns"]
    assert both.value == pytest.approx(5100.0 + measured.turns[1].turns)


def test_a_gauge_read_on_the_coil_beats_the_usual_one() -> None:
    """43 AWG found on a family of 42 AWG is what its turns are reckoned with, in the same build."""
    gauge = reading(None, prop="wire-gauge", component="coil_a", category="43 AWG", line=4)
    measured = _measure(*_coils(instrument=meter()), gauge)
    assert [turns.wire_id for turns in measured.turns] == ["awg-43-single", "awg-42-single"]
    assert measured.turns[0].turns < measured.turns[1].turns


def test_every_family_of_the_reference_yields_turns() -> None:
    """Each family's usual wire and bobbin give back its usual turns from a forward computation.

    The check is of the wiring between tables: R from the formula at the family's turns, in as a
    reading, must come out as those turns.
    """
    from coilbook.core.formulas.coil import coil_resistance_ohm
    from coilbook.core.reduction.turns import winding_of

    for family in REFERENCE.families.values():
        if not (family.wire_id and family.bobbin_id and family.turns_per_coil):
            continue
        winding = winding_of(REFERENCE.wires[family.wire_id], REFERENCE.bobbins[family.bobbin_id])
        kohm = coil_resistance_ohm(float(family.turns_per_coil), winding) / 1000.0
        component = "coil" if family.coils == 1 else "coil_a"
        measured = _measure(reading(kohm, component=component), family=family.family_id)
        (turns,) = measured.turns
        assert turns.turns == pytest.approx(family.turns_per_coil, rel=1e-9)
        assert turns.fit.ratio_square < 1.0, family.family_id


@given(kohm=st.floats(1.0, 15.0), henry=st.floats(0.5, 10.0))
def test_inductance_over_resistance_squared(kohm: float, henry: float) -> None:
    """The ratio and its budget from two readings' last digits, beside `uncertainties`."""
    measured = measure_piece(
        piece(
            reading(kohm, prop="pair-resistance", component="pair", half_width_k=0.0, line=2),
            reading(henry, prop="pair-inductance", component="pair", step=0.001, line=3),
        ),
        REFERENCE,
    )
    ratio = measured.best["pair", "pair-inductance-ratio"]
    theirs = ufloat(henry, 0.0005 / ROOT3) / ufloat(kohm, 0.005 / ROOT3) ** 2
    assert ratio.value == pytest.approx(theirs.nominal_value, rel=1e-9)
    assert ratio.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-6)


@given(kohm=st.floats(2.0, 12.0), henry=st.floats(1.0, 8.0), q=st.floats(0.5, 3.0))
def test_loss_beyond_the_copper(kohm: float, henry: float, q: float) -> None:
    """1/Q less the copper's share at 26 °C, its temperature drawn out, beside `uncertainties`."""
    quality = reading(q, prop="pair-quality", component="pair", step=0.01, line=4)
    measured = _measure(
        reading(
            kohm,
            prop="pair-resistance",
            component="pair",
            temperature_c=26.0,
            half_width_k=0.0,
            line=2,
        ),
        reading(henry, prop="pair-inductance", component="pair", step=0.001, line=3),
        replace(quality, test_frequency_hz=1e3),
    )
    loss = measured.best["pair", "pair-extra-loss"]
    # What was read is the copper on the day; the coefficient enters on the way to 20 °C alone.
    alpha = ufloat(ALPHA_20_PER_K, ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH / ROOT3)
    at_20c = ufloat(kohm, 0.005 / ROOT3) / (1.0 + alpha * 6.0)
    warm = at_20c * (1.0 + ALPHA_20_PER_K * 6.0)
    reactance = 2.0 * math.pi * 1e3 * ufloat(henry, 0.0005 / ROOT3)
    theirs = 1.0 / ufloat(q, 0.005 / ROOT3) - 1e3 * warm / reactance
    assert loss.value == pytest.approx(theirs.nominal_value, rel=1e-9, abs=1e-9)
    assert loss.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-6)


@given(
    henries=st.tuples(*[st.floats(1.0, 8.0)] * 3),
    qualities=st.tuples(*[st.floats(0.5, 3.0)] * 3),
)
def test_loss_of_a_pair_above_that_of_its_coils(
    henries: tuple[float, float, float], qualities: tuple[float, float, float]
) -> None:
    """1/Q of the pair less its coils' loss over the pair's reactance, beside `uncertainties`."""
    surplus = _measure(*_bridge(henries, qualities)).best["pair", "pair-loss-surplus"]
    l_p, l_a, l_b = (ufloat(henry, 0.0005 / ROOT3) for henry in henries)
    q_p, q_a, q_b = (ufloat(one, 0.005 / ROOT3) for one in qualities)
    theirs = 1.0 / q_p - (l_a / q_a + l_b / q_b) / l_p
    assert surplus.value == pytest.approx(theirs.nominal_value, rel=1e-9, abs=1e-12)
    assert surplus.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-6)


def test_losses_are_told_apart_only_where_all_were_read_alike() -> None:
    """One reading less, or a quality factor at another frequency: there is nothing to compare."""
    every = _bridge((4.3, 2.2, 2.1), (2.65, 2.6, 2.7))
    key = ("pair", "pair-loss-surplus")
    assert key in _measure(*every).best
    for at in range(len(every)):
        assert key not in _measure(*every[:at], *every[at + 1 :]).best
    for at in range(3, 6):
        other = list(every)
        other[at] = replace(other[at], test_frequency_hz=120.0)
        assert key not in _measure(*other).best


def _bridge(
    henries: tuple[float, float, float], qualities: tuple[float, float, float]
) -> tuple[Reading, ...]:
    """Return what a bridge showed of a pair and its coils at 1 kHz: inductances, then Q."""
    parts = (("pair", "pair"), ("coil_a", "coil"), ("coil_b", "coil"))
    read = [
        reading(henry, prop=f"{of}-inductance", component=part, step=0.001, line=2 + at)
        for at, ((part, of), henry) in enumerate(zip(parts, henries, strict=True))
    ]
    read += [
        replace(
            reading(one, prop=f"{of}-quality", component=part, step=0.01, line=5 + at),
            test_frequency_hz=1e3,
        )
        for at, ((part, of), one) in enumerate(zip(parts, qualities, strict=True))
    ]
    return tuple(read)

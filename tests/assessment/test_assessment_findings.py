"""Each observation holds on a case made for it, and keeps silent beside it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import pytest
from findings_bench import Case, spread, value, word

from coilbook.assessment.rules import finding_rules
from coilbook.core.budgets.uncertainty import Contribution, Estimate
from coilbook.core.observing.look import SMALLEST_PEERS
from coilbook.core.observing.said import FindingCode
from coilbook.core.reduction.gauges import Fit
from coilbook.core.reduction.measured_piece import Closure, Turns

PAIR = ("pair", "pair-resistance")
LOSS = ("pair", "pair-extra-loss")
SURPLUS = ("pair", "pair-loss-surplus")
RATIO = ("pair", "pair-inductance-ratio")
IMBALANCE = ("pair", "coil-imbalance")
FIELD = ("magnet", "pole-flux-density")
ROD = "staggered-rod-single-coil"


def pair_of(number: float, u: float = 0.02) -> Case:
    """Return a piece whose pair was read, among enough peers about 8.0 kΩ."""
    return Case([value(*PAIR, number, u)], {PAIR: spread(8.0, 40)})


def test_a_usual_piece_earns_no_observation() -> None:
    """In the middle of its peers, and inside what is documented, there is nothing to tell."""
    assert pair_of(8.0).codes() == []


def test_an_open_winding_is_told_and_open_insulation_is_not() -> None:
    """A coil without a way through is a fault for sure; insulation should have none."""
    (found,) = Case([value("coil_a", "coil-resistance", None, 0.0, qualifier="open")]).assessed(
    ).findings  # fmt: skip
    assert (found.code, found.fault, found.strength) == ("open_coil", True, math.inf)
    sound = value("pickup", "insulation-resistance", None, 0.0, qualifier="open")
    assert Case([sound]).codes() == []


def closure_of(pair: float, u: float = 0.01) -> Case:
    """Return a piece whose coils of 4.0 kΩ each make 8.0 kΩ, and whose pair was read as given."""
    values = [
        value("coil_a", "coil-resistance", 4.0, 0.005),
        value("coil_b", "coil-resistance", 4.0, 0.005),
        value(*PAIR, pair, 0.005),
    ]
    return Case(values, closure=Closure(8.0, pair, pair - 8.0, u, abs(pair - 8.0) / (2.0 * u)))


@pytest.mark.parametrize(
    ("pair", "expected"),
    [
        (8.0, set()),
        (7.9, {"read_in_circuit", "coils_do_not_add_up"}),
        (8.1, {"coils_do_not_add_up"}),
        (0.5, {"coils_do_not_add_up"}),
    ],
)
def test_coils_and_pair(pair: float, expected: set[str]) -> None:
    """Too low a pair is a path across it if one can do that; too high a one never is."""
    assert set(closure_of(pair).codes()) == expected


def test_a_path_across_is_reckoned_from_the_three_readings() -> None:
    """The path named is the one that was laid across, by Ohm's law written out here.

    Two coils of 4.0 kΩ and 250 kΩ across the pair, all three read in circuit: a coil then reads
    a (b + R)/(a + b + R), the pair (a + b) R/(a + b + R).
    """
    a = b = 4.0
    across = 250.0
    whole = a + b + across
    coil, pair = a * (b + across) / whole, (a + b) * across / whole
    values = [
        value("coil_a", "coil-resistance", coil, 0.002),
        value("coil_b", "coil-resistance", coil, 0.002),
        value(*PAIR, pair, 0.002),
    ]
    closure = Closure(2 * coil, pair, pair - 2 * coil, 0.004, (2 * coil - pair) / 0.008)
    found = Case(values, closure=closure).assessed().findings
    path = next(f for f in found if f.code == "read_in_circuit")
    assert path.data["path_kohm"] == pytest.approx(across, rel=1e-9)
    assert not path.fault


def test_high_losses_are_told_and_usual_ones_are_not() -> None:
    """Losses far above the peers' are named; where the coils were not read they stay open."""
    peers = {LOSS: spread(0.1, 40)}
    assert Case([value(*LOSS, 0.1, 0.001)], peers).codes() == []
    assert Case([value(*LOSS, 0.2, 0.001)], peers).codes() == ["losses_high"]
    assert Case([value(*LOSS, 0.02, 0.001)], peers).codes() == []


def test_turns_are_called_shorted_where_nothing_can_lie_across() -> None:
    """With coils that add up to their pair, high losses are the coil's own, and a fault."""
    base = closure_of(8.0)
    case = Case([*base.values, value(*LOSS, 0.2, 0.001)], {LOSS: spread(0.1, 40)})
    with_closure = Case(case.values, case.peers, closure=base.closure)
    (found,) = with_closure.assessed().findings
    assert (found.code, found.fault) == ("turns_shorted", True)


@pytest.mark.parametrize(
    ("pair", "loss", "expected"),
    [
        (8.0, 0.1235, []),  # losses like this alone are not told
        (7.988, 0.1, []),  # nor is a sum like this
        (7.988, 0.1235, ["losses_high"]),
        (7.999, 0.1235, []),
        (7.988, 0.2, ["losses_high"]),  # nor put down to a short, since something may lie across
        (7.97, 0.1235, ["read_in_circuit"]),
    ],
)
def test_losses_and_a_sum_that_are_both_doubtful_are_told_together(
    pair: float, loss: float, expected: list[str]
) -> None:
    """The coils make 1.2 standard uncertainties more than their pair, losses lie 1.6 up.

    By hand: (1.2 + 1.6)/sqrt(2) = 2.0 is beyond 1.9; either of them alone is below its own limit.
    """
    base = closure_of(pair)
    values = [*base.values, value(*LOSS, loss, 0.001)]
    case = Case(values, {LOSS: spread(0.1, 40)}, closure=base.closure)
    assert [c for c in case.codes() if c != "coils_do_not_add_up"] == expected
    assert not any(f.fault for f in case.assessed().findings)


def surplus_case(pair: float, surplus: float, u: float = 0.01) -> Case:
    """Return a piece whose pair loses so much more than its coils, among peers about 0.0."""
    base = closure_of(pair, u)
    values = [
        *base.values,
        value(*SURPLUS, surplus, 0.001),
        value("pair", "pair-inductance", 4.4, 0.01),
        value("pair", "pair-quality", 2.7, 0.03, test_frequency_hz=1000.0),
    ]
    peers = {SURPLUS: [0.02 * (i - 19.5) / 39.0 for i in range(40)]}
    return Case(values, peers, closure=base.closure)


@pytest.mark.parametrize(
    ("pair", "surplus", "expected"),
    [
        (8.0, 0.0, []),
        (8.0, 0.03, ["read_in_circuit"]),  # 3.9 deviations up: the losses alone tell it
        (7.99, 0.011, ["read_in_circuit"]),  # 1 and 1.4 of them: together 1.7, beyond 1.6
        (7.99, 0.0, []),
        (8.0, 0.011, []),
        (7.975, 0.0, ["read_in_circuit"]),  # 2.5 by resistance alone
        (7.985, 0.0, []),  # losses that speak against it keep 1.5 silent
    ],
)
def test_losses_of_coils_and_pair_tell_of_a_path(
    pair: float, surplus: float, expected: list[str]
) -> None:
    """Losses in series add as resistances do; both are asked together where both are known."""
    codes = surplus_case(pair, surplus).codes()
    assert [c for c in codes if c != "coils_do_not_add_up"] == expected


def test_a_path_is_reckoned_from_the_losses() -> None:
    """The path named is the one that was laid across, by complex impedances written out here.

    Two coils of 4 kΩ and 2.2 H at 1 kHz with 500 kΩ over the pair, a coil read with the other one
    and the path beside it; peers have no surplus. A first approximation: within a tenth.
    """
    coil, across = complex(5000.0, 2.0 * math.pi * 1000.0 * 2.2), 500e3
    pair = 2 * coil * across / (2 * coil + across)
    alone = coil * (coil + across) / (2 * coil + across)
    surplus = (pair.real - 2.0 * alone.real) / pair.imag
    peers = {SURPLUS: [0.02 * (i - 19.5) / 39.0 for i in range(40)]}
    values = [
        value(*SURPLUS, surplus, 0.001),
        value("pair", "pair-inductance", pair.imag / (2.0 * math.pi * 1000.0), 0.01),
        value("pair", "pair-quality", pair.imag / pair.real, 0.03, test_frequency_hz=1000.0),
    ]
    (found,) = Case(values, peers).assessed().findings
    assert found.code == "read_in_circuit"
    assert found.data["path_kohm"] == pytest.approx(500.0, rel=0.1)
    freed = (pair.real - 2.0 * coil.real) / pair.imag
    values[0] = value(*SURPLUS, freed, 0.001)
    (found,) = Case(values, peers).assessed().findings
    assert found.data["path_most_kohm"] == pytest.approx(500.0, rel=0.1)


@pytest.mark.parametrize(("surplus", "expected"), [(0.14, ["read_in_circuit"]), (0.02, [])])
def test_losses_without_peers_are_held_against_nothing(surplus: float, expected: list[str]) -> None:
    """By hand: 0.14 is 7 allowances of 0.02, and 2π 1 kHz 4.4 H (1 - 1/2.7²)/0.14 is 170 kΩ."""
    case = replace(surplus_case(8.0, surplus), peers={})
    assert case.codes() == expected
    for found in case.assessed().findings:
        assert found.data["path_most_kohm"] == pytest.approx(170.4, abs=0.1)
        assert "usual" not in found.data


def test_losses_that_no_path_explains_are_told_as_they_are() -> None:
    """With a quality factor of 1 nothing across shows in them: high losses stay high losses."""
    case = surplus_case(8.0, 0.14)
    low = [v for v in case.values if v.property_id != "pair-quality"]
    low.append(value("pair", "pair-quality", 0.9, 0.01, test_frequency_hz=1000.0))
    values = [*low, value(*LOSS, 0.2, 0.001)]
    peers = {**case.peers, LOSS: spread(0.1, 40)}
    assert replace(case, values=values, peers=peers).codes() == ["losses_high"]
    assert "read_in_circuit" in replace(case, peers=peers).codes()


def test_a_reading_marked_as_made_in_circuit_is_not_told_to_be_one() -> None:
    """What lies across is on record then, and was taken out."""
    case = surplus_case(8.0, 0.03)
    assert case.codes() == ["read_in_circuit"]
    assert replace(case, marked=True).codes() == []


@pytest.mark.parametrize("coils_read", [True, False])
def test_a_low_inductance_for_a_resistance_is_told_with_less_right(coils_read: bool) -> None:
    """Without a quality factor it may be thin wire; a path too, unless coils and pair add up."""
    peers = {RATIO: spread(0.07, 40)}
    base = closure_of(8.0) if coils_read else Case()
    values = [*base.values, value(*RATIO, 0.04, 0.0005)]
    (found,) = Case(values, peers, closure=base.closure).assessed().findings
    assert (found.code, found.fault) == ("turns_shorted" if coils_read else "losses_high", False)
    assert "other_gauge" in found.explanations
    assert ("across_the_pair" in found.explanations) is not coils_read
    assert found.next_step == ("read_quality" if coils_read else "free_the_leads")
    assert Case([value(*RATIO, 0.07, 0.0005)], peers).codes() == []


def test_a_quality_factor_that_was_read_is_not_asked_for_again() -> None:
    """It has too few peers to be compared, so the ratio speaks; another step is named."""
    base = closure_of(8.0)
    values = [*base.values, value(*RATIO, 0.04, 0.0005), value(*LOSS, 0.1, 0.001)]
    peers = {RATIO: spread(0.07, 40), LOSS: spread(0.1, 8)}
    (found,) = Case(values, peers, closure=base.closure).assessed().findings
    assert (found.code, found.next_step) == ("turns_shorted", "look_at_the_wire")


def turns_filling(share: float) -> Turns:
    """Return turns that fill so much of a window laid square, and 0.85 of that nested."""
    budget = (Contribution("packing", share, 0.01, 1.0, "1", "normal"),)
    fit = Fit(Estimate(share, budget), 0.85 * share, 1.5 * share)
    return Turns("coil_a", 5000.0, 100.0, "awg-42-single", "humbucker-bobbin", (), fit, {})


def test_turns_that_no_window_holds_are_told() -> None:
    """Half as many again as fit even nested cannot be; what only nesting fits can."""
    assert Case(turns=[turns_filling(1.8)]).codes() == ["gauge_cannot_fit"]
    assert Case(turns=[turns_filling(1.1)]).codes() == []


def test_a_resistance_far_from_its_peers_is_unusual() -> None:
    """Inside what is documented somewhere, yet far from the others: unusual, not beyond all."""
    case = Case([value(*PAIR, 8.9, 0.01)], {PAIR: [*spread(8.0, 40, 0.002), 9.3]})
    assert case.codes() == ["resistance_unusual"]


def test_a_resistance_beyond_everything_is_told_and_no_fault() -> None:
    """Outside all claims and beyond all peers; of a rewound piece nothing is said."""
    found = pair_of(12.0).assessed().findings
    assert [(f.code, f.fault) for f in found] == [("resistance_outside_everything", False)]
    rewound = Case([value(*PAIR, 12.0, 0.02)], {PAIR: spread(8.0, 40)}, {"state": "rewound"})
    assert rewound.codes() == []


def test_an_uncertain_reading_of_a_far_value_is_not_unusual() -> None:
    """A reading good to a kiloohm says nothing: its own uncertainty counts too."""
    assert pair_of(9.4, u=1.5).codes() == []


def test_an_imbalance_that_nearly_none_has() -> None:
    """More than nearly all peers, and surely so; in the middle of them nothing is told."""
    peers = {IMBALANCE: spread(4.0, 60, 0.01)}
    assert Case([value(*IMBALANCE, 20.0, 0.5)], peers).codes() == ["imbalance_unusual"]
    assert Case([value(*IMBALANCE, 4.0, 0.5)], peers).codes() == []
    assert Case([value(*IMBALANCE, 20.0, 9.0)], peers).codes() == []


@pytest.mark.parametrize(
    ("mt", "expected"), [(35.0, []), (15.0, ["magnet_weak"]), (60.0, ["magnet_strong"])]
)
def test_a_field_beside_its_peers(mt: float, expected: list[str]) -> None:
    """Weak or strong beside the peers, or neither; never a fault."""
    case = Case([value(*FIELD, mt, 0.5)], {FIELD: spread(35.0, 40)})
    found = case.assessed().findings
    assert [f.code for f in found] == expected
    assert not any(f.fault for f in found)


def test_a_field_above_what_a_grade_can_give() -> None:
    """Over a rod magnet: more than its whole remanence could give is told, a usual field is not.

    Grade 3 has a remanence of about 0.7 T (MMPA Standard 0100-00, from memory), and no rod's face
    shows more than half of that to the touch.
    """

    def case(mt: float, family: str = ROD) -> Case:
        values = [
            value(*FIELD, mt, 1.0),
            value("magnet", "magnet-width", 4.8, 0.01),
            word("magnet", "magnet-grade", "3"),
        ]
        return Case(values, family_id=family)

    assert case(600.0).codes() == ["magnet_above_ceiling"]
    assert case(80.0).codes() == []
    assert case(600.0, "full-size-humbucker").codes() == []  # over steel, no grade has a ceiling


def test_features_that_cannot_both_be_original() -> None:
    """One that ends before the other begins is told, with both; two that overlap are not."""
    mixed = Case(cells={"features": "magnet-long-bar;label-patent-number"})
    (found,) = mixed.assessed().findings
    assert found.code == "dates_mixed"
    assert found.data == {"early": "magnet-long-bar", "late": "label-patent-number"}
    assert Case(cells={"features": "magnet-long-bar"}).codes() == []


def test_a_lapsed_calibration_is_told_once_for_each_meter() -> None:
    """Two readings with one meter past its date make one observation, of the record alone."""
    late = [
        value("coil_a", "coil-resistance", 4.0, 0.02, flags=("calibration_lapsed",)),
        value("coil_b", "coil-resistance", 4.0, 0.02, flags=("calibration_lapsed",)),
    ]
    (found,) = Case(late).assessed().findings
    assert (found.code, found.data["readings"], found.strength) == ("calibration_lapsed", 2.0, 0.0)


def test_a_temperature_that_decides() -> None:
    """Between 14 and 26 °C a value at a limit turns from inside to outside; one amid it does not.

    The limit is one of the reference's own: 7.2 to 7.9 kΩ for 1966 to 1970.
    """
    years = {"year_first": "1967", "year_last": "1967", "year_basis": "for the test"}

    def case(number: float) -> Case:
        warmth = Contribution("temperature", 20.0, 3.5, 0.0039 * number, "°C", "rectangular")
        read = value(*PAIR, number, 0.11, flags=("no_temperature",), budget=(warmth,))
        return Case([read], cells=years)

    limit = 7.9
    assert "temperature_decisive" in case(limit).codes()
    assert "temperature_decisive" not in case(7.5).codes()


@pytest.mark.parametrize("peers", [0, 1, 2, 5, 7, 8, SMALLEST_PEERS - 1])
def test_few_peers_make_no_observation(peers: int) -> None:
    """Under 30 peers nothing is observed beside them, however far off the value lies."""
    numbers = spread(8.0, peers) if peers else []
    values = [value(*PAIR, 20.0, 0.01), value(*LOSS, 9.0, 0.01), value(*FIELD, 900.0, 1.0)]
    case = Case(values, {PAIR: numbers, LOSS: numbers, FIELD: numbers})
    assert case.codes() == []


def test_thirty_peers_are_enough() -> None:
    """From 30 others on it is, the piece itself not counted among them."""
    case = Case([value(*PAIR, 20.0, 0.01)], {PAIR: spread(8.0, SMALLEST_PEERS)})
    assert case.codes() == ["resistance_outside_everything"]


def test_several_hold_at_once_the_strongest_first() -> None:
    """An open coil leads what is only unusual."""
    values = [
        value("coil_a", "coil-resistance", None, 0.0, qualifier="open"),
        value(*FIELD, 15.0, 0.5),
    ]
    case = Case(values, {FIELD: spread(35.0, 40)})
    assert case.codes() == ["open_coil", "magnet_weak"]


def test_every_observation_has_one_rule_and_its_limits() -> None:
    """Each code has one documented rule, with its constants filled in and what it cannot tell."""
    told = [code for rule in finding_rules() for code in rule.codes]
    assert sorted(told) == sorted(get_args(FindingCode))
    for rule in finding_rules():
        assert len(rule.rule) > 30
        assert len(rule.cannot_tell) > 10
        assert "_" not in rule.rule + rule.cannot_tell
    assert any(str(SMALLEST_PEERS) in rule.rule for rule in finding_rules())

"""Which values make a group, what is said of it, and what can never get in."""

from __future__ import annotations

import pickle
from dataclasses import replace
from typing import Any

import pytest
import stats_bench as bench

from coilbook.core.observing.peers import GroupKey
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.errors import KindsMixed, OutOfDomain, UnknownPiece
from coilbook.records.contents import Piece
from coilbook.stats.groups import Summaries, gather, summaries_of, summarise, summary_of
from coilbook.stats.quantiles import median_interval, quantiles
from coilbook.stats.summary import LeftOut, Member
from counted import calls_of

EARLY, LATE = bench.period(1957, 1958), bench.period(1959, 1960)
REFERENCE = bench.reference([LATE, EARLY])
ALL = GroupKey(bench.FAMILY, "pair-resistance", "pair")


def numbered(count: int, **about: Any) -> list[Piece]:
    """Return so many like pieces."""
    return [bench.piece(f"x-{i:03d}", **about) for i in range(count)]


def names(summaries: Summaries, key: GroupKey) -> list[str]:
    """Return who is in a group."""
    summary = summaries.get(key)
    return [member.piece_id for member in summary.members] if summary else []


def one_value(value: ReducedValue, piece: Piece | None = None) -> Summaries:
    """Return the summaries of an archive with one piece that has one value."""
    piece = piece or bench.piece(value.piece_id)
    measured = {value.piece_id: bench.measured(value.piece_id, [value])}
    return summarise(bench.archive([piece]), measured, REFERENCE)


def test_a_summary_says_what_its_values_are() -> None:
    """Extremes, quartiles, tails and the median's interval are those of the values, type 7."""
    numbers = [7.0 + 0.1 * ((i * 7) % 25) for i in range(25)]
    summary = summarise(*bench.shop(numbered(25), numbers), REFERENCE).get(ALL)
    assert summary is not None
    assert (summary.n, summary.unit, summary.kind) == (25, "kΩ", "measured")
    assert summary.quantile_type == 7
    assert (summary.minimum, summary.maximum) == (min(numbers), max(numbers))
    quartiles = (summary.lower_quartile, summary.median, summary.upper_quartile)
    assert quartiles == quantiles(numbers, (0.25, 0.5, 0.75), 7)
    assert (summary.low_5, summary.high_95) == quantiles(numbers, (0.05, 0.95), 7)
    interval = median_interval(numbers)
    assert interval is not None
    assert summary.median_interval == (interval.low, interval.high)
    assert summary.median_confidence == interval.confidence
    assert [member.value for member in summary.members] == numbers


@pytest.mark.parametrize(
    ("n", "drawable", "interval", "tails"),
    [
        (1, False, False, False),
        (5, False, False, False),
        (6, False, False, False),
        (7, False, False, False),
        (8, True, True, False),
        (19, True, True, False),
        (20, True, True, True),
    ],
)
def test_small_groups_say_less(n: int, drawable: bool, interval: bool, tails: bool) -> None:
    """Nothing is drawable below 8; nor has it a median's interval; no 5 % and 95 % below 20."""
    shop = bench.shop(numbered(n), [7.0 + 0.1 * i for i in range(n)])
    summary = summarise(*shop, REFERENCE).get(ALL)
    assert summary is not None
    assert summary.n == n
    assert summary.drawable is drawable
    assert (summary.median_interval is not None) is interval
    assert (summary.median_confidence is not None) is interval
    assert (summary.low_5 is not None, summary.high_95 is not None) == (tails, tails)


def test_a_piece_is_in_a_period_only_with_its_whole_span() -> None:
    """A span across a boundary, outside every period, or no years: only in the group of all."""
    pieces = [
        bench.piece("early", (1957, 1958)),
        bench.piece("late", (1960, 1960)),
        bench.piece("across", (1958, 1959)),
        bench.piece("before", (1950, 1956)),
        bench.piece("undated", None),
    ]
    summaries = summarise(*bench.shop(pieces, [8.0] * 5), REFERENCE)
    assert names(summaries, ALL) == ["early", "late", "across", "before", "undated"]
    assert names(summaries, ALL._replace(period_id=EARLY.period_id)) == ["early"]
    assert names(summaries, ALL._replace(period_id=LATE.period_id)) == ["late"]
    everyone = summaries.get(ALL)
    assert everyone is not None
    assert [m.year for m in everyone.members] == [1957.5, 1960.0, 1958.5, 1953.0, None]


def test_positions_families_and_components_are_kept_apart() -> None:
    """A group is of one position (or all), one family and one component."""
    pieces = [
        bench.piece("neck", position="neck"),
        bench.piece("bridge", position="bridge"),
        bench.piece("nowhere"),
        bench.piece("small", family_id=bench.OTHER_FAMILY),
    ]
    archive, measured = bench.shop(pieces, [8.0] * 4)
    coil = bench.value("neck", 4.0, component="coil_a", property_id="coil-resistance")
    more = {**measured, "neck": bench.measured("neck", [*measured["neck"].values, coil])}
    summaries = summarise(archive, more, REFERENCE)
    assert names(summaries, ALL) == ["neck", "bridge", "nowhere"]
    assert names(summaries, ALL._replace(position="neck")) == ["neck"]
    assert names(summaries, ALL._replace(position="bridge")) == ["bridge"]
    assert summaries.get(ALL._replace(position="middle")) is None
    assert names(summaries, ALL._replace(family_id=bench.OTHER_FAMILY)) == ["small"]
    assert names(summaries, GroupKey(bench.FAMILY, "coil-resistance", "coil_a")) == ["neck"]
    assert summaries.get(GroupKey(bench.FAMILY, "coil-resistance", "coil_b")) is None
    assert {s.key.family_id for s in summaries.of_family(bench.FAMILY)} == {bench.FAMILY}


def test_rewound_pieces_never_enter() -> None:
    """In no group at all is there a rewound piece; repaired and unknown ones are in."""
    pieces = [
        bench.piece("new-wire", state="rewound", position="neck"),
        bench.piece("new-lead", state="repaired", position="neck"),
        bench.piece("who-knows", state="unknown", position="neck"),
        bench.piece("as-made", position="neck"),
    ]
    summaries = summarise(*bench.shop(pieces, [12.0, 8.0, 8.1, 8.2]), REFERENCE)
    groups = summaries.of_family(bench.FAMILY)
    assert len(groups) == 4  # all or one period, all or one position
    for summary in groups:
        found = [member.piece_id for member in summary.members]
        assert found == ["new-lead", "who-knows", "as-made"]
    assert summaries.left_out == (
        LeftOut(bench.FAMILY, "new-wire", "pair", "pair-resistance", "rewound"),
    )


@pytest.mark.parametrize(
    ("value", "why"),
    [
        (bench.value("x", None, u=None, qualifier="open"), "open_circuit"),
        (bench.value("x", 20.0, qualifier=">"), "bound_only"),
        (bench.value("x", 5.0, qualifier="<"), "bound_only"),
        (bench.value("x", 8.0, flags=("calibration_lapsed",)), "calibration_lapsed"),
        (bench.value("x", 8.0, calibration="lapsed"), "calibration_lapsed"),
        (bench.value("x", 8.0, flags=("parallel_impossible",)), "parallel_impossible"),
        (bench.value("x", 8.0, qualifier=">", flags=("parallel_unknown",)), "parallel_unknown"),
        (bench.value("x", 8.0, flags=("derived", "assumed_construction")), "assumed_construction"),
        (bench.value("x", 8.0, u=None), "no_uncertainty"),
    ],
    ids=lambda case: case if isinstance(case, str) else "",
)
def test_what_cannot_be_counted_is_left_out_and_told(value: ReducedValue, why: Any) -> None:
    """Every value that stays out makes no group, and says why."""
    summaries = one_value(value)
    assert summaries.of_family(bench.FAMILY) == ()
    expected = (LeftOut(bench.FAMILY, "x", "pair", "pair-resistance", why),)
    assert summaries.left_out == summaries.left_out_of(bench.FAMILY) == expected
    assert summaries.left_out_of(bench.OTHER_FAMILY) == ()


@pytest.mark.parametrize("flag", ["no_temperature", "no_instrument", "derived"])
def test_uncertain_but_honest_values_enter(flag: Any) -> None:
    """An assumed temperature, an unknown instrument or a sum of coils is no reason to stay out."""
    summaries = one_value(bench.value("x", 8.0, u=0.2, flags=(flag,)))
    summary = summaries.get(ALL)
    assert summary is not None
    assert summary.members == (Member("x", 8.0, 0.2, 1957.0),)
    assert summaries.left_out == ()


def test_categories_make_no_group() -> None:
    """A word has no quantile; it is not counted as left out either."""
    word = bench.value(
        "x", None, u=None, component="magnet", property_id="magnet-grade", category="5"
    )
    summaries = one_value(word)
    assert summaries.of_family(bench.FAMILY) == ()
    assert summaries.left_out == ()


def test_only_the_best_value_of_a_piece_counts() -> None:
    """Three readings of one thing are one member: the one that measures chose."""
    readings = tuple(bench.value("x", number) for number in (7.9, 8.0, 8.1))
    best = {("pair", "pair-resistance"): readings[1]}
    measured = {"x": MeasuredPiece("x", readings, best, None, ())}
    summary = summarise(bench.archive([bench.piece("x")]), measured, REFERENCE).get(ALL)
    assert summary is not None
    assert [member.value for member in summary.members] == [8.0]


def test_peers_never_hold_the_piece_itself() -> None:
    """Left out of its group, a piece moves every figure as if it had never been measured."""
    numbers = [7.0 + 0.1 * i for i in range(9)]
    summaries = summarise(*bench.shop(numbered(9), numbers), REFERENCE)
    for index in range(9):
        piece_id = f"x-{index:03d}"
        peers = summaries.peers(ALL, without=piece_id)
        others = [*numbers[:index], *numbers[index + 1 :]]
        assert peers is not None
        assert piece_id not in [member.piece_id for member in peers.members]
        assert peers.n == 8
        assert peers.median == quantiles(others, [0.5])[0]
        assert (peers.minimum, peers.maximum) == (min(others), max(others))


def test_peers_of_nobody_and_of_a_stranger() -> None:
    """A lone piece has no peers; a group is unchanged without somebody who is not in it."""
    summaries = summarise(*bench.shop(numbered(1), [8.0]), REFERENCE)
    assert summaries.peers(ALL, without="x-000") is None
    assert summaries.peers(ALL, without="somebody-else") == summaries.get(ALL)
    assert summaries.peers(ALL._replace(component="coil_a"), without="x-000") is None


def test_invented_and_measured_are_never_pooled() -> None:
    """Summaries carry the archive's kind, and a group of the other kind is refused."""
    invented = summarise(*bench.shop(numbered(8), [8.0] * 8, kind="invented"), REFERENCE)
    measured = summarise(*bench.shop(numbered(8), [8.0] * 8), REFERENCE)
    assert (invented.kind, measured.kind) == ("invented", "measured")
    assert {s.kind for s in invented.of_family(bench.FAMILY)} == {"invented"}
    with pytest.raises(KindsMixed, match="invented and measured"):
        Summaries("measured", invented.of_family(bench.FAMILY))


def test_the_order_is_the_reference_s() -> None:
    """Groups come as the reference lists them, the widest first, whatever the archive's order."""
    pieces = [
        bench.piece("d", family_id=bench.OTHER_FAMILY),
        bench.piece("c", (1960, 1960), position="somewhere"),
        bench.piece("b", (1959, 1959), position="bridge"),
        bench.piece("a", (1957, 1957), position="neck"),
    ]
    one = summarise(*bench.shop(pieces, [1.0, 2.0, 3.0, 4.0]), REFERENCE)
    other = summarise(*bench.shop(pieces[::-1], [4.0, 3.0, 2.0, 1.0]), REFERENCE)
    keys = [(s.key.period_id, s.key.position) for s in one.of_family(bench.FAMILY)]
    assert keys == [
        (None, None),
        (None, "neck"),
        (None, "bridge"),
        (None, "somewhere"),
        (EARLY.period_id, None),
        (EARLY.period_id, "neck"),
        (LATE.period_id, None),
        (LATE.period_id, "bridge"),
        (LATE.period_id, "somewhere"),
    ]
    assert keys == [(s.key.period_id, s.key.position) for s in other.of_family(bench.FAMILY)]


def test_an_empty_archive_and_a_missing_piece() -> None:
    """No pieces make no groups; a piece that was not measured is an error, not a gap."""
    assert summarise(bench.archive([]), {}, REFERENCE).of_family(bench.FAMILY) == ()
    with pytest.raises(UnknownPiece, match="x-000"):
        summarise(bench.archive(numbered(1)), {}, REFERENCE)
    with pytest.raises(OutOfDomain):
        summary_of(ALL, "measured", "kΩ", ())


def test_the_work_of_a_summary_grows_with_the_values() -> None:
    """Four times the pieces, with 12 values each, take at most four times the calls."""
    properties = [bench.quantity(f"quantity-{i}", "pickup") for i in range(12)]
    reference = replace(REFERENCE, properties={p.property_id: p for p in properties})
    pieces = [
        bench.piece(f"x-{i:03d}", (1957 + i % 4, 1957 + i % 4), position=("neck", "bridge")[i % 2])
        for i in range(240)
    ]
    measured = {
        piece.row.piece_id: bench.measured(
            piece.row.piece_id,
            [
                bench.value(
                    piece.row.piece_id,
                    8.0 + 0.001 * index,
                    component="pickup",
                    property_id=p.property_id,
                )
                for p in properties
            ],
        )
        for index, piece in enumerate(pieces)
    }
    summaries, all_calls = calls_of(lambda: summarise(bench.archive(pieces), measured, reference))
    quarter = {piece.row.piece_id: measured[piece.row.piece_id] for piece in pieces[:60]}
    _, calls = calls_of(lambda: summarise(bench.archive(pieces[:60]), quarter, reference))
    assert all_calls <= 4.0 * calls
    assert len(summaries.of_family(bench.FAMILY)) == 12 * 3 * 3


def test_an_archive_measured_in_shares_is_summarised_as_a_whole() -> None:
    """What two processes gathered, sent as bytes, gives the same groups as all at once."""
    pieces = [
        *numbered(21, years=(1957, 1958)),
        bench.piece("again", state="rewound", years=(1959, 1960)),
        bench.piece("undated", None, position="neck"),
    ]
    archive, measured = bench.shop(pieces, [7.0 + 0.03 * i for i in range(len(pieces))])
    whole = summarise(archive, measured, REFERENCE)
    shares = [
        [gather(p.row, measured[p.row.piece_id], REFERENCE) for p in part]
        for part in (pieces[:9], pieces[9:])
    ]
    sent = [one for share in shares for one in pickle.loads(pickle.dumps(share))]
    joined = summaries_of(archive.settings.kind, sent, REFERENCE)
    assert joined.of_family(bench.FAMILY) == whole.of_family(bench.FAMILY) != ()
    assert joined.left_out == whole.left_out != ()
    assert names(joined, ALL) == [p.row.piece_id for p in pieces if p.row.state != "rewound"]

"""Which claims a piece is held against, and where it stands among its peers."""

from __future__ import annotations

from typing import Any

import assessment_bench as bench
import pytest
from scipy.stats import percentileofscore

from coilbook.core.observing.assess import assess
from coilbook.core.observing.peers import GroupKey
from coilbook.core.observing.said import Assessment
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.errors import KindsMixed
from coilbook.records.contents import Claim, Piece
from coilbook.stats.groups import Summaries

NOBODY = Summaries("measured", ())
ALL = GroupKey(bench.FAMILY, "pair-resistance", "pair")


def judged(piece: Piece, claims: list[Claim], own: list[Claim] | None = None) -> Assessment:
    """Return the assessment of a piece of 8.0 ± 0.05 kΩ against these claims, without peers."""
    measured = bench.measured([bench.value(8.0)])
    archive = bench.archive(claims=own or [])
    return assess(piece, measured, archive, bench.reference(claims), NOBODY)


def placed(piece: Piece, pieces: list[Piece], numbers: list[float], number: float) -> Any:
    """Return the one place of a piece of this resistance among the pieces of an archive."""
    archive = bench.archive(pieces)
    (place,) = assess(
        piece,
        bench.measured([bench.value(number)]),
        archive,
        bench.reference(),
        bench.summaries(archive, numbers),
    ).places
    return place


def claim_ids(found: Assessment) -> list[str]:
    """Return the ids of the claims that were applied, in order."""
    return [verdict.claim.row.claim_id for verdict in found.verdicts]


def extra(found: Assessment) -> list[list[str]]:
    """Return, for each verdict, the codes of the reasons that the piece brought along."""
    brought = ("rewound", "undated", "position_unknown")
    return [[r.code for r in v.reasons if r.code in brought] for v in found.verdicts]


def test_claims_apply_by_the_periods_that_the_years_touch() -> None:
    """A claim applies where its period and the years meet; without a period it always does."""
    claims = [
        bench.claim("always", low=7.0),
        bench.claim("early", low=7.0, period=bench.EARLY),
        bench.claim("late", low=7.0, period=bench.LATE),
    ]
    early = judged(bench.piece(years=(1950, 1957)), claims)
    assert (early.periods, claim_ids(early)) == ((bench.EARLY,), ["always", "early"])
    across = judged(bench.piece(years=(1958, 1959)), claims)
    assert across.periods == (bench.EARLY, bench.LATE)
    assert claim_ids(across) == ["always", "early", "late"]
    neither = judged(bench.piece(years=(1961, 1970)), claims)
    assert (neither.periods, claim_ids(neither)) == ((), ["always"])
    assert extra(across) == [[], [], []]


def test_an_undated_piece_is_held_against_every_period() -> None:
    """Its periods are not known, so each period's claim applies and says that it is undated."""
    claims = [
        bench.claim("always", low=7.0),
        bench.claim("early", low=7.0, period=bench.EARLY),
        bench.claim("late", low=7.0, period=bench.LATE),
    ]
    found = judged(bench.piece(years=None), claims)
    assert found.periods == ()
    assert claim_ids(found) == ["always", "early", "late"]
    assert extra(found) == [[], ["undated"], ["undated"]]


def test_claims_apply_by_position() -> None:
    """The piece's own position or none; every position where the piece's is not known."""
    claims = [
        bench.claim("any", low=7.0),
        bench.claim("neck", low=7.0, position="neck"),
        bench.claim("bridge", low=7.0, position="bridge"),
    ]
    assert claim_ids(judged(bench.piece(position="neck"), claims)) == ["any", "neck"]
    unknown = judged(bench.piece(), claims)
    assert claim_ids(unknown) == ["any", "neck", "bridge"]
    assert extra(unknown) == [[], ["position_unknown"], ["position_unknown"]]


def test_claims_of_other_families_and_properties_do_not_apply() -> None:
    """A claim is of one family and one property."""
    claims = [
        bench.claim("other", low=7.0, family_id="small-humbucker"),
        bench.claim("grade", category="5"),
        bench.claim("mine", low=7.0),
    ]
    assert claim_ids(judged(bench.piece(), claims)) == ["mine"]


def test_the_shop_s_own_claims_come_after_the_reference_s() -> None:
    """Both apply, and both are told, even where they disagree."""
    own = [bench.claim("own", low=9.0, high=10.0, origin="archive")]
    found = judged(bench.piece(), [bench.claim("documented", low=7.5, high=9.0)], own)
    assert claim_ids(found) == ["documented", "own"]
    assert [v.word for v in found.verdicts] == ["inside", "outside"]
    assert [v.claim.origin for v in found.verdicts] == ["reference", "archive"]


def test_only_the_best_value_is_judged() -> None:
    """Of three readings of one thing, the one that measures chose gets the verdict and place."""
    readings = tuple(
        bench.value(number, line=line) for line, number in enumerate((7.0, 8.0, 9.9), start=2)
    )
    best = {("pair", "pair-resistance"): readings[1]}
    measured = MeasuredPiece("mine", readings, best, None, ())
    reference = bench.reference([bench.claim(low=7.5, high=9.0)])
    found = assess(bench.piece(), measured, bench.archive(), reference, NOBODY)
    assert [v.value for v in found.verdicts] == [readings[1]]
    assert [p.value for p in found.places] == [readings[1]]
    assert found.verdicts_of(readings[1]) == found.verdicts
    assert found.verdicts_of(readings[0]) == ()


def test_alternatives_are_claims_of_the_same_period_and_position() -> None:
    """Grade 5 is usual later, but that does not excuse it from what is said of the early years."""
    claims = [
        bench.claim("early-2", category="2", period=bench.EARLY),
        bench.claim("late-2", category="2", period=bench.LATE),
        bench.claim("late-5", category="5", period=bench.LATE),
    ]
    measured = bench.measured([bench.value(None, None, category="5")])
    piece = bench.piece(years=(1958, 1959))
    found = assess(piece, measured, bench.archive(), bench.reference(claims), NOBODY)
    words = {v.claim.row.claim_id: v.word for v in found.verdicts}
    assert words == {"early-2": "outside", "late-2": "not_judged", "late-5": "inside"}
    assert found.places == ()


def test_a_rewound_piece_is_judged_and_placed_and_says_so() -> None:
    """Its verdicts carry the reason; it stands among the family's, and is none of them."""
    rewound = bench.piece(state="rewound")
    assert extra(judged(rewound, [bench.claim(low=7.5)])) == [["rewound"]]
    others = [bench.piece(f"x-{i}") for i in range(8)]
    numbers = [7.6 + 0.1 * i for i in range(8)]
    place = placed(rewound, [rewound, *others], [99.0, *numbers], 8.05)
    assert place.peers == 8
    assert place.percentile == percentileofscore(numbers, 8.05, kind="mean") == 62.5


def test_thresholds_are_the_archive_s() -> None:
    """Every verdict prints the thresholds that its archive set."""
    archive = bench.archive(thresholds={"inside": 0.9, "outside": 0.1})
    reference = bench.reference([bench.claim(low=7.5)])
    measured = bench.measured([bench.value(8.0)])
    (verdict,) = assess(bench.piece(), measured, archive, reference, NOBODY).verdicts
    assert (verdict.inside_at, verdict.outside_at) == (0.9, 0.1)


def test_a_piece_is_never_compared_with_itself() -> None:
    """With eight others its rank is among the eight; scipy's mean rank of the others agrees."""
    pieces = [bench.piece("mine"), *(bench.piece(f"x-{i}") for i in range(8))]
    others = [7.6, 7.7, 7.8, 7.9, 8.0, 8.0, 8.2, 8.3]
    for number in (7.0, 7.75, 8.0, 9.0):
        place = placed(pieces[0], pieces, [number, *others], number)
        assert place.key == ALL._replace(period_id=bench.EARLY)
        assert place.peers == 8
        assert place.percentile == percentileofscore(others, number, kind="mean")
        assert place.peer_median == pytest.approx(7.95)


def test_no_percentile_below_eight_peers() -> None:
    """Eight in the group are seven peers: too few to rank among; nobody at all has no median."""
    pieces = [bench.piece("mine"), *(bench.piece(f"x-{i}") for i in range(7))]
    place = placed(pieces[0], pieces, [8.0] * 8, 8.0)
    assert (place.peers, place.percentile, place.peer_median) == (7, None, 8.0)
    alone = placed(pieces[0], pieces[:1], [8.0], 8.0)
    assert (alone.peers, alone.percentile, alone.peer_median) == (0, None, None)


def test_peers_are_of_the_period_that_holds_the_whole_span() -> None:
    """Within one period it stands among that period's; across two, or undated, among all."""
    early = [bench.piece(f"early-{i}", (1957, 1957)) for i in range(9)]
    late = [bench.piece(f"late-{i}", (1960, 1960)) for i in range(10)]
    numbers = [8.0] * 19
    within = placed(bench.piece("early-0", (1957, 1958)), [*early, *late], numbers, 8.0)
    assert (within.key.period_id, within.peers) == (bench.EARLY, 8)
    for years in ((1958, 1959), None):
        across = placed(bench.piece("mine", years), [*early, *late], numbers, 8.0)
        assert (across.key.period_id, across.peers) == (None, 19)


@pytest.mark.parametrize(("others", "position", "peers"), [(8, "neck", 8), (7, None, 12)])
def test_peers_are_of_the_position_where_it_has_enough(
    others: int, position: str | None, peers: int
) -> None:
    """With eight others at its position it stands among those, else among all positions."""
    mine = bench.piece("mine", position="neck")
    necks = [bench.piece(f"neck-{i}", position="neck") for i in range(others)]
    bridges = [bench.piece(f"bridge-{i}", position="bridge") for i in range(5)]
    pieces = [mine, *necks, *bridges]
    place = placed(mine, pieces, [8.0] * len(pieces), 8.0)
    assert (place.key.position, place.peers) == (position, peers)


@pytest.mark.parametrize(
    "value",
    [
        bench.value(None, None, qualifier="open"),
        bench.value(20.0, qualifier=">"),
        bench.value(8.0, flags=("parallel_impossible",)),
    ],
    ids=["open", "bound", "impossible"],
)
def test_what_cannot_be_counted_has_no_place(value: Any) -> None:
    """An open circuit, a bound and a value that contradicts its record stand nowhere."""
    measured = bench.measured([value])
    found = assess(bench.piece(), measured, bench.archive(), bench.reference(), NOBODY)
    assert found.places == ()


def test_a_measured_piece_is_never_placed_among_invented_ones() -> None:
    """Summaries of the other kind are refused, before anything is compared."""
    invented = bench.archive([bench.piece("x")], kind="invented")
    summaries = bench.summaries(invented, [8.0])
    measured = bench.measured([bench.value(8.0)])
    with pytest.raises(KindsMixed, match="invented and measured"):
        assess(bench.piece(), measured, bench.archive(), bench.reference(), summaries)


def test_a_value_inside_another_positions_claim_is_not_outside_this_one() -> None:
    """Two sizes, one of them stated for the neck: 8.0 fits one, and the other is not held against.

    A third claim, of another period, excuses nothing; and a value inside neither is outside both.
    """
    usual = bench.claim("usual", low=7.5, high=8.5)
    narrow = bench.claim("narrow", low=5.0, high=6.0, position="neck")
    for piece in (bench.piece(position=None), bench.piece(position="neck")):
        words = {v.claim.row.claim_id: v for v in judged(piece, [usual, narrow]).verdicts}
        assert words["usual"].word == "inside"
        assert words["narrow"].word == "not_judged"
        assert words["narrow"].reasons[0].code == "range_alternative"
        assert words["narrow"].reasons[0].data == {"claim_id": "usual"}
    elsewhere = bench.claim("elsewhere", low=7.5, high=8.5, period=bench.EARLY)
    found = judged(bench.piece(position="neck", years=(1950, 1957)), [narrow, elsewhere])
    assert {v.claim.row.claim_id: v.word for v in found.verdicts}["narrow"] == "outside"
    low = bench.claim("low", low=1.0, high=2.0)
    assert {v.word for v in judged(bench.piece(position=None), [low, narrow]).verdicts} == {
        "outside"
    }

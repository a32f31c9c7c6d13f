"""What is said of a group of n pieces: exactly what the table allows, and the reason for the rest.

Design, section 6: a median with its interval; under 8 the readings are listed and nothing is drawn;
tolerance intervals with coverage and confidence; a reference interval from 120 on.
"""

from __future__ import annotations

import numpy as np
import pytest
import stats_bench as bench
from scipy import stats as scipy_stats

from coilbook.core.observing.peers import GroupKey
from coilbook.stats.detail import Detail, detail_of
from coilbook.stats.groups import summarise, summary_of
from coilbook.stats.intervals import quantile_ranks
from coilbook.stats.quantiles import percentile_rank
from coilbook.stats.summary import SMALLEST, Member, Summary, allowed
from coilbook.stats.tolerance import wilks_size

REFERENCE = bench.reference([bench.period(1957, 1958), bench.period(1959, 1960)])
ALL = GroupKey(bench.FAMILY, "pair-resistance", "pair")

#: What each number of pieces is enough for, written out here and not read off the table.
SAID: dict[int, set[str]] = {
    0: set(),
    1: set(),
    2: set(),
    5: set(),
    7: set(),
    8: {"distribution", "median_interval", "spread", "outliers", "tolerance_interval"},
}
SAID[119] = SAID[8] | {"quartile_intervals", "tails", "trend"}
SAID[120] = SAID[119] | {"reference_interval"}


def normal_scores(n: int) -> list[float]:
    """Return n values as a normal distribution would spread them, about 8 kΩ."""
    places = (np.arange(1, n + 1) - 0.375) / (n + 0.25)
    return [float(value) for value in 8.0 + 0.3 * scipy_stats.norm.ppf(places)]


def group(values: list[float], years: list[int] | None = None, wide: float = 0.0) -> Summary:
    """Return a group of these values, in years that go round 1955 to 1961 unless told."""
    dated = years or [1955 + i * 3 % 7 for i in range(len(values))]
    members = tuple(
        Member(f"x-{i:03d}", value, 0.01, float(year), wide)
        for i, (value, year) in enumerate(zip(values, dated, strict=True))
    )
    return summary_of(ALL, "measured", "kΩ", members)


def given_of(summary: Summary, detail: Detail) -> set[str]:
    """Return the items that a summary and its detail do say something of."""
    said = {
        "distribution": summary.drawable and detail.smooth_quartiles is not None,
        "median_interval": summary.median_interval is not None,
        "spread": detail.mad is not None and detail.qn is not None,
        "outliers": detail.outliers is not None,
        "tolerance_interval": detail.tolerance is not None,
        "quartile_intervals": detail.lower_quartile_interval is not None
        and detail.upper_quartile_interval is not None,
        "tails": summary.low_5 is not None and summary.high_95 is not None,
        "trend": detail.trend is not None,
        "reference_interval": detail.reference is not None,
    }
    return {item for item, is_said in said.items() if is_said}


@pytest.mark.parametrize("n", [1, 2, 5, 7, 8, 119, 120])
def test_n_pieces_say_exactly_what_they_are_enough_for(n: int) -> None:
    """Each number of pieces gives its items, no more and no fewer, and a reason for the others."""
    summary = group(normal_scores(n))
    detail = detail_of(summary)
    assert set(allowed(n)) == SAID[n]
    assert given_of(summary, detail) == SAID[n]
    assert {left.item for left in detail.withheld} == set(SMALLEST) - SAID[n]
    for left in detail.withheld:
        assert (left.why, left.has, left.needs) == ("too_few", n, SMALLEST[left.item])
    assert [member.value for member in summary.members] == normal_scores(n)


def test_no_piece_makes_no_group() -> None:
    """With n = 0 there is no summary, no detail and no standing, and nothing is allowed."""
    nobody = summarise(bench.archive([]), {}, REFERENCE)
    assert nobody.get(ALL) is None
    assert nobody.detail(ALL) is None
    assert nobody.standing(ALL, 8.0, "x") is None
    assert allowed(0) == ()


def test_the_table_follows_from_the_confidences() -> None:
    """13 for a quartile is where its interval begins; 120 has room for a limit's; 93 is Wilks's."""
    least = SMALLEST["quartile_intervals"]
    assert quantile_ranks(least, 0.25) is not None
    assert quantile_ranks(least - 1, 0.25) is None
    assert quantile_ranks(SMALLEST["reference_interval"], 0.025, 0.90) is not None
    assert wilks_size() == 93
    assert list(SMALLEST.values()) == sorted(SMALLEST.values())


@pytest.mark.parametrize(
    ("n", "method"), [(8, "normal"), (92, "normal"), (93, "distribution_free")]
)
def test_a_tolerance_interval_is_free_of_a_distribution_where_n_allows(n: int, method: str) -> None:
    """Below 93 it rests on a normal distribution; from there on on order statistics."""
    tolerance = detail_of(group(normal_scores(n))).tolerance
    assert tolerance is not None
    assert tolerance.method == method
    assert (tolerance.coverage, tolerance.confidence) == (0.95, 0.95)


def test_a_family_that_is_not_normal_has_no_normal_interval() -> None:
    """40 skewed values: none, with the reason and how many would do; 100 have a free one."""
    skewed = [7.0 + float(x) for x in scipy_stats.expon.ppf((np.arange(40) + 0.5) / 40)]
    detail = detail_of(group(skewed))
    assert detail.tolerance is None
    assert [(w.item, w.why, w.has, w.needs) for w in detail.withheld] == [
        ("reference_interval", "too_few", 40, 120),
        ("tolerance_interval", "not_normal", 40, 93),
    ]
    more = [7.0 + float(x) for x in scipy_stats.expon.ppf((np.arange(100) + 0.5) / 100)]
    free = detail_of(group(more)).tolerance
    assert free is not None
    assert (free.low, free.high) == (min(more), max(more))


def test_values_all_alike_have_no_spread_and_break_nothing() -> None:
    """Counts are often all one number: no tolerance interval, with its reason; spreads are 0."""
    detail = detail_of(group([6.0] * 30))
    assert detail.tolerance is None
    assert [w.why for w in detail.withheld if w.item == "tolerance_interval"] == ["all_one_value"]
    assert (detail.mad, detail.qn, detail.outlier_pieces) == (0.0, 0.0, ())
    assert detail.trend is not None
    assert not detail.trend.seen
    assert detail.smooth_quartiles == pytest.approx((6.0, 6.0, 6.0))


def test_outliers_are_named_and_kept() -> None:
    """The odd piece is flagged by id, with rule and level, and still is in every figure."""
    summary = group([*normal_scores(20), 14.0])
    detail = detail_of(summary)
    assert detail.outlier_pieces == ("x-020",)
    assert detail.outliers is not None
    assert (detail.outliers.rule, detail.outliers.level) == ("generalised-esd", 0.05)
    assert (detail.n, summary.n, summary.maximum) == (21, 21, 14.0)


def test_a_trend_needs_years_that_carry_it() -> None:
    """Closely dated pieces, in five different years: too few of either is said as such."""
    values = normal_scores(24)
    four_years = detail_of(group(values, [1955 + i % 4 for i in range(24)]))
    assert four_years.trend is None
    assert ("trend", "too_few_years", 4, 5) in [
        (w.item, w.why, w.has, w.needs) for w in four_years.withheld
    ]
    loosely = detail_of(group(values, wide=6.0))
    assert loosely.trend is None
    assert ("trend", "too_few_dated", 0, 20) in [
        (w.item, w.why, w.has, w.needs) for w in loosely.withheld
    ]
    rising = detail_of(group(sorted(values), sorted(1955 + i % 6 for i in range(24)), wide=5.0))
    assert rising.trend is not None
    assert rising.trend.seen
    assert rising.trend.slope > 0


def test_a_piece_s_span_of_years_comes_with_it() -> None:
    """From the record: the middle of the span and its width; an undated piece has no year."""
    pieces = [bench.piece("a", (1957, 1960)), bench.piece("b", None)]
    summary = summarise(*bench.shop(pieces, [8.0, 8.1]), REFERENCE).get(ALL)
    assert summary is not None
    assert [(m.year, m.years_wide) for m in summary.members] == [(1958.5, 3.0), (None, 0.0)]


def test_detail_is_that_of_the_group_and_is_reckoned_once() -> None:
    """The summaries hand out the detail of a group, the same object each time."""
    shop = bench.shop([bench.piece(f"x-{i}") for i in range(9)], normal_scores(9))
    summaries = summarise(*shop, REFERENCE)
    summary, detail = summaries.get(ALL), summaries.detail(ALL)
    assert summary is not None
    assert detail == detail_of(summary)
    assert summaries.detail(ALL) is detail


@pytest.mark.parametrize("n", [1, 2, 3, 8, 21, 40])
def test_a_standing_is_what_the_peers_say(n: int) -> None:
    """Looked up or reckoned anew, a piece's place among the others is the same to the last digit.

    For every piece, for a stranger, and for values with ties, at the ends and beyond.
    """
    draw = np.random.default_rng(n)
    numbers = [float(x) for x in np.round(draw.normal(8.0, 0.3, n), 1)]
    pieces = [bench.piece(f"x-{i}", position=("neck", "bridge")[i % 2]) for i in range(n)]
    summaries = summarise(*bench.shop(pieces, numbers), REFERENCE)
    for key in (ALL, ALL._replace(position="neck"), ALL._replace(position="middle")):
        for without in [f"x-{i}" for i in range(n)] + ["stranger"]:
            peers = summaries.peers(key, without)
            for value in (*numbers[:3], 0.0, 99.0, 7.95):
                found = summaries.standing(key, value, without)
                if peers is None:
                    assert found is None
                    continue
                assert found is not None
                others = [member.value for member in peers.members]
                assert (found.key, found.unit, found.n) == (key, "kΩ", peers.n)
                assert found.percentile == percentile_rank(others, value)
                assert found.median == peers.median
                assert (found.minimum, found.maximum) == (peers.minimum, peers.maximum)
                assert found.lower_quartile == peers.lower_quartile
                assert found.upper_quartile == peers.upper_quartile

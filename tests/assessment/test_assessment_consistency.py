"""Periods against a piece: words of cells, order of rows, years of features, the next reading."""

from __future__ import annotations

from dataclasses import replace

import assessment_bench as bench
import pytest
from assessment_bench import EARLY, LATE
from findings_bench import Case, value

from coilbook.core.judging.consistency import Consistency, consistency, feature_span
from coilbook.core.observing.next_reading import next_readings
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.records.contents import Claim, Reference
from coilbook.records.tables.models import Feature, Thresholds


def feature(feature_id: str, first: int | None, last: int | None) -> Feature:
    """Return something seen, with the years that it points to."""
    return Feature.model_validate(
        {
            "feature_id": feature_id,
            "feature_kind": "label",
            "name": feature_id,
            "first_year": None if first is None else str(first),
            "last_year": None if last is None else str(last),
            "evidence": "recalled",
        }
    )


def held(
    *claims: Claim, value: ReducedValue | None = None, state: str = "untouched"
) -> Consistency:
    """Hold an undated piece with one value against two periods and these claims."""
    piece = bench.piece(years=None, state=state)
    values = [value] if value is not None else []
    reference = bench.reference(claims)
    return consistency(piece, bench.measured(values), bench.archive([piece]), reference)


def words(found: Consistency) -> dict[str, list[str]]:
    """Return the words of each period's cells."""
    return {row.period_id: [cell.word for cell in row.cells] for row in found.rows}


def test_a_period_agrees_or_is_contradicted() -> None:
    """Inside one period's range and outside the other's; the one that agrees comes first."""
    claims = (
        bench.claim("a", low=7.0, high=8.0, period=EARLY),
        bench.claim("b", low=9.0, high=10.0, period=LATE),
    )
    found = held(*claims, value=bench.value(9.5))
    assert words(found) == {LATE: ["consistent"], EARLY: ["not_consistent"]}
    assert [row.period_id for row in found.rows] == [LATE, EARLY]
    assert [row.period_id for row in found.open_rows] == [LATE]


def test_where_practice_disagrees_one_that_agrees_is_enough() -> None:
    """Two claims for one period: inside either is consistent, outside both is not."""
    claims = (
        bench.claim("a", low=7.0, high=7.5, period=EARLY),
        bench.claim("b", low=8.5, high=9.0, period=EARLY),
    )
    assert words(held(*claims, value=bench.value(8.7)))[EARLY] == ["consistent"]
    assert words(held(*claims, value=bench.value(8.0)))[EARLY] == ["not_consistent"]


def test_a_value_at_a_limit_is_too_close_to_call() -> None:
    """Half of the probability on either side decides nothing."""
    claim = bench.claim("a", low=7.0, high=8.0, period=EARLY)
    assert words(held(claim, value=bench.value(8.0)))[EARLY] == ["too_close_to_call"]


def test_what_was_not_measured_and_what_nobody_claims() -> None:
    """A claim without a value is not measured; a value without a claim has no claim."""
    claim = bench.claim("a", low=7.0, high=8.0, period=EARLY)
    assert words(held(claim)) == {EARLY: ["not_measured"], LATE: []}
    assert words(held(claim, value=bench.value(7.5)))[LATE] == ["no_claim"]


def test_of_a_rewound_piece_nothing_of_the_winding_counts() -> None:
    """Its resistance is left out, and said to be."""
    claim = bench.claim("a", low=7.0, high=8.0, period=EARLY)
    found = held(claim, value=bench.value(12.0), state="rewound")
    assert words(found) == {EARLY: [], LATE: []}
    assert found.left_out == ("pair-resistance",)


def test_what_rests_on_an_assumed_construction_does_not_count() -> None:
    """Turns from a resistance would repeat it."""
    claim = bench.claim("a", low=7.0, high=8.0, period=EARLY)
    turns = bench.value(12.0, flags=("derived", "assumed_construction"))
    assert words(held(claim, value=turns))[EARLY] == ["not_measured"]


def test_one_verdict_serves_every_period_with_the_same_claim() -> None:
    """A claim for all years is judged once, and stands in each period's cell."""
    found = held(bench.claim("all", low=7.0, high=8.0), value=bench.value(7.5))
    one, other = (row.cells[0].verdicts[0] for row in found.rows)
    assert one is other


def test_features_contradict_a_period_outside_their_years() -> None:
    """A feature from 1959 on speaks against 1957–58, and one of no years against nothing."""
    piece = bench.piece(years=None)
    cells = piece.row.model_copy(update={"features": ("late", "undated")})
    reference = replace(
        bench.reference(),
        features={"late": feature("late", 1959, None), "undated": feature("undated", None, None)},
    )
    found = consistency(
        replace(piece, row=cells), bench.measured([]), bench.archive([piece]), reference
    )
    assert {row.period_id: [f.word for f in row.features] for row in found.rows} == {
        LATE: ["consistent", "no_claim"],
        EARLY: ["not_consistent", "no_claim"],
    }


@pytest.mark.parametrize(
    ("features", "years", "conflicts"),
    [
        ([], (None, None), ()),
        ([("a", None, None)], (None, None), ()),
        ([("a", 1957, 1961)], (1957, 1961), ()),
        ([("a", 1957, 1961), ("b", 1960, 1965)], (1960, 1961), ()),
        ([("a", None, 1961), ("b", 1959, None)], (1959, 1961), ()),
        ([("a", 1957, None)], (1957, 1970), ()),
        ([("a", 1957, 1961), ("b", 1962, 1965)], (None, None), (("a", "b"),)),
        ([("b", 1962, 1965), ("a", 1957, 1961)], (None, None), (("a", "b"),)),
    ],
)
def test_the_span_of_years_that_features_leave(
    features: list[tuple[str, int | None, int | None]],
    years: tuple[int | None, int | None],
    conflicts: tuple[tuple[str, str], ...],
) -> None:
    """Spans intersect, within the family's years; two that do not meet are named, earlier first."""
    span = feature_span([feature(*one) for one in features], bench.HUMBUCKER)
    assert (span.first_year, span.last_year) == years
    assert span.conflicts == conflicts


def test_consistency_takes_the_archives_thresholds() -> None:
    """A stricter threshold makes a near value too close to call."""
    claim = bench.claim("a", low=7.0, high=8.0, period=EARLY)
    piece = bench.piece(years=None)
    reference: Reference = bench.reference([claim])
    near = bench.value(7.9)  # two standard uncertainties inside

    def word(**thresholds: float) -> str:
        held = bench.archive([piece], thresholds=thresholds)
        found = consistency(piece, bench.measured([near]), held, reference)
        return next(row for row in found.rows if row.period_id == EARLY).cells[0].word

    assert Thresholds().inside == 0.95
    assert word() == "consistent"
    assert word(inside=0.99) == "too_close_to_call"


# --- the next reading ----------------------------------------------------------------------------


def told(*claims: Claim, value: ReducedValue | None = None, state: str = "untouched") -> list[str]:
    """Return the properties to read next, of an undated piece."""
    found = held(*claims, value=value, state=state)
    piece = bench.piece(years=None, state=state)
    reference = bench.reference(claims)
    return [r.property_id for r in next_readings(piece, found, bench.archive(), reference)]


APART = (
    bench.claim("a", low=7.0, high=8.0, period=EARLY),
    bench.claim("b", low=9.0, high=10.0, period=LATE),
)


def test_the_reading_that_tells_two_periods_apart_is_asked_for() -> None:
    """Ranges with nothing in common tell all; it names the two periods."""
    assert told(*APART) == ["pair-resistance"]
    found = held(*APART)
    (reading,) = next_readings(
        bench.piece(years=None), found, bench.archive(), bench.reference(APART)
    )
    assert reading.separates == 1.0
    assert set(reading.pair) == {EARLY, LATE}


def test_nothing_is_asked_for_that_was_read_or_tells_nothing() -> None:
    """What was read, what a rewinding replaced, and one range for both are not asked for."""
    assert told(*APART, value=bench.value(7.5)) == []
    assert told(*APART, state="rewound") == []
    assert told(bench.claim("all", low=7.0, high=8.0)) == []


def test_half_of_a_range_in_common_tells_half() -> None:
    """The share of the shorter range that lies outside the other."""
    claims = (
        bench.claim("a", low=7.0, high=8.0, period=EARLY),
        bench.claim("b", low=7.5, high=9.5, period=LATE),
    )
    (reading,) = next_readings(
        bench.piece(years=None), held(*claims), bench.archive(), bench.reference(claims)
    )
    assert reading.separates == pytest.approx(0.5)


def test_words_tell_periods_apart_where_they_share_none() -> None:
    """Grade 2 against grade 5 tells all; one grade that both have tells nothing."""
    two = bench.claim("a", category="2", period=EARLY)
    five = bench.claim("b", category="5", period=LATE)
    assert told(two, five) == ["magnet-grade"]
    assert told(two, bench.claim("c", category="2", period=LATE)) == []


def test_an_archives_own_claims_count() -> None:
    """A shop's own claim tells its periods apart as well as a documented one."""
    piece = bench.piece(years=None)
    held_by = bench.archive([piece], APART)
    reference = bench.reference()
    found = consistency(piece, bench.measured([]), held_by, reference)
    readings = next_readings(piece, found, held_by, reference)
    assert [r.property_id for r in readings] == ["pair-resistance"]


def test_nobody_is_asked_to_unwind_a_coil() -> None:
    """Of a real family whose turns tell its periods apart, turns are never asked for."""
    said = Case([value("pair", "pair-resistance", 8.0, 0.02)]).assessed()
    assert said.next_readings
    unwound = {"coil-turns", "pair-turns", "wire-mass"}
    assert not unwound & {r.property_id for r in said.next_readings}

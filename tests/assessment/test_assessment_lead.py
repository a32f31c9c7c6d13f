"""The word that leads a piece's page, and where practice and an archive part."""

from __future__ import annotations

import assessment_bench as bench
import pytest
from assessment_bench import EARLY
from findings_bench import Case, spread, value, word

from coilbook.assessment.review.practice import Practice, practice_of
from coilbook.core.observing.headline import SMALLEST_DECIDED
from coilbook.core.observing.said import Assessment
from coilbook.records.contents import Claim

YEARS = {"year_first": "1957", "year_last": "1957", "year_basis": "for the test"}
#: Values in the middle of what the reference says of 1957–58.
TYPICAL = (
    value("pair", "pair-resistance", 8.2, 0.02),
    value("coil_a", "coil-resistance", 4.0, 0.02),
    value("coil_b", "coil-resistance", 4.0, 0.02),
    word("coil_a", "wire-gauge", "42 AWG"),
)


def codes(said: Assessment) -> list[str]:
    """Return the codes of the lead's reasons."""
    return [reason.code for reason in said.lead.reasons]


def test_typical_takes_enough_that_is_inside() -> None:
    """With at least three values inside and nothing against it, a piece is typical."""
    said = Case(TYPICAL, cells=YEARS).assessed()
    assert said.lead.word == "typical"
    assert codes(said)[0] == "decided"
    assert said.lead.reasons[0].data["decided"] == len(TYPICAL)


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ((), "nothing_read"),
        (TYPICAL[: SMALLEST_DECIDED - 1], "too_few_decided"),
        ((value("pair", "pair-resistance", 9.0, 0.1),), "all_too_close"),
        ((value("pickup", "pickup-mass", 100.0, 1.0),), "nothing_documented"),
    ],
)
def test_it_cannot_be_told_and_why(values: tuple[object, ...], why: str) -> None:
    """Too little, all too close, nothing documented: each is said as what it is."""
    said = Case(values, cells=YEARS).assessed()  # type: ignore[arg-type]
    assert said.lead.word == "cannot_tell"
    assert codes(said)[0] == why


def test_one_value_outside_makes_a_piece_unusual() -> None:
    """However many others are inside."""
    said = Case((*TYPICAL[1:], value("pair", "pair-resistance", 12.0, 0.02)), cells=YEARS)
    found = said.assessed().lead
    assert found.word == "unusual"
    assert found.reasons[0].code == "outside"
    assert found.reasons[0].data["property_id"] == "pair-resistance"


def test_an_observation_makes_a_piece_unusual_but_not_one_on_its_record() -> None:
    """A weak magnet does; a meter past its calibration is told beside and decides nothing."""
    field = value("magnet", "pole-flux-density", 30.0, 0.5)
    peers = {("magnet", "pole-flux-density"): spread(40.0, 40, 0.002)}
    weak = Case((*TYPICAL, field), peers, YEARS).assessed()
    assert (weak.lead.word, codes(weak)[0]) == ("unusual", "finding")
    late = value("coil_a", "coil-resistance", 4.0, 0.02, flags=("calibration_lapsed",))
    lapsed = Case((TYPICAL[0], late, *TYPICAL[2:]), cells=YEARS).assessed()
    assert lapsed.lead.word == "typical"
    assert codes(lapsed)[-1] == "record"


def test_the_winding_of_a_rewound_piece_decides_nothing() -> None:
    """What it was rewound to is no reason to call it unusual, nor typical."""
    rewound = {**YEARS, "state": "rewound"}
    said = Case((value("pair", "pair-resistance", 12.0, 0.02),), cells=rewound).assessed()
    assert said.lead.word == "cannot_tell"
    assert "winding_left_out" in codes(said)


# --- practice and an archive ---------------------------------------------------------------------


def practice(numbers: list[float], *claims: Claim) -> Practice:
    """Return what claims and an archive of pieces of 1957 say of the pair's resistance."""
    pieces = [bench.piece(f"p-{i}", (1957, 1957)) for i in range(len(numbers))]
    held = bench.archive(pieces)
    reference = bench.reference(claims)
    summaries = bench.summaries(held, numbers)
    (found,) = practice_of(bench.FAMILY, held, reference, summaries)
    return found


def test_the_share_of_an_archive_that_lies_in_a_claim() -> None:
    """Counted with its limits: of ten values from 6.5 in steps of 0.25, 7 to 8 holds five.

    They are 7.0, 7.25, 7.5, 7.75 and 8.0.
    """
    numbers = [6.5 + 0.25 * i for i in range(10)]
    (share,) = practice(numbers, bench.claim(low=7.0, high=8.0)).shares
    assert (share.n, share.inside, share.share) == (10, 5, 0.5)
    assert share.parted == "together"


@pytest.mark.parametrize(
    ("low", "high", "parted"),
    [(5.0, 6.0, "archive_above"), (9.0, 10.0, "archive_below"), (5.0, 7.9, "together")],
)
def test_where_the_archive_parts_from_a_claim(low: float, high: float, parted: str) -> None:
    """Its median's whole interval beyond the range is told, and on which side."""
    found = practice(spread(8.0, 20), bench.claim(low=low, high=high))
    assert found.shares[0].parted == parted
    assert found.disagrees == (parted != "together")


@pytest.mark.parametrize("count", [1, 2, 5, 7])
def test_under_eight_values_only_counts_are_told(count: int) -> None:
    """No share, and nobody parts, however far off the few lie."""
    (share,) = practice(spread(20.0, count), bench.claim(low=7.0, high=8.0)).shares
    assert (share.share, share.parted, share.n, share.inside) == (None, "too_few", count, 0)


def test_eight_values_are_enough_for_a_share() -> None:
    """From 8 on the share is told."""
    (share,) = practice(spread(7.5, 8), bench.claim(low=7.0, high=8.0)).shares
    assert share.share == 1.0


def test_nothing_measured_and_nothing_claimed() -> None:
    """A claim without a value, and one that states only what is usual, are said to be so."""
    early = bench.claim("a", low=7.0, high=8.0, period=EARLY)
    late = bench.claim("b", typical=8.0)
    found = practice(spread(7.5, 10), early, late)
    assert [share.parted for share in found.shares] == ["together", "no_range"]
    assert practice([], early).shares[0].parted == "nobody"


def test_claims_conflict_where_nothing_satisfies_both() -> None:
    """Of one period and position; of different ones they merely differ."""
    one = bench.claim("a", low=7.0, high=7.5, period=EARLY)
    other = bench.claim("b", low=8.0, high=9.0, period=EARLY)
    everywhere = bench.claim("c", low=8.0, high=9.0)
    assert practice([], one, other).conflicts == ((one, other),)
    assert practice([], one, everywhere).conflicts == ()
    assert practice([], one, bench.claim("d", low=7.5, high=9.0, period=EARLY)).conflicts == ()

"""What an archive's repeated readings say of its instruments, and which repeats are none."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
import stats_bench as bench
from scipy import stats as scipy_stats

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.errors import UnknownPiece
from coilbook.stats.interlab import precision
from coilbook.stats.repeats import ArchiveRepeats, archive_repeats

REFERENCE = bench.reference()
_FLUX = bench.quantity("pole-flux-density", "magnet", "mT")
WITH_FLUX = replace(REFERENCE, properties={**REFERENCE.properties, _FLUX.property_id: _FLUX})


def read(
    piece_id: str, number: float, instrument: str | None, day: int, **about: Any
) -> ReducedValue:
    """Return a reading by an instrument on a day of March."""
    value = bench.value(piece_id, number, **about)
    return value._replace(instrument_id=instrument, date=f"2026-03-{day:02d}")


def repeats(values: Iterable[ReducedValue], **about: Any) -> ArchiveRepeats:
    """Return what an archive with these readings says; ``about`` is of every piece."""
    by_piece: dict[str, list[ReducedValue]] = {}
    for value in values:
        by_piece.setdefault(value.piece_id, []).append(value)
    archive = bench.archive(bench.piece(piece_id, **about) for piece_id in by_piece)
    measured = {
        piece_id: MeasuredPiece(piece_id, tuple(read), {}, None, ())
        for piece_id, read in by_piece.items()
    }
    return archive_repeats(archive, measured, WITH_FLUX)


def test_readings_of_two_instruments_are_split_after_the_standard() -> None:
    """Two pieces, two meters, two days each, in percent of each piece's mean, worked out here."""
    values = [
        read("a", 8.00, "bench", 1),
        read("a", 8.02, "bench", 2),
        read("a", 8.08, "hand", 1),
        read("a", 8.10, "hand", 3),
        read("b", 4.00, "bench", 1),
        read("b", 4.02, "bench", 2),
        read("b", 4.06, "hand", 2),
        read("b", 4.04, "hand", 1),
    ]
    (found,) = repeats(values).properties
    assert (found.property_id, found.parts, found.readings) == ("pair-resistance", 2, 8)
    mean_a, mean_b = 8.05, 4.03
    expected = precision(
        [
            {
                "bench": [100 * (x / mean_a - 1) for x in (8.00, 8.02)],
                "hand": [100 * (x / mean_a - 1) for x in (8.08, 8.10)],
            },
            {
                "bench": [100 * (x / mean_b - 1) for x in (4.00, 4.02)],
                "hand": [100 * (x / mean_b - 1) for x in (4.06, 4.04)],
            },
        ]
    )
    assert found.precision.repeatability_sd == pytest.approx(expected.repeatability_sd)
    assert found.precision.between_labs_sd == pytest.approx(expected.between_labs_sd)
    assert found.precision.f == pytest.approx(expected.f)
    bench_meter, hand_meter = found.instruments
    assert [bench_meter.instrument_id, hand_meter.instrument_id] == ["bench", "hand"]
    within = math.sqrt(((2 / 8.05) ** 2 / 2 + (2 / 4.03) ** 2 / 2) / 2)
    assert bench_meter.sd == pytest.approx(within)
    assert (bench_meter.parts, bench_meter.readings, bench_meter.degrees) == (2, 4, 2)
    stated = math.sqrt(((1 / 8.05) ** 2 + (1 / 4.03) ** 2) / 2)
    assert bench_meter.stated == pytest.approx(stated)


def test_two_instruments_are_compared_on_the_parts_that_both_read() -> None:
    """First minus second in percent, with Student's t of scipy's paired test; a third apart."""
    first, second = [8.00, 7.00, 6.00, 5.00], [8.10, 7.02, 6.05, 5.06]
    values = [read(f"p{i}", x, "bench", 1) for i, x in enumerate(first)]
    values += [read(f"p{i}", x, "hand", 2) for i, x in enumerate(second)]
    values += [read("p9", 8.0, "other", 1), read("p9", 8.1, "other", 2)]
    (found,) = repeats(values).properties
    (pair,) = found.pairs
    shares = [200 * (a - b) / (a + b) for a, b in zip(first, second, strict=True)]
    expected = scipy_stats.ttest_1samp(shares, 0.0)
    assert (pair.first_id, pair.second_id, pair.parts) == ("bench", "hand", 4)
    assert pair.difference == pytest.approx(sum(shares) / 4)
    assert pair.standard_error == pytest.approx(scipy_stats.sem(shares))
    assert pair.p_value == pytest.approx(float(expected.pvalue))


def test_one_part_compares_without_an_error() -> None:
    """Of one part read by two meters there is a difference, and no knowing how sure it is."""
    (found,) = repeats([read("a", 8.0, "bench", 1), read("a", 8.2, "hand", 1)]).properties
    (pair,) = found.pairs
    assert pair.difference == pytest.approx(-20 / 8.1)
    assert (pair.standard_error, pair.p_value) == (None, None)
    assert [i.sd for i in found.instruments] == [None, None]
    assert found.precision.repeatability_sd is None
    assert found.precision.reproducibility_sd == pytest.approx(20 / 8.1 / math.sqrt(2))


@pytest.mark.parametrize(
    ("second", "about", "why"),
    [
        (read("a", 8.1, "bench", 2), {"state": "rewound"}, {"rewound": 2}),
        (read("a", 8.1, "bench", 1), {}, {"same_day_and_instrument": 1}),
        (read("a", 8.1, None, 2), {}, {"no_instrument": 1}),
        (read("a", -8.0, "bench", 2), {}, {"no_scale": 2}),
        (read("a", 20.0, "bench", 2, qualifier=">"), {}, {}),
        (read("a", 8.1, "bench", 2, flags=("parallel_impossible",)), {}, {}),
        (read("a", 8.1, "bench", 2, component="coil_a"), {}, {}),
        (read("a", 8.1, "bench", 2)._replace(line=0), {}, {}),
    ],
)
def test_what_is_no_repeat_is_left_out(second: ReducedValue, about: Any, why: Any) -> None:
    """A rewound piece, one day's second reading, no instrument, a bound, a derived value."""
    found = repeats([read("a", 8.0, "bench", 1), second], **about)
    assert found.properties == ()
    assert found.left_out == why


def test_a_magnet_read_again_may_have_been_recharged() -> None:
    """Flux density at a pole is no repeat: a recharge between the readings is not noise."""
    flux: Any = {"component": "magnet", "property_id": "pole-flux-density"}
    found = repeats([read("a", 25.0, "flux", 1, **flux), read("a", 40.0, "flux", 9, **flux)])
    assert found.properties == ()
    assert found.left_out == {"may_have_changed": 2}


def test_a_lapsed_instrument_is_not_spared() -> None:
    """A reading off a meter past its date counts: whether it drifted is what a repeat shows."""
    late = read("a", 8.4, "hand", 2, calibration="lapsed", flags=("calibration_lapsed",))
    (found,) = repeats([read("a", 8.0, "bench", 1), late]).properties
    assert found.readings == 2


def test_a_piece_that_was_not_measured_is_an_error() -> None:
    """A gap would pass for a piece without repeats."""
    with pytest.raises(UnknownPiece, match="a has not been measured"):
        archive_repeats(bench.archive([bench.piece("a")]), {}, REFERENCE)
    assert archive_repeats(bench.archive([], "invented"), {}, REFERENCE).kind == "invented"

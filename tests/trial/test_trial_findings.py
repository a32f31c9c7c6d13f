"""The blind trial, small: false alarms, shorted turns, and that the report is the trial's own."""

from __future__ import annotations

import csv
from itertools import pairwise

import pytest
from trial_report import QUICK_PIECES, QUICK_SEED, REPORT, SHOWN, cells, reference
from trial_run import ANY, EXPLAINED, MAY_BE_FALSE, Row, outcomes, rows
from trial_world import Alteration, every_alteration

#: The project's goals.
FALSE_ALARMS_AT_MOST, SHORTED_FOUND_AT_LEAST = 0.02, 0.90


@pytest.fixture(scope="module")
def quick() -> list[Row]:
    """Run one small archive of the report."""
    return rows(outcomes(QUICK_PIECES, QUICK_SEED, reference()))


@pytest.fixture(scope="module")
def committed() -> list[dict[str, str]]:
    """Read the committed report."""
    with REPORT.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_committed_report_is_the_trials_own(
    quick: list[Row], committed: list[dict[str, str]]
) -> None:
    """The report's small archive, reckoned anew, comes out line by line as committed.

    If findings or the trial changed: run tests/trial/trial_report.py and commit what it writes.
    """
    found = [list(row.values()) for row in committed if row["archive"] == "quick"]
    assert found == [cells("quick", row) for row in quick]


def test_the_report_covers_every_alteration_with_its_own_counts(
    committed: list[dict[str, str]],
) -> None:
    """Every size of every alteration is reported, and the intervals are those of the counts."""
    large = [row for row in committed if row["archive"] == "report"]
    told = {(row["alteration"], row["size"]) for row in large}
    assert told == {("none", ""), *((a.kind, a.size) for a in every_alteration())}
    assert {r["finding"] for r in large if r["alteration"] == "none"} == set(MAY_BE_FALSE)
    for line in large:
        again = Row(
            line["alteration"],
            line["size"],
            line["read"],
            line["finding"],
            int(line["n"]),
            int(line["detected"]),
        )
        assert list(line.values()) == cells("report", again)


def test_hardly_any_untouched_piece_is_called_anything(
    quick: list[Row], committed: list[dict[str, str]]
) -> None:
    """No finding comes of more than 2 % of the untouched pieces that it could have come of.

    In the small archive the interval must reach down to that; in the report the share itself must.
    """
    false = [row for row in quick if row.alteration == "none"]
    assert {row.finding for row in false} == set(MAY_BE_FALSE)
    for row in false:
        assert row.interval[0] <= FALSE_ALARMS_AT_MOST, row
    for line in committed:
        if line["archive"] == "report" and line["alteration"] == "none":
            assert int(line["detected"]) <= FALSE_ALARMS_AT_MOST * int(line["n"]), line


def test_shorted_turns_are_found_where_resistance_inductance_and_quality_are_known(
    committed: list[dict[str, str]],
) -> None:
    """Of coils with 5 % of their turns or more shorted, at least 90 % are found.

    So in an archive of its own with enough of them, and at each size in the report.
    """
    sizes = ["5 %", "10 %", "20 %"]
    wanted = tuple(Alteration("shorted_turns", size) for size in sizes)
    found = rows(outcomes(2000, 21, reference(), wanted, altered=0.05))
    large = [
        Row(r["alteration"], r["size"], r["read"], r["finding"], int(r["n"]), int(r["detected"]))
        for r in committed
        if r["archive"] == "report" and r["size"] in sizes
    ]
    for archive, least in ((found, 15), (large, 50)):
        known = [row for row in archive if (row.finding, row.read) == (ANY, "coil's R, L and Q")]
        assert [row.size for row in known] == sizes
        for row in known:
            assert row.n >= least
            assert row.detected >= SHORTED_FOUND_AT_LEAST * row.n, row


def test_a_lower_path_is_found_more_often(committed: list[dict[str, str]]) -> None:
    """The lower an unmarked path lies, the more often the piece's findings name it.

    From one size to the next that holds within the intervals of the shares, from some 40 pieces
    each, of which not all had a quality factor read; from the highest path to the lowest, strictly.
    """
    for kind, read in (
        ("in_circuit_all", "two coils"),
        ("in_circuit_pair_only", "two coils"),
        ("in_circuit_coils_unread", "one coil"),
    ):
        lines = [
            row
            for row in committed
            if row["archive"] == "report"
            and (row["alteration"], row["read"], row["finding"]) == (kind, read, EXPLAINED)
        ]
        assert len(lines) == 5
        for higher, lower in pairwise(lines):
            assert float(lower["high"]) >= float(higher["low"]), (kind, higher, lower)
        first, last = (int(row["detected"]) / int(row["n"]) for row in (lines[0], lines[-1]))
        assert last > first or first == 1.0


def test_the_page_shows_the_committed_report() -> None:
    """What the site's page on observations reads is the report of this trial, letter by letter."""
    assert SHOWN.read_bytes() == REPORT.read_bytes()

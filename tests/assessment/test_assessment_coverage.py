"""What the reference covers and leaves open, counted on a reference of a few rows."""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbook.assessment.review.covered import Coverage, coverage_of
from coilbook.records import load_reference
from coilbook.records.contents import Reference

TINY = Path(__file__).parents[1] / "records" / "tiny" / "reference"
PERIOD = "twin-late,twin-coil,1962–70,1962,1970,The next.,common_practice,,"


def _reference(folder: Path, **more: str) -> Reference:
    """Return the tiny reference with lines added to its tables."""
    for path in TINY.glob("*.csv"):
        text = path.read_text(encoding="utf-8") + more.get(path.stem, "")
        (folder / path.name).write_text(text, encoding="utf-8")
    loaded = load_reference(folder)
    assert loaded.value is not None, loaded.problems
    return loaded.value


def _coverage(folder: Path, **more: str) -> Coverage:
    return coverage_of(_reference(folder, **more))


def test_claims_are_counted_by_family_property_and_evidence(tmp_path: Path) -> None:
    """Three rows of the tiny reference: one published, one of practice, one recalled."""
    found = _coverage(tmp_path)
    assert dict(found.total) == {"published": 1, "common_practice": 1, "recalled": 1}
    twin, single = found.families
    assert [prop.property_id for prop in found.core] == ["coil-resistance", "pair-resistance"]
    assert [cell.total for cell in twin.cells] == [0, 1]
    assert [cell.total for cell in single.cells] == [1, 0]
    assert dict(twin.counts) == {"published": 1, "common_practice": 1, "recalled": 0}
    assert [dict(counts)["published"] for counts in found.totals] == [0, 1]


def test_only_what_should_be_there_is_missing(tmp_path: Path) -> None:
    """Two coils without a resistance of one are; one coil without a pair is not."""
    found = _coverage(tmp_path)
    assert [(f.family_id, p.property_id) for f, p in found.missing] == [
        ("twin-coil", "coil-resistance")
    ]
    single = found.families[1]
    assert not single.cells[1].applies


def test_an_exemption_takes_a_question_away(tmp_path: Path) -> None:
    """What a kind of poles does not have is asked of no family with it."""
    row = "coil-resistance,slugs-and-screws,It has none.\n"
    found = _coverage(tmp_path, exemptions=row)
    assert found.missing == ()
    cell = found.families[0].cells[0]
    assert cell.exempt is not None
    assert cell.exempt.reason == "It has none."


def test_a_property_told_for_one_period_is_asked_for_the_others(tmp_path: Path) -> None:
    """The pair is claimed for the first period alone; a claim for all years closes the gap."""
    found = _coverage(tmp_path, periods=PERIOD + "\n")
    assert [
        (gap.prop.property_id, [p.period_id for p in gap.periods]) for gap in found.period_gaps
    ] == [("pair-resistance", ["twin-late"])]
    general = "twin-all,twin-coil,,,pair-resistance,,8,,,kΩ,recalled,,,\n"
    (tmp_path / "b").mkdir()
    closed = _coverage(tmp_path / "b", periods=PERIOD + "\n", claims=general)
    assert closed.period_gaps == ()


@pytest.mark.parametrize(
    ("years", "expected"),
    [
        ("1962,1970", [(1961, 1961), (1971, 1985)]),
        ("1961,1985", []),
    ],
)
def test_years_that_no_period_covers_are_told(
    tmp_path: Path, years: str, expected: list[tuple[int, int]]
) -> None:
    """The family runs from 1955 to 1985 and its first period to 1960."""
    row = f"twin-late,twin-coil,late,{years},The next.,common_practice,,\n"
    found = _coverage(tmp_path, periods=row)
    mine = [gap for gap in found.year_gaps if gap.family.family_id == "twin-coil"]
    assert [(gap.first_year, gap.last_year) for gap in mine] == expected


def test_what_is_known_from_memory_alone_is_listed(tmp_path: Path) -> None:
    """A property is, once everything that is claimed of it is recalled, and not any more after."""
    found = _coverage(tmp_path)
    assert [
        (line.prop.property_id, [f.family_id for f in line.families])
        for line in found.only_recalled
    ] == [("coil-resistance", ["single-coil"])]
    (tmp_path / "b").mkdir()
    more = "single-coil-r-2,single-coil,,,coil-resistance,,6k,,,,common_practice,,,\n"
    assert _coverage(tmp_path / "b", claims=more).only_recalled == ()


def test_claims_of_one_matter_that_exclude_each_other_are_told(tmp_path: Path) -> None:
    """Two ranges without a common value are, whatever they rest on; of two periods they are not."""
    more = "single-coil-r-2,single-coil,,,coil-resistance,,7k,,,,common_practice,,,\n"
    found = _coverage(tmp_path, claims=more)
    assert [(a.row.claim_id, b.row.claim_id) for a, b in found.contradictions] == [
        ("single-coil-r", "single-coil-r-2")
    ]
    (tmp_path / "b").mkdir()
    other = more.replace("single-coil,,,coil", "single-coil,single-early,,coil")
    assert _coverage(tmp_path / "b", claims=other).contradictions == ()

"""The documented reference as a whole: it loads, it is large enough, and it is honest."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from pathlib import Path

from coilbook.records import load_reference
from coilbook.records.contents import Reference
from coilbook.resources import dataset_dir

TOP = Path(__file__).parents[2]
DOCUMENTED = {"published", "common_practice", "recalled"}


def test_it_loads_without_a_problem() -> None:
    """Neither an error nor a doubt stands against any row of the reference."""
    assert [str(problem) for problem in load_reference().problems] == []


def test_it_is_large_enough(reference: Reference) -> None:
    """It holds what the project asks of it."""
    assert len(reference.families) >= 14
    assert len(reference.claims) >= 350
    assert len(reference.features) >= 16
    assert {(w.awg, w.build) for w in reference.wires.values()} == {
        (awg, build) for awg in range(38, 47) for build in ("single", "heavy")
    }
    for family_id in reference.families:
        assert reference.periods_of(family_id), family_id
        assert any(claim.row.family_id == family_id for claim in reference.claims), family_id


def test_files_are_utf8_with_plain_line_ends() -> None:
    """Every table is UTF-8 without a mark in front, ends lines with LF, and ends with one."""
    for path in sorted((dataset_dir() / "reference").glob("*.csv")):
        data = path.read_bytes()
        data.decode("utf-8")
        assert not data.startswith(b"\xef\xbb\xbf"), path.name
        assert b"\r" not in data, path.name
        assert data.endswith(b"\n"), path.name


def test_evidence_is_that_of_documents(reference: Reference) -> None:
    """Nothing measured or invented stands among the documented rows."""
    rows = [
        *reference.families.values(), *reference.periods.values(), *reference.features.values(),
        *reference.wires.values(), *reference.magnets.values(), *reference.bobbins.values(),
        *reference.other_wires.values(), *reference.insulations.values(),
        *reference.alloys.values(), *reference.permeabilities.values(),
        *reference.parts.values(), *(claim.row for claim in reference.claims),
    ]  # fmt: skip
    assert {row.evidence for row in rows} <= DOCUMENTED
    assert {claim.origin for claim in reference.claims} == {"reference"}


def test_no_claim_about_a_pickup_is_called_published(reference: Reference) -> None:
    """No document about pickups was open when the claims were written, so none can be."""
    assert [c.row.claim_id for c in reference.claims if c.row.evidence == "published"] == []


def _sources_of_code(reference: Reference) -> set[str]:
    """Return the sources that the program's own documentation names as what a method rests on."""
    named: set[str] = set()
    for path in sorted((TOP / "builder" / "coilbook").rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        named |= {source_id for source_id in reference.sources if source_id in text}
    return named


def test_sources_of_methods_are_those_that_the_code_names(reference: Reference) -> None:
    """method_sources.csv has every source that only a method names, and none that nothing names.

    A source may be named by its id, by the beginning of its title, or as the standard of a table.
    """
    listed = set(reference.method_sources)
    cited = {
        getattr(row, "source_id", None)
        for file, rows in reference.figure_rows().items()
        if file != "sources.csv"  # a source's own row is no citation of it
        for row in rows
    }
    assert _sources_of_code(reference) - listed - cited == set()
    standards = {row.standard for row in reference.magnets.values()}
    standards |= {row.standard for row in reference.wires.values()}
    texts = "\n".join(
        path.read_text(encoding="utf-8")
        for folder, pattern in (("builder", "*.py"), ("site_src", "*.md"), ("site_src", "*.html"))
        for path in sorted((TOP / folder).rglob(pattern))
    )
    idle = [
        source_id
        for source_id in sorted(listed)
        if source_id not in _sources_of_code(reference)
        and (title := reference.sources[source_id].title.partition(":")[0]) not in standards
        and title not in texts
    ]
    assert idle == []


def test_core_properties_are_documented_for_every_family(reference: Reference) -> None:
    """Each property that every family should have a claim of has one, where the part exists."""
    have = {(claim.row.family_id, claim.row.property_id) for claim in reference.claims}
    exempt = {(row.property_id, row.pole_kind) for row in reference.exemptions}
    missing = [
        (family_id, prop.property_id)
        for family_id, family in reference.families.items()
        for prop in reference.properties.values()
        if prop.core
        and not (prop.component == "pair" and family.coils == 1)
        and (prop.property_id, family.pole_kind) not in exempt
        and (family_id, prop.property_id) not in have
    ]
    assert missing == []


def test_a_single_coil_has_no_claim_about_a_pair(reference: Reference) -> None:
    """A claim about both coils is only made of a family with two."""
    wrong = [
        claim.row.claim_id
        for claim in reference.claims
        if claim.property.component == "pair" and reference.families[claim.row.family_id].coils == 1
    ]
    assert wrong == []


def test_periods_follow_each_other(reference: Reference) -> None:
    """Periods of a family do not overlap, lie within its years, and are named by their years."""
    for family_id, family in reference.families.items():
        periods = reference.periods_of(family_id)
        for period in periods:
            assert family.first_year <= period.first_year, period.period_id
            assert period.last_year <= family.last_year, period.period_id
            span = str(period.first_year)
            if period.last_year != period.first_year:
                span += f"–{period.last_year % 100:02d}"
            assert period.name == span
            assert period.period_id == f"{family_id}-{span.replace('–', '-')}"
        for earlier, later in pairwise(periods):
            assert earlier.last_year < later.first_year, (earlier.period_id, later.period_id)


def test_claim_ids_say_what_they_are_about(reference: Reference) -> None:
    """An id is family, property, years, position, and a number from the second of its kind on."""
    seen: dict[str, int] = defaultdict(int)
    for claim in reference.claims:
        row = claim.row
        years = (row.period_id or "").removeprefix(f"{row.family_id}-")
        parts = (row.family_id, row.property_id, years, row.position)
        name = "-".join(part for part in parts if part)
        seen[name] += 1
        assert row.claim_id == (name if seen[name] == 1 else f"{name}-{seen[name]}")


def test_claims_lie_within_plausible_bounds(reference: Reference) -> None:
    """Every number of a claim lies in its property's plausible bounds, low to high in order."""
    for claim in reference.claims:
        numbers = [n for n in (claim.low, claim.typical, claim.high) if n is not None]
        assert numbers == sorted(numbers), claim.row.claim_id
        for bound, sign in ((claim.property.plausible_low, 1), (claim.property.plausible_high, -1)):
            if bound is not None:
                assert all(sign * (n - bound) >= 0 for n in numbers), claim.row.claim_id


def test_practice_disagrees_about_the_early_1960s(reference: Reference) -> None:
    """Near 8.5 kΩ and nearer 7.5 kΩ (common practice, no source) both stand, and do not meet."""
    period = "full-size-humbucker-1962-65"
    claims = [
        c
        for c in reference.claims
        if c.row.period_id == period and c.row.property_id == "pair-resistance"
    ]
    assert sorted(c.typical for c in claims if c.typical is not None) == [7.5, 8.5]
    assert {c.row.evidence for c in claims} == {"common_practice"}
    lower, upper = sorted(claims, key=lambda c: c.typical or 0)
    assert lower.high is not None
    assert upper.low is not None
    assert lower.high < upper.low

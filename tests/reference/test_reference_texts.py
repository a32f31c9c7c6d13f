"""The words of families and features: each says what a bench asks, and nothing is left blank."""

from __future__ import annotations

import pytest

from coilbook.records.contents import Reference
from coilbook.records.tables.models import Family

#: What every family's page says in words, how to tell it apart besides.
TEXTS = ("summary", "varies", "often_altered", "fails", "measure_first")


def pairs(reference: Reference) -> set[tuple[str, str]]:
    """Return each two families of which one is said to be near the other, both ways round."""
    found = {(f.family_id, other) for f in reference.families.values() for other in f.near}
    return found | {(other, one) for one, other in found}


@pytest.mark.parametrize("column", TEXTS)
def test_every_family_has_each_text(reference: Reference, column: str) -> None:
    """How it is built, what varies, is altered, fails, is measured first: a sentence each."""
    for family_id, family in reference.families.items():
        text = getattr(family, column)
        assert text, family_id
        assert len(text.split()) >= 4, family_id
        assert text.endswith("."), family_id


def test_every_family_is_told_apart_from_its_likes(reference: Reference) -> None:
    """Two families that are near each other each say how to tell them apart, from their own side.

    Nobody is told apart from a family that is near neither way, and every family has a like.
    """
    told = {(f.family_id, other) for f in reference.families.values() for other in f.told_apart}
    assert told == pairs(reference)
    assert {one for one, _ in told} == set(reference.families)
    for one, other in told:
        mine = reference.families[one].told_apart[other]
        assert len(mine.split()) >= 6, (one, other)
        assert mine != reference.families[other].told_apart[one], (one, other)


def test_a_text_that_names_a_family_comes_apart_at_its_marks() -> None:
    """The column is read as it is described: an id, a colon, the text; more of them split by |."""
    row = {
        "family_id": "a", "name": "A", "summary": "s", "coils": "1", "poles": "6",
        "pole_kind": "rods", "positions": "neck", "first_year": "1950", "last_year": "1960",
        "evidence": "recalled", "tell_apart": "b-c: Flat: look. | d: Round.",
    }  # fmt: skip
    assert Family.model_validate(row).told_apart == {"b-c": "Flat: look.", "d": "Round."}


def test_features_say_their_years_or_that_none_are_known(reference: Reference) -> None:
    """At least 30 have an end of their years; each tells how to see it and what is changed."""
    features = reference.features.values()
    dated = [f for f in features if f.first_year is not None or f.last_year is not None]
    assert len(dated) >= 30
    for feature in features:
        assert feature.how_to_see, feature.feature_id
        assert feature.remark, feature.feature_id


def test_features_of_a_family_can_be_met_in_its_years(reference: Reference) -> None:
    """A feature's years and those of each family it names overlap, or it marks a later change."""
    apart = [
        (feature.feature_id, family_id)
        for feature in reference.features.values()
        for family_id in feature.families
        if (feature.first_year or 0) > reference.families[family_id].last_year
        or (feature.last_year or 9999) < reference.families[family_id].first_year
    ]
    assert apart == []


def test_no_feature_claims_more_than_the_memory_that_it_rests_on(reference: Reference) -> None:
    """A recalled year says that it is about right or recalled, or names its span's own doubt."""
    for feature in reference.features.values():
        if feature.evidence != "recalled" or (feature.first_year or feature.last_year) is None:
            continue
        assert any(
            doubt in (feature.remark or "") for doubt in ("about right only", "is recalled")
        ), feature.feature_id

"""The strip of a feature's years, measured back from what is drawn."""

from __future__ import annotations

import re

import pytest

from coilbook.pages.drawn.strips import Axis
from coilbook.pages.family import features
from coilbook.records.tables.models import Feature

AXIS = Axis(1920.0, 2020.0, 20.0)


def feature(first: int | None, last: int | None, evidence: str = "recalled") -> Feature:
    """Return a feature with these years."""
    return Feature.model_validate(
        {
            "feature_id": "x", "feature_kind": "tape", "name": 'Tape "x"', "evidence": evidence,
            "first_year": str(first or ""), "last_year": str(last or ""),
        }
    )  # fmt: skip


def drawn(svg: str) -> tuple[float, float, list[float]]:
    """Return a bar's ends in years and the years of its upright edges, by the ticks beside it."""
    ticks = {
        float(year): float(x)
        for x, year in re.findall(r'<text x="([\d.]+)"[^>]*>(\d{4})</text>', svg)
    }
    (low, x_low), *_, (high, x_high) = sorted(ticks.items())
    per_year = (x_high - x_low) / (high - low)

    def year(x: float) -> float:
        return low + (x - x_low) / per_year

    bar = re.search(r'<rect [^>]*x="([\d.]+)"[^>]*width="([\d.]+)"', svg)
    assert bar
    left, width = float(bar[1]), float(bar[2])
    edges = re.search(r'cb-edge" d="([^"]+)"', svg)
    assert edges
    upright = [year(float(x)) for x in re.findall(r"M([\d.]+) \d+V", edges[1])]
    return year(left), year(left + width), upright


@pytest.mark.parametrize(
    ("first", "last", "ends", "edges"),
    [
        (1957, 1962, (1957, 1963), [1957, 1963]),
        (1961, 1961, (1961, 1962), [1961, 1962]),
        (1965, None, (1965, 2020), [1965]),
        (None, 1968, (1920, 1969), [1969]),
    ],
)
def test_a_strip_shows_the_years_and_only_known_ends_have_an_edge(
    first: int | None, last: int | None, ends: tuple[int, int], edges: list[int]
) -> None:
    """From its first day to its last year's last, to a tenth of a year; an open end has no edge."""
    left, right, upright = drawn(features.year_strip(feature(first, last), AXIS))
    assert (left, right) == pytest.approx(ends, abs=0.1)
    assert upright == pytest.approx(edges, abs=0.1)


def test_a_feature_without_years_has_no_bar_and_says_so() -> None:
    """Nothing is drawn that could be taken for years, and the label has the words."""
    svg = features.year_strip(feature(None, None), AXIS)
    assert "<rect" not in svg
    assert 'aria-label="Tape &quot;x&quot;: no years known"' in svg


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [(1957, 1962, "1957–62"), (1965, None, "from 1965"), (None, 1968, "until 1968")],
)
def test_years_stand_in_words_beside_the_strip(
    first: int | None, last: int | None, words: str
) -> None:
    """What the strip shows is said as well."""
    assert features.years_text(feature(first, last)) == words

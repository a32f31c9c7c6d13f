"""Numbers and claims in words."""

from __future__ import annotations

import pytest
from pages_helpers import make_property, make_value

from coilbook.pages import text


@pytest.mark.parametrize(
    ("value", "decimals", "expected"),
    [
        (7.8, 2, "7.80"),
        (9999, 0, "9999"),
        (10000, 0, "10\N{NARROW NO-BREAK SPACE}000"),
        (-0.56, 2, "\N{MINUS SIGN}0.56"),
        (-0.001, 2, "0.00"),
        (4463, -1, "4460"),
        (9591, -2, "9600"),
    ],
)
def test_a_number_is_written_in_threes_and_rounded(
    value: float, decimals: int, expected: str
) -> None:
    """Digits go in threes from five digits on, and negative decimals round to tens and hundreds.

    ISO 80000-1, 7.3.1: threes parted by a small space, a true minus sign. From memory.
    """
    assert text.number(value, decimals) == expected


def test_a_result_is_rounded_as_the_gum_rounds() -> None:
    """10.057 62 Ω with u = 27 mΩ is written 10.058 (JCGM 100:2008, 7.2.6; from memory)."""
    prop = make_property(unit="Ω", decimals=3)
    assert text.number(10.05762, text.result_decimals(0.027, prop)) == "10.058"


@pytest.mark.parametrize(
    ("value", "u", "expected"),
    [
        (7.7412, 0.0391, "7.74 ± 0.08 kΩ"),
        (7.7412, 0.0021, "7.741 ± 0.004 kΩ"),
        (7.7412, 0.6, "7.7 ± 1.2 kΩ"),
    ],
)
def test_the_uncertainty_sets_the_digits(value: float, u: float, expected: str) -> None:
    """U = 2u has two digits at the most, at the property's decimals or one more."""
    shown = text.result(make_value(value, u), make_property())
    assert shown == expected.replace(" kΩ", "\N{NO-BREAK SPACE}kΩ")


def test_results_without_a_number_are_words() -> None:
    """An open coil, a bound and a category never look like a measured number."""
    prop = make_property()
    assert text.result(make_value(None, None, qualifier="open"), prop) == "open"
    assert text.result(make_value(20.0, 0.1, qualifier=">"), prop).startswith("above 20.00")
    assert text.result(make_value(None, None, category="wax"), prop) == "wax"


@pytest.mark.parametrize(
    ("low", "typical", "high", "expected"),
    [
        (7.5, None, 9.0, "7.5–9.0 kΩ"),
        (7.5, 8.25, 9.0, "7.50–9.00 kΩ, usually 8.25 kΩ"),
        (None, 8.5, None, "about 8.5 kΩ"),
        (0.0, None, 1.0, "up to 1 kΩ"),
        (None, None, 1.0, "up to 1 kΩ"),
        (3.0, None, None, "from 3 kΩ"),
        (8.0, None, 8.0, "8 kΩ"),
        (None, None, None, ""),
    ],
)
def test_a_claim_reads_as_the_trade_would_say_it(
    low: float | None, typical: float | None, high: float | None, expected: str
) -> None:
    """Ranges share their decimals; a lower end at nothing is no lower end."""
    shown = text.span(low, typical, high, make_property())
    assert shown == expected.replace(" kΩ", "\N{NO-BREAK SPACE}kΩ")


def test_years_are_written_as_spans() -> None:
    """One year, a span within a century, a span across one, none."""
    assert text.years(1959, 1959) == "1959"
    assert text.years(1957, 1958) == "1957–58"
    assert text.years(1899, 1901) == "1899–1901"
    assert text.years(None, 1958) == ""


def test_no_certainty_is_claimed_that_is_not_there() -> None:
    """A probability never reads 0 or 1, and a rank says all only when it is all."""
    assert text.probability(0.9999) == "p > 0.99"
    assert text.probability(0.0001) == "p < 0.01"
    assert text.probability(0.95) == "p = 0.95"
    assert text.probability(None) == ""
    assert text.rank(0, 9) == "below all 9 peers"
    assert text.rank(100, 9) == "above all 9 peers"
    assert text.rank(99.8, 400) == "above 99\N{NO-BREAK SPACE}% of 400 peers"


def test_a_property_beside_its_part_drops_the_part() -> None:
    """Beside "Coil A" stands "Resistance", not "Resistance of one coil"."""
    assert text.short_name("Resistance of one coil") == "Resistance"
    assert text.short_name("Resonant frequency") == "Resonant frequency"

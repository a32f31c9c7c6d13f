"""The grammar of written values: a table of cases, there and back, and a general-purpose library.

The forms with a letter in the decimal mark's place (7k82, 4R7, 2M2, 4n7) are those of IEC 60062,
which is cited from memory.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbook.core import units
from coilbook.core.units import KINDS, PROPERTY_UNITS
from coilbook.core.written.grammar import EXAMPLES, FORMS, REFUSALS, VULGAR, fold
from coilbook.errors import ValueUnreadable
from coilbook.records import read_unit, read_value

CASES = list(csv.DictReader((Path(__file__).parent / "values.csv").read_text("utf-8").splitlines()))


def _unescaped(text: str) -> str:
    """Return a case's text with its escapes written out: they keep invisible signs visible."""
    return re.sub(r"\\u([0-9a-f]{4})", lambda m: chr(int(m[1], 16)), text)


@pytest.mark.parametrize(
    "case", CASES, ids=[f"{c['text']}-{c['kind']}-{c['decimal_comma']}" for c in CASES]
)
def test_each_way_of_writing_reads_as_the_table_says(case: dict[str, str]) -> None:
    """Every accepted form gives magnitude, unit, qualifier and step; every slip its sentence."""
    text, kind = _unescaped(case["text"]), KINDS[case["kind"]]
    options = {"default_unit": case["default_unit"] or None}
    comma = case["decimal_comma"] == "yes"
    if case["error"]:
        with pytest.raises(ValueUnreadable) as caught:
            read_value(text, kind, decimal_comma=comma, **options)
        assert str(caught.value) == case["error"]
        return
    written = read_value(text, kind, decimal_comma=comma, **options)
    magnitude = float(case["magnitude"]) if case["magnitude"] else None
    step = float(case["step"]) if case["step"] else None
    assert (written.magnitude, written.unit, written.qualifier, written.step) == (
        magnitude, case["unit"], case["qualifier"], step,
    )  # fmt: skip
    assert written.text == text


def test_the_table_tries_every_form_and_every_refusal() -> None:
    """No form of a number, and no usual slip, is without a case."""
    good = [fold(_unescaped(c["text"])).lstrip("<>=≤≥ +-") for c in CASES if not c["error"]]
    for name, pattern in FORMS:
        assert any(pattern.match(text) for text in good), name
    for _, _, what, _ in REFUSALS:
        shape = re.compile(re.escape(what).replace(re.escape("{text}"), ".*"))
        assert any(shape.match(c["error"]) for c in CASES), what
    assert {c["kind"] for c in CASES} == set(KINDS)


def test_every_kind_has_an_example_that_reads() -> None:
    """A message's next step is itself readable, for every kind of quantity."""
    assert set(EXAMPLES) == set(KINDS)
    for name, example in EXAMPLES.items():
        assert read_value(example, KINDS[name]).magnitude is not None


def test_every_spelling_reads_as_its_unit() -> None:
    """What units.py lists is what the grammar accepts, folded or not."""
    for kind in KINDS.values():
        for spelling, unit in kind.spellings.items():
            assert read_unit(spelling, kind) == unit
            assert read_value(f"3.5 {spelling}", kind).unit == unit
        for prefix, unit in kind.bare.items():
            if prefix not in kind.spellings:
                assert read_value(f"3.5{prefix}", kind).unit == unit


def test_units_of_properties_are_read_in_their_own_kind() -> None:
    """Every unit that properties.csv may declare can be a default unit."""
    for unit, (kind, own_name) in PROPERTY_UNITS.items():
        assert read_value("2", KINDS[kind], default_unit=unit).unit == own_name


#: What our units are called in pint's stock registry, a general-purpose library.
STOCK = {
    "ohm": "ohm", "kiloohm": "kiloohm", "megaohm": "megaohm", "gigaohm": "gigaohm",
    "milliohm": "milliohm", "henry": "henry", "millihenry": "mH", "microhenry": "uH",
    "picofarad": "pF", "nanofarad": "nF", "microfarad": "uF", "hertz": "Hz", "kilohertz": "kHz",
    "farad": "F", "megahertz": "MHz",
    "meter": "m", "centimeter": "cm", "millimeter": "mm", "micrometer": "um",
    "inch": "inch", "mil": "thou", "tesla": "T", "millitesla": "mT", "degC": "degC",
    "degF": "degF", "kelvin": "kelvin", "difference_K": "delta_degC",
    "difference_F": "delta_degF", "gram": "g", "kilogram": "kg", "ounce": "oz",
    "percent": "percent", "fraction": "dimensionless", "kiloampere_per_meter": "kA/m",
    "ampere_per_meter": "A/m", "kilojoule_per_cubic_meter": "kJ/m**3",
    "joule_per_cubic_meter": "J/m**3",
    "henry_per_square_kiloohm": "H/kiloohm**2",
}  # fmt: skip
#: Units whose size the stock registry gives in another system of units. The gauss is 1e-4 T and the
#: oersted 1000/(4 pi) A/m: SI brochure, 8th edition, table 9 (from memory).
OTHERS = {"gauss": 1e-4, "kilogauss": 0.1, "oersted": 1000 / (4 * 3.141592653589793)}
COUNTS = {"one": 1.0, "kiloone": 1000.0}


def test_units_agree_with_a_stock_registry() -> None:
    """Each unit is worth what pint's stock registry, or the SI brochure, says it is."""
    stock: pint.UnitRegistry[float] = pint.UnitRegistry()
    for kind in KINDS.values():
        for unit in kind.sizes:
            ours = units.convert(12.5, unit, kind.si)
            if unit in OTHERS or unit in COUNTS:
                expected = 12.5 * {**OTHERS, **COUNTS}[unit]
            else:
                quantity = stock.Quantity(12.5, STOCK[unit])
                if kind.si in ("ampere_per_meter", "joule_per_cubic_meter"):
                    expected = quantity.to_base_units().magnitude
                elif kind.name == "temperature_difference":
                    expected = quantity.to("delta_degC").magnitude
                else:
                    expected = quantity.to(STOCK[kind.si]).magnitude
            assert ours == pytest.approx(expected, rel=1e-12), unit


def test_any_unit_of_a_kind_converts_to_any_other() -> None:
    """Between two units directly or by way of the SI unit is the same, and back is the start."""
    for kind in KINDS.values():
        assert kind.si in kind.sizes
        assert set(kind.spellings.values()) | set(kind.bare.values()) <= set(kind.sizes)
        for source in kind.sizes:
            for target in kind.sizes:
                there = units.convert(12.5, source, target)
                by_si = units.convert(units.convert(12.5, source, kind.si), kind.si, target)
                assert there == pytest.approx(by_si, rel=1e-12), (source, target)
                assert units.convert(there, target, source) == pytest.approx(12.5, rel=1e-12)
                step = units.convert(13.5, source, target) - there
                assert units.scale(source, target) == pytest.approx(step, rel=1e-9)


def test_units_of_two_kinds_do_not_convert() -> None:
    """A mix-up of kinds, or of a temperature and a difference, is an error and no number."""
    for source, target in (("ohm", "henry"), ("degC", "difference_K"), ("kΩ", "mm")):
        with pytest.raises(ValueError, match="does not convert"):
            units.convert(1.0, source, target)
    with pytest.raises(KeyError):
        units.scale("furlong", "mm")


def _unit_of(kind: str) -> str:
    return EXAMPLES[kind].split()[1]


NUMBERS = st.decimals(
    min_value=Decimal(0), max_value=Decimal(10**9), places=4, allow_nan=False
).map(lambda d: d.quantize(Decimal("0.0001")))


@given(NUMBERS, st.sampled_from(["", "-", "+", "<", "> "]))
def test_a_plain_number_there_and_back(number: Decimal, sign: str) -> None:
    """Four decimals, by point or comma, read as the nearest float, the last digit as 1e-4."""
    for text in (f"{number:f}", f"{number:f}".replace(".", ",")):
        written = read_value(f"{sign}{text} mm", KINDS["length"])
        assert written.magnitude == float(-number if sign == "-" else number)
        assert written.step == 0.0001
        assert written.qualifier == (sign.strip() if sign.strip() in "<>" else "")


@given(st.integers(0, 10**12))
def test_grouped_digits_there_and_back(number: int) -> None:
    """Groups of thousands read as the number, by space, no-break space, apostrophe and comma."""
    for mark in (" ", "\u202f", "'"):
        grouped = f"{number:,}".replace(",", mark)
        assert read_value(grouped, KINDS["count"], default_unit="turns").magnitude == number
    if number >= 10**6:
        assert read_value(f"{number:,}", KINDS["count"], default_unit="turns").magnitude == number


@given(st.integers(1, 999), st.integers(1, 999))
def test_one_mark_before_three_digits_is_never_guessed(whole: int, rest: int) -> None:
    """7,820 is refused where the point is the decimal mark, and 7.820 where the comma is."""
    for mark, comma in ((",", False), (".", True)):
        text = f"{whole}{mark}{rest:03}"
        with pytest.raises(ValueUnreadable, match="could mean"):
            read_value(text, KINDS["length"], default_unit="mm", decimal_comma=comma)
        written = read_value(text, KINDS["length"], default_unit="mm", decimal_comma=not comma)
        assert written.magnitude == float(f"{whole}.{rest:03}")


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_a_fraction_there_and_back(whole: int, top: int, bottom: int) -> None:
    """A mixed fraction reads as the exact fraction, with a space or a hyphen."""
    top %= bottom
    exact = float(whole + Fraction(top, bottom))
    for text in (f"{whole} {top}/{bottom} in", f'{whole}-{top}/{bottom}"'):
        assert read_value(text, KINDS["length"]).magnitude == exact


@pytest.mark.parametrize("sign", sorted(VULGAR))
def test_vulgar_fractions_read_as_themselves(sign: str) -> None:
    """Python's own table of characters says what each vulgar fraction is worth."""
    worth = unicodedata.numeric(sign)
    assert read_value(f"{sign} in", KINDS["length"]).magnitude == worth
    assert read_value(f"3{sign} in", KINDS["length"]).magnitude == 3 + worth


@given(st.integers(0, 999), st.integers(0, 99))
def test_a_letter_for_the_decimal_mark_there_and_back(whole: int, decimals: int) -> None:
    """7k82 is 7.82 kΩ: the letter is both mark and prefix (IEC 60062, from memory)."""
    for letter, unit in (("R", "ohm"), ("k", "kiloohm"), ("M", "megaohm")):
        written = read_value(f"{whole}{letter}{decimals:02}", KINDS["resistance"])
        assert (written.magnitude, written.unit) == (float(f"{whole}.{decimals:02}"), unit)
        assert written.step == 0.01


def _attempt(text: str, kind: str, *, comma: bool) -> None:
    """Read a text; a refusal must have two sentences, a reading a number or an open circuit."""
    refusal: ValueUnreadable | None = None
    try:
        written = read_value(text, KINDS[kind], default_unit=_unit_of(kind), decimal_comma=comma)
    except ValueUnreadable as error:
        refusal = error
    if refusal is None:
        assert (written.magnitude is None) == (written.qualifier == "open")
    else:
        assert refusal.what.endswith(".")
        assert refusal.todo.endswith(".")


@given(st.text(max_size=40), st.sampled_from(sorted(KINDS)), st.booleans())
def test_any_text_is_read_or_refused(text: str, kind: str, comma: bool) -> None:
    """No text at all makes the grammar fail any other way, and every refusal has a next step."""
    _attempt(text, kind, comma=comma)


@given(st.text(alphabet="0123456789.,'/- kMRGeE<>~±Ω\"½", max_size=14), st.booleans())
def test_texts_of_the_grammars_own_signs_are_read_or_refused(text: str, comma: bool) -> None:
    """The same for texts that nearly are values, where the forms meet one another."""
    _attempt(text, "resistance", comma=comma)

"""How people write a value, and what it says.

The grammar, in the order in which it is tried:

1. Folding (:func:`fold`): ½ becomes `` 1/2``; Unicode's NFKC; every dash becomes ``-``, every
   quotation mark and apostrophe the straight one; every run of spaces one space.
2. A word of :data:`OPEN_WORDS` is an open circuit.
3. A sign of :data:`QUALIFIERS` in front makes the rest a bound.
4. A sign ``+`` or ``-``, then the first of the forms of :data:`FORMS` that fits:
   fraction ``15/16``, ``1 15/16``, ``1-15/16`` · letter for the decimal mark ``7k82`` (IEC 60062) ·
   thousands grouped by space or apostrophe ``10 000`` · by commas ``1,234,567`` or ``1,234.5`` ·
   by points ``1.234.567`` or ``1.234,5`` · plain ``7.82``, ``7,82``, ``.5``, ``1e3``.
   One mark with exactly three digits behind it, as in ``7,820``, could be either and is refused
   (unless it is the file's decimal mark, or a zero leads).
5. What is left is a spelling of a unit of the kind, or an SI prefix that stands for one
   (``7.82k``), or nothing, which means the default unit.

What does not fit is held against :data:`REFUSALS`, so that each usual slip gets its own sentence.
Everything is exact (fractions of whole numbers) until the result is rounded to a float once.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from coilbook.core.seen import Qualifier
from coilbook.core.units import KINDS, PROPERTY_UNITS, Kind
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import ValueUnreadable


@dataclass(frozen=True, slots=True)
class Written:
    """A value as somebody wrote it, and what it says.

    ``magnitude`` is in ``unit`` (a name of :mod:`coilbook.core.units`); it is None for ``open``.
    ``step`` is what one count of the last written digit is worth in ``unit`` (None for a fraction).
    """

    text: str
    qualifier: Qualifier
    magnitude: float | None
    unit: str
    step: float | None


LONGEST = 60

VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
#: Characters that NFKC would leave alone or spoil, and the plain one that each stands for.
PLAIN = {
    "-": "‐‑‒–—−",
    "'": "‘’ʼ´`",
    '"': "“”„",
    "°": "º˚",
    "/": "⁄∕",
    "": "\u200b\u2060\ufeff",
}
_FOLDS = str.maketrans(
    {sign: f" {fraction}" for sign, fraction in VULGAR.items()}
    | {variant: plain for plain, variants in PLAIN.items() for variant in variants}
)
OPEN_WORDS = frozenset({"ol", "o.l", "o.l.", "open"})
QUALIFIERS: dict[str, Qualifier] = {"<=": "<", ">=": ">", "≤": "<", "≥": ">", "<": "<", ">": ">"}

_END = r"(?![\d.,/])"
#: The forms of a number, in the order in which they are tried.
FORMS: tuple[tuple[str, re.Pattern[str]], ...] = (
    (
        "fraction",
        re.compile(rf"(?:(?P<whole>\d+)(?: |- ?))?(?P<top>\d+) ?/ ?(?P<bottom>\d+){_END}"),
    ),
    ("letter", re.compile(rf"(?P<whole>\d+)(?P<letter>[RkKMGmunpμ])(?P<decimals>\d+){_END}")),
    (
        "spaced",
        re.compile(rf"(?P<whole>\d{{1,3}}(?:[ ']\d{{3}})+)(?:[.,](?P<decimals>\d+))?{_END}"),
    ),
    ("commas", re.compile(rf"(?P<whole>\d{{1,3}}(?:,\d{{3}})+)\.(?P<decimals>\d+){_END}")),
    ("commas", re.compile(rf"(?P<whole>\d{{1,3}}(?:,\d{{3}}){{2,}}){_END}")),
    ("points", re.compile(rf"(?P<whole>\d{{1,3}}(?:\.\d{{3}})+),(?P<decimals>\d+){_END}")),
    ("points", re.compile(rf"(?P<whole>\d{{1,3}}(?:\.\d{{3}}){{2,}}){_END}")),
    (
        "plain",
        re.compile(
            r"(?P<whole>\d*)(?:(?P<mark>[.,])(?P<decimals>\d+))?(?<=\d)"
            rf"(?:[eE](?P<exponent>[+-]?\d{{1,4}}))?{_END}"
        ),
    ),
)
#: A number whose one mark may stand for thousands as well as for decimals.
EITHER = re.compile(r"[1-9]\d{0,2}[.,]\d{3}\Z")

ONE_VALUE = "Write one value; a low and a high end have fields of their own in claims."
EACH_ITS_ROW = "Give each value a row of its own, with the part that it was read at."
FRACTION_AGAIN = (
    "A spreadsheet has most likely made it of a fraction: set the column to text, and write the "
    "fraction again, as in 1 15/16 in."
)
#: Letters and signs that may stand behind a number for its unit.
_UNIT = r"[^\d .,;/&|+-]+"
_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
#: Slips that have a sentence of their own: pattern, code, what is wrong, what to do.
REFUSALS: tuple[tuple[re.Pattern[str], str, str, str], ...] = (
    (
        re.compile(
            rf"(?:\d{{4}}[-/.]\d{{1,2}}[-/.]\d{{1,2}}|\d{{1,2}}([-/.])\d{{1,2}}\1\d{{2,4}}"
            rf"|\d{{1,4}}[-. ]?{_MONTH}|{_MONTH}[-. ]?\d{{1,4}})(?:$|[-. ,]\d| \d)",
            re.IGNORECASE,
        ),
        "value-is-a-date",
        "'{text}' is a date.",
        FRACTION_AGAIN,
    ),
    (
        re.compile(r"[~≈]|(?:about|approx|circa|ca\b|c\.)", re.IGNORECASE),
        "value-about",
        "'{text}' is only about right.",
        "Write what the instrument showed, and put the doubt in remark.",
    ),
    (
        re.compile(r".*(?:±|\+ ?/? ?-)"),
        "value-with-uncertainty",
        "'{text}' carries an uncertainty.",
        "Write the value alone: a meter's accuracy stands in instruments.csv, a temperature's in "
        "temperature_uncertainty.",
    ),
    (
        re.compile(r".*\d ?(?!e)[^\d ./]* ?(?:-|\.\.+|\bto\b) ?[.,]?\d", re.IGNORECASE),
        "value-is-a-range",
        "'{text}' is a range.",
        ONE_VALUE,
    ),
    (
        re.compile(r"[+-]?(?:nan|inf|infinity|∞)\b|[+-]?∞", re.IGNORECASE),
        "value-not-finite",
        "'{text}' is not a number.",
        "Write the digits that the instrument showed; write open for an open circuit.",
    ),
    (
        re.compile(
            # A unit or decimals in front of the mark: 15/16 alone is a fraction.
            rf"[+-]?(?:\d[\d.,]* ?{_UNIT} ?(?:[/;,&|+]|\band\b)|\d+[.,]\d+ ?(?:[/;&|+]|\band\b)"
            rf"|\d[\d.,]* ?{_UNIT} |\d+[.,]\d+,? |\d+; ?) ?[+-]?[.,]?\d",
            re.IGNORECASE,
        ),
        "value-twice",
        "'{text}' holds two values.",
        EACH_ITS_ROW,
    ),
)  # fmt: skip

#: An example of each kind, for the next step of a message.
EXAMPLES = {
    "resistance": "7.82 kΩ", "inductance": "4.4 H", "capacitance": "110 pF",
    "frequency": "6.2 kHz", "length": "49.2 mm", "flux_density": "49 mT", "temperature": "21 °C",
    "temperature_difference": "1 K", "mass": "95 g", "count": "5000 turns", "ratio": "5 %",
    "inductance_ratio": "0.07 H/kΩ²", "field_strength": "51 kA/m", "energy_density": "43.8 kJ/m³",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Parts:
    """A value taken apart.

    ``unit`` is None where none is written; ``prefixed`` says that it rests on an SI prefix alone,
    as in ``7.82k``. ``magnitude`` is None for an open circuit.
    """

    qualifier: Qualifier
    magnitude: float | None
    step: float | None
    unit: str | None
    prefixed: bool = False


def fold(text: str) -> str:
    """Return ``text`` with every way of writing one sign folded into one."""
    return " ".join(unicodedata.normalize("NFKC", text.translate(_FOLDS)).split())


def plain_kind(kind: Kind) -> str:
    """Return the kind's name as words."""
    return kind.name.replace("_", " ")


def read_unit(text: str, kind: Kind) -> str:
    """Return our name of a unit, written in any spelling of the kind or as that name.

    Raises :class:`~coilbook.errors.ValueUnreadable` for anything else.
    """
    folded = fold(text)
    unit = kind.spellings.get(folded)
    if unit is not None:
        return unit
    if folded in kind.spellings.values() or folded == kind.si:
        return folded
    others = [plain_kind(k) for k in KINDS.values() if folded in k.spellings]
    if others:
        raise ValueUnreadable(
            "unit-of-another-kind",
            f"'{folded}' is a unit of {' or '.join(others)}, and {plain_kind(kind)} is wanted.",
            f"Write it as in {EXAMPLES[kind.name]}, or name the property that was measured.",
        )
    raise ValueUnreadable(
        "unit-unknown",
        f"'{folded}' is not a unit of {plain_kind(kind)}.",
        f"{did_you_mean(folded, kind.spellings)}Write it as in {EXAMPLES[kind.name]}.",
    )


def read_unit_alone(text: str, kind: Kind) -> str:
    """Return our name of a unit that stands by itself, in a cell or as a default.

    There a unit of properties.csv may stand that nobody writes behind a number: a ratio's is "1".
    Raises :class:`~coilbook.errors.ValueUnreadable` for anything else.
    """
    declared = PROPERTY_UNITS.get(text)
    if declared is not None and declared[0] == kind.name:
        return declared[1]
    return read_unit(text, kind)


def read_parts(text: str, kind: Kind, *, decimal_comma: bool = False) -> Parts:
    """Take a written value apart; see the module's page for the grammar.

    Raises :class:`~coilbook.errors.ValueUnreadable` with what is wrong and what to do.
    """
    folded = fold(text)
    if not folded:
        raise ValueUnreadable(
            "value-empty", "the value is empty.", "Write what the instrument showed."
        )
    if len(folded) > LONGEST:
        raise ValueUnreadable(
            "value-too-long",
            f"the value is longer than {LONGEST} characters.",
            "Move the words to remark.",
        )
    if folded.casefold() in OPEN_WORDS:
        if kind.name != "resistance":
            raise ValueUnreadable(
                "value-open-of-another-kind",
                f"'{folded}' says that a circuit is open, and {plain_kind(kind)} cannot be open.",
                f"Write a number, as in {EXAMPLES[kind.name]}.",
            )
        return Parts("open", None, None, None)
    qualifier: Qualifier = ""
    rest = folded
    for sign, meaning in QUALIFIERS.items():
        if folded.startswith(sign):
            qualifier, rest = meaning, folded[len(sign) :].lstrip()
            break
    negative = rest.startswith("-")
    if rest[:1] in ("+", "-"):
        rest = rest[1:].lstrip()
    for form, pattern in FORMS:
        match = pattern.match(rest)
        if match is not None and (form != "letter" or _letter_unit(match["letter"], kind)):
            break
    else:
        _refuse(folded)
        raise ValueUnreadable(
            "value-not-a-number",
            f"'{folded}' is not a number.",
            f"Write it as in {EXAMPLES[kind.name]}.",
        )
    _refuse_either(form, match[0], decimal_comma)
    magnitude, step = _number(form, match)
    unit, prefixed = _unit(folded, rest[match.end() :].strip(), form, match, kind)
    return Parts(
        qualifier,
        _as_float(-magnitude if negative else magnitude, folded),
        None if step is None else _as_float(step, folded),
        unit,
        prefixed,
    )


def read_value(
    text: str, kind: Kind, *, default_unit: str | None = None, decimal_comma: bool = False
) -> Written:
    """Read a value as somebody wrote it.

    Arguments: ``kind`` of quantity (:data:`coilbook.core.units.KINDS`); ``default_unit``, what a
    bare number means (a unit of properties.csv, any spelling, or our own name);
    ``decimal_comma``, whether the file writes decimals with a comma.
    Errors: :class:`~coilbook.errors.ValueUnreadable`, with what is wrong and the next step.
    """
    parts = read_parts(text, kind, decimal_comma=decimal_comma)
    unit = parts.unit
    if parts.qualifier == "open":
        unit = kind.si
    elif unit is None:
        if default_unit is None:
            raise ValueUnreadable(
                "value-without-unit",
                f"'{fold(text)}' has no unit.",
                f"Write it with one, as in {EXAMPLES[kind.name]}.",
            )
        unit = read_unit_alone(default_unit, kind)
    return Written(text, parts.qualifier, parts.magnitude, unit, parts.step)


def _refuse(folded: str) -> None:
    for pattern, code, what, todo in REFUSALS:
        if pattern.match(folded):
            raise ValueUnreadable(code, what.format(text=folded), todo)


def _refuse_either(form: str, number: str, decimal_comma: bool) -> None:
    """Refuse a number whose one mark may stand for thousands as well as for decimals."""
    other = "." if decimal_comma else ","
    if form == "plain" and other in number and EITHER.match(number):
        thousands = number.replace(other, "")
        decimal = number.replace(other, "," if decimal_comma else ".")
        raise ValueUnreadable(
            "value-mark-ambiguous",
            f"'{number}' could mean {thousands} or {decimal}.",
            f"Write {thousands} or {decimal}.",
        )


def _number(form: str, match: re.Match[str]) -> tuple[Fraction, Fraction | None]:
    """Return the number, exactly, and the worth of its last digit (None for a fraction)."""
    if form == "fraction":
        top, bottom = int(match["top"]), int(match["bottom"])
        if bottom == 0:
            raise ValueUnreadable(
                "value-divides-by-zero", f"'{match[0]}' divides by zero.", "Correct the fraction."
            )
        if match["whole"] is not None and top >= bottom:
            raise ValueUnreadable(
                "value-fraction-too-large",
                f"'{match[0]}' has a fraction of one or more behind a whole number.",
                f"Correct it. {ONE_VALUE}",
            )
        return int(match["whole"] or 0) + Fraction(top, bottom), None
    fields = match.groupdict()
    whole = re.sub(r"\D", "", fields["whole"])
    decimals = fields.get("decimals") or ""
    power = int(fields.get("exponent") or 0) - len(decimals)
    step = Fraction(10) ** power
    return int(whole + decimals) * step, step


def _letter_unit(letter: str, kind: Kind) -> str | None:
    """Return the unit that a letter in the decimal mark's place stands for (IEC 60062)."""
    return "ohm" if letter == "R" and kind.name == "resistance" else kind.bare.get(letter)


def _unit(
    folded: str, rest: str, form: str, match: re.Match[str], kind: Kind
) -> tuple[str | None, bool]:
    """Return the unit behind a number (None: none is written), and whether it is a prefix alone."""
    if form == "letter":
        if rest and kind.spellings.get(rest) != kind.si:
            raise ValueUnreadable(
                "value-unit-twice",
                f"'{folded}' writes its unit twice.",
                f"Write {match[0]} alone, or a plain number.",
            )
        return _letter_unit(match["letter"], kind), not rest
    if not rest:
        return None, False
    if rest in kind.spellings:
        return kind.spellings[rest], False
    if rest in kind.bare:
        return kind.bare[rest], True
    _refuse(folded)
    return read_unit(rest, kind), False


def _as_float(value: Fraction, folded: str) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number) or (number == 0.0) != (value == 0):
        raise ValueUnreadable(
            "value-too-large", f"'{folded}' is too large or too small.", "Correct the exponent."
        )
    return number

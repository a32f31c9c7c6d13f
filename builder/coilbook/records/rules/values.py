"""Reading the written values of a row, and holding them against a property's bounds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from coilbook.core import units
from coilbook.core.units import Kind
from coilbook.core.written.grammar import EXAMPLES, Parts, read_parts, read_unit_alone
from coilbook.errors import ValueUnreadable
from coilbook.records.rules.place import Place
from coilbook.records.tables.cells import serial_date
from coilbook.records.tables.documented import Property

#: A limit is met by the value that was written, whatever its conversion adds in the last place.
DIGITS = 9


@lru_cache(maxsize=4096)
def _parts(text: str, kind_name: str, decimal_comma: bool) -> Parts:
    """Take a written value apart; an archive has the same few temperatures again and again."""
    return read_parts(text, units.KINDS[kind_name], decimal_comma=decimal_comma)


def read_cell(
    text: str,
    column: str,
    kind: Kind,
    at: Place,
    *,
    unit_cell: str | None = None,
    default_unit: str | None = None,
    decimal_comma: bool = False,
) -> Parts | None:
    """Read a value and its unit; note an error and return None where they cannot be read.

    ``unit_cell`` is what the row's unit column says. The unit of the result is never None unless it
    is an open circuit.
    """
    stated, faulty = None, False
    if unit_cell is not None:
        try:
            stated = read_unit_alone(unit_cell, kind)
        except ValueUnreadable as error:
            at.error(error.code, "unit", error.what, error.todo)
            faulty = True
    try:
        parts = _parts(text, kind.name, decimal_comma)
        if faulty:
            return None
        if parts.qualifier == "open" or parts.unit is not None:
            # 7.82k beside a unit of Ω says the same thing in two cells.
            agrees = parts.unit == stated or (parts.prefixed and stated == kind.si)
            if stated is not None and parts.unit is not None and not agrees:
                at.error(
                    "unit-twice",
                    "unit",
                    f"'{text}' has a unit of its own, and the unit column says '{unit_cell}'.",
                    "Correct one of the two, or empty the unit column.",
                )
                return None
            return parts
        unit = stated or default_unit
        if unit is None:
            raise ValueUnreadable(
                "value-without-unit", f"'{text}' has no unit.", "Write the unit behind the number."
            )
        return Parts(parts.qualifier, parts.magnitude, parts.step, read_unit_alone(unit, kind))
    except ValueUnreadable as error:
        at.error(error.code, column, error.what, error.todo)
        return None


#: Kinds of which a bare number means one thing only.
PLAIN_KINDS = frozenset({"count", "ratio", "temperature_difference"})


@dataclass(frozen=True, slots=True)
class Bare:
    """A value written without a unit: its text, and its number."""

    text: str
    number: float


def bare_unit(text: str, kind: Kind, decimal_comma: bool) -> bool:
    """Whether a value that can be read is a number with no unit, of a kind that has several."""
    parts = _parts(text, kind.name, decimal_comma)
    return parts.unit is None and parts.qualifier != "open" and kind.name not in PLAIN_KINDS


def note_unit(text: str, column: str, unit: str, at: Place) -> None:
    """Note the unit that a number without one was taken in."""
    at.note(
        "unit-assumed",
        column,
        f"'{text}' has no unit and was read as {text} {unit}.",
        "Write the unit if you meant another.",
    )


def otherwise(bare: Bare, prop: Property) -> str:
    """Return how a bare number would be written in a unit that makes it plausible, or nothing."""
    if prop.unit is None:
        return ""
    for unit, spelling in USUAL_SPELLINGS.get(units.kind_of(prop.unit).name, {}).items():
        if unit == units.own_name(prop.unit):
            continue
        value = round(units.convert(bare.number, unit, prop.unit), DIGITS)
        low, high = prop.plausible_low, prop.plausible_high
        if (low is None or value >= low) and (high is None or value <= high):
            return f"{bare.text} {spelling}"
    return ""


#: Units in which a number without one may have been meant, the likeliest first.
USUAL_SPELLINGS = {
    "resistance": {"ohm": "Ω", "kiloohm": "kΩ", "megaohm": "MΩ"},
    "inductance": {"millihenry": "mH", "henry": "H"},
    "capacitance": {"nanofarad": "nF", "picofarad": "pF"},
    "frequency": {"hertz": "Hz", "kilohertz": "kHz"},
    "length": {"inch": "in", "centimeter": "cm", "millimeter": "mm"},
    "flux_density": {"gauss": "G", "tesla": "T", "millitesla": "mT"},
    "mass": {"ounce": "oz", "gram": "g"},
}


def read_plain(
    text: str,
    column: str,
    kind: Kind,
    at: Place,
    *,
    target: str,
    unit_cell: str | None = None,
    default_unit: str | None = None,
    decimal_comma: bool = False,
) -> float | None:
    """Read a value that must be a number, neither a bound nor open, in the unit ``target``."""
    parts = read_cell(
        text, column, kind, at,
        unit_cell=unit_cell, default_unit=default_unit, decimal_comma=decimal_comma,
    )  # fmt: skip
    if parts is None:
        return None
    if parts.qualifier or parts.magnitude is None or parts.unit is None:
        at.error(
            "value-not-plain",
            column,
            f"'{text}' is not a plain number.",
            f"Write it as in {EXAMPLES[kind.name]}.",
        )
        return None
    return round(units.convert(parts.magnitude, parts.unit, target), DIGITS)


def check_bounds(
    value: float,
    column: str,
    prop: Property,
    at: Place,
    *,
    above: str = "",
    bare: Bare | None = None,
) -> bool:
    """Refuse a value beyond a hard bound; doubt one beyond a plausible bound. Whether it is inside.

    ``above`` is one more next step for a value that is too high. ``bare`` is the value as written
    where it has no unit: then the message says which was assumed, and which would fit.
    """
    value = round(value, DIGITS)
    unit = "" if prop.unit == "1" else f" {prop.unit}"  # nobody says "0.3 1"
    shown = f"{value:.6g}{unit}"
    if bare is not None:
        shown = f"{shown} (no unit is written, and {prop.unit} was assumed)"
    fitting = otherwise(bare, prop) if bare is not None else ""
    meant = f"If it was {fitting}, write that. " if fitting else ""
    what, further, impossible = "", "", True
    if prop.hard_low is not None and value < prop.hard_low:
        what = f"{shown} is below {prop.hard_low:g}{unit}, which {prop.property_id} never is."
    elif prop.hard_high is not None and value > prop.hard_high:
        what = f"{shown} is above {prop.hard_high:g}{unit}, which {prop.property_id} never is."
        meant += _of_a_date(bare, prop)
        further = above
    elif prop.plausible_low is not None and value < prop.plausible_low:
        what, impossible = f"{shown} is unusually low for {prop.property_id}.", False
    elif prop.plausible_high is not None and value > prop.plausible_high:
        what, impossible = f"{shown} is unusually high for {prop.property_id}.", False
    if not what:
        return True
    if impossible:
        todo = meant.rstrip() or f"Correct the value or its unit.{further}"
        at.error("value-impossible", column, what, todo)
    else:
        at.doubt(
            "value-unusual",
            column,
            what,
            f"{meant or 'Check the value and its unit; '}"
            f"{'Leave' if meant else 'leave'} it if that is what was read.",
        )
    return False


def _of_a_date(bare: Bare | None, prop: Property) -> str:
    """Say that a number of five digits for a length may be a fraction that became a date."""
    day = serial_date(bare.text) if bare is not None else None
    if day is None or prop.unit != "mm":
        return ""
    return (
        f"It may be the date {day.isoformat()}, which a spreadsheet has made of a fraction: set "
        "the column to text, and write the fraction again."
    )

"""Rules that need more than one row: those that both sides share, and those of the reference.

The rules of an archive's own tables are in :mod:`coilbook.records.rules.bench`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from coilbook.core import units
from coilbook.core.units import Kind
from coilbook.core.written.grammar import EXAMPLES, Parts, read_parts, read_unit_alone
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import ValueUnreadable
from coilbook.records.contents import Claim
from coilbook.records.reading.rows import Numbered, R, Table
from coilbook.records.rules.place import Known, Place
from coilbook.records.tables.cells import Evidence, Evidenced, Row
from coilbook.records.tables.models import (
    Alloy,
    Bobbin,
    ClaimRow,
    Family,
    Feature,
    Insulation,
    Period,
    Permeability,
    Property,
    Source,
    Wire,
)

#: A limit is met by the value that was written, whatever its conversion adds in the last place.
DIGITS = 9
#: The kind of quantity that each reduction is meant for.
REDUCTIONS = {
    "copper": "resistance",
    "inductance": "inductance",
    "capacitance": "capacitance",
    "frequency": "frequency",
    "flux": "flux_density",
    "length": "length",
    "insulation": "resistance",
}
REFERENCE_EVIDENCE: tuple[Evidence, ...] = ("published", "common_practice", "recalled")


@dataclass(frozen=True, slots=True)
class Documented:
    """The reference's tables, ready for looking up."""

    properties: Known[Property]
    families: Known[Family]
    periods: Known[Period]
    features: Known[Feature]
    sources: Known[Source]


def plain(kind: str | None) -> str:
    """Return a kind's name as words; without one, a property is a word."""
    return "a word" if kind is None else kind.replace("_", " ")


# --- any table -----------------------------------------------------------------------------------


def check_keys(table: Table[R], at: Place) -> None:
    """Refuse a second row with the same key; ids are compared without regard to case."""
    first: dict[tuple[str, ...], int] = {}
    for numbered in table.rows:
        row = numbered.row
        key = tuple(str(getattr(row, column)).casefold() for column in row.key)
        seen = first.setdefault(key, numbered.line)
        if seen == numbered.line:
            continue
        here = at.on(numbered.line)
        if len(row.key) == 1:
            here.error(
                row.key[0],
                f"'{getattr(row, row.key[0])}' has a row already, on line {seen}.",
                "Give it another id (capitals do not count), or remove one of the two rows.",
            )
        else:
            here.error(
                row.key[0],
                f"the row has the same {', '.join(row.key)} as line {seen}.",
                "Remove one of the two, or correct what tells them apart.",
            )


def check_evidence(
    rows: Sequence[Numbered[Row]], allowed: Iterable[Evidence], sources: Known[Source], at: Place
) -> None:
    """Check that evidence is of a sort that this side may use, and that its source exists."""
    words = tuple(allowed)
    for numbered in rows:
        row = numbered.row
        if not isinstance(row, Evidenced):
            continue
        here = at.on(numbered.line)
        if row.evidence not in words:
            here.error(
                "evidence",
                f"evidence cannot be '{row.evidence}' here.",
                f"Write one of: {', '.join(words)}.",
            )
        if row.source_id is not None:
            sources.find(row.source_id, here, "source_id")


# --- values --------------------------------------------------------------------------------------


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
    stated = None
    if unit_cell is not None:
        try:
            stated = read_unit_alone(unit_cell, kind)
        except ValueUnreadable as error:
            at.error("unit", error.what, error.todo)
            return None
    try:
        parts = _parts(text, kind.name, decimal_comma)
        if parts.qualifier == "open" or parts.unit is not None:
            # 7.82k beside a unit of Ω says the same thing in two cells.
            agrees = parts.unit == stated or (parts.prefixed and stated == kind.si)
            if stated is not None and parts.unit is not None and not agrees:
                at.error(
                    "unit",
                    f"'{text}' has a unit of its own, and the unit column says '{unit_cell}'.",
                    "Correct one of the two, or empty the unit column.",
                )
                return None
            return parts
        unit = stated or default_unit
        if unit is None:
            raise ValueUnreadable(f"'{text}' has no unit.", "Write the unit behind the number.")
        return Parts(parts.qualifier, parts.magnitude, parts.step, read_unit_alone(unit, kind))
    except ValueUnreadable as error:
        at.error(column, error.what, error.todo)
        return None


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
            column, f"'{text}' is not a plain number.", f"Write it as in {EXAMPLES[kind.name]}."
        )
        return None
    return round(units.convert(parts.magnitude, parts.unit, target), DIGITS)


def check_bounds(value: float, column: str, prop: Property, at: Place, *, above: str = "") -> None:
    """Refuse a value beyond a hard bound; doubt one beyond a plausible bound.

    ``above`` is one more next step for a value that is too high.
    """
    value = round(value, DIGITS)
    unit = "" if prop.unit == "1" else f" {prop.unit}"  # nobody says "0.3 1"
    shown = f"{value:.6g}{unit}"
    if prop.hard_low is not None and value < prop.hard_low:
        at.error(
            column,
            f"{shown} is below {prop.hard_low:g}{unit}, which {prop.property_id} never is.",
            "Correct the value or its unit.",
        )
    elif prop.hard_high is not None and value > prop.hard_high:
        at.error(
            column,
            f"{shown} is above {prop.hard_high:g}{unit}, which {prop.property_id} never is.",
            f"Correct the value or its unit.{above}",
        )
    elif prop.plausible_low is not None and value < prop.plausible_low:
        at.doubt(
            column,
            f"{shown} is unusually low for {prop.property_id}.",
            "Check the value and its unit; leave it if that is what was read.",
        )
    elif prop.plausible_high is not None and value > prop.plausible_high:
        at.doubt(
            column,
            f"{shown} is unusually high for {prop.property_id}.",
            "Check the value and its unit; leave it if that is what was read.",
        )


def check_word(word: str, column: str, prop: Property, at: Place) -> bool:
    """Whether a category's word is one of the property's; note an error where it is not."""
    if word in prop.categories:
        return True
    at.error(
        column,
        f"'{word}' is not a word for {prop.property_id}.",
        f"{did_you_mean(word, prop.categories)}Write one of: {', '.join(prop.categories)}.",
    )
    return False


def check_position(position: str | None, family: Family, at: Place) -> None:
    """Refuse a position that the family was not made for."""
    if position is None or position in family.positions:
        return
    at.error(
        "position",
        f"'{position}' is not a position of {family.family_id}.",
        did_you_mean(position, family.positions)
        + f"Write one of: {', '.join(family.positions) or '(none)'}; or leave it empty.",
    )


# --- claims --------------------------------------------------------------------------------------


def read_claim(
    numbered: Numbered[ClaimRow],
    known: Documented,
    origin: Literal["reference", "archive"],
    at: Place,
    *,
    decimal_comma: bool,
) -> Claim | None:
    """Check a claim against the other tables and read its numbers; None where it has an error."""
    row = numbered.row
    here = at.on(numbered.line)
    before = len(at.problems)
    family = known.families.find(row.family_id, here, "family_id")
    prop = known.properties.find(row.property_id, here, "property_id")
    if row.period_id is not None:
        period = known.periods.find(row.period_id, here, "period_id")
        if period is not None and period.family_id != row.family_id:
            here.error(
                "period_id",
                f"the period '{row.period_id}' belongs to {period.family_id}.",
                f"Name a period of {row.family_id}, or leave it empty.",
            )
    if family is not None:
        check_position(row.position, family, here)
    if prop is None:
        return None
    if family is not None and family.coils == 1 and prop.component == "pair":
        here.error(
            "property_id",
            f"{family.family_id} has one coil, and {prop.property_id} is said of a pair.",
            "Name a property of one coil.",
        )
    numbers: dict[str, float | None] = {"low": None, "typical": None, "high": None}
    if prop.kind == "category":
        _check_category_claim(row, prop, here)
    elif row.category is not None:
        here.error(
            "category",
            f"{prop.property_id} is a number, and the claim gives a word.",
            "Fill in low, typical or high instead.",
        )
    else:
        numbers = _claim_numbers(row, prop, here, decimal_comma=decimal_comma)
    if any(problem.severity == "error" for problem in at.problems[before:]):
        return None
    return Claim(row, numbered.line, prop, origin, **numbers)


def _check_category_claim(row: ClaimRow, prop: Property, here: Place) -> None:
    if row.category is None:
        here.error(
            "category",
            f"{prop.property_id} takes a word, and the claim gives a number.",
            f"Fill in category, with one of: {', '.join(prop.categories)}.",
        )
    else:
        check_word(row.category, "category", prop, here)
    if row.unit is not None:
        here.error("unit", f"{prop.property_id} is a word and has no unit.", "Empty the cell.")


def _claim_numbers(
    row: ClaimRow, prop: Property, here: Place, *, decimal_comma: bool
) -> dict[str, float | None]:
    numbers: dict[str, float | None] = {"low": None, "typical": None, "high": None}
    if prop.unit is None or prop.unit not in units.PROPERTY_UNITS:
        return numbers  # the property has its own error already
    for column in numbers:
        text = getattr(row, column)
        if text is None:
            continue
        value = read_plain(
            text, column, units.kind_of(prop.unit), here, target=prop.unit,
            unit_cell=row.unit, default_unit=prop.unit, decimal_comma=decimal_comma,
        )  # fmt: skip
        if value is None:
            break  # a faulty unit would only be told again
        numbers[column] = value
        check_bounds(value, column, prop, here)
    stated = [(column, value) for column, value in numbers.items() if value is not None]
    for (low, below), (high, above) in itertools.pairwise(stated):
        if below > above:
            here.error(
                low,
                f"{low} {getattr(row, low)} is above {high} {getattr(row, high)}.",
                "Swap them or correct the one that is wrong.",
            )
    return numbers


# --- the reference's own tables ------------------------------------------------------------------


def check_properties(table: Table[Property], at: Place) -> None:
    """Refuse an unknown unit, and a reduction that is meant for another kind of quantity."""
    for numbered in table.rows:
        prop, here = numbered.row, at.on(numbered.line)
        if prop.unit is not None and prop.unit not in units.PROPERTY_UNITS:
            here.error(
                "unit",
                f"'{prop.unit}' is not a unit that a property may have.",
                did_you_mean(prop.unit, units.PROPERTY_UNITS)
                + f"Write one of: {', '.join(units.PROPERTY_UNITS)}.",
            )
        elif prop.kind == "category" and prop.unit is not None:
            here.error("unit", f"{prop.property_id} is a word and has no unit.", "Empty the cell.")
        elif prop.reduction in REDUCTIONS:
            kind = None if prop.unit is None else units.PROPERTY_UNITS[prop.unit][0]
            if kind != REDUCTIONS[prop.reduction]:
                here.error(
                    "reduction",
                    f"{prop.property_id} is {plain(kind)}, and the reduction {prop.reduction} is "
                    f"meant for {plain(REDUCTIONS[prop.reduction])}.",
                    "Write none under reduction, or correct the unit.",
                )


def check_families(
    table: Table[Family],
    known: Known[Family],
    bobbins: Known[Bobbin],
    wires: Known[Wire],
    at: Place,
) -> None:
    """Check that a family's bobbin, wire and look-alikes exist."""
    for numbered in table.rows:
        family, here = numbered.row, at.on(numbered.line)
        if family.bobbin_id is not None:
            bobbins.find(family.bobbin_id, here, "bobbin_id")
        if family.wire_id is not None:
            wires.find(family.wire_id, here, "wire_id")
        known.find_all(family.near, here, "near")
        known.find_all(family.told_apart, here, "tell_apart")


def check_periods(table: Table[Period], families: Known[Family], at: Place) -> None:
    """Check that a period's family exists and covers the period's years."""
    for numbered in table.rows:
        period, here = numbered.row, at.on(numbered.line)
        family = families.find(period.family_id, here, "family_id")
        if family is None:
            continue
        if period.first_year < family.first_year or period.last_year > family.last_year:
            here.doubt(
                "first_year" if period.first_year < family.first_year else "last_year",
                f"the period runs {period.first_year}–{period.last_year}, and {family.family_id} "
                f"{family.first_year}–{family.last_year}.",
                "Correct the period's years or the family's.",
            )


def check_features(table: Table[Feature], families: Known[Family], at: Place) -> None:
    """Check that the families that a feature is met on exist."""
    for numbered in table.rows:
        families.find_all(numbered.row.families, at.on(numbered.line), "families")


def check_alloys(table: Table[Alloy], permeabilities: Known[Permeability], at: Place) -> None:
    """Check that the permeability that a metal names exists."""
    for numbered in table.rows:
        row = numbered.row
        if row.permeability_id is not None:
            permeabilities.find(row.permeability_id, at.on(numbered.line), "permeability_id")


def check_insulations(table: Table[Insulation], properties: Known[Property], at: Place) -> None:
    """Check that an insulation is one of those that a reading or a claim can name."""
    prop = properties.rows.get("wire-insulation")
    if prop is None:
        return
    for numbered in table.rows:
        check_word(numbered.row.wire_word, "wire_word", prop, at.on(numbered.line))


def known_rows(table: Table[R]) -> Known[R]:
    """Return a table ready for looking up."""
    todo = f"Correct it, or add it to {table.file}."
    return Known(table.file, table.by_id(), table.ids, todo)

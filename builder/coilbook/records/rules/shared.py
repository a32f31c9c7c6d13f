"""Rules that need more than one row: those that both sides share, and those of the reference.

The rules of an archive's own tables are in :mod:`coilbook.records.rules.bench`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from coilbook.core import units
from coilbook.core.written.spelling import did_you_mean
from coilbook.records.contents import Claim
from coilbook.records.reading.rows import Numbered, R, Table
from coilbook.records.rules.place import Known, Place
from coilbook.records.rules.values import check_bounds, read_plain
from coilbook.records.tables.cells import Evidence, Evidenced, Row, folded_word
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
                "id-twice",
                row.key[0],
                f"'{getattr(row, row.key[0])}' has a row already, on line {seen}.",
                "Give it another id (capitals do not count), or remove one of the two rows.",
            )
        else:
            here.error(
                "row-twice",
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
                "evidence-wrong",
                "evidence",
                f"evidence cannot be '{row.evidence}' here.",
                f"Write one of: {', '.join(words)}.",
            )
        if row.source_id is not None:
            sources.find(row.source_id, here, "source_id")


# --- words -------------------------------------------------------------------------------------


def check_word(word: str, column: str, prop: Property, at: Place) -> str | None:
    """Return a category's word as the property has it; note an error where it is none of them."""
    if word in prop.categories:
        return word
    same = [known for known in prop.categories if folded_word(known) == folded_word(word)]
    if same:
        return same[0]
    at.error(
        "word-unknown",
        column,
        f"'{word}' is not a word for {prop.property_id}.",
        f"{did_you_mean(word, prop.categories)}Write one of: {', '.join(prop.categories)}.",
    )
    return None


def check_position(position: str | None, family: Family, at: Place) -> None:
    """Refuse a position that the family was not made for."""
    if position is None or position in family.positions:
        return
    at.error(
        "position-unknown",
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
                "period-of-another-family",
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
            "pair-of-one-coil",
            "property_id",
            f"{family.family_id} has one coil, and {prop.property_id} is said of a pair.",
            "Name a property of one coil.",
        )
    numbers: dict[str, float | None] = {"low": None, "typical": None, "high": None}
    if prop.kind == "category":
        _check_category_claim(row, prop, here)
    elif row.category is not None:
        here.error(
            "claim-needs-a-number",
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
            "claim-needs-a-word",
            "category",
            f"{prop.property_id} takes a word, and the claim gives a number.",
            f"Fill in category, with one of: {', '.join(prop.categories)}.",
        )
    else:
        check_word(row.category, "category", prop, here)
    if row.unit is not None:
        here.error(
            "word-with-a-unit",
            "unit",
            f"{prop.property_id} is a word and has no unit.",
            "Empty the cell.",
        )


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
            continue
        numbers[column] = value
        check_bounds(value, column, prop, here)
    stated = [(column, value) for column, value in numbers.items() if value is not None]
    for (low, below), (high, above) in itertools.pairwise(stated):
        if below > above:
            here.error(
                "ends-swapped",
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
                "property-unit-unknown",
                "unit",
                f"'{prop.unit}' is not a unit that a property may have.",
                did_you_mean(prop.unit, units.PROPERTY_UNITS)
                + f"Write one of: {', '.join(units.PROPERTY_UNITS)}.",
            )
        elif prop.kind == "category" and prop.unit is not None:
            here.error(
                "word-with-a-unit",
                "unit",
                f"{prop.property_id} is a word and has no unit.",
                "Empty the cell.",
            )
        elif prop.reduction in REDUCTIONS:
            kind = None if prop.unit is None else units.PROPERTY_UNITS[prop.unit][0]
            if kind != REDUCTIONS[prop.reduction]:
                here.error(
                    "reduction-of-another-kind",
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
                "period-outside-the-family",
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

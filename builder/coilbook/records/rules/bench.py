"""Rules of an archive's pieces, and the reading of its readings.

A reading is checked against its piece, family, property and instrument in one pass, and what is
read on the way becomes the :class:`~coilbook.records.contents.Reading`. Its conditions are read in
:mod:`coilbook.records.rules.conditions`, its instrument in
:mod:`coilbook.records.rules.instruments`.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from coilbook.core import units
from coilbook.core.seen import Qualifier
from coilbook.records.contents import Reading
from coilbook.records.reading.rows import Numbered
from coilbook.records.rules.conditions import (
    check_copper,
    check_kind,
    read_equivalent,
    read_positive,
    read_standoff,
    read_temperature,
    read_zero,
)
from coilbook.records.rules.instruments import (
    Traits,
    calibration_of,
    check_past,
    instrument_of,
)
from coilbook.records.rules.place import Known, Place
from coilbook.records.rules.shared import Documented, check_position, check_word
from coilbook.records.rules.values import Bare, bare_unit, check_bounds, note_unit, read_cell
from coilbook.records.tables.cells import COMPONENT_PARTS
from coilbook.records.tables.models import (
    Family,
    Feature,
    InstrumentRow,
    PieceRow,
    Property,
    ReadingRow,
)

PARALLEL_TOLERANCE_PERCENT = 10.0

_ONE_COIL_PARTS = frozenset({"coil_a", "coil_b", "pair"})
_TWO_COIL_PARTS = frozenset({"coil"})


@dataclass(frozen=True, slots=True)
class Shop:
    """What readings refer to: the reference's tables and the archive's own."""

    known: Documented
    pieces: Known[PieceRow]
    instruments: Known[Mapping[str, Numbered[InstrumentRow]]]
    traits: Mapping[tuple[str, str], Traits]
    decimal_comma: bool
    #: The day on which the records are checked, if somebody checks them just now.
    today: dt.date | None = None


@dataclass(frozen=True, slots=True)
class _Value:
    """A value read: a number in the property's unit with one count of it, or a category's word.

    ``written_unit`` is our name of the unit that the number was written in.
    """

    number: float | None = None
    step: float | None = None
    qualifier: Qualifier = ""
    category: str | None = None
    written_unit: str | None = None


# --- pieces --------------------------------------------------------------------------------------


def check_piece(
    numbered: Numbered[PieceRow],
    known: Documented,
    at: Place,
    guessed: frozenset[str] = frozenset(),
) -> None:
    """Check that a piece's family, position and features exist, and that years and features fit.

    ``guessed`` are the columns for which something was put in the place of a faulty cell.
    """
    piece, here = numbered.row, at.on(numbered.line)
    family = known.families.find(piece.family_id, here, "family_id")
    features = known.features.find_all(piece.features, here, "features")
    family = family or known.families.meant(piece.family_id)
    if family is None:
        return
    check_position(piece.position, family, here)
    if piece.year_first and piece.year_last and not guessed & {"year_first", "year_last"}:
        _check_years(piece.year_first, piece.year_last, family, features, here)
    for feature in features:
        if feature.families and family.family_id not in feature.families:
            here.doubt(
                "feature-of-another-family",
                "features",
                f"'{feature.feature_id}' is not known on {family.family_id}.",
                "Look again, or correct the family; leave it if that is what is seen.",
            )


def _check_years(
    first: int, last: int, family: Family, features: Iterable[Feature], here: Place
) -> None:
    if first < family.first_year or last > family.last_year:
        here.doubt(
            "years-outside-the-family",
            "year_first" if first < family.first_year else "year_last",
            f"the piece's years are {first}–{last}, and {family.family_id} runs "
            f"{family.first_year}–{family.last_year}.",
            "Correct the years or the family; leave it if you are sure.",
        )
    for feature in features:
        if feature.first_year is not None and feature.first_year > last:
            limit = f"not met before {feature.first_year}"
        elif feature.last_year is not None and feature.last_year < first:
            limit = f"not met after {feature.last_year}"
        else:
            continue
        here.doubt(
            "feature-years",
            "features",
            f"'{feature.feature_id}' is {limit}, and the piece's years are {first}–{last}.",
            "Correct the years, or say in remark that the part was changed.",
        )


# --- readings ------------------------------------------------------------------------------------


def read_reading(numbered: Numbered[ReadingRow], shop: Shop, at: Place) -> Reading | None:
    """Check one reading against the other tables and read it; None where it has an error."""
    row, here = numbered.row, at.on(numbered.line)
    before = len(at.problems)
    piece = shop.pieces.find(row.piece_id, here, "piece_id") or shop.pieces.meant(row.piece_id)
    prop = _property(row, shop, here)
    comma = shop.decimal_comma
    temperature, half_width = read_temperature(row, here, comma)
    parallel = read_positive(row, "parallel", "resistance", "ohm", here, comma)
    frequency = read_positive(row, "test_frequency", "frequency", "hertz", here, comma)
    standoff, standoff_step = read_standoff(row, here, comma)
    has_come = check_past(row.date, "date", shop.today, here)
    if prop is None:
        if row.instrument_id is not None:
            shop.instruments.find(row.instrument_id, here, "instrument_id")
        return None
    family = shop.known.families.meant(piece.family_id) if piece is not None else None
    _check_component(row, prop, family, shop.known.properties, here)
    value = _value(row, prop, shop, here)
    instrument = instrument_of(row, prop, shop.instruments, here)
    traits = Traits()
    if instrument is not None:
        traits = shop.traits[instrument.instrument_id, instrument.measures]
    check_kind(row, prop, here)
    zero, zero_step = read_zero(row, prop, value.written_unit, here, comma)
    equivalent = read_equivalent(row, here)
    if prop.reduction == "copper":
        check_copper(row, prop, value.number, value.qualifier, parallel, traits, here)
    if any(problem.severity == "error" for problem in at.problems[before:]):
        return None
    return Reading(
        row=row,
        line=numbered.line,
        property=prop,
        value=value.number,
        qualifier=value.qualifier,
        category=value.category,
        step=_step(value, prop, traits),
        temperature_c=temperature,
        temperature_half_width_k=half_width,
        parallel_ohm=parallel,
        parallel_tolerance=_tolerance(row),
        test_frequency_hz=frequency,
        instrument=instrument,
        calibration=calibration_of(row, instrument, here) if has_come else "unknown",
        equivalent=equivalent,
        standoff_m=standoff,
        standoff_step_m=standoff_step,
        zero=zero,
        zero_step=zero_step,
        lead_resistance_ohm=traits.lead_resistance_ohm,
        input_resistance_ohm=traits.input_resistance_ohm,
        input_capacitance_f=traits.input_capacitance_f,
        sensor_depth_m=traits.sensor_depth_m,
    )


def _tolerance(row: ReadingRow) -> float:
    tolerance = row.parallel_tolerance
    return PARALLEL_TOLERANCE_PERCENT if tolerance is None else tolerance


def _step(value: _Value, prop: Property, traits: Traits) -> float | None:
    """Return one count of a reading: the instrument's, or else the last digit written."""
    if traits.count is not None and prop.unit is not None:
        return traits.count * units.scale(traits.count_unit, prop.unit)
    return value.step


def _property(row: ReadingRow, shop: Shop, here: Place) -> Property | None:
    """Return the property that was read, or the one that was meant; note what is wrong with it."""
    known = shop.known.properties
    found = known.rows.get(row.property_id)
    if found is None:
        # 'resistance' of a coil and of a pair are two properties.
        part = row.component.split("_")[0]
        ours = known.rows.get(f"{part}-{row.property_id}")
        if ours is None:
            return known.find(row.property_id, here, "property_id") or known.meant(row.property_id)
        here.error(
            "id-unknown",
            "property_id",
            f"'{row.property_id}' is not in {known.where}.",
            f"At {row.component} it is {ours.property_id}.",
        )
        found = ours
    if found.origin == "derived":
        here.error(
            "property-derived",
            "property_id",
            f"{found.property_id} is worked out from other readings and never read.",
            "Record the readings that it comes from instead.",
        )
    return found


def parts_of(said_of: str, coils: int) -> tuple[str, ...]:
    """Return the parts at which a property is read on a piece of one or two coils."""
    wrong = _ONE_COIL_PARTS if coils == 1 else _TWO_COIL_PARTS
    return tuple(part for part in COMPONENT_PARTS[said_of] if part not in wrong)


def _check_component(
    row: ReadingRow, prop: Property, family: Family | None, known: Known[Property], here: Place
) -> None:
    parts = COMPONENT_PARTS[prop.component]
    if family is not None:
        parts = parts_of(prop.component, family.coils)
    if row.component in parts:
        return
    if not parts and family is not None:
        here.error(
            "pair-of-one-coil",
            "component",
            f"{family.family_id} has one coil, and {prop.property_id} is read on a pair.",
            "Name a property of one coil, and coil as its component.",
        )
        return
    where = f" of {family.family_id}" if family is not None else ""
    # The same quantity, as a property of the part that is named.
    part, quantity = row.component.split("_")[0], prop.property_id.removeprefix(prop.component)
    other = known.rows.get(f"{part}{quantity}") if quantity.startswith("-") else None
    meant = ""
    if other is not None and other is not prop:
        meant = f": at {row.component} it is {other.property_id}"
    here.error(
        "component-wrong",
        "component",
        f"{prop.property_id}{where} is not read at {row.component}.",
        f"Write {' or '.join(parts)}, or correct the property{meant}.",
    )


def _value(row: ReadingRow, prop: Property, shop: Shop, here: Place) -> _Value:
    """Read a reading's value; what cannot be read is noted, and stays empty."""
    if prop.kind == "category":
        for column in ("unit", "qualifier"):
            if getattr(row, column) is not None:
                here.error(
                    "word-with-a-unit",
                    column,
                    f"{prop.property_id} is a word and takes no {column}.",
                    "Empty the cell.",
                )
        return _Value(category=check_word(row.value, "value", prop, here))
    unit = prop.unit or ""
    kind = units.kind_of(unit)
    parts = read_cell(
        row.value, "value", kind, here,
        unit_cell=row.unit, default_unit=unit, decimal_comma=shop.decimal_comma,
    )  # fmt: skip
    if parts is None:
        return _Value()
    qualifier = parts.qualifier
    if row.qualifier is not None:
        if qualifier not in ("", row.qualifier) or (row.qualifier == "open" and qualifier == ""):
            here.error(
                "qualifier-disagrees",
                "qualifier",
                f"the qualifier says '{row.qualifier}', and the value '{row.value}'.",
                "Correct one of the two, or empty the qualifier.",
            )
        qualifier = row.qualifier
    if parts.magnitude is None or parts.unit is None:
        return _Value(qualifier=qualifier)
    value = units.convert(parts.magnitude, parts.unit, unit)
    above = " Write open if the circuit is open." if kind.name == "resistance" else ""
    bare = None
    if row.unit is None and bare_unit(row.value, kind, shop.decimal_comma):
        bare = Bare(row.value, parts.magnitude)
    inside = check_bounds(value, "value", prop, here, above=above, bare=bare)
    if bare and inside:
        note_unit(row.value, "value", unit, here)
    step = None if parts.step is None else parts.step * units.scale(parts.unit, unit)
    return _Value(value, step, qualifier, written_unit=parts.unit)


def check_read(
    pieces: Iterable[Numbered[PieceRow]], read: frozenset[str] | None, at: Place
) -> None:
    """Doubt a piece that no row of readings.csv is about."""
    for numbered in pieces:
        if read is not None and numbered.row.piece_id not in read:
            at.on(numbered.line).doubt(
                "piece-without-readings",
                "piece_id",
                "readings.csv has no reading of this piece.",
                "Add its readings, or leave it: its page then shows what is seen of it.",
            )


def check_pairs(readings: Mapping[str, Iterable[Reading]], at: Place) -> None:
    """Doubt an open coil whose pair has a reading: there is no way through."""
    for of_piece in readings.values():
        # In circuit, the way round the coil is read; an open insulation is as it should be.
        copper = [
            reading
            for reading in of_piece
            if reading.property.reduction == "copper" and reading.row.circuit != "in_circuit"
        ]
        through = [
            reading
            for reading in copper
            if reading.row.component == "pair" and reading.qualifier == ""
        ]
        for reading in copper:
            if through and reading.qualifier == "open" and reading.row.component != "pair":
                at.on(reading.line).doubt(
                    "coil-open-pair-not",
                    "value",
                    f"{reading.row.component} is open, and the pair has a reading on line "
                    f"{through[0].line}.",
                    "Measure both again, or say in remark what happened between them.",
                )


#: How far a pair may read from the sum of its coils before somebody is asked to look. Copper
#: changes 4 % from 15 to 25 °C, and two readings of a hand-held meter are 1 % apart at the most.
SUM_APART = 0.05


def check_sums(readings: Mapping[str, Iterable[Reading]], at: Place) -> None:
    """Doubt a pair that reads something else than its two coils together, all with free leads."""
    for of_piece in readings.values():
        by_part: dict[tuple[str, dt.date | None], list[Reading]] = {}
        for reading in of_piece:
            resistance = reading.property.property_id in ("coil-resistance", "pair-resistance")
            if resistance and reading.row.circuit != "in_circuit" and reading.qualifier == "":
                by_part.setdefault((reading.row.component, reading.row.date), []).append(reading)
        for (part, day), pairs in by_part.items():
            coils = [by_part.get((coil, day), ()) for coil in ("coil_a", "coil_b")]
            if part != "pair" or not all(coils):
                continue
            # Of several readings on one day, the nearest to each other count.
            sums = [(a.value or 0.0) + (b.value or 0.0) for a, b in itertools.product(*coils)]
            for pair in pairs:
                value = pair.value or 0.0
                total = min(sums, key=lambda one: abs(one - value))
                if abs(total - value) > SUM_APART * max(total, value):
                    at.on(pair.line).doubt(
                        "coils-do-not-add-up",
                        "value",
                        f"the pair reads {value:.4g} kΩ, and its coils read {total:.4g} kΩ "
                        "together.",
                        "Read all three again with the leads free; look for a coil that was "
                        "taken for another.",
                    )

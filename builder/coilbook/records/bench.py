"""Rules of an archive's own tables, and the reading of its readings.

A reading is checked against its piece, family, property and instrument in one pass, and what is
read on the way becomes the :class:`~coilbook.records.types.Reading`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from coilbook import units
from coilbook.records.cells import COMPONENT_PARTS
from coilbook.records.findings import Known, Place
from coilbook.records.models import Family, Feature, InstrumentRow, PieceRow, Property, ReadingRow
from coilbook.records.rows import Numbered, Table
from coilbook.records.rules import (
    Documented,
    check_bounds,
    check_position,
    check_word,
    read_cell,
    read_plain,
)
from coilbook.records.types import Calibration, Qualifier, Reading

COLD_C, HOT_C = -50.0, 100.0
COOL_C, WARM_C = 5.0, 40.0
TEMPERATURE_HALF_WIDTH_K = 1.0
PARALLEL_TOLERANCE_PERCENT = 10.0

_ONE_COIL_PARTS = frozenset({"coil_a", "coil_b", "pair"})
_TWO_COIL_PARTS = frozenset({"coil"})


@dataclass(frozen=True, slots=True)
class Shop:
    """What readings refer to: the reference's tables and the archive's own."""

    known: Documented
    pieces: Known[PieceRow]
    instruments: Known[Mapping[str, Numbered[InstrumentRow]]]
    resolutions: Mapping[tuple[str, str], tuple[float, str]]
    decimal_comma: bool


# --- pieces --------------------------------------------------------------------------------------


def check_piece(numbered: Numbered[PieceRow], known: Documented, at: Place) -> None:
    """Check that a piece's family, position and features exist, and that years and features fit."""
    piece, here = numbered.row, at.on(numbered.line)
    family = known.families.find(piece.family_id, here, "family_id")
    features = known.features.find_all(piece.features, here, "features")
    if family is None:
        return
    check_position(piece.position, family, here)
    if piece.year_first is not None and piece.year_last is not None:
        _check_years(piece.year_first, piece.year_last, family, features, here)
    for feature in features:
        if feature.families and family.family_id not in feature.families:
            here.doubt(
                "features",
                f"'{feature.feature_id}' is not known on {family.family_id}.",
                "Look again, or correct the family; leave it if that is what is seen.",
            )


def _check_years(
    first: int, last: int, family: Family, features: Iterable[Feature], here: Place
) -> None:
    if first < family.first_year or last > family.last_year:
        here.doubt(
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
            "features",
            f"'{feature.feature_id}' is {limit}, and the piece's years are {first}–{last}.",
            "Correct the years, or say in remark that the part was changed.",
        )


# --- instruments ---------------------------------------------------------------------------------


def read_resolutions(
    table: Table[InstrumentRow], at: Place
) -> dict[tuple[str, str], tuple[float, str]]:
    """Read one count of every instrument that states it: (instrument_id, kind) → (count, unit)."""
    counts: dict[tuple[str, str], tuple[float, str]] = {}
    for numbered in table.rows:
        row, here = numbered.row, at.on(numbered.line)
        if row.resolution is None:
            continue
        kind = units.KINDS[row.measures]
        parts = read_cell(
            row.resolution, "resolution", kind, here,
            default_unit=kind.si if kind.name == "count" else None,
            decimal_comma=table.decimal_comma,
        )  # fmt: skip
        if parts is None:
            continue
        if parts.qualifier or parts.unit is None or not parts.magnitude or parts.magnitude < 0:
            here.error(
                "resolution",
                f"'{row.resolution}' cannot be one count of an instrument.",
                "Write one number above 0 with its unit, as in 10 Ω; or leave it empty.",
            )
            continue
        counts[row.instrument_id, row.measures] = (parts.magnitude, parts.unit)
    return counts


def instruments_by_id(table: Table[InstrumentRow]) -> dict[str, dict[str, Numbered[InstrumentRow]]]:
    """Return the rows by instrument and by the kind that each measures."""
    rows: dict[str, dict[str, Numbered[InstrumentRow]]] = {}
    for numbered in table.sound:
        rows.setdefault(numbered.row.instrument_id, {})[numbered.row.measures] = numbered
    return rows


# --- readings ------------------------------------------------------------------------------------


def read_reading(numbered: Numbered[ReadingRow], shop: Shop, at: Place) -> Reading | None:
    """Check one reading against the other tables and read it; None where it has an error."""
    row, here = numbered.row, at.on(numbered.line)
    before = len(at.problems)
    piece = shop.pieces.find(row.piece_id, here, "piece_id")
    prop = shop.known.properties.find(row.property_id, here, "property_id")
    if prop is None:
        if row.instrument_id is not None:
            shop.instruments.find(row.instrument_id, here, "instrument_id")
        return None
    family = shop.known.families.rows.get(piece.family_id) if piece is not None else None
    _check_component(row, prop, family, here)
    if prop.origin == "derived":
        here.error(
            "property_id",
            f"{prop.property_id} is worked out from other readings and never read.",
            "Record the readings that it comes from instead.",
        )
    value, step, qualifier, category = _value(row, prop, shop, here)
    instrument = _instrument(row, prop, shop, here)
    if instrument is not None and prop.unit is not None:
        count = shop.resolutions.get((instrument.instrument_id, instrument.measures))
        if count is not None:
            step = count[0] * units.scale(count[1], prop.unit)
    temperature, half_width = _temperature(row, shop, here)
    parallel = _positive(row, "parallel", "resistance", "ohm", shop, here)
    frequency = _positive(row, "test_frequency", "frequency", "hertz", shop, here)
    if prop.reduction == "copper":
        _check_copper(row, prop, value, qualifier, parallel, here)
    if any(problem.severity == "error" for problem in at.problems[before:]):
        return None
    tolerance = row.parallel_tolerance
    return Reading(
        row=row,
        line=numbered.line,
        property=prop,
        value=value,
        qualifier=qualifier,
        category=category,
        step=step,
        temperature_c=temperature,
        temperature_half_width_k=half_width,
        parallel_ohm=parallel,
        parallel_tolerance=PARALLEL_TOLERANCE_PERCENT if tolerance is None else tolerance,
        test_frequency_hz=frequency,
        instrument=instrument,
        calibration=_calibration(row, instrument, here),
    )


def _check_component(row: ReadingRow, prop: Property, family: Family | None, here: Place) -> None:
    parts = COMPONENT_PARTS[prop.component]
    if family is not None:
        wrong = _ONE_COIL_PARTS if family.coils == 1 else _TWO_COIL_PARTS
        parts = tuple(part for part in parts if part not in wrong)
    if row.component in parts:
        return
    if not parts and family is not None:
        here.error(
            "component",
            f"{family.family_id} has one coil, and {prop.property_id} is read on a pair.",
            "Name a property of one coil, and coil as its component.",
        )
        return
    where = f" of {family.family_id}" if family is not None else ""
    here.error(
        "component",
        f"{prop.property_id}{where} is not read at {row.component}.",
        f"Write {' or '.join(parts)}, or correct the property.",
    )


def _value(
    row: ReadingRow, prop: Property, shop: Shop, here: Place
) -> tuple[float | None, float | None, Qualifier, str | None]:
    """Return value and step in the property's unit, qualifier, and the word of a category."""
    if prop.kind == "category":
        for column in ("unit", "qualifier"):
            if getattr(row, column) is not None:
                here.error(
                    column,
                    f"{prop.property_id} is a word and takes no {column}.",
                    "Empty the cell.",
                )
        word = row.value if check_word(row.value, "value", prop, here) else None
        return None, None, "", word
    unit = prop.unit or ""
    parts = read_cell(
        row.value, "value", units.kind_of(unit), here,
        unit_cell=row.unit, default_unit=unit, decimal_comma=shop.decimal_comma,
    )  # fmt: skip
    if parts is None:
        return None, None, "", None
    qualifier = parts.qualifier
    if row.qualifier is not None:
        if qualifier not in ("", row.qualifier) or (row.qualifier == "open" and qualifier == ""):
            here.error(
                "qualifier",
                f"the qualifier says '{row.qualifier}', and the value '{row.value}'.",
                "Correct one of the two, or empty the qualifier.",
            )
            return None, None, "", None
        qualifier = row.qualifier
    if parts.magnitude is None or parts.unit is None:
        return None, None, qualifier, None
    value = units.convert(parts.magnitude, parts.unit, unit)
    resistance = units.kind_of(unit).name == "resistance"
    above = " Write open if the circuit is open." if resistance else ""
    check_bounds(value, "value", prop, here, above=above)
    step = None if parts.step is None else parts.step * units.scale(parts.unit, unit)
    return value, step, qualifier, None


def _instrument(row: ReadingRow, prop: Property, shop: Shop, here: Place) -> InstrumentRow | None:
    """Return the instrument's row for the kind that was read."""
    if row.instrument_id is None:
        return None
    rows = shop.instruments.find(row.instrument_id, here, "instrument_id")
    if rows is None or prop.kind == "category":
        return None
    kind = units.kind_of(prop.unit or "").name
    numbered = rows.get(kind)
    if numbered is None:
        measures = " and ".join(rows).replace("_", " ")
        here.error(
            "instrument_id",
            f"'{row.instrument_id}' measures {measures}, and {prop.property_id} is "
            f"{kind.replace('_', ' ')}.",
            "Name the instrument that was used, or give it a row for this kind in instruments.csv.",
        )
        return None
    return numbered.row


def _calibration(row: ReadingRow, instrument: InstrumentRow | None, here: Place) -> Calibration:
    if instrument is None or instrument.due is None:
        return "unknown"
    if row.date is None:
        here.doubt(
            "date",
            f"without a date nobody can tell whether '{instrument.instrument_id}' was in "
            "calibration.",
            "Write the day of the reading.",
        )
        return "unknown"
    if row.date > instrument.due:
        here.doubt(
            "date",
            f"'{instrument.instrument_id}' was due for calibration on {instrument.due}, before "
            f"the reading of {row.date}.",
            "Correct the date, enter the newer calibration, or leave it: pages will say so.",
        )
        return "lapsed"
    if instrument.calibrated is not None and row.date < instrument.calibrated:
        return "unknown"
    return "valid"


def _temperature(row: ReadingRow, shop: Shop, here: Place) -> tuple[float | None, float]:
    temperature = None
    if row.temperature is not None:
        temperature = read_plain(
            row.temperature, "temperature", units.KINDS["temperature"], here,
            target="degC", default_unit="degC", decimal_comma=shop.decimal_comma,
        )  # fmt: skip
    if temperature is not None:
        if not COLD_C <= temperature <= HOT_C:
            here.error(
                "temperature",
                f"{temperature:.4g} °C is not between {COLD_C:g} and {HOT_C:g} °C.",
                "Correct the temperature or its unit.",
            )
        elif not COOL_C <= temperature <= WARM_C:
            here.doubt(
                "temperature",
                f"{temperature:.4g} °C is unusual for a bench.",
                "Check the temperature and its unit; leave it if that is what it was.",
            )
    if row.temperature_uncertainty is None:
        return temperature, TEMPERATURE_HALF_WIDTH_K
    if row.temperature is None:
        here.error(
            "temperature_uncertainty",
            "an uncertainty is given for a temperature that is not.",
            "Fill in temperature, or empty temperature_uncertainty.",
        )
    half_width = read_plain(
        row.temperature_uncertainty, "temperature_uncertainty",
        units.KINDS["temperature_difference"], here,
        target="difference_K", default_unit="difference_K", decimal_comma=shop.decimal_comma,
    )  # fmt: skip
    if half_width is not None and half_width < 0:
        here.error(
            "temperature_uncertainty",
            f"'{row.temperature_uncertainty}' is below zero.",
            "Write how far off the temperature may be to either side, as in 1 K.",
        )
    return temperature, half_width if half_width is not None else TEMPERATURE_HALF_WIDTH_K


def _positive(
    row: ReadingRow, column: str, kind: str, target: str, shop: Shop, here: Place
) -> float | None:
    """Read a column that holds one number above zero, or nothing."""
    text = getattr(row, column)
    if text is None:
        return None
    value = read_plain(
        text, column, units.KINDS[kind], here,
        target=target, default_unit=target, decimal_comma=shop.decimal_comma,
    )  # fmt: skip
    if value is not None and value <= 0:
        here.error(column, f"'{text}' is not above zero.", "Correct it, or empty the cell.")
        return None
    return value


def _check_copper(
    row: ReadingRow,
    prop: Property,
    value: float | None,
    qualifier: Qualifier,
    parallel_ohm: float | None,
    here: Place,
) -> None:
    """Ask how a resistance of copper was read, and doubt what cannot be."""
    if row.circuit is None:
        here.doubt(
            "circuit",
            "nothing says whether the leads were free; they are taken to be.",
            "Write free or in_circuit.",
        )
    elif row.circuit == "in_circuit" and row.parallel is None:
        here.doubt(
            "parallel",
            "the reading was taken in circuit, and what lies in parallel is not given; it counts "
            "as a lower bound.",
            "Write the resistance in parallel, or read it again with the leads free.",
        )
    if row.temperature is None and qualifier != "open":
        here.doubt(
            "temperature",
            "copper changes 0.4 % with every kelvin, and no temperature is given.",
            "Write the temperature of the room.",
        )
    if value is None or parallel_ohm is None or qualifier:
        return
    read_ohm = units.convert(value, prop.unit or "", "ohm")
    if read_ohm >= parallel_ohm:
        here.doubt(
            "parallel",
            f"the reading '{row.value}' is not below the {row.parallel} said to lie in parallel, "
            "which cannot be.",
            "Correct the one that is wrong, or write free if the leads were.",
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
                    "value",
                    f"{reading.row.component} is open, and the pair has a reading on line "
                    f"{through[0].line}.",
                    "Measure both again, or say in remark what happened between them.",
                )

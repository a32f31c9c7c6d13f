"""Rules of an archive's instruments: what each does to a reading, and whether it was calibrated."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.core import units
from coilbook.core.seen import Calibration
from coilbook.records.reading.rows import Numbered, Table
from coilbook.records.rules.place import Known, Place
from coilbook.records.rules.values import read_cell, read_plain
from coilbook.records.tables.documented import Property
from coilbook.records.tables.shop import InstrumentRow, ReadingRow


@dataclass(frozen=True, slots=True)
class Traits:
    """What an instrument's own columns say of it, read.

    ``count`` is one count of its display in our unit ``count_unit``. None and 0 stand
    where nothing is said.
    """

    count: float | None = None
    count_unit: str = ""
    lead_resistance_ohm: float = 0.0
    input_resistance_ohm: float | None = None
    input_capacitance_f: float = 0.0
    sensor_depth_m: float = 0.0


#: Columns that hold one number above zero with its unit: the kind, and the unit that it is read in.
_COLUMNS = {
    "lead_resistance": ("resistance", "ohm"),
    "input_resistance": ("resistance", "ohm"),
    "input_capacitance": ("capacitance", "picofarad"),
    "sensor_depth": ("length", "millimeter"),
}


def read_traits(table: Table[InstrumentRow], at: Place) -> dict[tuple[str, str], Traits]:
    """Read what every instrument's columns say: (instrument_id, kind) → traits."""
    traits: dict[tuple[str, str], Traits] = {}
    for numbered in table.rows:
        row, here = numbered.row, at.on(numbered.line)
        count, count_unit = _count(row, here, table.decimal_comma)
        found = {column: _above_zero(row, column, here, table.decimal_comma) for column in _COLUMNS}
        traits[row.instrument_id, row.measures] = Traits(
            count,
            count_unit,
            found["lead_resistance"] or 0.0,
            found["input_resistance"],
            (found["input_capacitance"] or 0.0) * 1e-12,
            (found["sensor_depth"] or 0.0) / 1000.0,
        )
    return traits


def _count(row: InstrumentRow, here: Place, decimal_comma: bool) -> tuple[float | None, str]:
    """Return one count of the display and its unit, where the row states it."""
    if row.resolution is None:
        return None, ""
    kind = units.KINDS[row.measures]
    parts = read_cell(
        row.resolution, "resolution", kind, here,
        default_unit=kind.si if kind.name in ("count", "ratio") else None,
        decimal_comma=decimal_comma,
    )  # fmt: skip
    if parts is None:
        return None, ""
    if parts.qualifier or parts.unit is None or not parts.magnitude or parts.magnitude < 0:
        here.error(
            "resolution-wrong",
            "resolution",
            f"'{row.resolution}' cannot be one count of an instrument.",
            "Write one number above 0 with its unit, as in 10 Ω; or leave it empty.",
        )
        return None, ""
    return parts.magnitude, parts.unit


def _above_zero(row: InstrumentRow, column: str, here: Place, decimal_comma: bool) -> float | None:
    """Read a column of one number above zero; without a unit nobody knows what it means."""
    text = getattr(row, column)
    if text is None:
        return None
    kind, target = _COLUMNS[column]
    value = read_plain(
        text, column, units.KINDS[kind], here, target=target, decimal_comma=decimal_comma
    )
    if value is not None and value <= 0:
        here.error(
            "not-above-zero",
            column,
            f"'{text}' is not above zero.",
            "Correct it, or leave the cell empty.",
        )
        return None
    return value


def instruments_by_id(table: Table[InstrumentRow]) -> dict[str, dict[str, Numbered[InstrumentRow]]]:
    """Return the rows by instrument and by the kind that each measures."""
    rows: dict[str, dict[str, Numbered[InstrumentRow]]] = {}
    for numbered in table.sound:
        rows.setdefault(numbered.row.instrument_id, {})[numbered.row.measures] = numbered
    return rows


def instrument_of(
    row: ReadingRow,
    prop: Property,
    instruments: Known[Mapping[str, Numbered[InstrumentRow]]],
    here: Place,
) -> InstrumentRow | None:
    """Return the instrument's row for the kind that was read."""
    if row.instrument_id is None:
        return None
    rows = instruments.find(row.instrument_id, here, "instrument_id")
    if rows is None or prop.kind == "category":
        return None
    kind = units.kind_of(prop.unit or "").name
    numbered = rows.get(kind)
    if numbered is None:
        measures = " and ".join(rows).replace("_", " ")
        here.error(
            "instrument-of-another-kind",
            "instrument_id",
            f"'{row.instrument_id}' measures {measures}, and {prop.property_id} is "
            f"{kind.replace('_', ' ')}.",
            "Name the instrument that was used, or give it a row for this kind in instruments.csv.",
        )
        return None
    return numbered.row


def check_dates(table: Table[InstrumentRow], today: dt.date | None, at: Place) -> None:
    """Doubt a calibration that has not come yet."""
    for numbered in table.rows:
        check_past(numbered.row.calibrated, "calibrated", today, at.on(numbered.line))


def check_past(day: dt.date | None, column: str, today: dt.date | None, here: Place) -> bool:
    """Whether a day has come, as far as it is known; doubt one that has not."""
    if day is None or today is None or day <= today:
        return True
    here.doubt(
        "date-in-the-future",
        column,
        f"{day} has not come yet.",
        "Correct the date; if it is right, set this computer's clock.",
    )
    return False


def calibration_of(row: ReadingRow, instrument: InstrumentRow | None, here: Place) -> Calibration:
    """Return whether the instrument was in calibration on the day of the reading."""
    if instrument is None or instrument.due is None:
        return "unknown"
    if row.date is None:
        here.doubt(
            "calibration-without-a-date",
            "date",
            f"without a date nobody can tell whether '{instrument.instrument_id}' was in "
            "calibration.",
            "Write the day of the reading.",
        )
        return "unknown"
    if row.date > instrument.due:
        here.doubt(
            "calibration-lapsed",
            "date",
            f"'{instrument.instrument_id}' was due for calibration on {instrument.due}, before "
            f"the reading of {row.date}.",
            "Correct the date, enter the newer calibration, or leave it: pages will say so.",
        )
        return "lapsed"
    if instrument.calibrated is not None and row.date < instrument.calibrated:
        return "unknown"
    return "valid"

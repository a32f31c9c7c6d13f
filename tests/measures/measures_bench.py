"""Small hand-made readings and pieces for the tests of measures, on the real reference's tables."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path
from typing import Any

from coilbook.records.contents import Piece, Reading, Reference
from coilbook.records.tables.models import (
    Bobbin,
    Family,
    InstrumentRow,
    PieceRow,
    Property,
    ReadingRow,
    Wire,
)
from coilbook.records.tables.models import Source as SourceRow

REFERENCE_DIR = Path(__file__).resolve().parents[2] / "dataset" / "reference"


def _rows(name: str, model: Any) -> dict[str, Any]:
    with (REFERENCE_DIR / name).open(encoding="utf-8", newline="") as file:
        rows = [model.model_validate(row) for row in csv.DictReader(file)]
    return {getattr(row, model.key[0]): row for row in rows}


REFERENCE = Reference(
    properties=_rows("properties.csv", Property),
    families=_rows("families.csv", Family),
    periods={},
    features={},
    claims=(),
    wires=_rows("wires.csv", Wire),
    magnets={},
    bobbins=_rows("bobbins.csv", Bobbin),
    sources=_rows("sources.csv", SourceRow),
)


def meter(
    percent: float = 0.5, digits: float = 2.0, instrument_id: str = "meter-1"
) -> InstrumentRow:
    """Return a bench meter for resistance."""
    return InstrumentRow(
        instrument_id=instrument_id,
        name="bench meter",
        measures="resistance",
        accuracy_percent=percent,
        accuracy_digits=digits,
    )


def reading(
    value: float | None = 8.0,
    *,
    prop: str = "coil-resistance",
    component: str = "coil",
    qualifier: str = "",
    category: str | None = None,
    step: float | None = 0.01,
    temperature_c: float | None = 20.0,
    half_width_k: float = 1.0,
    circuit: str = "free",
    parallel_ohm: float | None = None,
    parallel_tolerance: float = 10.0,
    instrument: InstrumentRow | None = None,
    calibration: str = "valid",
    date: str | None = "2026-03-14",
    line: int = 2,
    text: str | None = None,
) -> Reading:
    """Return a reading as records would hand it over."""
    row = ReadingRow(
        piece_id="lq-0001",
        component=component,
        property_id=prop,
        value=text if text is not None else str(category or value or "open"),
        circuit=circuit,
        instrument_id=instrument.instrument_id if instrument else None,
        date=dt.date.fromisoformat(date) if date else None,
    )
    return Reading(
        row=row,
        line=line,
        property=REFERENCE.properties[prop],
        value=value,
        qualifier=qualifier,  # type: ignore[arg-type]
        category=category,
        step=step,
        temperature_c=temperature_c,
        temperature_half_width_k=half_width_k,
        parallel_ohm=parallel_ohm,
        parallel_tolerance=parallel_tolerance,
        test_frequency_hz=None,
        instrument=instrument,
        calibration=calibration,  # type: ignore[arg-type]
    )


def piece(
    *readings: Reading, family: str = "full-size-humbucker", state: str = "untouched"
) -> Piece:
    """Return a piece with these readings."""
    row = PieceRow(
        piece_id="lq-0001",
        family_id=family,
        state=state,
        potted="no",
        publish=True,
    )
    return Piece(row, 2, REFERENCE.families[family], tuple(readings))

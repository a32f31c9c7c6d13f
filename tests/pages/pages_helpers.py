"""Hand-made records for the tests of pages."""

from __future__ import annotations

from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.records.tables.models import Property


def make_property(**more: object) -> Property:
    """Return a resistance in kΩ with two decimals, changed as asked."""
    row: dict[str, object] = {
        "property_id": "pair-resistance",
        "name": "Resistance of the pair",
        "unit": "kΩ",
        "kind": "quantity",
        "component": "pair",
        "origin": "read",
        "reduction": "copper",
        "hard_low": 0.0,
        "decimals": 2,
        "core": True,
        "definition": "x",
    }
    return Property.model_validate({**row, **more})


def make_value(value: float | None, u: float | None, **more: object) -> ReducedValue:
    """Return a reduced value of the pair."""
    fields: dict[str, object] = {
        "piece_id": "p-1",
        "component": "pair",
        "property_id": "pair-resistance",
        "unit": "kΩ",
        "value": value,
        "standard_uncertainty": u,
        "qualifier": "",
        "category": None,
        "line": 2,
        "written": "8.1k",
        "date": "2026-03-14",
        "instrument_id": "meter",
        "calibration": "valid",
    }
    return ReducedValue(**{**fields, **more})  # type: ignore[arg-type]

"""Small hand-made records for the tests of stats: one family, a few periods, any values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import Flag, ReducedValue
from coilbook.core.seen import Calibration, Qualifier
from coilbook.records.contents import Piece, PublicArchive, Reference
from coilbook.records.tables.cells import Component
from coilbook.records.tables.models import ArchiveSettings, Family, Period, PieceRow, Property

FAMILY = "full-size-humbucker"
OTHER_FAMILY = "small-humbucker"


def family(family_id: str = FAMILY) -> Family:
    """Return a family that sits at the neck and the bridge."""
    return Family.model_validate(
        {
            "family_id": family_id,
            "name": family_id,
            "summary": "For tests.",
            "coils": "2",
            "poles": "6",
            "pole_kind": "screws",
            "positions": "neck;bridge",
            "first_year": "1950",
            "last_year": "1970",
            "evidence": "recalled",
        }
    )


def period(first: int, last: int, family_id: str = FAMILY) -> Period:
    """Return a period of a family; its id is made of its years."""
    return Period.model_validate(
        {
            "period_id": f"{family_id}-{first}-{last}",
            "family_id": family_id,
            "name": f"{first}–{last}",
            "first_year": str(first),
            "last_year": str(last),
            "summary": "For tests.",
            "evidence": "recalled",
        }
    )


def quantity(property_id: str, component: str, unit: str = "kΩ") -> Property:
    """Return a quantity."""
    return Property.model_validate(
        {
            "property_id": property_id,
            "name": property_id,
            "unit": unit,
            "kind": "quantity",
            "component": component,
            "origin": "either",
            "reduction": "none",
            "decimals": "2",
            "core": "no",
            "definition": "For tests.",
        }
    )


def category(property_id: str, component: str, words: str) -> Property:
    """Return a category."""
    return Property.model_validate(
        {
            "property_id": property_id,
            "name": property_id,
            "kind": "category",
            "component": component,
            "origin": "read",
            "reduction": "none",
            "categories": words,
            "core": "no",
            "definition": "For tests.",
        }
    )


def reference(periods: Iterable[Period] = ()) -> Reference:
    """Return a reference of two families and three properties."""
    properties = (
        quantity("coil-resistance", "coil"),
        quantity("pair-resistance", "pair"),
        category("magnet-grade", "magnet", "2;3;4;5"),
    )
    families = (family(), family(OTHER_FAMILY))
    return Reference(
        properties={p.property_id: p for p in properties},
        families={f.family_id: f for f in families},
        periods={p.period_id: p for p in periods},
        features={},
        claims=(),
        wires={},
        magnets={},
        bobbins={},
        sources={},
    )


def value(
    piece_id: str,
    number: float | None,
    *,
    component: Component = "pair",
    property_id: str = "pair-resistance",
    u: float | None = 0.01,
    qualifier: Qualifier = "",
    category: str | None = None,
    calibration: Calibration = "valid",
    flags: tuple[Flag, ...] = (),
) -> ReducedValue:
    """Return a reduced value."""
    return ReducedValue(
        piece_id=piece_id,
        component=component,
        property_id=property_id,
        unit="kΩ",
        value=number,
        standard_uncertainty=u,
        qualifier=qualifier,
        category=category,
        line=2,
        written=str(number),
        date="2026-03-14",
        instrument_id="meter-1",
        calibration=calibration,
        flags=flags,
    )


def piece(
    piece_id: str,
    years: tuple[int, int] | None = (1957, 1957),
    *,
    position: str | None = None,
    state: str = "untouched",
    family_id: str = FAMILY,
) -> Piece:
    """Return a piece without readings; statistics take the values from elsewhere."""
    cells: dict[str, Any] = {
        "piece_id": piece_id,
        "family_id": family_id,
        "state": state,
        "potted": "no",
        "publish": "yes",
        "position": position,
    }
    if years is not None:
        cells |= {"year_first": years[0], "year_last": years[1], "year_basis": "For tests."}
    return Piece(PieceRow.model_validate(cells), 2, family(family_id), ())


def measured(piece_id: str, values: Sequence[ReducedValue]) -> MeasuredPiece:
    """Return a measured piece whose values are each the best of their kind."""
    best = {(v.component, v.property_id): v for v in values}
    return MeasuredPiece(piece_id, tuple(values), best, None, ())


def archive(pieces: Iterable[Piece], kind: str = "measured") -> PublicArchive:
    """Return a public archive of these pieces."""
    settings = ArchiveSettings.model_validate(
        {"title": "T", "publisher": "P", "licence": "CC-BY-4.0", "kind": kind}
    )
    return PublicArchive(settings, {p.row.piece_id: p for p in pieces}, (), (), {})


def shop(
    pieces: Iterable[Piece], numbers: Iterable[float], kind: str = "measured"
) -> tuple[PublicArchive, Mapping[str, MeasuredPiece]]:
    """Return an archive of these pieces and one pair resistance for each."""
    held = archive(pieces, kind)
    values = {
        piece_id: measured(piece_id, [value(piece_id, number)])
        for piece_id, number in zip(held.pieces, numbers, strict=True)
    }
    return held, values

"""Small hand-made records for the tests of assessment: one family, two periods, any claims."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import Flag, ReducedValue
from coilbook.core.seen import Calibration, Qualifier
from coilbook.records.contents import Claim, Piece, PublicArchive, Reference
from coilbook.records.tables.cells import Component
from coilbook.records.tables.models import (
    ArchiveSettings,
    ClaimRow,
    Family,
    Period,
    PieceRow,
    Property,
)
from coilbook.stats.groups import Summaries, summarise

FAMILY = "full-size-humbucker"
EARLY, LATE = "humbucker-1957-58", "humbucker-1959-60"

PAIR = Property.model_validate(
    {
        "property_id": "pair-resistance",
        "name": "Resistance of the pair",
        "unit": "kΩ",
        "kind": "quantity",
        "component": "pair",
        "origin": "either",
        "reduction": "copper",
        "hard_low": "0",
        "hard_high": "2000",
        "decimals": "2",
        "core": "yes",
        "definition": "For tests.",
    }
)
GRADE = Property.model_validate(
    {
        "property_id": "magnet-grade",
        "name": "Magnet grade",
        "kind": "category",
        "component": "magnet",
        "origin": "read",
        "reduction": "none",
        "categories": "2;3;4;5",
        "core": "no",
        "definition": "For tests.",
    }
)
HUMBUCKER = Family.model_validate(
    {
        "family_id": FAMILY,
        "name": "Full-size humbucker",
        "summary": "For tests.",
        "coils": "2",
        "poles": "6",
        "pole_kind": "slugs-and-screws",
        "positions": "neck;bridge",
        "first_year": "1956",
        "last_year": "1970",
        "evidence": "recalled",
    }
)


def _period(period_id: str, first: int, last: int) -> Period:
    return Period.model_validate(
        {
            "period_id": period_id,
            "family_id": FAMILY,
            "name": f"{first}–{last}",
            "first_year": str(first),
            "last_year": str(last),
            "summary": "For tests.",
            "evidence": "recalled",
        }
    )


def claim(
    claim_id: str = "claim",
    *,
    low: float | None = None,
    typical: float | None = None,
    high: float | None = None,
    category: str | None = None,
    period: str | None = None,
    position: str | None = None,
    family_id: str = FAMILY,
    origin: Any = "reference",
) -> Claim:
    """Return a claim about the pair's resistance, or about the magnet if it is a category."""
    row = ClaimRow.model_validate(
        {
            "claim_id": claim_id,
            "family_id": family_id,
            "period_id": period,
            "position": position,
            "property_id": "magnet-grade" if category else "pair-resistance",
            "low": None if low is None else str(low),
            "typical": None if typical is None else str(typical),
            "high": None if high is None else str(high),
            "category": category,
            "evidence": "recalled",
        }
    )
    return Claim(row, 2, GRADE if category else PAIR, origin, low, typical, high)


def reference(claims: Iterable[Claim] = ()) -> Reference:
    """Return a reference of one family, two periods and these claims."""
    periods = (_period(EARLY, 1957, 1958), _period(LATE, 1959, 1960))
    return Reference(
        properties={p.property_id: p for p in (PAIR, GRADE)},
        families={FAMILY: HUMBUCKER},
        periods={p.period_id: p for p in periods},
        features={},
        claims=tuple(claims),
        wires={},
        magnets={},
        bobbins={},
        sources={},
    )


def value(
    number: float | None,
    u: float | None = 0.05,
    *,
    piece_id: str = "mine",
    component: Component = "pair",
    qualifier: Qualifier = "",
    category: str | None = None,
    calibration: Calibration = "valid",
    flags: tuple[Flag, ...] = (),
    line: int = 2,
) -> ReducedValue:
    """Return a reduced value of the pair's resistance, or of the magnet if it is a category."""
    return ReducedValue(
        piece_id=piece_id,
        component="magnet" if category else component,
        property_id="magnet-grade" if category else "pair-resistance",
        unit="" if category else "kΩ",
        value=number,
        standard_uncertainty=u,
        qualifier=qualifier,
        category=category,
        line=line,
        written=str(number),
        date="2026-03-14",
        instrument_id="meter-1",
        calibration=calibration,
        flags=flags,
    )


def piece(
    piece_id: str = "mine",
    years: tuple[int, int] | None = (1957, 1957),
    *,
    position: str | None = None,
    state: str = "untouched",
) -> Piece:
    """Return a piece without readings; its values come from :func:`value`."""
    cells: dict[str, Any] = {
        "piece_id": piece_id,
        "family_id": FAMILY,
        "state": state,
        "potted": "no",
        "publish": "yes",
        "position": position,
    }
    if years is not None:
        cells |= {"year_first": years[0], "year_last": years[1], "year_basis": "For tests."}
    return Piece(PieceRow.model_validate(cells), 2, HUMBUCKER, ())


def measured(values: Sequence[ReducedValue], piece_id: str = "mine") -> MeasuredPiece:
    """Return a measured piece whose values are each the best of their kind."""
    best = {(v.component, v.property_id): v for v in values}
    return MeasuredPiece(piece_id, tuple(values), best, None, ())


def archive(
    pieces: Iterable[Piece] = (),
    claims: Iterable[Claim] = (),
    *,
    kind: str = "measured",
    thresholds: dict[str, float] | None = None,
) -> PublicArchive:
    """Return a public archive of these pieces and of a shop's own claims."""
    settings = ArchiveSettings.model_validate(
        {
            "title": "T",
            "publisher": "P",
            "licence": "CC-BY-4.0",
            "kind": kind,
            "thresholds": thresholds or {},
        }
    )
    return PublicArchive(settings, {p.row.piece_id: p for p in pieces}, (), tuple(claims), {})


def summaries(held: PublicArchive, numbers: Iterable[float]) -> Summaries:
    """Return the summaries of an archive with one resistance of the pair for each piece."""
    values = {
        piece_id: measured([value(number, piece_id=piece_id)], piece_id)
        for piece_id, number in zip(held.pieces, numbers, strict=True)
    }
    return summarise(held, values, reference())

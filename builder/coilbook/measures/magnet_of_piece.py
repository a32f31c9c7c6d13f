"""What a piece's flux readings say of its magnets: grades ruled out, change with time, polarity.

Only a rod magnet that is itself the pole can be held against its grade. Over a pole of steel, or
under a bar, a probe reads what steel makes of a magnet, and no grade's ceiling is a bound for that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from coilbook.core.formulas.rods import RodMagnet
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.rod_ceilings import (
    MAGNETS,
    NoCeiling,
    RodCeilings,
    field_readings,
    rod_ceilings,
)
from coilbook.core.seen import MagnetSeen, PieceSeen, ReferenceSeen
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain
from coilbook.measures.magnet_grade import (
    FieldChange,
    MagnetCurve,
    field_change,
    self_demagnetised_t,
)

ChangeKind = Literal["loss", "gain", "none"]
_COILS = ("coil", "coil_a", "coil_b")


@dataclass(frozen=True, slots=True)
class DatedChange:
    """How the field at one place changed from one dated reading to the next."""

    component: str
    earlier: ReducedValue
    later: ReducedValue
    change: FieldChange

    @property
    def kind(self) -> ChangeKind:
        """Say which way the field changed, if by more than the readings' uncertainty."""
        if self.change.normalised_error <= 1.0:
            return "none"
        return "loss" if self.change.difference_t < 0.0 else "gain"


@dataclass(frozen=True, slots=True)
class MagnetOfPiece:
    """Everything that can be said of a piece's magnets.

    ``readings`` are the flux densities that are numbers. ``why_not`` tells why there are no
    ceilings; both it and ``ceilings`` are None where no field was read.
    """

    readings: tuple[ReducedValue, ...]
    ceilings: RodCeilings | None
    why_not: NoCeiling | None
    changes: tuple[DatedChange, ...]
    polarity: tuple[tuple[str, str], ...]


def magnet_of_piece(
    piece: PieceSeen, measured: MeasuredPiece, reference: ReferenceSeen
) -> MagnetOfPiece | None:
    """Return what a piece's readings say of its magnets, or None if nothing was read of them."""
    readings = field_readings(measured)
    polarity = tuple(
        (part, value.category)
        for part in _COILS
        if (value := measured.best.get((part, "pole-polarity"))) is not None
        and value.category is not None
    )
    if not readings and not polarity:
        return None
    ceilings, why_not = (
        rod_ceilings(piece, measured, reference, readings) if readings else (None, None)
    )
    if ceilings is not None:
        ceilings = replace(
            ceilings,
            grades=tuple(
                replace(
                    line,
                    estimate_t=_estimate_t(
                        line.magnet, ceilings.diameter_m, ceilings.length_m, ceilings.standoff_m
                    ),
                )
                for line in ceilings.grades
            ),
        )
    return MagnetOfPiece(readings, ceilings, why_not, _changes(readings), polarity)


def _estimate_t(
    magnet: MagnetSeen, diameter_m: float, length_m: float | None, standoff_m: float
) -> float | None:
    """Return what a rod of this grade would show by itself, charged to the full."""
    if length_m is None:
        return None
    try:
        curve = MagnetCurve(
            magnet.br_mt / 1e3, magnet.hc_ka_per_m * 1e3, magnet.bhmax_kj_per_m3 * 1e3
        )
        return self_demagnetised_t(curve, RodMagnet(diameter_m, length_m), standoff_m)
    except OutOfDomain:
        return None


def _changes(readings: tuple[ReducedValue, ...]) -> tuple[DatedChange, ...]:
    """Return the changes from each dated reading of a component to its next, by date.

    Readings by one meter share part of their error; no credit is taken for that, since a meter may
    have been set anew in between, and the probe does not come back to the very same spot.
    """
    changes: list[DatedChange] = []
    for part in MAGNETS:
        dated = sorted(
            (v for v in readings if v.component == part and v.date), key=lambda v: v.date
        )
        for earlier, later in pairwise(dated):
            to_t = scale(earlier.unit, "tesla"), scale(later.unit, "tesla")
            try:
                change = field_change(
                    (earlier.value or 0.0) * to_t[0],
                    (earlier.standard_uncertainty or 0.0) * to_t[0],
                    (later.value or 0.0) * to_t[1],
                    (later.standard_uncertainty or 0.0) * to_t[1],
                )
            except OutOfDomain:
                continue
            changes.append(DatedChange(part, earlier, later, change))
    return tuple(changes)

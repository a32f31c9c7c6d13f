"""What a piece's flux readings say of its magnets: grades ruled out, change with time, polarity.

Only a rod magnet that is itself the pole can be held against its grade. Over a pole of steel, or
under a bar, a probe reads what steel makes of a magnet, and no grade's ceiling is a bound for that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from coilbook.errors import OutOfDomain
from coilbook.measures.constants import SENSOR_DEPTH_HALF_WIDTH_M, UNSTATED_SENSOR_DEPTH_M
from coilbook.measures.magnet_field import RodMagnet
from coilbook.measures.magnet_grade import (
    FieldChange,
    GradeRemanence,
    GradeRuling,
    MagnetCurve,
    field_change,
    rule_out,
    self_demagnetised_t,
)
from coilbook.measures.measured_piece import MeasuredPiece, ReducedValue
from coilbook.measures.uncertainty import rectangular
from coilbook.records.contents import Piece, Reference
from coilbook.records.tables.models import Magnet
from coilbook.units import scale

#: Why no grade is held against a reading; data, worded by the templates.
NoCeiling = Literal[
    "over_steel",  # the poles are not the magnets
    "magnets_not_counted",  # rods, and nothing says whether the rods are the magnets
    "no_diameter",  # the rod's diameter was not read
]
ChangeKind = Literal["loss", "gain", "none"]
_PARTS = ("magnet", "magnet_a", "magnet_b")
_COILS = ("coil", "coil_a", "coil_b")
_FIELD = "pole-flux-density"
#: A rod of unread length is taken as so many diameters long: as good as without end.
ENDLESS = 100.0


@dataclass(frozen=True, slots=True)
class GradeLine:
    """One grade of the reference beside a reading.

    ``estimate_t`` is what such a rod would show by itself, None unless its length was read.
    """

    magnet: Magnet
    ruling: GradeRuling
    estimate_t: float | None


@dataclass(frozen=True, slots=True)
class RodCeilings:
    """What a reading says of each grade, for a rod magnet that is itself the pole.

    ``length_m`` is None where it was not read. The ceilings are those of a rod of twice its length,
    or without end: a steel plate behind a rod can at the most double it, and any length is covered.
    ``depth_stated`` tells whether the stand-off is the probe's own or the usual one.
    """

    reading: ReducedValue
    diameter_m: float
    length_m: float | None
    standoff_m: float
    standoff_half_width_m: float
    depth_stated: bool
    grades: tuple[GradeLine, ...]


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
    piece: Piece, measured: MeasuredPiece, reference: Reference
) -> MagnetOfPiece | None:
    """Return what a piece's readings say of its magnets, or None if nothing was read of them."""
    readings = tuple(
        v
        for v in measured.values
        if v.property_id == _FIELD and v.comparable and v.component in _PARTS
    )
    polarity = tuple(
        (part, value.category)
        for part in _COILS
        if (value := measured.best.get((part, "pole-polarity"))) is not None
        and value.category is not None
    )
    if not readings and not polarity:
        return None
    ceilings, why_not = (
        _ceilings(piece, measured, reference, readings) if readings else (None, None)
    )
    return MagnetOfPiece(readings, ceilings, why_not, _changes(readings), polarity)


def _number_m(measured: MeasuredPiece, keys: Iterable[tuple[str, str]]) -> float | None:
    for key in keys:
        found = measured.best.get(key)
        if found is not None and found.comparable and found.value is not None:
            value = found.value * scale(found.unit, "meter")
            if value > 0.0:
                return value
    return None


def _rods_are_magnets(
    piece: Piece, measured: MeasuredPiece, reference: Reference
) -> NoCeiling | None:
    """Return None where each rod is a magnet, by their number; else why that does not hold."""
    family = piece.family
    if family.pole_kind != "rods":
        return "over_steel"
    counted = measured.best.get(("pickup", "magnet-count"))
    if counted is not None and counted.comparable and counted.value is not None:
        numbers = [counted.value]
    else:
        numbers = [
            n
            for c in reference.claims_on(family.family_id, "magnet-count")
            for n in (c.low, c.typical, c.high)
            if n is not None
        ]
    if not numbers:
        return "magnets_not_counted"
    rods = family.poles * family.coils
    return None if all(round(n) == rods for n in numbers) else "over_steel"


def _ceilings(
    piece: Piece,
    measured: MeasuredPiece,
    reference: Reference,
    readings: tuple[ReducedValue, ...],
) -> tuple[RodCeilings | None, NoCeiling | None]:
    why_not = _rods_are_magnets(piece, measured, reference)
    if why_not is not None:
        return None, why_not
    # What rules out is the strongest that was ever read, by a meter within its calibration if any.
    backed = [v for v in readings if v.uncertainty_backed] or list(readings)
    strongest = max(backed, key=lambda v: v.value or 0.0)
    part = strongest.component
    diameter_m = _number_m(measured, ((part, "magnet-width"), ("pickup", "pole-diameter")))
    if diameter_m is None:
        return None, "no_diameter"
    length_m = _number_m(measured, ((part, "magnet-length"),))
    depth_m = next((r.sensor_depth_m for r in piece.readings if r.line == strongest.line), 0.0)
    stated = depth_m > 0.0
    half_m = SENSOR_DEPTH_HALF_WIDTH_M if stated else UNSTATED_SENSOR_DEPTH_M
    if not stated:
        depth_m = UNSTATED_SENSOR_DEPTH_M
    to_t = scale(strongest.unit, "tesla")
    reading_t = (strongest.value or 0.0) * to_t
    uncertainty_t = (strongest.standard_uncertainty or 0.0) * to_t
    # No rod of these families is a ferrite, and its grades would only crowd the list.
    magnets = tuple(m for m in reference.magnets.values() if m.material == "alnico")
    try:
        rulings = rule_out(
            reading_t,
            uncertainty_t,
            depth_m,
            rectangular(half_m),
            RodMagnet(diameter_m, ENDLESS * diameter_m if length_m is None else 2.0 * length_m),
            [GradeRemanence(m.magnet_id, m.br_mt / 1e3, m.value_kind) for m in magnets],
        )
    except OutOfDomain:
        return None, None
    lines = tuple(
        GradeLine(magnet, ruling, _estimate_t(magnet, diameter_m, length_m, depth_m))
        for magnet, ruling in zip(magnets, rulings, strict=True)
    )
    return RodCeilings(strongest, diameter_m, length_m, depth_m, half_m, stated, lines), None


def _estimate_t(
    magnet: Magnet, diameter_m: float, length_m: float | None, standoff_m: float
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
    for part in _PARTS:
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

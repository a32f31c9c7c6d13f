"""What a field reading says of a rod magnet's grade, for a piece whose rods are its magnets.

A reading can rule a grade out and never identifies one: a magnet of any stronger grade can be
weakly magnetised.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from coilbook.core.budgets.uncertainty import rectangular
from coilbook.core.constants import (
    SENSOR_DEPTH_HALF_WIDTH_M,
    UNSTATED_SENSOR_DEPTH_M,
    require_not_negative,
    require_positive,
)
from coilbook.core.formulas.normal import normal_below, normal_quantile
from coilbook.core.formulas.rods import RodMagnet, highest_over_rod_t
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import MagnetSeen, PieceSeen, ReferenceSeen
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain

#: A reading rules a grade out from this probability on.
RULED_OUT_FROM = 0.95
#: How many equally likely stand-offs stand for a stand-off with its uncertainty.
_STANDOFFS = 64
#: A rod of unread length is taken as so many diameters long: as good as without end.
ENDLESS = 100.0
FIELD = "pole-flux-density"
MAGNETS = ("magnet", "magnet_a", "magnet_b")

#: Why no grade is held against a reading; data, worded by the templates.
NoCeiling = Literal[
    "over_steel",  # the poles are not the magnets
    "magnets_not_counted",  # rods, and nothing says whether the rods are the magnets
    "no_diameter",  # the rod's diameter was not read
]
ValueKind = Literal["typical", "minimum"]
Ruling = Literal["ruled_out", "not_ruled_out", "no_ceiling"]


@dataclass(frozen=True, slots=True)
class GradeRemanence:
    """A grade's remanence, and whether its standard gives a typical value or a minimum."""

    grade_id: str
    remanence_t: float
    value_kind: ValueKind


@dataclass(frozen=True, slots=True)
class GradeRuling:
    """What a reading says of one grade.

    ``ceiling_t`` is at the stated stand-off. It and ``probability`` are None where a minimum value
    gives no ceiling. ``value_kind`` tells whose ceiling it is: a typical one may be passed by a
    magnet of that very grade that is better than typical.
    """

    grade_id: str
    value_kind: ValueKind
    ruling: Ruling
    ceiling_t: float | None
    probability: float | None


@dataclass(frozen=True, slots=True)
class GradeLine:
    """One grade of the reference beside a reading.

    ``estimate_t`` is what such a rod would show by itself, None unless it was worked out.
    """

    magnet: MagnetSeen
    ruling: GradeRuling
    estimate_t: float | None = None


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


def likely_standoffs_m(standoff_m: float, standoff_uncertainty_m: float) -> tuple[float, ...]:
    r"""Return equally likely stand-offs that stand for one with its uncertainty, none below 0.

    Formula: s_k = F^{-1}\!\left(\frac{k - 1/2}{n}\right), \quad k = 1 \dots n
    Arguments: standoff_m s [m], standoff_uncertainty_m u [m]
    Returns: s_1 \dots s_n, from the nearest on [m]
    Validity: F is the normal distribution of s and u, cut off below 0, where no probe can be; one
        value, s itself, where u is 0.
    Source: common practice
    """
    if standoff_uncertainty_m <= 0.0:
        return (standoff_m,)
    cut_off = normal_below(-standoff_m / standoff_uncertainty_m)
    shares = [(k + 0.5) / _STANDOFFS for k in range(_STANDOFFS)]
    return tuple(
        standoff_m + standoff_uncertainty_m * normal_quantile(cut_off + share * (1.0 - cut_off))
        for share in shares
    )


@lru_cache(maxsize=256)
def rod_fields_t(
    rod: RodMagnet, standoff_m: float, standoff_uncertainty_m: float
) -> tuple[float, tuple[float, ...]]:
    """Return the field for J = 1 T at the stated stand-off, and at each of the likely ones.

    Kept, since an archive has many magnets of one size under one probe.
    """
    likely = likely_standoffs_m(standoff_m, standoff_uncertainty_m)
    return (
        highest_over_rod_t(1.0, rod, standoff_m),
        tuple(highest_over_rod_t(1.0, rod, z) for z in likely),
    )


def rulings_of(
    reading_t: float,
    reading_uncertainty_t: float,
    stated_t: float,
    likely_t: Sequence[float],
    grades: Iterable[GradeRemanence],
) -> tuple[GradeRuling, ...]:
    """Return what a reading rules out, from the fields for J = 1 T: see ``rule_out`` of measures/.

    ``stated_t`` is that at the stated stand-off, ``likely_t`` those at the likely ones. Raises
    :class:`OutOfDomain` for a reading below 0, or uncertainty and remanence that are not above 0.
    """
    require_not_negative(reading_t=reading_t)
    require_positive(reading_uncertainty_t=reading_uncertainty_t)
    rulings: list[GradeRuling] = []
    for grade in grades:
        require_positive(remanence_t=grade.remanence_t)
        if grade.value_kind == "minimum":
            rulings.append(GradeRuling(grade.grade_id, "minimum", "no_ceiling", None, None))
            continue
        total = 0.0
        for field_t in likely_t:
            total += normal_below((reading_t - grade.remanence_t * field_t) / reading_uncertainty_t)
        probability = total / len(likely_t)
        ruling: Ruling = "ruled_out" if probability >= RULED_OUT_FROM else "not_ruled_out"
        ceiling_t = grade.remanence_t * stated_t
        rulings.append(GradeRuling(grade.grade_id, "typical", ruling, ceiling_t, probability))
    return tuple(rulings)


def _number_m(measured: MeasuredPiece, keys: Iterable[tuple[str, str]]) -> float | None:
    for key in keys:
        found = measured.best.get(key)
        if found is not None and found.comparable and found.value is not None:
            value = found.value * scale(found.unit, "meter")
            if value > 0.0:
                return value
    return None


def _rods_are_magnets(
    piece: PieceSeen, measured: MeasuredPiece, reference: ReferenceSeen
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


def rod_ceilings(
    piece: PieceSeen,
    measured: MeasuredPiece,
    reference: ReferenceSeen,
    readings: tuple[ReducedValue, ...],
) -> tuple[RodCeilings | None, NoCeiling | None]:
    """Return what the strongest of a piece's field readings says of each grade, or why nothing."""
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
        rod = RodMagnet(diameter_m, ENDLESS * diameter_m if length_m is None else 2.0 * length_m)
        stated_t, likely_t = rod_fields_t(rod, depth_m, rectangular(half_m))
        remanences = [GradeRemanence(m.magnet_id, m.br_mt / 1e3, m.value_kind) for m in magnets]
        rulings = rulings_of(reading_t, uncertainty_t, stated_t, likely_t, remanences)
    except OutOfDomain:
        return None, None
    lines = tuple(
        GradeLine(magnet, ruling) for magnet, ruling in zip(magnets, rulings, strict=True)
    )
    return RodCeilings(strongest, diameter_m, length_m, depth_m, half_m, stated, lines), None


def field_readings(measured: MeasuredPiece) -> tuple[ReducedValue, ...]:
    """Return a piece's flux densities that are numbers."""
    return tuple(
        v
        for v in measured.values
        if v.property_id == FIELD and v.comparable and v.component in MAGNETS
    )


def rod_ceilings_of(
    piece: PieceSeen, measured: MeasuredPiece, reference: ReferenceSeen
) -> RodCeilings | None:
    """Return what a piece's field readings say of each grade, None where they cannot."""
    readings = field_readings(measured)
    return rod_ceilings(piece, measured, reference, readings)[0] if readings else None

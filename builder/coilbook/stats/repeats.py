"""What an archive's repeated readings say of its instruments."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from scipy.special import stdtr

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ArchiveKind
from coilbook.errors import UnknownPiece
from coilbook.records.contents import PublicArchive, Reference
from coilbook.stats.interlab import Precision, precision

#: What a piece may change in between two readings without anybody saying so: a magnet is recharged.
CHANGES_BETWEEN = frozenset({"pole-flux-density"})

WhyNoRepeat = Literal[
    "rewound",  # it may have been wound between the readings
    "may_have_changed",  # a property that is changed on purpose
    "no_instrument",
    "same_day_and_instrument",  # likely of two places on one piece, as of two poles
    "no_scale",  # not above 0, so that no share of it can be taken
]


@dataclass(frozen=True, slots=True)
class InstrumentRepeats:
    """How one instrument agrees with itself from day to day, in percent of the value.

    ``sd`` has ``degrees`` degrees of freedom, None without any. ``stated`` is the root mean square
    of the standard uncertainties that the readings' budgets state.
    """

    instrument_id: str
    parts: int
    readings: int
    degrees: int
    sd: float | None
    stated: float | None


@dataclass(frozen=True, slots=True)
class InstrumentPair:
    """How far two instruments differ on the same parts: first minus second, percent of the value.

    ``standard_error`` and ``p_value`` (of no difference, Student's t, two-sided) are None for one
    part, and the p-value where all differences are one.
    """

    first_id: str
    second_id: str
    parts: int
    difference: float
    standard_error: float | None
    p_value: float | None


@dataclass(frozen=True, slots=True)
class PropertyRepeats:
    """What the repeated readings of one property say, in percent of the value.

    A part (one component of one piece) is a level of ISO 5725-2, an instrument a lab. Readings of
    one instrument are of different days: its repeatability here includes what a day changes.
    """

    property_id: str
    parts: int
    readings: int
    precision: Precision
    instruments: tuple[InstrumentRepeats, ...]
    pairs: tuple[InstrumentPair, ...]


@dataclass(frozen=True, slots=True)
class ArchiveRepeats:
    """All repeated readings of an archive, by property in the order of the reference.

    ``left_out`` counts readings of parts that were read again but could not be used, and why.
    """

    kind: ArchiveKind
    properties: tuple[PropertyRepeats, ...]
    left_out: Mapping[WhyNoRepeat, int]


@dataclass(frozen=True, slots=True)
class _Part:
    """One component of one piece: each instrument's readings as percent off the part's mean."""

    by_instrument: Mapping[str, Sequence[float]]
    stated: Mapping[str, Sequence[float]]


def archive_repeats(
    archive: PublicArchive, measured: Mapping[str, MeasuredPiece], reference: Reference
) -> ArchiveRepeats:
    """Find what was read again, and say how well the readings agree.

    A repeat is the same property of the same component of the same piece, read on another day or
    with another instrument, and reduced (to 20 °C, out of circuit). Bounds and open circuits are
    none. Readings off an instrument past its calibration do count: whether it drifted is what a
    repeat shows.

    Readings are taken as percent of their part's mean, since accuracies go with the value, and so
    parts of all sizes can be pooled.

    Formula: see :func:`coilbook.stats.interlab.precision`
    Errors: UnknownPiece where ``measured`` lacks a piece of the archive.
    """
    parts: dict[str, list[_Part]] = {}
    left_out: Counter[WhyNoRepeat] = Counter()
    for piece_id, piece in archive.pieces.items():
        if piece_id not in measured:
            raise UnknownPiece(
                f"Piece {piece_id} has not been measured. Measure every piece first."
            )
        for property_id, values in _read_again(measured[piece_id]):
            if piece.row.state == "rewound":
                left_out["rewound"] += len(values)
            elif property_id in CHANGES_BETWEEN:
                left_out["may_have_changed"] += len(values)
            else:
                part = _part(values, left_out)
                if part is not None:
                    parts.setdefault(property_id, []).append(part)
    found = tuple(
        _of_property(property_id, parts[property_id])
        for property_id in reference.properties
        if property_id in parts
    )
    return ArchiveRepeats(archive.settings.kind, found, dict(left_out))


def _read_again(piece: MeasuredPiece) -> Iterator[tuple[str, list[ReducedValue]]]:
    groups: dict[tuple[str, str], list[ReducedValue]] = {}
    for value in piece.values:
        if value.line and value.comparable and "parallel_impossible" not in value.flags:
            groups.setdefault((value.component, value.property_id), []).append(value)
    for (_, property_id), values in groups.items():
        if len(values) > 1:
            yield property_id, values


def _part(values: list[ReducedValue], left_out: Counter[WhyNoRepeat]) -> _Part | None:
    kept: dict[tuple[str, str], ReducedValue] = {}
    for value in values:
        if value.instrument_id is None:
            left_out["no_instrument"] += 1
        elif (value.instrument_id, value.date) in kept:
            left_out["same_day_and_instrument"] += 1
        else:
            kept[value.instrument_id, value.date] = value
    if len(kept) < 2:
        return None
    mean = math.fsum(value.value or 0.0 for value in kept.values()) / len(kept)
    if mean <= 0.0:
        left_out["no_scale"] += len(kept)
        return None
    by_instrument: dict[str, list[float]] = {}
    stated: dict[str, list[float]] = {}
    for (instrument_id, _), value in kept.items():
        off = 100.0 * ((value.value or 0.0) - mean) / mean
        by_instrument.setdefault(instrument_id, []).append(off)
        if value.standard_uncertainty is not None:
            share = 100.0 * value.standard_uncertainty / mean
            stated.setdefault(instrument_id, []).append(share)
    return _Part(by_instrument, stated)


def _of_property(property_id: str, parts: list[_Part]) -> PropertyRepeats:
    names = sorted({name for part in parts for name in part.by_instrument})
    return PropertyRepeats(
        property_id=property_id,
        parts=len(parts),
        readings=sum(len(read) for part in parts for read in part.by_instrument.values()),
        precision=precision(part.by_instrument for part in parts),
        instruments=tuple(_of_instrument(name, parts) for name in names),
        pairs=tuple(_pairs(names, parts)),
    )


def _of_instrument(instrument_id: str, parts: list[_Part]) -> InstrumentRepeats:
    read = [p.by_instrument[instrument_id] for p in parts if instrument_id in p.by_instrument]
    stated = [u for part in parts for u in part.stated.get(instrument_id, ())]
    degrees = sum(len(values) - 1 for values in read)
    sd = None
    if degrees:
        sd = precision({instrument_id: values} for values in read).repeatability_sd
    return InstrumentRepeats(
        instrument_id=instrument_id,
        parts=len(read),
        readings=sum(len(values) for values in read),
        degrees=degrees,
        sd=sd,
        stated=math.sqrt(math.fsum(u**2 for u in stated) / len(stated)) if stated else None,
    )


def _pairs(names: list[str], parts: list[_Part]) -> Iterator[InstrumentPair]:
    for first, second in combinations(names, 2):
        apart = [
            _mean(part.by_instrument[first]) - _mean(part.by_instrument[second])
            for part in parts
            if first in part.by_instrument and second in part.by_instrument
        ]
        if not apart:
            continue
        count, mean = len(apart), _mean(apart)
        error = p_value = None
        if count > 1:
            error = math.sqrt(math.fsum((d - mean) ** 2 for d in apart) / (count - 1) / count)
        if error:
            p_value = 2.0 * float(stdtr(count - 1.0, -abs(mean) / error))
        yield InstrumentPair(first, second, count, mean, error, p_value)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)

"""What records hands to the later rooms: rows with their values read and their references resolved.

Nothing here holds a private column or, in a :class:`PublicArchive`, an unpublished piece.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from coilbook.records.models import (
    ArchiveSettings,
    Bobbin,
    ClaimRow,
    Family,
    Feature,
    InstrumentRow,
    Magnet,
    Period,
    PieceRow,
    Property,
    ReadingRow,
    Source,
    Wire,
)

Qualifier = Literal["", "<", ">", "open"]
Calibration = Literal["valid", "lapsed", "unknown"]
Equivalent = Literal["series", "parallel"]


@dataclass(frozen=True, slots=True)
class Written:
    """A value as somebody wrote it, and what it says.

    ``magnitude`` is in ``unit`` (a unit name of :mod:`coilbook.units`); it is None for ``open``.
    ``step`` is what one count of the last written digit is worth in ``unit`` (None for a fraction).
    """

    text: str
    qualifier: Qualifier
    magnitude: float | None
    unit: str
    step: float | None


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading with its value and conditions read; values are in the property's unit.

    ``value`` is None for an open circuit or a category; ``category`` is the word of a category.
    ``step`` is one count of the instrument (its resolution, else the last digit written).
    ``parallel_tolerance`` is in percent of ``parallel_ohm``. ``zero`` is in the property's unit;
    ``zero_step`` and ``standoff_step_m`` are one count of the last digit written (None for a
    fraction, or where nothing is written). What the instrument does to a reading comes last:
    ``input_resistance_ohm`` is None where nothing is said of it.
    """

    row: ReadingRow
    line: int
    property: Property
    value: float | None
    qualifier: Qualifier
    category: str | None
    step: float | None
    temperature_c: float | None
    temperature_half_width_k: float
    parallel_ohm: float | None
    parallel_tolerance: float
    test_frequency_hz: float | None
    instrument: InstrumentRow | None
    calibration: Calibration
    equivalent: Equivalent = "series"
    standoff_m: float = 0.0
    standoff_step_m: float | None = None
    zero: float | None = None
    zero_step: float | None = None
    lead_resistance_ohm: float = 0.0
    input_resistance_ohm: float | None = None
    input_capacitance_f: float = 0.0
    sensor_depth_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim with its numbers read, in the property's unit.

    ``origin`` is ``reference`` for the documented ones and ``archive`` for a shop's own.
    """

    row: ClaimRow
    line: int
    property: Property
    origin: Literal["reference", "archive"]
    low: float | None
    typical: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece and all its readings, in the order of the file."""

    row: PieceRow
    line: int
    family: Family
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class Reference:
    """The documented side: everything under dataset/reference, by id, in the order of the files."""

    properties: Mapping[str, Property]
    families: Mapping[str, Family]
    periods: Mapping[str, Period]
    features: Mapping[str, Feature]
    claims: tuple[Claim, ...]
    wires: Mapping[str, Wire]
    magnets: Mapping[str, Magnet]
    bobbins: Mapping[str, Bobbin]
    sources: Mapping[str, Source]

    def periods_of(self, family_id: str) -> tuple[Period, ...]:
        """Return the periods of a family, earliest first."""
        mine = (p for p in self.periods.values() if p.family_id == family_id)
        return tuple(sorted(mine, key=lambda p: (p.first_year, p.last_year)))


@dataclass(frozen=True, slots=True)
class Archive:
    """A shop's whole archive, unpublished pieces included: for checking and for its owner's eyes.

    ``claims`` and ``sources`` are the shop's own.
    """

    settings: ArchiveSettings
    pieces: Mapping[str, Piece]
    instruments: tuple[InstrumentRow, ...]
    claims: tuple[Claim, ...]
    sources: Mapping[str, Source]


@dataclass(frozen=True, slots=True)
class PublicArchive:
    """What may leave the shop: published pieces only. Statistics, pages and downloads see this."""

    settings: ArchiveSettings
    pieces: Mapping[str, Piece]
    instruments: tuple[InstrumentRow, ...]
    claims: tuple[Claim, ...]
    sources: Mapping[str, Source]

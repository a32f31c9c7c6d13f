"""What records hands to the later rooms: rows with their values read and their references resolved.

Nothing here holds a private column or, in a :class:`PublicArchive`, an unpublished piece.
"""

from __future__ import annotations

import builtins
import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Literal

from coilbook.core.judging.claims import breakable_limits
from coilbook.core.seen import Calibration, Equivalent, Qualifier
from coilbook.records.tables.cells import Row, folded_word
from coilbook.records.tables.models import (
    FIGURE_TABLES,
    Alias,
    Alloy,
    ArchiveSettings,
    Bobbin,
    ClaimRow,
    Derivation,
    Exemption,
    Family,
    Feature,
    InstrumentRow,
    Insulation,
    Magnet,
    MethodSource,
    NominalPart,
    OtherWire,
    Period,
    Permeability,
    PieceRow,
    Property,
    ReadingRow,
    Source,
    Wire,
)


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

    @builtins.property
    def day(self) -> str:
        """Return the day that it was read as it is written, or an empty string."""
        return _iso(self.row.date) if self.row.date else ""


@cache
def _iso(day: dt.date) -> str:
    """Return a day as it is written: a sitting's readings share it."""
    return day.isoformat()


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim with its numbers read, in the property's unit.

    ``origin`` is ``reference`` for the documented ones and ``archive`` for a shop's own.
    ``breakable`` are ``low`` and ``high`` without those at the property's own hard bounds, which no
    value of it could break: of "0 to 1.2 kΩ" for an absolute difference, only the 1.2 kΩ is left.
    """

    row: ClaimRow
    line: int
    property: Property
    origin: Literal["reference", "archive"]
    low: float | None
    typical: float | None
    high: float | None
    breakable: tuple[float | None, float | None] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        limits = breakable_limits(self.low, self.high, self.property)
        object.__setattr__(self, "breakable", limits)


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
    derivations: tuple[Derivation, ...] = ()
    exemptions: tuple[Exemption, ...] = ()
    method_sources: Mapping[str, MethodSource] = field(default_factory=dict)
    other_wires: Mapping[str, OtherWire] = field(default_factory=dict)
    insulations: Mapping[str, Insulation] = field(default_factory=dict)
    permeabilities: Mapping[str, Permeability] = field(default_factory=dict)
    alloys: Mapping[str, Alloy] = field(default_factory=dict)
    parts: Mapping[str, NominalPart] = field(default_factory=dict)
    aliases: Mapping[str, Alias] = field(default_factory=dict)
    #: What was looked up before: every piece of an archive asks the same.
    _periods_of: dict[str, tuple[Period, ...]] = field(
        init=False, repr=False, compare=False, default_factory=dict
    )
    _claims_on: dict[tuple[str, str], tuple[Claim, ...]] = field(
        init=False, repr=False, compare=False, default_factory=dict
    )

    def figure_rows(self) -> dict[str, tuple[Row, ...]]:
        """Return the rows of each of FIGURE_TABLES."""
        held: dict[str, Mapping[str, Row]] = {
            "wires.csv": self.wires,
            "other_wires.csv": self.other_wires,
            "insulations.csv": self.insulations,
            "magnets.csv": self.magnets,
            "alloys.csv": self.alloys,
            "permeabilities.csv": self.permeabilities,
            "nominal_parts.csv": self.parts,
            "bobbins.csv": self.bobbins,
            "sources.csv": self.sources,
        }
        return {file: tuple(held[file].values()) for file in FIGURE_TABLES}

    def called(self) -> dict[str, tuple[str, str]]:
        """Return each name that the trade has for a family, folded: the id, and why that one."""
        found = {folded_word(a.alias): (a.family_id, a.says) for a in self.aliases.values()}
        names = {
            folded_word(family.name): (family.family_id, "That is its name.")
            for family in self.families.values()
        }
        return found | names

    def family_called(self, text: str) -> tuple[Family | None, str]:
        """Return the family of an id or of a name in the trade; for a name, why that family."""
        family = self.families.get(text) or self.families.get(text.strip().casefold())
        if family is not None:
            return family, ""
        family_id, says = self.called().get(folded_word(text), ("", ""))
        return self.families.get(family_id), says

    def periods_of(self, family_id: str) -> tuple[Period, ...]:
        """Return the periods of a family, earliest first."""
        found = self._periods_of.get(family_id)
        if found is None:
            mine = (p for p in self.periods.values() if p.family_id == family_id)
            found = tuple(sorted(mine, key=lambda p: (p.first_year, p.last_year)))
            self._periods_of[family_id] = found
        return found

    def claims_on(self, family_id: str, property_id: str) -> tuple[Claim, ...]:
        """Return the claims of a property of a family, of every period and position."""
        key = (family_id, property_id)
        found = self._claims_on.get(key)
        if found is None:
            found = tuple(
                c
                for c in self.claims
                if c.row.family_id == family_id and c.row.property_id == property_id
            )
            self._claims_on[key] = found
        return found


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

"""What the core needs to see of records: their shape, and nothing of how they are read.

Rows come from the tables' models, or on a page from a data script; both have these attributes. None
of this is printed: a page's scripts ask no object what it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal, Protocol

Qualifier = Literal["", "<", ">", "open"]
Calibration = Literal["valid", "lapsed", "unknown"]
Equivalent = Literal["series", "parallel"]
Evidence = Literal["published", "common_practice", "recalled", "measured", "invented"]
ArchiveKind = Literal["measured", "invented"]
ClaimOrigin = Literal["reference", "archive"]
PropertyKind = Literal["quantity", "category"]
PropertyOrigin = Literal["read", "derived", "either"]
MagnetValueKind = Literal["typical", "minimum"]
Reduction = Literal[
    "copper", "inductance", "capacitance", "frequency", "flux", "length", "insulation", "none"
]


class PropertySeen(Protocol):
    """A property, as properties.csv declares it."""

    @property
    def property_id(self) -> str: ...

    @property
    def name(self) -> str: ...

    @property
    def unit(self) -> str | None: ...

    @property
    def kind(self) -> PropertyKind: ...

    @property
    def component(self) -> str: ...

    @property
    def origin(self) -> PropertyOrigin: ...

    @property
    def reduction(self) -> Reduction: ...

    @property
    def hard_low(self) -> float | None: ...

    @property
    def hard_high(self) -> float | None: ...

    @property
    def plausible_low(self) -> float | None: ...

    @property
    def plausible_high(self) -> float | None: ...

    @property
    def decimals(self) -> int | None: ...

    @property
    def categories(self) -> Sequence[str]: ...


class FamilySeen(Protocol):
    """A family, as families.csv declares it."""

    @property
    def family_id(self) -> str: ...

    @property
    def name(self) -> str: ...

    @property
    def coils(self) -> int: ...

    @property
    def poles(self) -> int: ...

    @property
    def pole_kind(self) -> str: ...

    @property
    def positions(self) -> Sequence[str]: ...

    @property
    def bobbin_id(self) -> str | None: ...

    @property
    def wire_id(self) -> str | None: ...

    @property
    def first_year(self) -> int: ...

    @property
    def last_year(self) -> int: ...

    @property
    def near(self) -> Sequence[str]: ...


class PeriodSeen(Protocol):
    """A period of a family."""

    @property
    def period_id(self) -> str: ...

    @property
    def family_id(self) -> str: ...

    @property
    def name(self) -> str: ...

    @property
    def first_year(self) -> int: ...

    @property
    def last_year(self) -> int: ...


class FeatureSeen(Protocol):
    """A feature that dates a piece."""

    @property
    def feature_id(self) -> str: ...

    @property
    def name(self) -> str: ...

    @property
    def families(self) -> Sequence[str]: ...

    @property
    def first_year(self) -> int | None: ...

    @property
    def last_year(self) -> int | None: ...


class WireSeen(Protocol):
    """A wire; diameters are in mm."""

    @property
    def wire_id(self) -> str: ...

    @property
    def awg(self) -> int: ...

    @property
    def build(self) -> str: ...

    @property
    def bare_min_mm(self) -> float: ...

    @property
    def bare_nom_mm(self) -> float: ...

    @property
    def bare_max_mm(self) -> float: ...

    @property
    def overall_min_mm(self) -> float: ...

    @property
    def overall_nom_mm(self) -> float: ...

    @property
    def overall_max_mm(self) -> float: ...


class BobbinSeen(Protocol):
    """A bobbin; lengths are in mm."""

    @property
    def bobbin_id(self) -> str: ...

    @property
    def core_length_mm(self) -> float: ...

    @property
    def core_width_mm(self) -> float: ...

    @property
    def winding_height_mm(self) -> float: ...

    @property
    def winding_depth_mm(self) -> float: ...


class MagnetSeen(Protocol):
    """A grade of magnet."""

    @property
    def magnet_id(self) -> str: ...

    @property
    def grade(self) -> str: ...

    @property
    def material(self) -> str: ...

    @property
    def process(self) -> str: ...

    @property
    def standard(self) -> str: ...

    @property
    def value_kind(self) -> MagnetValueKind: ...

    @property
    def br_mt(self) -> float: ...

    @property
    def hc_ka_per_m(self) -> float: ...

    @property
    def bhmax_kj_per_m3(self) -> float: ...

    @property
    def edition(self) -> str: ...

    @property
    def evidence(self) -> Evidence: ...

    @property
    def source_id(self) -> str | None: ...

    @property
    def locator(self) -> str | None: ...


class InstrumentSeen(Protocol):
    """What an instrument's maker promises."""

    @property
    def instrument_id(self) -> str: ...

    @property
    def accuracy_percent(self) -> float: ...

    @property
    def accuracy_digits(self) -> float: ...


class ReadingRowSeen(Protocol):
    """A reading's row, as written."""

    @property
    def piece_id(self) -> str: ...

    @property
    def component(self) -> str: ...

    @property
    def property_id(self) -> str: ...

    @property
    def value(self) -> str: ...

    @property
    def qualifier(self) -> str | None: ...

    @property
    def unit(self) -> str | None: ...

    @property
    def temperature(self) -> str | None: ...

    @property
    def temperature_uncertainty(self) -> str | None: ...

    @property
    def circuit(self) -> str | None: ...

    @property
    def parallel(self) -> str | None: ...

    @property
    def parallel_tolerance(self) -> float | None: ...

    @property
    def test_frequency(self) -> str | None: ...

    @property
    def equivalent(self) -> str | None: ...

    @property
    def standoff(self) -> str | None: ...

    @property
    def zero(self) -> str | None: ...

    @property
    def instrument_id(self) -> str | None: ...


class ReadingSeen(Protocol):
    """A reading with its value and conditions read; values are in the property's unit."""

    @property
    def row(self) -> ReadingRowSeen: ...

    @property
    def line(self) -> int: ...

    @property
    def value(self) -> float | None: ...

    @property
    def qualifier(self) -> Qualifier: ...

    @property
    def category(self) -> str | None: ...

    @property
    def step(self) -> float | None: ...

    @property
    def temperature_c(self) -> float | None: ...

    @property
    def temperature_half_width_k(self) -> float: ...

    @property
    def parallel_ohm(self) -> float | None: ...

    @property
    def parallel_tolerance(self) -> float: ...

    @property
    def test_frequency_hz(self) -> float | None: ...

    @property
    def instrument(self) -> InstrumentSeen | None: ...

    @property
    def calibration(self) -> Calibration: ...

    @property
    def equivalent(self) -> Equivalent: ...

    @property
    def standoff_m(self) -> float: ...

    @property
    def standoff_step_m(self) -> float | None: ...

    @property
    def zero(self) -> float | None: ...

    @property
    def zero_step(self) -> float | None: ...

    @property
    def lead_resistance_ohm(self) -> float: ...

    @property
    def input_resistance_ohm(self) -> float | None: ...

    @property
    def input_capacitance_f(self) -> float: ...

    @property
    def sensor_depth_m(self) -> float: ...

    @property
    def day(self) -> str: ...

    @property
    def property(self) -> PropertySeen: ...


class PieceRowSeen(Protocol):
    """A piece's row."""

    @property
    def piece_id(self) -> str: ...

    @property
    def family_id(self) -> str: ...

    @property
    def year_first(self) -> int | None: ...

    @property
    def year_last(self) -> int | None: ...

    @property
    def position(self) -> str | None: ...

    @property
    def state(self) -> str: ...

    @property
    def features(self) -> Sequence[str]: ...


class PieceSeen(Protocol):
    """A piece and all its readings, in the order of the file."""

    @property
    def row(self) -> PieceRowSeen: ...

    @property
    def family(self) -> FamilySeen: ...

    @property
    def readings(self) -> Sequence[ReadingSeen]: ...


class ClaimRowSeen(Protocol):
    """A claim's row, as written."""

    @property
    def claim_id(self) -> str: ...

    @property
    def family_id(self) -> str: ...

    @property
    def period_id(self) -> str | None: ...

    @property
    def position(self) -> str | None: ...

    @property
    def property_id(self) -> str: ...

    @property
    def low(self) -> str | None: ...

    @property
    def typical(self) -> str | None: ...

    @property
    def high(self) -> str | None: ...

    @property
    def category(self) -> str | None: ...

    @property
    def unit(self) -> str | None: ...

    @property
    def evidence(self) -> Evidence: ...

    @property
    def source_id(self) -> str | None: ...

    @property
    def locator(self) -> str | None: ...

    @property
    def remark(self) -> str | None: ...


class ClaimSeen(Protocol):
    """A claim with its numbers read, in the property's unit."""

    @property
    def row(self) -> ClaimRowSeen: ...

    @property
    def origin(self) -> ClaimOrigin: ...

    @property
    def low(self) -> float | None: ...

    @property
    def typical(self) -> float | None: ...

    @property
    def high(self) -> float | None: ...

    @property
    def breakable(self) -> tuple[float | None, float | None]: ...

    @property
    def property(self) -> PropertySeen: ...


class ThresholdsSeen(Protocol):
    """From which probability on a value is inside, and up to which it is outside."""

    @property
    def inside(self) -> float: ...

    @property
    def outside(self) -> float: ...


class SettingsSeen(Protocol):
    """An archive's settings."""

    @property
    def kind(self) -> ArchiveKind: ...

    @property
    def thresholds(self) -> ThresholdsSeen: ...


class ArchiveSeen(Protocol):
    """An archive, as far as single pieces are judged by it."""

    @property
    def settings(self) -> SettingsSeen: ...

    @property
    def claims(self) -> tuple[ClaimSeen, ...]: ...


class ReferenceSeen(Protocol):
    """The documented side."""

    @property
    def properties(self) -> Mapping[str, PropertySeen]: ...

    @property
    def families(self) -> Mapping[str, FamilySeen]: ...

    @property
    def features(self) -> Mapping[str, FeatureSeen]: ...

    @property
    def claims(self) -> tuple[ClaimSeen, ...]: ...

    @property
    def wires(self) -> Mapping[str, WireSeen]: ...

    @property
    def bobbins(self) -> Mapping[str, BobbinSeen]: ...

    @property
    def magnets(self) -> Mapping[str, MagnetSeen]: ...

    def periods_of(self, family_id: str) -> tuple[PeriodSeen, ...]: ...

    def claims_on(self, family_id: str, property_id: str) -> tuple[ClaimSeen, ...]: ...

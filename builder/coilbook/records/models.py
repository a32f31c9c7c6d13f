"""One frozen pydantic model per table: what a row may be.

These models are the data's only definition. The CSV reader validates rows with them, the data
dictionary and ``datapackage.json`` are generated from them, and later rooms read their fields.
Cells arrive as text; a cell that is empty becomes ``None`` (or ``()`` for a list).

A rule that needs one row alone lives here. A rule that needs another table (a reference, a unit, a
bound) lives in :mod:`coilbook.records.rules`.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from typing import Annotated, Any, ClassVar, Literal, TypeVar, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    ValidationInfo,
    model_validator,
)

Evidence = Literal["published", "common_practice", "recalled", "measured", "invented"]
EVIDENCE: tuple[str, ...] = get_args(Evidence)

_ID = re.compile(r"[A-Za-z0-9]+(?:-[A-Za-z0-9]+)*\Z")
#: An id becomes a folder's name, and one system cannot make these.
_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])\Z", re.IGNORECASE)
_YEAR = (1900, 2100)


class RowError(ValueError):
    """A row breaks a rule of its model. ``column`` may name a column other than the validator's."""

    def __init__(self, what: str, todo: str, column: str = "") -> None:
        self.what, self.todo, self.column = what, todo, column
        super().__init__(f"{what} {todo}")


_Row = TypeVar("_Row", bound=BaseModel)


def _rule(check: Callable[[_Row], _Row]) -> Any:
    """Make a rule of a whole row from a check that raises :class:`RowError`.

    With a list as the validation's context, faults are put there and the row goes on, so that a
    reader can tell all of them, and what other tables say of the row, in one run.
    """

    def run(row: _Row, info: ValidationInfo) -> _Row:
        try:
            return check(row)
        except RowError as fault:
            if info.context is None:
                raise
            info.context.append(fault)
            return row

    return model_validator(mode="after")(run)


def _check_id(text: str) -> str:
    if not _ID.match(text):
        raise RowError(
            f"'{text}' is not an id.",
            "Use letters, digits and single hyphens, as in full-size-humbucker.",
        )
    if _DEVICE.match(text):
        raise RowError(
            f"'{text}' cannot be a folder's name on every computer.", "Add a digit or a word to it."
        )
    return text


def _split(value: object) -> object:
    if isinstance(value, str):
        return tuple(part.strip() for part in value.split(";") if part.strip())
    return () if value is None else value


def _number(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return float(value)
    except ValueError:
        raise RowError(
            f"'{value}' is not a plain number.", "Write digits with a decimal point, as in 0.0635."
        ) from None


def _whole(value: object) -> object:
    if not isinstance(value, str):
        return value
    if not re.fullmatch(r"[+-]?\d+", value):
        raise RowError(f"'{value}' is not a whole number.", "Write digits only, as in 1959.")
    return int(value)


def _year(value: int) -> int:
    if not _YEAR[0] <= value <= _YEAR[1]:
        raise RowError(
            f"{value} is not a year between {_YEAR[0]} and {_YEAR[1]}.", "Write four digits."
        )
    return value


def _date(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return dt.date.fromisoformat(value)
    except ValueError:
        raise RowError(f"'{value}' is not a date.", "Write it as 2026-03-14.") from None


def _yes_no(value: object) -> object:
    if isinstance(value, str):
        if value in ("yes", "no"):
            return value == "yes"
        raise RowError(f"'{value}' is neither yes nor no.", "Write yes or no.")
    return value


Id = Annotated[str, AfterValidator(_check_id)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(_split), PlainSerializer(lambda ids: ";".join(ids))]
Words = Annotated[
    tuple[str, ...], BeforeValidator(_split), PlainSerializer(lambda words: ";".join(words))
]
Number = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
NonNegative = Annotated[Number, Field(ge=0)]
Positive = Annotated[Number, Field(gt=0)]
Whole = Annotated[int, BeforeValidator(_whole)]
Year = Annotated[int, AfterValidator(_year), BeforeValidator(_whole)]
Date = Annotated[dt.date, BeforeValidator(_date)]
YesNo = Annotated[
    bool, BeforeValidator(_yes_no), PlainSerializer(lambda yes: "yes" if yes else "no")
]
#: A value as somebody wrote it; it is read later, when the unit that a bare number means is known.
AsWritten = str

Component = Literal[
    "pickup", "coil", "coil_a", "coil_b", "pair", "magnet", "magnet_a", "magnet_b", "cover", "lead"
]
#: What a property may be said of, and the parts of a piece at which it is read.
COMPONENT_PARTS: dict[str, tuple[str, ...]] = {
    "pickup": ("pickup",),
    "coil": ("coil", "coil_a", "coil_b"),
    "pair": ("pair",),
    "magnet": ("magnet", "magnet_a", "magnet_b"),
    "cover": ("cover",),
    "lead": ("lead",),
}


class Row(BaseModel):
    """A row of any table."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    #: Columns that together tell a row from every other of its table.
    key: ClassVar[tuple[str, ...]] = ()

    @model_validator(mode="before")
    @classmethod
    def _empty_cells_are_none(cls, data: Any) -> Any:
        if isinstance(data, dict):
            return {
                name: None if isinstance(cell, str) and not cell.strip() else cell
                for name, cell in data.items()
            }
        return data


class Evidenced(Row):
    """A row that says how we know: published needs a source and a locator, the rest forbid both."""

    evidence: Evidence = Field(description="How we know: published, common_practice or recalled.")
    source_id: Id | None = Field(None, description="The source in sources.csv, if published.")
    locator: str | None = Field(None, description="Page, table or clause within the source.")

    @_rule
    def _evidence_and_source_agree(self) -> Evidenced:
        if self.evidence == "published":
            for column in ("source_id", "locator"):
                if getattr(self, column) is None:
                    raise RowError(
                        f"published evidence needs a {column}.",
                        "Name where it stands, or lower the evidence to common_practice or "
                        "recalled.",
                        column,
                    )
        elif self.source_id is not None or self.locator is not None:
            column = "source_id" if self.source_id is not None else "locator"
            raise RowError(
                f"{self.evidence} evidence has no source, yet {column} is filled in.",
                "Empty source_id and locator, or make the evidence published.",
                column,
            )
        return self


def _ordered(row: Row, low: str, high: str) -> None:
    first, last = getattr(row, low), getattr(row, high)
    if first is not None and last is not None and first > last:
        raise RowError(
            f"{low} {first} is above {high} {last}.",
            "Swap them or correct the one that is wrong.",
            low,
        )


# --- reference -----------------------------------------------------------------------------------


class Property(Row):
    """A property that claims state and readings measure; the only place a unit is declared."""

    key = ("property_id",)

    property_id: Id = Field(description="The property's id.")
    name: str = Field(description="What the trade calls it.")
    symbol: str | None = Field(None, description="Its usual letter, if it has one.")
    unit: str | None = Field(None, description="The unit of every stored and shown value.")
    kind: Literal["quantity", "category"] = Field(description="A number with a unit, or a word.")
    component: Literal["pickup", "coil", "pair", "magnet", "cover", "lead"] = Field(
        description="The part of a piece that has it."
    )
    origin: Literal["read", "derived", "either"] = Field(
        description="Read at the bench, derived by the builder, or either."
    )
    reduction: Literal["copper", "none"] = Field(
        description="How a reading is reduced: copper (to 20 °C and out of circuit) or none."
    )
    hard_low: Number | None = Field(None, description="A value below this is an error.")
    hard_high: Number | None = Field(None, description="A value above this is an error.")
    plausible_low: Number | None = Field(None, description="A value below this is doubtful.")
    plausible_high: Number | None = Field(None, description="A value above this is doubtful.")
    decimals: Whole | None = Field(None, description="Decimals shown, at the most.")
    categories: Words = Field((), description="The words a category may take, split by ;")
    core: YesNo = Field(description="Whether every family should have a claim of it.")
    definition: str = Field(description="What exactly is meant, in one sentence.")

    @_rule
    def _kind_fits(self) -> Property:
        if self.kind == "quantity" and (self.unit is None or self.decimals is None):
            column, what = ("unit", "a unit") if self.unit is None else ("decimals", "decimals")
            raise RowError(f"a quantity needs {what}.", "Fill it in.", column)
        if self.kind == "category" and not self.categories:
            raise RowError("a category needs its words.", "List them, split by ;", "categories")
        _ordered(self, "hard_low", "hard_high")
        _ordered(self, "plausible_low", "plausible_high")
        return self


class Family(Evidenced):
    """A construction of pickup."""

    key = ("family_id",)

    family_id: Id = Field(description="The family's id; its page is /families/<family_id>/.")
    name: str = Field(description="A plain descriptive name; never a maker's or a model's.")
    summary: str = Field(description="How it is built, in one or two sentences.")
    coils: Literal[1, 2] = Field(description="1 or 2 coils.")
    poles: Whole = Field(description="Poles per coil.")
    pole_kind: Literal["screws", "slugs-and-screws", "rods", "blade", "none"] = Field(
        description="What brings the field to the strings."
    )
    positions: Ids = Field(description="The positions it was made for, split by ;")
    bobbin_id: Id | None = Field(None, description="Its usual bobbin in bobbins.csv.")
    wire_id: Id | None = Field(None, description="Its usual wire in wires.csv.")
    turns_per_coil: Whole | None = Field(None, description="About how many turns, for drawings.")
    first_year: Year = Field(description="The first year of the type.")
    last_year: Year = Field(description="The last year that this reference covers.")
    near: Ids = Field((), description="Families that are easily taken for it, split by ;")
    tell_apart: str | None = Field(None, description="How to tell it from those.")
    often_altered: str | None = Field(None, description="What is commonly changed on it.")
    remark: str | None = Field(None, description="Anything else.")

    @model_validator(mode="before")
    @classmethod
    def _coils_is_a_number(cls, data: Any) -> Any:
        if isinstance(data, dict) and data.get("coils") in ("1", "2"):
            return {**data, "coils": int(data["coils"])}
        return data

    @_rule
    def _years_in_order(self) -> Family:
        _ordered(self, "first_year", "last_year")
        return self


class Period(Evidenced):
    """A span of years within a family in which practice says something distinct."""

    key = ("period_id",)

    period_id: Id = Field(description="The period's id.")
    family_id: Id = Field(description="The family in families.csv.")
    name: str = Field(description="How it is shown, as in 1957–58.")
    first_year: Year = Field(description="Its first year.")
    last_year: Year = Field(description="Its last year.")
    summary: str = Field(description="What sets it apart, in one sentence.")

    @_rule
    def _years_in_order(self) -> Period:
        _ordered(self, "first_year", "last_year")
        return self


class Feature(Evidenced):
    """Something seen on a piece that narrows its years."""

    key = ("feature_id",)

    feature_id: Id = Field(description="The feature's id.")
    feature_kind: Literal[
        "lead-wire", "cover", "bobbin", "base", "label", "magnet", "screws", "tape", "wire", "other"
    ] = Field(description="What sort of thing it is.")
    name: str = Field(description="What is seen.")
    families: Ids = Field((), description="Families it is met on, split by ; (empty: any).")
    first_year: Year | None = Field(None, description="Not before this year, if known.")
    last_year: Year | None = Field(None, description="Not after this year, if known.")
    how_to_see: str | None = Field(None, description="How to see it without harm.")
    remark: str | None = Field(None, description="What is often faked or changed.")

    @_rule
    def _years_in_order(self) -> Feature:
        _ordered(self, "first_year", "last_year")
        return self


class ClaimRow(Evidenced):
    """One documented statement, as written."""

    key = ("claim_id",)

    claim_id: Id = Field(description="The claim's id.")
    family_id: Id = Field(description="The family in families.csv.")
    period_id: Id | None = Field(None, description="The period in periods.csv (empty: all).")
    position: Id | None = Field(None, description="The position (empty: all).")
    property_id: Id = Field(description="The property in properties.csv.")
    low: AsWritten | None = Field(None, description="The lower end, as written.")
    typical: AsWritten | None = Field(None, description="The usual value, as written.")
    high: AsWritten | None = Field(None, description="The upper end, as written.")
    category: str | None = Field(None, description="The word, for a category property.")
    unit: str | None = Field(None, description="The unit of low, typical and high.")
    remark: str | None = Field(None, description="A condition or doubt that belongs to it.")

    @_rule
    def _says_something(self) -> ClaimRow:
        numbers = [c for c in ("low", "typical", "high") if getattr(self, c) is not None]
        if self.category is None and not numbers:
            raise RowError(
                "the claim states nothing.", "Fill in low, typical, high or category.", "typical"
            )
        if self.category is not None and numbers:
            raise RowError(
                f"the claim gives a category and a {numbers[0]}.",
                "Keep one of the two.",
                "category",
            )
        return self


class Wire(Evidenced):
    """A gauge of round copper wire in one build of insulation."""

    key = ("wire_id",)

    wire_id: Id = Field(description="The wire's id.")
    awg: Whole = Field(description="American Wire Gauge.")
    build: Literal["single", "heavy"] = Field(description="Build of the insulation.")
    bare_min_mm: Positive = Field(description="Bare diameter, least, mm.")
    bare_nom_mm: Positive = Field(description="Bare diameter, nominal, mm.")
    bare_max_mm: Positive = Field(description="Bare diameter, most, mm.")
    overall_min_mm: Positive = Field(description="Diameter over the insulation, least, mm.")
    overall_nom_mm: Positive = Field(description="Diameter over the insulation, nominal, mm.")
    overall_max_mm: Positive = Field(description="Diameter over the insulation, most, mm.")
    standard: str = Field(description="The standard that the figures follow.")
    remark: str | None = Field(None, description="What is rounded, missing or disputed.")

    @_rule
    def _in_order(self) -> Wire:
        for which in ("bare", "overall"):
            _ordered(self, f"{which}_min_mm", f"{which}_nom_mm")
            _ordered(self, f"{which}_nom_mm", f"{which}_max_mm")
        _ordered(self, "bare_nom_mm", "overall_nom_mm")
        return self


class Magnet(Evidenced):
    """A grade of magnet after one standard."""

    key = ("magnet_id",)

    magnet_id: Id = Field(description="The row's id.")
    grade: str = Field(description="The grade's number or letters.")
    process: Literal["cast", "sintered"] = Field(description="How it is made.")
    standard: str = Field(description="The standard.")
    edition: str = Field(description="Its edition.")
    value_kind: Literal["typical", "minimum"] = Field(description="Which the standard gives.")
    br_mt: Positive = Field(description="Remanence, mT.")
    hc_ka_per_m: Positive = Field(description="Coercivity, kA/m.")
    bhmax_kj_per_m3: Positive = Field(description="Maximum energy product, kJ/m³.")
    remark: str | None = Field(None, description="Anything else.")


class Bobbin(Evidenced):
    """A bobbin, as a racetrack core with a winding window."""

    key = ("bobbin_id",)

    bobbin_id: Id = Field(description="The bobbin's id.")
    name: str = Field(description="What it is.")
    core_length_mm: Positive = Field(description="Length of the core that the wire goes round, mm.")
    core_width_mm: Positive = Field(description="Width of that core, mm.")
    winding_height_mm: Positive = Field(description="Height between the flanges, mm.")
    winding_depth_mm: Positive = Field(description="Depth from core to the flange's edge, mm.")
    remark: str | None = Field(None, description="Anything else.")

    @_rule
    def _longer_than_wide(self) -> Bobbin:
        _ordered(self, "core_width_mm", "core_length_mm")
        return self


class Source(Row):
    """Where a published figure stands."""

    key = ("source_id",)

    source_id: Id = Field(description="The source's id.")
    kind: Literal["standard", "handbook", "paper", "dataset", "software", "book"] = Field(
        description="What sort of document."
    )
    title: str = Field(description="Its title.")
    edition: str | None = Field(None, description="Edition or version.")
    year: Year | None = Field(None, description="Year of that edition.")
    rights: str = Field(description="What may be done with it.")
    checked: Literal["read", "cross-checked", "recalled"] = Field(
        description="read: the page was open; cross-checked: two other sources agree; recalled."
    )
    remark: str | None = Field(None, description="How it was checked, and what is doubtful.")


# --- archive -------------------------------------------------------------------------------------


class PieceRow(Row):
    """One pickup."""

    key = ("piece_id",)

    piece_id: Id = Field(description="The piece's id; its page is /pieces/<piece_id>/.")
    family_id: Id = Field(description="The family in families.csv.")
    year_first: Year | None = Field(None, description="Not made before this year.")
    year_last: Year | None = Field(None, description="Not made after this year.")
    year_basis: str | None = Field(None, description="What the years rest on.")
    position: Id | None = Field(None, description="The position it is from, if known.")
    state: Literal["untouched", "repaired", "rewound", "unknown"] = Field(
        description="Whether its winding is the first one."
    )
    condition: str | None = Field(None, description="What is seen of its condition.")
    potted: Literal["yes", "no", "unknown"] = Field(description="Whether it is potted.")
    features: Ids = Field((), description="Features seen, from features.csv, split by ;")
    publish: YesNo = Field(description="no keeps the piece and its readings out of everything.")
    remark: str | None = Field(None, description="Anything else that may be published.")

    @_rule
    def _years_in_order(self) -> PieceRow:
        _ordered(self, "year_first", "year_last")
        if (self.year_first is None) != (self.year_last is None):
            missing = "year_last" if self.year_last is None else "year_first"
            raise RowError(
                f"a span of years needs both ends, and {missing} is empty.",
                "Fill in both (the same year twice is a span) or neither.",
                missing,
            )
        if self.year_first is not None and self.year_basis is None:
            raise RowError(
                "years are given, but not what they rest on.",
                "Say it in year_basis, or empty the years.",
                "year_basis",
            )
        return self


class ReadingRow(Row):
    """One number off one instrument, as read."""

    key = ("piece_id", "component", "property_id", "date", "instrument_id", "value")

    piece_id: Id = Field(description="The piece in pieces.csv.")
    component: Component = Field(description="The part that was measured.")
    property_id: Id = Field(description="The property in properties.csv.")
    value: AsWritten = Field(description="The value as written: 7.82k, 7,82 kΩ, 1 15/16 in, open.")
    qualifier: Literal["<", ">", "open"] | None = Field(
        None, description="< or > for a bound, open for an open circuit."
    )
    unit: str | None = Field(None, description="The unit, where the value does not carry one.")
    temperature: AsWritten | None = Field(None, description="Temperature of the piece, as written.")
    temperature_uncertainty: AsWritten | None = Field(
        None, description="How far off that may be (half-width), as written; 1 K if empty."
    )
    circuit: Literal["free", "in_circuit"] | None = Field(
        None, description="Leads free, or still wired to controls; resistance needs it."
    )
    parallel: AsWritten | None = Field(None, description="Resistance in parallel, if in circuit.")
    parallel_tolerance: Annotated[Number, Field(ge=0, le=50)] | None = Field(
        None, description="Its tolerance in percent; 10 if empty, since parts differ."
    )
    test_frequency: AsWritten | None = Field(None, description="Test frequency, as written.")
    instrument_id: Id | None = Field(None, description="The instrument in instruments.csv.")
    date: Date | None = Field(None, description="The day it was read.")
    remark: str | None = Field(None, description="Anything else that may be published.")

    @_rule
    def _circuit_and_parallel_agree(self) -> ReadingRow:
        if self.parallel is not None and self.circuit != "in_circuit":
            raise RowError(
                "a parallel resistance is given, but the reading is not in_circuit.",
                "Write in_circuit under circuit, or empty parallel.",
                "parallel",
            )
        if self.parallel_tolerance is not None and self.parallel is None:
            raise RowError(
                "a tolerance is given for a parallel resistance that is not.",
                "Fill in parallel, or empty parallel_tolerance.",
                "parallel_tolerance",
            )
        return self


class InstrumentRow(Row):
    """What one instrument promises for one kind of quantity."""

    key = ("instrument_id", "measures")

    instrument_id: Id = Field(description="The instrument's id; one row for each kind it measures.")
    name: str = Field(description="What it is, in plain words: no maker, no model.")
    measures: Literal[
        "resistance",
        "inductance",
        "capacitance",
        "frequency",
        "length",
        "flux_density",
        "temperature",
        "mass",
        "count",
    ] = Field(description="The kind of quantity.")
    accuracy_percent: NonNegative = Field(description="Percent of reading.")
    accuracy_digits: NonNegative = Field(description="Counts of the last digit.")
    resolution: AsWritten | None = Field(
        None, description="One count, as written; empty: the last digit written."
    )
    calibrated: Date | None = Field(None, description="Day of the last calibration.")
    due: Date | None = Field(None, description="Day the next is due.")
    remark: str | None = Field(None, description="Anything else.")

    @_rule
    def _dates_in_order(self) -> InstrumentRow:
        _ordered(self, "calibrated", "due")
        return self


class Thresholds(BaseModel):
    """Where a verdict changes (JCGM 106)."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    inside: float = Field(0.95, ge=0.5, lt=1, description="inside at this probability or more")
    outside: float = Field(0.05, gt=0, le=0.5, description="outside at this probability or less")


class ArchiveSettings(BaseModel):
    """What coilbook.toml may say."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    title: str = Field(min_length=1, description="The site's title.")
    publisher: str = Field(min_length=1, description="Who publishes it.")
    place: str | None = Field(None, description="Where.")
    licence: str = Field(min_length=1, description="The licence of the records, as in CC-BY-4.0.")
    kind: Literal["measured", "invented"] = Field(description="measured, or invented for a demo.")
    base_url: str | None = Field(None, description="Where the site will stand, if known.")
    note: str | None = Field(None, description="A sentence for the home page.")
    thresholds: Thresholds = Field(Thresholds(), description="Where verdicts change.")


#: Tables of dataset/reference, in the order they are read.
REFERENCE_TABLES: dict[str, type[Row]] = {
    "sources.csv": Source,
    "properties.csv": Property,
    "wires.csv": Wire,
    "magnets.csv": Magnet,
    "bobbins.csv": Bobbin,
    "families.csv": Family,
    "periods.csv": Period,
    "features.csv": Feature,
    "claims.csv": ClaimRow,
}

#: Tables of an archive; the last two are the shop's own and may be missing.
ARCHIVE_TABLES: dict[str, type[Row]] = {
    "instruments.csv": InstrumentRow,
    "pieces.csv": PieceRow,
    "readings.csv": ReadingRow,
    "sources.csv": Source,
    "claims.csv": ClaimRow,
}
OPTIONAL_TABLES = frozenset({"sources.csv", "claims.csv"})

"""One frozen pydantic model per table: what a row may be.

These models are the data's only definition. The CSV reader validates rows with them, the data
dictionary and ``datapackage.json`` are generated from them, and later rooms read their fields.
Cells arrive as text; a cell that is empty becomes ``None`` (or ``()`` for a list).

A rule that needs one row alone lives here. A rule that needs another table (a reference, a unit, a
bound) lives in :mod:`coilbook.records.rules`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from coilbook.records.cells import (
    AsWritten,
    Component,
    Date,
    Evidenced,
    Id,
    Ids,
    NonNegative,
    Number,
    Positive,
    Row,
    RowError,
    Whole,
    Words,
    Year,
    YesNo,
    ordered,
    rule,
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

    @rule
    def _kind_fits(self) -> Property:
        if self.kind == "quantity" and (self.unit is None or self.decimals is None):
            column, what = ("unit", "a unit") if self.unit is None else ("decimals", "decimals")
            raise RowError(f"a quantity needs {what}.", "Fill it in.", column)
        if self.kind == "category" and not self.categories:
            raise RowError("a category needs its words.", "List them, split by ;", "categories")
        ordered(self, "hard_low", "hard_high")
        ordered(self, "plausible_low", "plausible_high")
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

    @rule
    def _years_in_order(self) -> Family:
        ordered(self, "first_year", "last_year")
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

    @rule
    def _years_in_order(self) -> Period:
        ordered(self, "first_year", "last_year")
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

    @rule
    def _years_in_order(self) -> Feature:
        ordered(self, "first_year", "last_year")
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

    @rule
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

    @rule
    def _in_order(self) -> Wire:
        for which in ("bare", "overall"):
            ordered(self, f"{which}_min_mm", f"{which}_nom_mm")
            ordered(self, f"{which}_nom_mm", f"{which}_max_mm")
        ordered(self, "bare_nom_mm", "overall_nom_mm")
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

    @rule
    def _longer_than_wide(self) -> Bobbin:
        ordered(self, "core_width_mm", "core_length_mm")
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

    @rule
    def _years_in_order(self) -> PieceRow:
        ordered(self, "year_first", "year_last")
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

    @rule
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

    @rule
    def _dates_in_order(self) -> InstrumentRow:
        ordered(self, "calibrated", "due")
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

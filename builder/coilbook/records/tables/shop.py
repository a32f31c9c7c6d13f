"""One frozen pydantic model per table of an archive, and one for its settings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from coilbook.records.tables.cells import (
    AsWritten,
    Component,
    Date,
    Id,
    Ids,
    LowerId,
    NonNegative,
    Number,
    Row,
    RowError,
    Year,
    YesNo,
    ordered,
    rule,
)


class PieceRow(Row):
    """One pickup."""

    key = ("piece_id",)

    piece_id: Id = Field(description="The piece's id; its page is /pieces/<piece_id>/.")
    family_id: LowerId = Field(description="The family in families.csv.")
    year_first: Year | None = Field(None, description="Not made before this year.")
    year_last: Year | None = Field(None, description="Not made after this year.")
    year_basis: str | None = Field(None, description="What the years rest on.")
    position: LowerId | None = Field(None, description="The position it is from, if known.")
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
        return self

    @rule
    def _years_have_both_ends(self) -> PieceRow:
        if (self.year_first is None) != (self.year_last is None):
            missing = "year_last" if self.year_last is None else "year_first"
            raise RowError(
                "years-with-one-end",
                f"a span of years needs both ends, and {missing} is empty.",
                "Fill in both (the same year twice is a span) or neither.",
                missing,
            )
        return self

    @rule
    def _years_rest_on_something(self) -> PieceRow:
        if self.year_first is not None and self.year_basis is None:
            raise RowError(
                "years-without-a-basis",
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
    equivalent: Literal["series", "parallel"] | None = Field(
        None, description="Which equivalent an inductance was read as; series if empty."
    )
    standoff: AsWritten | None = Field(
        None,
        description="Gap from a pole's face to a flux probe's, as written; none if empty.",
    )
    zero: AsWritten | None = Field(
        None,
        description="What a flux probe showed away from any magnet, as written, with its sign; it "
        "is taken out. A bare number has the value's unit.",
    )
    instrument_id: Id | None = Field(None, description="The instrument in instruments.csv.")
    date: Date | None = Field(None, description="The day it was read.")
    remark: str | None = Field(None, description="Anything else that may be published.")

    @rule
    def _circuit_and_parallel_agree(self) -> ReadingRow:
        if self.parallel is not None and self.circuit != "in_circuit":
            raise RowError(
                "parallel-not-in-circuit",
                "a parallel resistance is given, but the reading is not in_circuit.",
                "Write in_circuit under circuit, or empty parallel.",
                "parallel",
            )
        if self.parallel_tolerance is not None and self.parallel is None:
            raise RowError(
                "tolerance-without-parallel",
                "a tolerance is given for a parallel resistance that is not.",
                "Fill in parallel, or empty parallel_tolerance.",
                "parallel_tolerance",
            )
        return self


#: What an instrument itself does to a reading, and the kinds of quantity of which that can be said.
COLUMNS_OF_KINDS: dict[str, tuple[str, ...]] = {
    "lead_resistance": ("resistance",),
    "input_resistance": ("resistance", "frequency"),
    "input_capacitance": ("frequency", "capacitance"),
    "sensor_depth": ("flux_density",),
}


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
        "ratio",
    ] = Field(description="The kind of quantity.")
    accuracy_percent: NonNegative = Field(description="Percent of reading.")
    accuracy_digits: NonNegative = Field(description="Counts of the last digit.")
    resolution: AsWritten | None = Field(
        None, description="One count, as written; empty: the last digit written."
    )
    calibrated: Date | None = Field(None, description="Day of the last calibration.")
    due: Date | None = Field(
        None,
        description="Day the next is due. A reading made later keeps its value and the last "
        "calibration's uncertainty, is marked, and enters no typical range.",
    )
    lead_resistance: AsWritten | None = Field(
        None, description="Resistance of both test leads and their contacts, with its unit."
    )
    input_resistance: AsWritten | None = Field(
        None, description="Resistance that the instrument puts across the piece, with its unit."
    )
    input_capacitance: AsWritten | None = Field(
        None,
        description="Capacitance that a probe puts across the piece, or that of a bridge's "
        "fixture, with its unit.",
    )
    sensor_depth: AsWritten | None = Field(
        None, description="Depth of a flux probe's sensing spot below its face, with its unit."
    )
    remark: str | None = Field(None, description="Anything else.")

    @rule
    def _dates_in_order(self) -> InstrumentRow:
        ordered(self, "calibrated", "due")
        return self

    @rule
    def _columns_fit_the_kind(self) -> InstrumentRow:
        for column, kinds in COLUMNS_OF_KINDS.items():
            if getattr(self, column) is not None and self.measures not in kinds:
                wanted = " or ".join(kind.replace("_", " ") for kind in kinds)
                raise RowError(
                    "instrument-column-of-another-kind",
                    f"{column} says nothing of an instrument for "
                    f"{self.measures.replace('_', ' ')}.",
                    f"Empty the cell, or put it in the instrument's row for {wanted}.",
                    column,
                )
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

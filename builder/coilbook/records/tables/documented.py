"""One frozen pydantic model per table of the reference: what a documented row may be."""

from __future__ import annotations

import re
from typing import Any, Literal

from pydantic import Field, model_validator

from coilbook.records.tables.cells import (
    AsWritten,
    Evidenced,
    Id,
    Ids,
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

PoleKind = Literal["screws", "slugs-and-screws", "rods", "steel-rods", "blade", "none"]


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
    reduction: Literal[
        "copper", "inductance", "capacitance", "frequency", "flux", "length", "insulation", "none"
    ] = Field(
        description="How a reading is reduced: copper (leads, meter and parallel path taken out, "
        "then to 20 °C), inductance (to the series equivalent), capacitance (the fixture taken "
        "out), frequency (the probe taken out), flux (zero taken out, brought to the face), or "
        "kept as read: length (temperature does not matter), insulation (it halves with about "
        "every 10 K, and nothing is corrected), none."
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
            raise RowError(
                "property-incomplete", f"a quantity needs {what}.", "Fill it in.", column
            )
        if self.kind == "category" and not self.categories:
            raise RowError(
                "property-incomplete",
                "a category needs its words.",
                "List them, split by ;",
                "categories",
            )
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
    pole_kind: PoleKind = Field(description="What brings the field to the strings.")
    positions: Ids = Field(description="The positions it was made for, split by ;")
    bobbin_id: Id | None = Field(None, description="Its usual bobbin in bobbins.csv.")
    wire_id: Id | None = Field(None, description="Its usual wire in wires.csv.")
    turns_per_coil: Whole | None = Field(None, description="About how many turns, for drawings.")
    first_year: Year = Field(description="The first year of the type.")
    last_year: Year = Field(description="The last year that this reference covers.")
    near: Ids = Field((), description="Families that are easily taken for it, split by ;")
    tell_apart: str | None = Field(
        None,
        description="How to tell it from a family that is like it, by looking and without harm: "
        "that family's id, a colon and the text; several are split by an upright bar.",
    )
    varies: str | None = Field(None, description="What differs from one to the next as made.")
    often_altered: str | None = Field(None, description="What is commonly changed on it.")
    fails: str | None = Field(None, description="How it fails.")
    measure_first: str | None = Field(None, description="What to measure first.")
    remark: str | None = Field(None, description="Anything else.")
    split_coils: YesNo = Field(
        False, description="Whether each of two coils lies under some of the strings alone."
    )

    @model_validator(mode="before")
    @classmethod
    def _coils_is_a_number(cls, data: Any) -> Any:
        if isinstance(data, dict) and data.get("coils") in ("1", "2"):
            return {**data, "coils": int(data["coils"])}
        return data

    @property
    def told_apart(self) -> dict[str, str]:
        """Return how to tell it from each family that is like it, by that family's id."""
        parts = (part.partition(":") for part in (self.tell_apart or "").split("|"))
        return {other.strip(): text.strip() for other, colon, text in parts if colon}

    @rule
    def _years_in_order(self) -> Family:
        ordered(self, "first_year", "last_year")
        return self

    @rule
    def _only_two_coils_are_split(self) -> Family:
        if self.split_coils and self.coils == 1:
            raise RowError(
                "split-of-one-coil",
                "one coil cannot be split over the strings.",
                "Write no under split_coils, or 2 under coils.",
                "split_coils",
            )
        return self

    @rule
    def _told_apart_by_id(self) -> Family:
        parts = [part.strip() for part in (self.tell_apart or "").split("|") if part.strip()]
        for part in parts:
            other, colon, text = part.partition(":")
            if not (colon and text.strip() and re.fullmatch(r"[A-Za-z0-9-]+", other.strip())):
                raise RowError(
                    "tell-apart-without-id",
                    f"'{part[:40]}' does not say of which family it tells this one apart.",
                    "Begin it with that family's id and a colon; split several by |",
                    "tell_apart",
                )
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
                "claim-empty",
                "the claim states nothing.",
                "Fill in low, typical, high or category.",
                "typical",
            )
        if self.category is not None and numbers:
            raise RowError(
                "claim-of-two-kinds",
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
    material: Literal["alnico", "ferrite"] = Field(
        description="Aluminium-nickel-cobalt, or hard ferrite."
    )
    process: Literal["cast", "sintered", "bonded"] = Field(description="How it is made.")
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

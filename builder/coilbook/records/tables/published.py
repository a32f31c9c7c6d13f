"""Models of the reference's tables of published and usual figures that no family needs by itself.

Wires, magnets and bobbins, which the computation rests on, are in
:mod:`coilbook.records.tables.documented`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from coilbook.records.tables.cells import (
    Evidenced,
    Id,
    NonNegative,
    Number,
    Positive,
    Whole,
    YesNo,
    ordered,
    rule,
)


class OtherWire(Evidenced):
    """A round copper wire of another system, beside the gauges of wires.csv."""

    key = ("other_wire_id",)

    other_wire_id: Id = Field(description="The wire's id.")
    system: Literal["awg-half", "iec", "swg"] = Field(
        description="Half sizes of the American Wire Gauge, metric sizes of IEC 60317, or the "
        "British standard wire gauge."
    )
    size: Number = Field(description="The gauge, or the nominal diameter in mm.")
    build: Literal["single", "heavy", "grade-1", "grade-2", "bare"] = Field(
        description="Build or grade of the insulation; bare if the table has none."
    )
    bare_min_mm: Positive | None = Field(None, description="Bare diameter, least, mm.")
    bare_nom_mm: Positive = Field(description="Bare diameter, nominal, mm.")
    bare_max_mm: Positive | None = Field(None, description="Bare diameter, most, mm.")
    overall_min_mm: Positive | None = Field(
        None, description="Diameter over the insulation, least, mm."
    )
    overall_nom_mm: Positive | None = Field(
        None, description="Diameter over the insulation, nominal, mm; IEC 60317 gives none."
    )
    overall_max_mm: Positive | None = Field(
        None, description="Diameter over the insulation, most, mm."
    )
    standard: str = Field(description="The standard that the figures follow.")
    remark: str | None = Field(None, description="What is rounded, missing or disputed.")

    @rule
    def _in_order(self) -> OtherWire:
        ordered(self, "bare_min_mm", "bare_nom_mm")
        ordered(self, "bare_nom_mm", "bare_max_mm")
        ordered(self, "overall_min_mm", "overall_max_mm")
        ordered(self, "bare_nom_mm", "overall_max_mm")
        return self


class Insulation(Evidenced):
    """A kind of enamel on winding wire, described so that it can be told without harm."""

    key = ("insulation_id",)

    insulation_id: Id = Field(description="The insulation's id.")
    wire_word: str = Field(description="The word for it in the property wire-insulation.")
    name: str = Field(description="What the trade calls it.")
    kind: str = Field(description="What it is made of.")
    colour: str = Field(description="Its colour as seen, and what colour proves.")
    thermal_class_c: Whole | None = Field(None, description="Thermal class, °C.")
    class_checked: Literal["read", "cross-checked", "recalled"] = Field(
        description="How the thermal class was checked."
    )
    solderable: YesNo = Field(description="Whether it breaks down in hot solder, unstripped.")
    strip: str = Field(description="How a joint is made to it, with the cautions that go with it.")
    ageing: str = Field(description="How it ages.")
    tell: str = Field(description="How to tell it without harm.")
    remark: str | None = Field(None, description="Anything else.")


class Alloy(Evidenced):
    """A metal of covers, plates, poles or plating, and how badly it conducts at 20 °C."""

    key = ("alloy_id",)

    alloy_id: Id = Field(description="The metal's id.")
    name: str = Field(description="What the trade calls it.")
    use: str = Field(description="Where on a pickup it is met.")
    standard: str | None = Field(None, description="The standard that gives the figure, if any.")
    resistivity_low_nohm_m: Positive | None = Field(
        None, description="Resistivity at 20 °C, low end, nΩ·m."
    )
    resistivity_typical_nohm_m: Positive | None = Field(
        None, description="Resistivity at 20 °C, usual, nΩ·m."
    )
    resistivity_high_nohm_m: Positive | None = Field(
        None, description="Resistivity at 20 °C, high end, nΩ·m."
    )
    permeability_id: Id | None = Field(
        None, description="Its row in permeabilities.csv (empty: as air, or not known)."
    )
    meaning: str = Field(description="What it means for a pickup.")
    remark: str | None = Field(None, description="What the band stands for.")

    @rule
    def _in_order(self) -> Alloy:
        ordered(self, "resistivity_low_nohm_m", "resistivity_typical_nohm_m")
        ordered(self, "resistivity_typical_nohm_m", "resistivity_high_nohm_m")
        ordered(self, "resistivity_low_nohm_m", "resistivity_high_nohm_m")
        return self


class Permeability(Evidenced):
    """How well a metal of poles or magnets leads the field, over air, in a broad band."""

    key = ("permeability_id",)

    permeability_id: Id = Field(description="The row's id.")
    name: str = Field(description="Which metal, in which state.")
    kind: Literal["initial", "maximum", "recoil"] = Field(
        description="In a weak field, at its highest, or about a magnet's working point."
    )
    relative_low: Positive = Field(description="Low end of the relative permeability.")
    relative_typical: Positive | None = Field(None, description="Its usual value, if there is one.")
    relative_high: Positive = Field(description="High end of the relative permeability.")
    standard: str | None = Field(None, description="The standard that gives the figure, if any.")
    remark: str | None = Field(None, description="What moves it, or what it means.")

    @rule
    def _in_order(self) -> Permeability:
        ordered(self, "relative_low", "relative_typical")
        ordered(self, "relative_typical", "relative_high")
        ordered(self, "relative_low", "relative_high")
        return self


class NominalPart(Evidenced):
    """A part that a pickup is wired to, by its nominal value and usual tolerance."""

    key = ("part_id",)

    part_id: Id = Field(description="The part's id.")
    kind: Literal["pot", "tone-capacitor", "cable", "length", "lead", "input"] = Field(
        description="What sort of part, or the length of one."
    )
    name: str = Field(description="What it is.")
    low: Positive | None = Field(None, description="Low end of what is met, in unit.")
    nominal: Positive | None = Field(None, description="Nominal or usual value, in unit.")
    high: Positive | None = Field(None, description="High end of what is met, in unit.")
    unit: str = Field(description="The unit of low, nominal and high.")
    tolerance_percent: NonNegative | None = Field(
        None, description="Usual tolerance of the nominal value, ± %."
    )
    series: Literal["E6", "1-2-5"] | None = Field(
        None, description="The series of preferred values that it belongs to."
    )
    remark: str | None = Field(None, description="Taper, age, or anything else.")

    @rule
    def _in_order(self) -> NominalPart:
        ordered(self, "low", "nominal")
        ordered(self, "nominal", "high")
        ordered(self, "low", "high")
        return self

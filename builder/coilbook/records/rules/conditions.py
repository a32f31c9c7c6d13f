"""The conditions of a reading: how warm, with what across it, how far off, read and checked."""

from __future__ import annotations

from coilbook.core import units
from coilbook.core.seen import Equivalent, Qualifier
from coilbook.records.rules.instruments import Traits
from coilbook.records.rules.place import Place
from coilbook.records.rules.shared import plain
from coilbook.records.rules.values import bare_unit, note_unit, read_cell, read_plain
from coilbook.records.tables.documented import Property
from coilbook.records.tables.shop import ReadingRow

COLD_C, HOT_C = -50.0, 100.0
COOL_C, WARM_C = 5.0, 40.0
TEMPERATURE_HALF_WIDTH_K = 1.0

#: Units of conditions as people write them.
_SHOWN = {"ohm": "Ω", "hertz": "Hz"}
#: Columns that only readings of one kind of quantity have.
KIND_OF = {"equivalent": "inductance", "standoff": "flux_density", "zero": "flux_density"}


def read_temperature(
    row: ReadingRow, here: Place, decimal_comma: bool
) -> tuple[float | None, float]:
    """Return the temperature in °C, if one is given, and how far off it may be, in K."""
    temperature = None
    if row.temperature is not None:
        temperature = read_plain(
            row.temperature, "temperature", units.KINDS["temperature"], here,
            target="degC", default_unit="degC", decimal_comma=decimal_comma,
        )  # fmt: skip
    if temperature is not None and row.temperature is not None:
        _check_temperature(row.temperature, temperature, here, decimal_comma)
    if row.temperature_uncertainty is None:
        return temperature, TEMPERATURE_HALF_WIDTH_K
    if row.temperature is None:
        here.error(
            "uncertainty-without-temperature",
            "temperature_uncertainty",
            "an uncertainty is given for a temperature that is not.",
            "Fill in temperature, or empty temperature_uncertainty.",
        )
    half_width = read_plain(
        row.temperature_uncertainty, "temperature_uncertainty",
        units.KINDS["temperature_difference"], here,
        target="difference_K", default_unit="difference_K", decimal_comma=decimal_comma,
    )  # fmt: skip
    if half_width is not None and half_width < 0:
        here.error(
            "uncertainty-negative",
            "temperature_uncertainty",
            f"'{row.temperature_uncertainty}' is below zero.",
            "Write how far off the temperature may be to either side, as in 1 K.",
        )
    return temperature, half_width if half_width is not None else TEMPERATURE_HALF_WIDTH_K


def _check_temperature(text: str, celsius: float, here: Place, decimal_comma: bool) -> None:
    """Refuse or doubt a temperature that no bench has; say so if a bare number may be in °F."""
    if COOL_C <= celsius <= WARM_C:
        return  # in °F no bench would be as cold as that
    bare = bare_unit(text, units.KINDS["temperature"], decimal_comma)
    fahrenheit = bare and COOL_C <= units.convert(celsius, "degF", "degC") <= WARM_C
    meant = f"If it was {text} °F, write that. " if fahrenheit else ""
    assumed = " (no unit is written, and °C was assumed)" if bare else ""
    if not COLD_C <= celsius <= HOT_C:
        here.error(
            "temperature-impossible",
            "temperature",
            f"{celsius:.4g} °C{assumed} is not between {COLD_C:g} and {HOT_C:g} °C.",
            meant.rstrip() or "Correct the temperature or its unit.",
        )
    else:
        here.doubt(
            "temperature-unusual",
            "temperature",
            f"{celsius:.4g} °C{assumed} is unusual for a bench.",
            f"{meant}Leave it if that is what it was."
            if meant
            else "Check the temperature and its unit; leave it if that is what it was.",
        )


def read_positive(
    row: ReadingRow, column: str, kind: str, target: str, here: Place, decimal_comma: bool
) -> float | None:
    """Read a column that holds one number above zero, or nothing."""
    text = getattr(row, column)
    if text is None:
        return None
    value = read_plain(
        text, column, units.KINDS[kind], here,
        target=target, default_unit=target, decimal_comma=decimal_comma,
    )  # fmt: skip
    if value is not None and value <= 0:
        here.error(
            "not-above-zero",
            column,
            f"'{text}' is not above zero.",
            "Correct it, or empty the cell.",
        )
        return None
    if value is not None and bare_unit(text, units.KINDS[kind], decimal_comma):
        note_unit(text, column, _SHOWN[target], here)
    return value


def check_kind(row: ReadingRow, prop: Property, here: Place) -> None:
    """Refuse a condition that says nothing of what was read."""
    kind = None if prop.kind == "category" else units.kind_of(prop.unit or "").name
    for column, wanted in KIND_OF.items():
        if getattr(row, column) is not None and kind != wanted:
            here.error(
                "condition-of-another-kind",
                column,
                f"{prop.property_id} is {plain(kind)}, and {column} belongs to {plain(wanted)}.",
                "Empty the cell, or correct the property.",
            )


def read_equivalent(row: ReadingRow, here: Place) -> Equivalent:
    """Return which equivalent an inductance was read as."""
    if row.equivalent == "parallel" and row.test_frequency is None:
        here.doubt(
            "frequency-missing",
            "test_frequency",
            "a parallel equivalent changes with the test frequency, and none is given.",
            "Write the frequency that the bridge was set to.",
        )
    return row.equivalent or "series"


def read_standoff(row: ReadingRow, here: Place, decimal_comma: bool) -> tuple[float, float | None]:
    """Return a probe's distance from the pole, m, and one count of its last digit."""
    if row.standoff is None:
        return 0.0, None
    parts = read_cell(
        row.standoff, "standoff", units.KINDS["length"], here,
        default_unit="millimeter", decimal_comma=decimal_comma,
    )  # fmt: skip
    if parts is None:
        return 0.0, None
    if parts.qualifier or parts.magnitude is None or parts.unit is None or parts.magnitude < 0:
        here.error(
            "standoff-negative",
            "standoff",
            f"'{row.standoff}' is not a distance of 0 or more.",
            "Write the gap between the probe and the pole, as in 2 mm; leave it empty if they "
            "touched.",
        )
        return 0.0, None
    to_m = units.scale(parts.unit, "meter")
    return parts.magnitude * to_m, None if parts.step is None else parts.step * to_m


def read_zero(
    row: ReadingRow, prop: Property, value_unit: str | None, here: Place, decimal_comma: bool
) -> tuple[float | None, float | None]:
    """Return what a probe showed with no magnet near, in the property's unit, and one count of it.

    A bare number has the unit of the value that it belongs to.
    """
    unit = prop.unit or ""
    if row.zero is None or not unit or units.kind_of(unit).name != KIND_OF["zero"]:
        return None, None
    parts = read_cell(
        row.zero, "zero", units.kind_of(unit), here,
        default_unit=value_unit or units.own_name(unit), decimal_comma=decimal_comma,
    )  # fmt: skip
    if parts is None:
        return None, None
    if parts.qualifier or parts.magnitude is None or parts.unit is None:
        here.error(
            "zero-not-a-number",
            "zero",
            f"'{row.zero}' is not what a probe shows.",
            "Write one number with its sign, as in -1 mT; leave it empty if it showed nothing.",
        )
        return None, None
    to = units.scale(parts.unit, unit)
    return parts.magnitude * to, None if parts.step is None else parts.step * to


def check_copper(
    row: ReadingRow,
    prop: Property,
    value: float | None,
    qualifier: Qualifier,
    parallel_ohm: float | None,
    traits: Traits,
    here: Place,
) -> None:
    """Ask how a resistance of copper was read, and doubt what cannot be."""
    if row.circuit is None:
        here.doubt(
            "circuit-not-said",
            "circuit",
            "nothing says whether the leads were free; they are taken to be.",
            "Write free or in_circuit.",
        )
    elif row.circuit == "in_circuit" and row.parallel is None:
        here.doubt(
            "parallel-not-said",
            "parallel",
            "the reading was taken in circuit, and what lies in parallel is not given; it counts "
            "as a lower bound.",
            "Write the resistance in parallel, or read it again with the leads free.",
        )
    if row.temperature is None and qualifier != "open":
        here.doubt(
            "temperature-missing",
            "temperature",
            "copper changes 0.4 % with every kelvin, and no temperature is given.",
            "Write the temperature of the room.",
        )
    if value is None or qualifier:
        return
    read_ohm = units.convert(value, prop.unit or "", "ohm")
    if 0.0 < read_ohm <= traits.lead_resistance_ohm:
        here.doubt(
            "reading-below-leads",
            "value",
            f"the reading '{row.value}' is not above the {traits.lead_resistance_ohm:g} Ω of the "
            "instrument's leads; it counts as an upper bound.",
            "Check the value and its unit, or the leads in instruments.csv.",
        )
    meter_ohm = traits.input_resistance_ohm
    if meter_ohm is not None and read_ohm >= meter_ohm:
        here.doubt(
            "reading-above-meter",
            "value",
            f"the reading '{row.value}' is not below the {meter_ohm / 1000.0:g} kΩ that the "
            "instrument puts across it, which cannot be.",
            "Check the value and its unit, or input_resistance in instruments.csv.",
        )
    if parallel_ohm is not None and read_ohm >= parallel_ohm:
        here.doubt(
            "reading-above-parallel",
            "parallel",
            f"the reading '{row.value}' is not below the {row.parallel} said to lie in parallel, "
            "which cannot be.",
            "Correct the one that is wrong, or write free if the leads were.",
        )

"""The unit registry: kinds of quantity, their SI unit, and every spelling that people use for them.

One table (:data:`KINDS`) is the only place where a spelling is tied to a unit. pint does the
conversions, on a registry that holds just these units: the stock registry puts the gauss into a
unit system of its own and takes half a second to load.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

import pint

_DEFINITIONS = (
    # Bases; each kind of quantity that we keep apart has its own, so that a mix-up cannot convert.
    "kilo- = 1e3 = k-",
    "mega- = 1e6 = M-",
    "giga- = 1e9 = G-",
    "centi- = 1e-2 = c-",
    "milli- = 1e-3 = m-",
    "micro- = 1e-6 = μ-",
    "nano- = 1e-9 = n-",
    "pico- = 1e-12 = p-",
    "ohm = [resistance]",
    "henry = [inductance]",
    "farad = [capacitance]",
    "hertz = [frequency]",
    "meter = [length]",
    "inch = 0.0254 * meter",
    "mil = 2.54e-5 * meter",
    "tesla = [flux_density]",
    "gauss = 1e-4 * tesla",
    "kelvin = [temperature]; offset: 0",
    "degC = kelvin; offset: 273.15",
    "degF = 5 / 9 * kelvin; offset: 233.15 + 200 / 9",
    "difference_K = [temperature_difference]",
    "difference_F = 5 / 9 * difference_K",
    "gram = [mass]",
    "ounce = 28.349523125 * gram",
    "one = [count]",
    "fraction = [ratio]",
    "percent = 0.01 * fraction",
    "ampere_per_meter = [field_strength]",
    "oersted = 79.57747154594767 * ampere_per_meter",
    "joule_per_cubic_meter = [energy_density]",
    "henry_per_square_kiloohm = [inductance_ratio]",
)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity.

    ``spellings`` maps what people write (after Unicode's NFKC folding, which makes one ohm sign and
    one micro sign of the two that exist of each) to the registry's unit; ``bare`` (SI prefixes
    written without a unit, as in ``7.82k``) maps the prefix letter to the unit it then means.
    """

    name: str
    si: str
    spellings: MappingProxyType[str, str]
    bare: MappingProxyType[str, str]


def _kind(
    name: str, si: str, spellings: dict[str, str], bare: dict[str, str] | None = None
) -> Kind:
    units: dict[str, str] = {}
    for unit, written in spellings.items():
        for spelling in written.split():
            units[spelling.replace("_", " ")] = unit
    return Kind(name, si, MappingProxyType(units), MappingProxyType(bare or {}))


_KINDS = (
    _kind(
        "resistance",
        "ohm",
        {
            "ohm": "Ω ohm ohms Ohm Ohms R",
            "kiloohm": "kΩ KΩ kohm kohms kOhm Kohm kilohm kilohms kiloohm",
            "megaohm": "MΩ Mohm Mohms MOhm megohm megohms megaohm",
            "gigaohm": "GΩ Gohm gigohm gigaohm",
            "milliohm": "mΩ mohm milliohm",
        },
        {"k": "kiloohm", "K": "kiloohm", "M": "megaohm", "G": "gigaohm"},
    ),
    _kind(
        "inductance",
        "henry",
        {
            "henry": "H henry henries",
            "millihenry": "mH millihenry millihenries",
            "microhenry": "μH uH microhenry",
        },
        {"m": "millihenry"},
    ),
    _kind(
        "capacitance",
        "farad",
        {
            "picofarad": "pF picofarad picofarads",
            "nanofarad": "nF nanofarad nanofarads",
            "farad": "F farad farads",
            "microfarad": "μF uF microfarad microfarads",
        },
        {"p": "picofarad", "n": "nanofarad", "u": "microfarad", "μ": "microfarad"},
    ),
    _kind(
        "frequency",
        "hertz",
        {"hertz": "Hz hz hertz", "kilohertz": "kHz khz KHz kilohertz", "megahertz": "MHz"},
        {"k": "kilohertz", "K": "kilohertz"},
    ),
    _kind(
        "length",
        "meter",
        {
            "meter": "m metre meter metres meters",
            "centimeter": "cm centimetre centimeter centimetres centimeters",
            "millimeter": "mm millimetre millimeter millimetres millimeters",
            "micrometer": "μm um micrometer micrometre",
            "inch": "in in. inch inches \" '' ′′ ”",
            "mil": "mil mils thou",
        },
    ),
    _kind(
        "flux_density",
        "tesla",
        {
            "tesla": "T tesla",
            "millitesla": "mT millitesla",
            "gauss": "G Gs gauss Gauss",
            "kilogauss": "kG kilogauss",
        },
    ),
    _kind(
        "temperature",
        "kelvin",
        {
            "degC": "°C ° C degC deg_C celsius Celsius",
            "degF": "°F F degF deg_F fahrenheit Fahrenheit",
            "kelvin": "K kelvin",
        },
    ),
    _kind(
        "temperature_difference",
        "difference_K",
        {
            "difference_K": "K °C C deg_C degC kelvin",
            "difference_F": "°F F deg_F degF",
        },
    ),
    _kind("mass", "gram", {"gram": "g gram grams", "kilogram": "kg", "ounce": "oz ounce ounces"}),
    _kind("count", "one", {"one": "turns turn pcs pieces"}, {"k": "kiloone", "K": "kiloone"}),
    _kind("ratio", "fraction", {"percent": "% percent", "fraction": "fraction"}),
    _kind(
        "field_strength",
        "ampere_per_meter",
        {"kiloampere_per_meter": "kA/m", "ampere_per_meter": "A/m", "oersted": "Oe oersted"},
    ),
    _kind("inductance_ratio", "henry_per_square_kiloohm", {"henry_per_square_kiloohm": "H/kΩ2"}),
    _kind("energy_density", "joule_per_cubic_meter", {"kilojoule_per_cubic_meter": "kJ/m3 kJ/m^3"}),
)

KINDS: MappingProxyType[str, Kind] = MappingProxyType({kind.name: kind for kind in _KINDS})

#: Units that properties.csv may declare, the kind each belongs to, and the registry's unit.
PROPERTY_UNITS: MappingProxyType[str, tuple[str, str]] = MappingProxyType(
    {
        "Ω": ("resistance", "ohm"),
        "kΩ": ("resistance", "kiloohm"),
        "MΩ": ("resistance", "megaohm"),
        "H": ("inductance", "henry"),
        "pF": ("capacitance", "picofarad"),
        "nF": ("capacitance", "nanofarad"),
        "Hz": ("frequency", "hertz"),
        "kHz": ("frequency", "kilohertz"),
        "mm": ("length", "millimeter"),
        "mT": ("flux_density", "millitesla"),
        "°C": ("temperature", "degC"),
        "K": ("temperature_difference", "difference_K"),
        "g": ("mass", "gram"),
        "turns": ("count", "one"),
        "pieces": ("count", "one"),
        "%": ("ratio", "percent"),
        "1": ("ratio", "fraction"),
        "kA/m": ("field_strength", "kiloampere_per_meter"),
        "H/kΩ²": ("inductance_ratio", "henry_per_square_kiloohm"),
        "kJ/m³": ("energy_density", "kilojoule_per_cubic_meter"),
    }
)


@cache
def _registry() -> pint.UnitRegistry[Any]:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry


@cache
def _line(source: str, target: str) -> tuple[float, float]:
    """Slope and intercept of the straight line that takes ``source`` to ``target``."""
    registry = _registry()
    zero = float(registry.Quantity(0.0, source).to(target).magnitude)
    if zero == 0.0:
        return float(registry.Quantity(1.0, source).to(target).magnitude), 0.0
    # A long lever, so that the offset's rounding does not eat the slope's digits.
    far = float(registry.Quantity(1e6, source).to(target).magnitude)
    return (far - zero) / 1e6, zero


def kind_of(unit: str) -> Kind:
    """Return the kind of quantity that a unit of properties.csv measures.

    Raises ``KeyError`` for a unit that :data:`PROPERTY_UNITS` does not have.
    """
    return KINDS[PROPERTY_UNITS[unit][0]]


def registry_unit(unit: str) -> str:
    """Return the registry's name of a unit, given as in properties.csv or as the registry's own."""
    return PROPERTY_UNITS[unit][1] if unit in PROPERTY_UNITS else unit


def convert(value: float, source: str, target: str) -> float:
    """Convert ``value`` from one unit to another of the same kind.

    Units are the registry's names or those of properties.csv. Temperatures convert as temperatures,
    with their offset; differences of temperature are a kind of their own.
    Raises ``pint.DimensionalityError`` between kinds.
    """
    source, target = registry_unit(source), registry_unit(target)
    if source == target:
        return value
    slope, intercept = _line(source, target)
    return value * slope + intercept


@cache
def scale(source: str, target: str) -> float:
    """Return the factor that takes a *difference* in ``source`` to one in ``target``."""
    return _line(registry_unit(source), registry_unit(target))[0]

"""Units: kinds of quantity, the SI unit of each, and every spelling that people use for its units.

One table (:data:`KINDS`) is the only place where a spelling is tied to a unit, and a unit to its
size. Some forty sizes need no library at run time; the tests hold each against one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity.

    ``sizes`` says what each unit is worth in the SI unit; temperatures, whose zeros differ, have
    lines instead (:data:`TEMPERATURES`). ``spellings`` maps what people write (after Unicode's NFKC
    folding, which makes one ohm sign and one micro sign of the two that exist of each) to the unit;
    ``bare`` (SI prefixes written without a unit, as in ``7.82k``) maps the prefix letter to the
    unit it then means.
    """

    name: str
    si: str
    sizes: Mapping[str, float]
    spellings: Mapping[str, str]
    bare: Mapping[str, str]


def _kind(
    name: str,
    si: str,
    units: Mapping[str, tuple[float, str]],
    bare: Mapping[str, str] | None = None,
) -> Kind:
    """Return a kind from its units, each with its size and its spellings, a space between two."""
    sizes: dict[str, float] = {}
    spellings: dict[str, str] = {}
    for unit, (size, written) in units.items():
        sizes[unit] = size
        for spelling in written.split():
            spellings[spelling.replace("_", " ")] = unit
    return Kind(name, si, sizes, spellings, bare or {})


#: Exact by definition (from memory): inch and ounce by the international yard and pound of 1959,
#: gauss and oersted, 1000/(4π) A/m, by the cgs units' own (SI brochure, 8th edition, table 9).
_INCH_M = 0.0254
_OUNCE_G = 28.349523125
_GAUSS_T = 1e-4
_OERSTED_A_PER_M = 79.57747154594767

_KINDS = (
    _kind(
        "resistance",
        "ohm",
        {
            "ohm": (1.0, "Ω ohm ohms Ohm Ohms R"),
            "kiloohm": (1e3, "kΩ KΩ k_Ω k_ohm k_ohms kohm kohms kOhm Kohm kilohm kilohms kiloohm"),
            "megaohm": (1e6, "MΩ M_Ω M_ohm Mohm Mohms MOhm megohm megohms megaohm"),
            "gigaohm": (1e9, "GΩ Gohm gigohm gigaohm"),
            "milliohm": (1e-3, "mΩ mohm milliohm"),
        },
        {"k": "kiloohm", "K": "kiloohm", "M": "megaohm", "G": "gigaohm"},
    ),
    _kind(
        "inductance",
        "henry",
        {
            "henry": (1.0, "H henry henries"),
            "millihenry": (1e-3, "mH millihenry millihenries"),
            "microhenry": (1e-6, "μH uH microhenry"),
        },
        {"m": "millihenry"},
    ),
    _kind(
        "capacitance",
        "farad",
        {
            "picofarad": (1e-12, "pF picofarad picofarads"),
            "nanofarad": (1e-9, "nF nanofarad nanofarads"),
            "farad": (1.0, "F farad farads"),
            "microfarad": (1e-6, "μF uF microfarad microfarads"),
        },
        {"p": "picofarad", "n": "nanofarad", "u": "microfarad", "μ": "microfarad"},
    ),
    _kind(
        "frequency",
        "hertz",
        {
            "hertz": (1.0, "Hz hz hertz"),
            "kilohertz": (1e3, "kHz khz KHz kilohertz"),
            "megahertz": (1e6, "MHz"),
        },
        {"k": "kilohertz", "K": "kilohertz"},
    ),
    _kind(
        "length",
        "meter",
        {
            "meter": (1.0, "m metre meter metres meters"),
            "centimeter": (1e-2, "cm centimetre centimeter centimetres centimeters"),
            "millimeter": (1e-3, "mm millimetre millimeter millimetres millimeters"),
            "micrometer": (1e-6, "μm um micrometer micrometre"),
            "inch": (_INCH_M, "in in. inch inches \" '' ′′ ”"),
            "mil": (2.54e-5, "mil mils thou"),
        },
    ),
    _kind(
        "flux_density",
        "tesla",
        {
            "tesla": (1.0, "T tesla"),
            "millitesla": (1e-3, "mT millitesla"),
            "gauss": (_GAUSS_T, "G Gs gauss Gauss"),
            "kilogauss": (1e3 * _GAUSS_T, "kG kilogauss"),
        },
    ),
    _kind(
        "temperature",
        "kelvin",
        {
            "degC": (1.0, "°C ° C degC deg_C celsius Celsius"),
            "degF": (5.0 / 9.0, "°F F degF deg_F fahrenheit Fahrenheit"),
            "kelvin": (1.0, "K kelvin"),
        },
    ),
    _kind(
        "temperature_difference",
        "difference_K",
        {
            "difference_K": (1.0, "K °C C deg_C degC kelvin"),
            "difference_F": (5.0 / 9.0, "°F F deg_F degF"),
        },
    ),
    _kind(
        "mass",
        "gram",
        {
            "gram": (1.0, "g gram grams"),
            "kilogram": (1e3, "kg"),
            "ounce": (_OUNCE_G, "oz ounce ounces"),
        },
    ),
    _kind(
        "count",
        "one",
        {"one": (1.0, "turns turn pcs pieces"), "kiloone": (1e3, "")},
        {"k": "kiloone", "K": "kiloone"},
    ),
    _kind("ratio", "fraction", {"percent": (0.01, "% percent"), "fraction": (1.0, "fraction")}),
    _kind(
        "field_strength",
        "ampere_per_meter",
        {
            "kiloampere_per_meter": (1e3, "kA/m"),
            "ampere_per_meter": (1.0, "A/m"),
            "oersted": (_OERSTED_A_PER_M, "Oe oersted"),
        },
    ),
    _kind(
        "inductance_ratio", "henry_per_square_kiloohm", {"henry_per_square_kiloohm": (1.0, "H/kΩ2")}
    ),
    _kind(
        "energy_density",
        "joule_per_cubic_meter",
        {"joule_per_cubic_meter": (1.0, ""), "kilojoule_per_cubic_meter": (1e3, "kJ/m3 kJ/m^3")},
    ),
)

KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _KINDS}

#: Units that properties.csv may declare, the kind each belongs to, and our name of it.
PROPERTY_UNITS: Mapping[str, tuple[str, str]] = {
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

#: Slope and intercept of the straight line from one temperature to another. Exact: 0 °C is
#: 273.15 K and 32 °F, and a degree Fahrenheit is five ninths of a kelvin.
TEMPERATURES: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "degC": {"degF": (1.8, 32.0), "kelvin": (1.0, 273.15)},
    "degF": {"degC": (5.0 / 9.0, -160.0 / 9.0), "kelvin": (5.0 / 9.0, 459.67 * 5.0 / 9.0)},
    "kelvin": {"degC": (1.0, -273.15), "degF": (1.8, -459.67)},
}

_KIND_OF: Mapping[str, str] = {unit: kind.name for kind in _KINDS for unit in kind.sizes}


def kind_of(unit: str) -> Kind:
    """Return the kind of quantity that a unit of properties.csv measures.

    Raises ``KeyError`` for a unit that :data:`PROPERTY_UNITS` does not have.
    """
    return KINDS[PROPERTY_UNITS[unit][0]]


def own_name(unit: str) -> str:
    """Return our name of a unit, given as properties.csv has it or by our name."""
    return PROPERTY_UNITS[unit][1] if unit in PROPERTY_UNITS else unit


def line(source: str, target: str) -> tuple[float, float]:
    """Return slope and intercept of the straight line that takes ``source`` to ``target``.

    Units are our names or those of properties.csv.
    Raises ``KeyError`` for no unit of ours, and ``ValueError`` between kinds.
    """
    source, target = own_name(source), own_name(target)
    if source == target:
        return 1.0, 0.0
    name = _KIND_OF[source]
    if _KIND_OF[target] != name:
        raise ValueError(f"{source} does not convert to {target}.")
    if name == "temperature":
        return TEMPERATURES[source][target]
    sizes = KINDS[name].sizes
    return sizes[source] * (1.0 / sizes[target]), 0.0


def convert(value: float, source: str, target: str) -> float:
    """Convert ``value`` from one unit to another of the same kind.

    Units are our names or those of properties.csv. Temperatures convert as temperatures, with their
    offset; differences of temperature are a kind of their own.
    Raises ``KeyError`` for no unit of ours, and ``ValueError`` between kinds.
    """
    if own_name(source) == own_name(target):
        return value
    slope, intercept = line(source, target)
    return value * slope + intercept


def scale(source: str, target: str) -> float:
    """Return the factor that takes a *difference* in ``source`` to one in ``target``.

    Units and errors as in :func:`convert`.
    """
    return line(source, target)[0]

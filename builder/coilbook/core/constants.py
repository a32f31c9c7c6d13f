"""The constants that the formulas rest on, each with its source key, and the ranges we assume.

A range that no source gives is a fact of the trade: its source is ``common practice``. The methods
page prints :data:`CONSTANTS` as it stands.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from coilbook.errors import OutOfDomain

#: Copper's resistivity at 20 °C: 1/58 Ω·mm²/m.
RHO_20_OHM_M = 1.0 / 58.0e6
#: Copper's temperature coefficient of resistance at 20 °C.
ALPHA_20_PER_K = 0.00393
#: Copper's density at 20 °C.
DENSITY_KG_PER_M3 = 8890.0
#: The temperature that every resistance is brought to.
REFERENCE_TEMPERATURE_C = 20.0

#: Where no temperature was written, a bench is taken to be at 20 °C, give or take this.
UNSTATED_TEMPERATURE_HALF_WIDTH_K = 6.0
#: Between the readings of one sitting a hand warms one part more than another, within this.
HANDLING_HALF_WIDTH_K = 1.0
#: Annealed wire conducts within about this share of the standard; the coefficient goes with it.
CONDUCTIVITY_HALF_WIDTH = 0.01
#: Layers lie between nested and loose: pitch of the layers over the wire's overall diameter.
PACKING_RANGE = (0.87, 1.2)
#: Wire is drawn longer by the tension of winding.
STRETCH_RANGE = (0.0, 0.03)
#: Enamels lie in this range, from oil-based varnish to the densest plastics, in kg/m³.
INSULATION_DENSITY_RANGE = (1000.0, 1450.0)
#: Annealed copper's density is within about this share of the standard's.
DENSITY_HALF_WIDTH = 0.005
#: Share of the window that scattered winding fills with wire and insulation, about.
SCATTER_FILL = 0.6
#: How full a wound coil may leave its window, as turns over those of a square lay; the upper end is
#: the nested lay's.
WINDOW_FILL_RANGE = (0.3, 2.0 / math.sqrt(3.0))
#: How far a bobbin's core and window may be off the reference's figures.
BOBBIN_HALF_WIDTH_M = 0.2e-3
#: The coarsest graduation taken for a value written as a fraction: a sixteenth.
FRACTION_DENOMINATOR = 16
#: Test leads and their contacts are known to about this share of their resistance.
LEADS_HALF_WIDTH = 0.5
#: What a meter or a probe puts across a piece is known to about these shares of it.
INPUT_RESISTANCE_HALF_WIDTH = 0.05
INPUT_CAPACITANCE_HALF_WIDTH = 0.1
#: The smallest resistance usually met across a pickup in its instrument: a 100 kΩ pot.
SMALLEST_ACROSS_OHM = 100e3
#: A probe is held off a pole to no better than this.
STANDOFF_HALF_WIDTH_M = 0.1e-3
#: A stated depth of a probe's sensing spot is good to this; one that is not stated is taken as half
#: a millimetre, give or take as much.
SENSOR_DEPTH_HALF_WIDTH_M = 0.1e-3
UNSTATED_SENSOR_DEPTH_M = 0.5e-3
#: The other rods of a row change what stand-off does to the field, by this share for the square of
#: the stand-off in m, as far as the farthest stand-off that is reckoned back from.
NEIGHBOURS_PER_M2 = 6e3
FARTHEST_STANDOFF_M = 5e-3


@dataclass(frozen=True, slots=True)
class Constant:
    """A constant as the methods page shows it; ``source_id`` is None for common practice."""

    name: str
    symbol: str
    text: str
    unit: str
    source_id: str | None
    locator: str


CONSTANTS = (
    Constant(
        "Resistivity of annealed copper at 20 °C",
        r"\rho_{20}",
        "1/58",
        "Ω·mm²/m",
        "iec-60028",
        "standard values",
    ),
    Constant(
        "Temperature coefficient of copper's resistance at 20 °C",
        r"\alpha_{20}",
        f"{ALPHA_20_PER_K}",
        "1/K",
        "iec-60028",
        "standard values",
    ),
    Constant(
        "Density of annealed copper at 20 °C",
        r"\gamma",
        f"{DENSITY_KG_PER_M3:.0f}",
        "kg/m³",
        "iec-60028",
        "standard values",
    ),
    Constant(
        "Temperature taken where none was written",
        r"T",
        f"{REFERENCE_TEMPERATURE_C:.0f} ± {UNSTATED_TEMPERATURE_HALF_WIDTH_K:.0f}",
        "°C",
        None,
        "",
    ),
    Constant(
        "Departure of one part's temperature from another's in one sitting, by handling",
        r"\Delta T_h",
        f"± {HANDLING_HALF_WIDTH_K}",
        "K",
        None,
        "",
    ),
    Constant(
        "Departure of a wire's conductivity, and so of its coefficient, from the standard",
        r"\Delta\rho/\rho",
        f"± {100 * CONDUCTIVITY_HALF_WIDTH:.0f}",
        "%",
        None,
        "",
    ),
    Constant(
        "Packing of the layers: their pitch over the wire's overall diameter",
        "p",
        f"{PACKING_RANGE[0]} to {PACKING_RANGE[1]}",
        "1",
        None,
        "",
    ),
    Constant(
        "Stretch of the wire by winding",
        "s",
        f"{100 * STRETCH_RANGE[0]:.0f} to {100 * STRETCH_RANGE[1]:.0f}",
        "%",
        None,
        "",
    ),
    Constant(
        "Density of the wire's insulation",
        r"\delta",
        f"{INSULATION_DENSITY_RANGE[0]:.0f} to {INSULATION_DENSITY_RANGE[1]:.0f}",
        "kg/m³",
        None,
        "",
    ),
    Constant(
        "Departure of copper's density from the standard",
        r"\Delta\gamma/\gamma",
        f"± {100 * DENSITY_HALF_WIDTH:.1f}",
        "%",
        None,
        "",
    ),
    Constant(
        "Share of the window that scattered winding fills with wire",
        "F",
        f"{SCATTER_FILL}",
        "1",
        None,
        "",
    ),
    Constant(
        "Least share of a square lay's turns that a coil of the right gauge has",
        "f",
        f"{WINDOW_FILL_RANGE[0]}",
        "1",
        None,
        "",
    ),
    Constant(
        "Departure of a bobbin's core and window from the reference's figures",
        r"\Delta",
        f"± {1000 * BOBBIN_HALF_WIDTH_M}",
        "mm",
        None,
        "",
    ),
    Constant(
        "Departure of test leads and contacts from their stated resistance",
        r"\Delta R_l/R_l",
        f"± {100 * LEADS_HALF_WIDTH:.0f}",
        "%",
        None,
        "",
    ),
    Constant(
        "Departure of an instrument's own resistance from the stated one",
        r"\Delta R_i/R_i",
        f"± {100 * INPUT_RESISTANCE_HALF_WIDTH:.0f}",
        "%",
        None,
        "",
    ),
    Constant(
        "Departure of a probe's or fixture's own capacitance from the stated one",
        r"\Delta C_i/C_i",
        f"± {100 * INPUT_CAPACITANCE_HALF_WIDTH:.0f}",
        "%",
        None,
        "",
    ),
    Constant(
        "Smallest resistance usually met across a pickup in its instrument",
        "R_p",
        f"{SMALLEST_ACROSS_OHM / 1000:.0f}",
        "kΩ",
        None,
        "",
    ),
    Constant(
        "Departure of a flux probe's stand-off from the stated one, at the least",
        r"\Delta z",
        f"± {1000 * STANDOFF_HALF_WIDTH_M}",
        "mm",
        None,
        "",
    ),
    Constant(
        "Departure of a flux probe's stated depth of sensing",
        r"\Delta z_s",
        f"± {1000 * SENSOR_DEPTH_HALF_WIDTH_M}",
        "mm",
        None,
        "",
    ),
    Constant(
        "Depth of sensing taken where none is stated",
        "z_s",
        f"{1000 * UNSTATED_SENSOR_DEPTH_M} ± {1000 * UNSTATED_SENSOR_DEPTH_M}",
        "mm",
        None,
        "",
    ),
    Constant(
        "Share by which the other rods of a row change the effect"
        " of a stand-off of 1 mm, growing with its square",
        "n",
        f"± {100 * NEIGHBOURS_PER_M2 * 1e-6:.1f}",
        "%",
        None,
        "",
    ),
)


def every(condition: Any) -> bool:
    """Whether a comparison holds: a plain one, or one of columns in each of their rows.

    The formulas take columns of numbers as well as single ones, and know no library for them.
    """
    return condition if isinstance(condition, bool) else bool(condition.all())


def require_positive(**values: float) -> None:
    """Raise :class:`OutOfDomain`, naming the argument, unless every value is above 0 and finite."""
    for name, value in values.items():
        if not (every(value > 0.0) and every(value < math.inf)):
            raise OutOfDomain(f"{name} must be above 0, and is {value}. Check it and its unit.")


def require_not_negative(**values: float) -> None:
    """Raise :class:`OutOfDomain`, naming the argument, unless every value is 0 or more, finite."""
    for name, value in values.items():
        if not (every(value >= 0.0) and every(value < math.inf)):
            raise OutOfDomain(f"{name} must be 0 or more, and is {value}. Check it and its unit.")

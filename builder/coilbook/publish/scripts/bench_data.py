"""The data script of the tool pages: what grammar.js and formulas.js need to know, from Python.

Tables, constants and the grammar's own patterns go to the page as they stand here, so that no
number and no spelling is typed a second time. ``tests/browser/test_browser_parity.py`` runs both
sides on the same inputs.
"""

from __future__ import annotations

import functools
import itertools
import json
import re
import sys

from coilbook.core import constants
from coilbook.core.budgets import combine
from coilbook.core.budgets.uncertainty import expanded
from coilbook.core.formulas import copper, wire
from coilbook.core.formulas.resonance import BAND_EDGE_DB
from coilbook.core.formulas.window import HEXAGONAL_PACKING, SQUARE_PACKING
from coilbook.core.reduction import turns
from coilbook.core.reduction.instrument import DIGITS, PERCENT, RESOLUTION
from coilbook.core.reduction.reduce import LEADS, METER, PARALLEL
from coilbook.core.units import KINDS, PROPERTY_UNITS, convert, scale
from coilbook.core.written import grammar as values
from coilbook.core.written import spelling
from coilbook.measures import response
from coilbook.publish.scripts.one_object import assigned
from coilbook.records.contents import Reference
from coilbook.records.tables.models import Bobbin, Wire

BENCH_SCRIPT = "assets/data/bench.js"

#: An edge of a word, where the letters of every script count as they do in Python.
_LETTER = r"[\p{L}\p{N}_]"
_EDGE = rf"(?:(?<={_LETTER})(?!{_LETTER})|(?<!{_LETTER})(?={_LETTER}))"


def bench_script(reference: Reference) -> str:
    """Return ``coilbook.bench = {…};``: grammar, units, constants, wires, bobbins, loads."""
    data = {
        "grammar": _grammar(),
        "lines": _lines(),
        "constants": _constants(),
        "names": _names(),
        "wires": {key: _wire(row) for key, row in reference.wires.items()},
        "bobbins": {key: _bobbin(row) for key, row in reference.bobbins.items()},
        "loads": [_load(load) for load in response.EXAMPLE_LOADS],
    }
    return assigned("bench", json.dumps(data, separators=(",", ":"), allow_nan=False))


def browser_pattern(pattern: re.Pattern[str]) -> list[str]:
    """Return a pattern as a browser writes it, its flags, and it again for plain text.

    Both match at one place only. The second, without the flag for Unicode, says of text that is all
    ASCII what the first does: a browser takes ten times longer to make the tables of the first.
    """
    plain = pattern.pattern.replace("(?P<", "(?<").replace(r"\Z", "$")
    source = plain.replace(r"\d", r"\p{Nd}").replace(r"\b", _EDGE)
    return [source, "iuy" if pattern.flags & re.IGNORECASE else "uy", plain]


@functools.cache
def _spaces() -> str:
    """Return what Python's str.split() takes for a space: a browser's idea differs a little."""
    return "".join(filter(str.isspace, map(chr, range(sys.maxunicode + 1))))


def _grammar() -> dict[str, object]:
    replaced = {sign: f" {fraction}" for sign, fraction in values.VULGAR.items()} | {
        variant: plain for plain, variants in values.PLAIN.items() for variant in variants
    }
    return {
        "longest": values.LONGEST,
        "replaced": replaced,
        "spaces": _spaces(),
        "open": sorted(values.OPEN_WORDS),
        "qualifiers": list(values.QUALIFIERS.items()),
        "forms": [[name, *browser_pattern(pattern)] for name, pattern in values.FORMS],
        "refusals": [
            [*browser_pattern(pattern), what, todo, code]
            for pattern, code, what, todo in values.REFUSALS
        ],
        "either": browser_pattern(values.EITHER),
        "oneValue": values.ONE_VALUE,
        "near": {"cutoff": spelling.CUTOFF, "ties": spelling.TIES},
        "kinds": {
            name: {
                "si": kind.si,
                "plain": values.plain_kind(kind),
                "example": values.EXAMPLES[name],
                "spellings": dict(kind.spellings),
                "bare": dict(kind.bare),
            }
            for name, kind in KINDS.items()
        },
        "propertyUnits": {unit: list(kind) for unit, kind in PROPERTY_UNITS.items()},
    }


def _lines() -> dict[str, tuple[float, float]]:
    """Return slope and intercept of the line from each unit to each other of its kind."""
    found: dict[str, tuple[float, float]] = {}
    for kind in KINDS.values():
        units = sorted({kind.si, *kind.spellings.values(), *kind.bare.values()})
        for source, target in itertools.permutations(units, 2):
            found[f"{source}|{target}"] = (scale(source, target), convert(0.0, source, target))
    return found


def _constants() -> dict[str, object]:
    return {
        "rho20OhmM": constants.RHO_20_OHM_M,
        "alpha20PerK": constants.ALPHA_20_PER_K,
        "referenceTemperatureC": constants.REFERENCE_TEMPERATURE_C,
        "temperatureRangeC": copper.RANGE_C,
        "unstatedTemperatureHalfWidthK": constants.UNSTATED_TEMPERATURE_HALF_WIDTH_K,
        "conductivityHalfWidth": constants.CONDUCTIVITY_HALF_WIDTH,
        "inputResistanceHalfWidth": constants.INPUT_RESISTANCE_HALF_WIDTH,
        "leadsHalfWidth": constants.LEADS_HALF_WIDTH,
        "smallestAcrossOhm": constants.SMALLEST_ACROSS_OHM,
        "packingRange": constants.PACKING_RANGE,
        "stretchRange": constants.STRETCH_RANGE,
        "scatterFill": constants.SCATTER_FILL,
        "fractionDenominator": constants.FRACTION_DENOMINATOR,
        "squarePacking": SQUARE_PACKING,
        "hexagonalPacking": HEXAGONAL_PACKING,
        "awg36DiameterM": wire.AWG_36_DIAMETER_M,
        "awgRatio": wire.AWG_RATIO,
        "gauges": wire.GAUGES,
        "coverageFactor": expanded(1.0),
        "bandEdgeDb": BAND_EDGE_DB,
        "look": response.LOOK,
        "rounds": response.ROUNDS,
    }


def _names() -> dict[str, str]:
    """Return what a reader calls each line of a budget."""
    return {
        "percent": PERCENT,
        "digits": DIGITS,
        "resolution": RESOLUTION,
        "parallel": PARALLEL,
        "meter": METER,
        "leads": LEADS,
        "temperature": combine.TEMPERATURE,
        "coefficient": combine.COEFFICIENT,
        **{field: name for field, (name, _, _) in turns.SHOWN.items()},
    }


def _wire(row: Wire) -> dict[str, object]:
    return {
        "awg": row.awg,
        "build": row.build,
        "bare_diameter_m": row.bare_nom_mm / 1000.0,
        "overall_diameter_m": row.overall_nom_mm / 1000.0,
        "half_widths": turns.winding_half_widths(row),
    }


def _bobbin(row: Bobbin) -> dict[str, object]:
    return {
        "name": row.name,
        "core_length_m": row.core_length_mm / 1000.0,
        "core_width_m": row.core_width_mm / 1000.0,
        "winding_height_m": row.winding_height_mm / 1000.0,
        "winding_depth_m": row.winding_depth_mm / 1000.0,
    }


def _load(load: response.Load) -> dict[str, object]:
    return {
        "code": load.code,
        "volume_ohm": load.volume_ohm,
        "input_ohm": load.input_ohm,
        "cable_f": load.cable_f,
        "tone_ohm": load.tone_ohm,
        "tone_f": load.tone_f,
    }

"""Inputs and Python's outputs of everything that the tool pages compute as well.

Each shared function has ordinary inputs (drawn with a fixed start value), edges, and inputs that
both sides must refuse. The grammar has every case of tests/records/values.csv and texts made of its
own signs. :func:`vectors_script` writes them as a data script for a page.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import json
import math
import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from coilbook.core import units
from coilbook.core.budgets import uncertainty
from coilbook.core.budgets.uncertainty import Contribution
from coilbook.core.formulas import circuit, coil, copper, hum, inductor, layers, pair, window, wire
from coilbook.core.judging.conformity import conformance
from coilbook.core.reduction import instrument, probe
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.core.reduction.turns import turns_estimate, winding_half_widths, winding_of
from coilbook.core.units import KINDS
from coilbook.core.written.grammar import EXAMPLES
from coilbook.errors import OutOfDomain, ValueUnreadable
from coilbook.measures import magnet_field
from coilbook.measures.expected import ExpectedCoil
from coilbook.measures.response import Circuits, Load, levels_db, marks
from coilbook.records import load_reference, read_value
from coilbook.records.contents import Reading
from coilbook.records.tables.models import InstrumentRow, ReadingRow

VALUES_CSV = Path(__file__).parents[1] / "records" / "values.csv"
ORDINARY = 2000
INF, NAN = math.inf, math.nan


def _reference() -> Any:
    reference = load_reference().value
    assert reference is not None
    return reference


REFERENCE = _reference()
WIRES, BOBBINS = list(REFERENCE.wires.values()), list(REFERENCE.bobbins.values())


@dataclasses.dataclass(frozen=True)
class Shared:
    """One function that both sides have: the page's name, Python's side, and what to try."""

    name: str
    python: Callable[..., Any]
    draw: Callable[[random.Random], list[Any]]
    edges: tuple[list[Any], ...] = ()
    refused: tuple[list[Any], ...] = ()


def _on_winding(function: Callable[[float, coil.Winding], Any]) -> Callable[..., Any]:
    return lambda number, fields: function(number, coil.Winding(**fields))


def _draw_winding(r: random.Random) -> dict[str, float]:
    width = r.uniform(1e-3, 12e-3)
    bare = r.uniform(0.03e-3, 0.12e-3)
    return {
        "bare_diameter_m": bare,
        "overall_diameter_m": bare * r.uniform(1.02, 1.4),
        "core_length_m": width + r.uniform(0.0, 70e-3),
        "core_width_m": width,
        "winding_height_m": r.uniform(2e-3, 14e-3),
        "packing": r.uniform(0.8, 1.4),
        "stretch": r.uniform(0.0, 0.05),
    }


def _ohms(r: random.Random) -> float:
    return float(10.0 ** r.uniform(1.0, 6.0))


def _circuit(r: random.Random) -> dict[str, float]:
    return {
        "inductance_h": r.uniform(0.5, 12.0),
        "resistance_ohm": r.uniform(1e3, 20e3),
        "capacitance_f": r.uniform(20e-12, 400e-12),
    }


def _load(r: random.Random) -> dict[str, float]:
    toned = r.random() < 0.7
    return {
        "volume_ohm": r.choice([INF, r.uniform(50e3, 1e6)]),
        "input_ohm": r.choice([INF, r.uniform(50e3, 5e6)]),
        "cable_f": r.choice([0.0, r.uniform(0.0, 2e-9)]),
        "tone_ohm": r.uniform(50e3, 1e6) if toned else INF,
        "tone_f": r.uniform(1e-9, 100e-9) if toned else 0.0,
    }


def _circuits(fields: dict[str, float]) -> Circuits:
    return Circuits(**{name: np.array([value]) for name, value in fields.items()})


def _level(fields: dict[str, float], load: dict[str, float], hertz: float) -> float:
    return float(levels_db(_circuits(fields), Load("", **load), np.array([hertz]))[0, 0])


def _marks(fields: dict[str, float], load: dict[str, float]) -> dict[str, float]:
    found = marks(_circuits(fields), Load("", **load))
    return {f.name: float(getattr(found, f.name)[0]) for f in dataclasses.fields(found)}


def _estimate(found: uncertainty.Estimate) -> dict[str, float]:
    return {"value": found.value, "u": found.standard_uncertainty}


def _resistance(turns: float, wire_at: int, bobbin_at: int) -> dict[str, float]:
    found = ExpectedCoil(WIRES[wire_at], BOBBINS[bobbin_at], turns).resistance_20_kohm
    return {"value": 1e3 * found.value, "u": 1e3 * found.standard_uncertainty}


def _turns(ohm: float, u_ohm: float, wire_at: int, bobbin_at: int) -> dict[str, float]:
    row, bobbin = WIRES[wire_at], BOBBINS[bobbin_at]
    own = Contribution("resistance", ohm / 1e3, u_ohm / 1e3, 1.0, "kΩ", "normal")
    return _estimate(
        turns_estimate(ohm / 1e3, (own,), winding_of(row, bobbin), winding_half_widths(row))
    )


def _comparison(r: random.Random) -> list[Any]:
    """Draw a value, its uncertainty and a range, from well inside to far out on either side."""
    u = 10.0 ** r.uniform(-3.0, 1.0)
    low = r.uniform(-10.0, 10.0)
    high = low + u * r.uniform(0.0, 30.0)
    value = r.choice((low, high)) + u * r.uniform(-20.0, 20.0)
    return [value, u, *r.choice(((low, high), (low, high), (low, None), (None, high)))]


def _rod(r: random.Random) -> dict[str, float]:
    return {"diameter_m": r.uniform(2e-3, 12e-3), "along_m": r.uniform(2e-3, 40e-3)}


@functools.cache
def _highest_per_tesla(rod: magnet_field.RodMagnet) -> dict[float, float]:
    found = magnet_field.highest_over_face_t(1.0, rod, STANDOFFS)
    return dict(zip(STANDOFFS, found.tolist(), strict=True))


def _highest(rod: magnet_field.RodMagnet, polarisation_t: float, standoff_m: float) -> float:
    """Return the highest field over a face; of the drawn stand-offs, looked for all at once."""
    if standoff_m in STANDOFFS and polarisation_t > 0.0:
        return polarisation_t * _highest_per_tesla(rod)[standoff_m]
    return float(magnet_field.highest_over_face_t(polarisation_t, rod, standoff_m))


def _on_rod(function: Callable[..., Any], at: int) -> Callable[..., Any]:
    """Return a function of a rod whose page's side takes it as fields, in place ``at``."""

    def call(*arguments: Any) -> Any:
        rest = [*arguments[:at], *arguments[at + 1 :]]
        return function(magnet_field.RodMagnet(**arguments[at]), *rest)

    return call


def _places(r: random.Random) -> list[int]:
    return [r.randrange(len(WIRES)), r.randrange(len(BOBBINS))]


def _reduce(fields: dict[str, Any]) -> dict[str, Any]:
    """Return what reduce_reading makes of the page's reading, in the page's words."""
    accuracy = fields["accuracy"]
    meter = accuracy and InstrumentRow(
        instrument_id="meter",
        name="meter",
        measures="resistance",
        accuracy_percent=accuracy["percent"],
        accuracy_digits=accuracy["digits"],
    )
    row = ReadingRow(
        piece_id="x",
        component="coil",
        property_id="coil-resistance",
        value="8k",
        circuit="in_circuit" if fields["in_circuit"] else "free",
    )
    found = reduce_reading(
        Reading(
            row=row,
            line=2,
            property=REFERENCE.properties["coil-resistance"],
            value=fields["ohm"] / 1e3,
            qualifier=fields["qualifier"],
            category=None,
            step=fields["step_ohm"] / 1e3,
            temperature_c=fields["temperature_c"],
            temperature_half_width_k=fields["half_width_k"],
            parallel_ohm=fields["parallel_ohm"],
            parallel_tolerance=fields["parallel_tolerance"],
            test_frequency_hz=None,
            instrument=meter,
            calibration="valid",
            lead_resistance_ohm=fields["leads_ohm"],
            input_resistance_ohm=fields["meter_ohm"],
        )
    )
    assert found.value is not None
    at_most = found.interval[1] if found.interval else None
    return {
        "value": 1e3 * found.value,
        "u": 1e3 * (found.standard_uncertainty or 0.0),
        "qualifier": found.qualifier,
        "flags": list(found.flags),
        "at_most": None if at_most is None else 1e3 * at_most,
    }


def _reading(r: random.Random) -> dict[str, Any]:
    ohm = 10.0 ** r.uniform(2.0, 5.3)
    return {
        "ohm": ohm,
        "step_ohm": 10.0 ** r.randint(-1, 2),
        "qualifier": r.choice(["", "", "", "", "<", ">"]),
        "accuracy": r.choice([None, {"percent": r.uniform(0.0, 3.0), "digits": r.uniform(0, 9)}]),
        "meter_ohm": r.choice([None, None, r.uniform(1e6, 2e7)]),
        "leads_ohm": r.choice([0.0, r.uniform(0.05, 2.0)]),
        "in_circuit": r.random() < 0.5,
        "parallel_ohm": r.choice([None, ohm * r.uniform(0.5, 60.0)]),
        "parallel_tolerance": r.uniform(0.0, 20.0),
        "temperature_c": r.choice([None, r.uniform(-5.0, 60.0)]),
        "half_width_k": r.uniform(0.0, 6.0),
    }


def _edge_reading(**changed: Any) -> list[Any]:
    plain = {
        "ohm": 8000.0, "step_ohm": 10.0, "qualifier": "", "accuracy": None, "meter_ohm": None,
        "leads_ohm": 0.0, "in_circuit": False, "parallel_ohm": None, "parallel_tolerance": 10.0,
        "temperature_c": 20.0, "half_width_k": 1.0,
    }  # fmt: skip
    return [plain | changed]


def _convertible(r: random.Random) -> list[Any]:
    kind = KINDS[r.choice(sorted(KINDS))]
    names = sorted({kind.si, *kind.spellings.values(), *kind.bare.values()})
    return [r.uniform(-1e4, 1e4), r.choice(names), r.choice(names)]


NOT_ABOVE_0 = (0.0, -1.0, INF, NAN)
A_WINDING = _draw_winding(random.Random(1))
A_CIRCUIT, NO_LOAD = (
    {"inductance_h": 4.4, "resistance_ohm": 8e3, "capacitance_f": 110e-12},
    {"volume_ohm": INF, "input_ohm": INF, "cable_f": 0.0, "tone_ohm": INF, "tone_f": 0.0},
)
#: The search over a face takes a while: it is drawn from so many rods and stand-offs.
STANDOFFS = tuple(10.0 ** (-5.0 + 3.0 * i / 49) for i in range(50))
RODS = tuple(_rod(random.Random(f"rod {i}")) for i in range(100))
A_ROD = {"diameter_m": 4.8e-3, "along_m": 17e-3}
TWO_BAD = tuple([bad, 1.0] for bad in NOT_ABOVE_0) + tuple([1.0, bad] for bad in NOT_ABOVE_0)

SHARED = (
    Shared("convert", units.convert, _convertible, ([0.0, "degC", "degF"], [1.0, "inch", "inch"])),
    Shared(
        "temperatureFactor",
        copper.temperature_factor,
        lambda r: [r.uniform(-60.0, 150.0)],
        ([-60.0], [150.0], [20.0]),
        ([-60.1], [150.1], [NAN], [INF]),
    ),
    Shared(
        "to20c",
        copper.to_20c,
        lambda r: [_ohms(r), r.uniform(-60.0, 150.0)],
        ([0.0, 25.0],),
        ([-1.0, 25.0], [8e3, 200.0], [INF, 25.0], [NAN, 25.0]),
    ),
    Shared(
        "atTemperature",
        copper.at_temperature,
        lambda r: [_ohms(r), r.uniform(-60.0, 150.0)],
        ([0.0, 25.0],),
        ([-1.0, 25.0], [8e3, -61.0]),
    ),
    Shared(
        "parallelOhm",
        circuit.parallel_ohm,
        lambda r: [_ohms(r), _ohms(r)],
        ([1e-9, 1e12],),
        TWO_BAD,
    ),
    Shared(
        "takeOutParallelOhm",
        circuit.take_out_parallel_ohm,
        lambda r: [r.random() * 5e5, 5e5 + _ohms(r)],
        ([0.0, 5e5], [499999.9, 5e5]),
        ([5e5, 5e5], [6e5, 5e5], [-1.0, 5e5], [1.0, 0.0], [1.0, INF], [NAN, 1.0], [1.0, NAN]),
    ),
    Shared(
        "awgDiameterM",
        wire.awg_diameter_m,
        lambda r: [r.uniform(0.0, 56.0)],
        ([0.0], [36.0], [56.0]),
        ([-1.0], [57.0], [NAN]),
    ),
    Shared(
        "wireResistanceOhmPerM",
        wire.wire_resistance_ohm_per_m,
        lambda r: [r.uniform(1e-5, 1e-3)],
        (),
        tuple([bad] for bad in NOT_ABOVE_0),
    ),
    *(
        Shared(
            name,
            _on_winding(function),
            lambda r: [r.uniform(1.0, 2e4), _draw_winding(r)],
            ([1e-6, A_WINDING], [1e6, A_WINDING], [5e3, A_WINDING | {"stretch": 0.0}]),
            (
                *([bad, A_WINDING] for bad in NOT_ABOVE_0),
                *([5e3, A_WINDING | {field: bad}] for field in A_WINDING for bad in (-1.0, NAN)),
                [5e3, A_WINDING | {"stretch": 1.0}],
                [5e3, A_WINDING | {"core_length_m": 1e-4}],
            ),
        )
        for name, function in (
            ("meanTurnM", coil.mean_turn_m),
            ("wireLengthM", coil.wire_length_m),
            ("coilResistanceOhm", coil.coil_resistance_ohm),
            ("coilTurns", coil.coil_turns),
            ("turnsOfLength", coil.turns_of_length),
            ("resistanceSensitivities", coil.resistance_sensitivities),
        )
    ),
    *(
        Shared(
            name,
            _on_winding(function),
            lambda r, ends=ends: [r.uniform(*ends), _draw_winding(r)],
            ([5e3, A_WINDING | {"stretch": 0.0}],),
            (
                *([bad, A_WINDING] for bad in NOT_ABOVE_0),
                [5e3, A_WINDING | {"bare_diameter_m": 1e-3}],
            ),
        )
        for name, function, ends in (
            ("turnsOfMass", layers.turns_of_mass, (1e-4, 0.1)),
            ("massSensitivities", layers.mass_sensitivities, (1.0, 2e4)),
        )
    ),
    Shared(
        "seriesInductanceH",
        inductor.series_inductance_h,
        lambda r: [r.uniform(0.1, 20.0), 10.0 ** r.uniform(-2.0, 3.0)],
        ([1.0, 1e300],),
        TWO_BAD,
    ),
    Shared(
        "extraLoss",
        inductor.extra_loss,
        lambda r: [
            r.uniform(0.1, 20.0),
            r.uniform(0.1, 20.0),
            _ohms(r),
            10.0 ** r.uniform(1.5, 5.0),
        ],
        (),
        tuple([1.0] * at + [bad] + [1.0] * (3 - at) for at in range(4) for bad in NOT_ABOVE_0),
    ),
    Shared(
        "lossSurplus",
        inductor.loss_surplus,
        lambda r: [
            *(r.uniform(0.1, 20.0) for _ in range(2)),
            *((r.uniform(0.1, 20.0), r.uniform(0.1, 20.0)) for _ in range(2)),
        ],
        (),
        tuple(
            args
            for bad in NOT_ABOVE_0
            for args in (
                [bad, 1.0, (1.0, 1.0), (1.0, 1.0)],
                [1.0, bad, (1.0, 1.0), (1.0, 1.0)],
                [1.0, 1.0, (bad, 1.0), (1.0, 1.0)],
                [1.0, 1.0, (1.0, bad), (1.0, 1.0)],
                [1.0, 1.0, (1.0, 1.0), (bad, 1.0)],
                [1.0, 1.0, (1.0, 1.0), (1.0, bad)],
            )
        ),
    ),
    Shared(
        "normalisedError",
        pair.normalised_error,
        lambda r: [r.uniform(-500.0, 500.0), r.uniform(0.1, 500.0)],
        ([0.0, 1.0],),
        ([1.0, 0.0], [1.0, -1.0], [NAN, 1.0], [INF, 1.0], [1.0, NAN]),
    ),
    Shared(
        "conformance",
        lambda value, u, low, high: dataclasses.asdict(conformance(value, u, low=low, high=high)),
        _comparison,
        (
            [8.0, 0.0, 7.5, 9.0],
            [8.0, 0.0, 8.0, 9.0],
            [7.0, 0.0, 7.5, None],
            [8.0, 0.001, 7.5, 9.0],
            [8.0, 0.1, 11.0, 12.0],
            [8.0, 0.1, None, 4.5],
        ),
        (
            [8.0, 0.1, None, None],
            [8.0, 0.1, 9.0, 7.5],
            [8.0, -0.1, 7.5, 9.0],
            [NAN, 0.1, 7.5, 9.0],
            [8.0, INF, 7.5, 9.0],
            [8.0, 0.1, -INF, 9.0],
        ),
    ),
    Shared(
        "rodOnAxisT",
        _on_rod(lambda rod, j, z: magnet_field.rod_on_axis_t(j, rod, z), 1),
        lambda r: [r.uniform(0.1, 1.5), _rod(r), r.uniform(0.0, 0.02)],
        ([1.0, A_ROD, 0.0],),
        tuple([bad, A_ROD, 1e-3] for bad in NOT_ABOVE_0)
        + tuple([1.0, A_ROD | {"diameter_m": bad}, 1e-3] for bad in NOT_ABOVE_0)
        + ([1.0, A_ROD, -1e-3], [1.0, A_ROD, NAN]),
    ),
    *(
        Shared(
            name,
            _on_rod(function, 0),
            lambda r: [_rod(r), r.uniform(0.0, 5e-3), r.uniform(1e-5, 1e-3)],
            ([A_ROD, 0.0, 5e-4],),
            ([A_ROD, -1e-3, 5e-4], [A_ROD, 1e-3, -5e-4], [A_ROD | {"along_m": 0.0}, 1e-3, 5e-4]),
        )
        for name, function in (
            ("standoffRatio", probe.standoff_ratio),
            ("standoffSensitivities", probe.standoff_sensitivities),
        )
    ),
    Shared(
        "highestOverFaceT",
        _on_rod(_highest, 1),
        lambda r: [r.uniform(0.1, 1.5), r.choice(RODS), r.choice(STANDOFFS)],
        ([1.0, {"diameter_m": 0.03, "along_m": 0.002}, 1e-4], [1.0, A_ROD, 0.0]),
        ([0.0, A_ROD, 1e-3], [1.0, A_ROD, -1e-3], [1.0, A_ROD | {"along_m": -1.0}, 1e-3]),
    ),
    Shared("resistanceOfTable", _resistance, lambda r: [r.uniform(500.0, 15e3), *_places(r)]),
    Shared(
        "turnsOfTable",
        _turns,
        lambda r: [r.uniform(500.0, 2e4), r.uniform(0.0, 50.0), *_places(r)],
        ([4e3, 0.0, 0, 0],),
        ([0.0, 1.0, 0, 0],),
    ),
    Shared(
        "layeredTurns",
        window.layered_turns,
        lambda r: [
            r.uniform(1e-3, 2e-2),
            r.uniform(1e-3, 1e-2),
            r.uniform(3e-5, 2e-4),
            r.uniform(0.8, 1.3),
        ],
        (),
        ([0.0, 1.0, 1.0, 1.0], [1.0, 1.0, NAN, 1.0]),
    ),
    Shared(
        "scatterTurns",
        window.scatter_turns,
        lambda r: [
            r.uniform(1e-3, 2e-2),
            r.uniform(1e-3, 1e-2),
            r.uniform(3e-5, 2e-4),
            r.uniform(0.1, 0.9),
        ],
        (),
        ([1.0, 1.0, 1.0, 0.91], [1.0, 1.0, 1.0, 0.0]),
    ),
    Shared(
        "fillRatio",
        window.fill_ratio,
        lambda r: [
            r.uniform(1.0, 2e4),
            r.uniform(1e-3, 2e-2),
            r.uniform(1e-3, 1e-2),
            r.uniform(3e-5, 2e-4),
            r.uniform(0.8, 1.3),
        ],
        (),
        ([0.0, 1.0, 1.0, 1.0, 1.0],),
    ),
    Shared(
        "imbalancePercent",
        pair.imbalance_percent,
        lambda r: [_ohms(r), _ohms(r)],
        ([4e3, 4e3],),
        TWO_BAD,
    ),
    Shared("humLeftDb", hum.hum_left_db, lambda r: [_ohms(r), _ohms(r)], ([4e3, 4e3],), TWO_BAD),
    Shared(
        "humLeftOfImbalanceDb",
        hum.hum_left_of_imbalance_db,
        lambda r: [r.uniform(0.0, 100.0)],
        ([0.0], [200.0], [300.0], [1e-300]),
        ([-1.0], [NAN], [INF]),
    ),
    Shared(
        "humLeftInterval",
        lambda *numbers: dataclasses.asdict(hum.hum_left_interval(*numbers)),
        lambda r: [r.uniform(0.0, 100.0), r.uniform(0.0, 20.0), r.uniform(1.0, 3.0)],
        ([1.0, 1.0, 2.0], [0.0, 0.0, 2.0]),
        ([-1.0, 1.0, 2.0], [1.0, -1.0, 2.0], [1.0, 1.0, 0.0]),
    ),
    Shared(
        "levelDb",
        _level,
        lambda r: [_circuit(r), _load(r), 10.0 ** r.uniform(1.0, 4.5)],
        ([A_CIRCUIT, NO_LOAD, 1000.0], [A_CIRCUIT, NO_LOAD | {"tone_ohm": 5e5}, 1000.0]),
        tuple([A_CIRCUIT | {part: bad}, NO_LOAD, 1e3] for part in A_CIRCUIT for bad in NOT_ABOVE_0),
    ),
    Shared(
        "marks",
        _marks,
        lambda r: [_circuit(r), _load(r)],
        (
            [A_CIRCUIT, NO_LOAD],
            [A_CIRCUIT, NO_LOAD | {"volume_ohm": 1e3}],
            [A_CIRCUIT, NO_LOAD | {"volume_ohm": 2e4, "tone_ohm": 5e5, "tone_f": 22e-9}],
        ),
        tuple([A_CIRCUIT | {part: 0.0}, NO_LOAD] for part in A_CIRCUIT),
    ),
    Shared("rectangular", uncertainty.rectangular, lambda r: [r.uniform(0.0, 1e3)], ([0.0],)),
    Shared(
        "accuracyHalfWidth",
        instrument.accuracy_half_width,
        lambda r: [
            r.uniform(-1e4, 1e4),
            r.uniform(0, 5),
            r.uniform(0, 9),
            10.0 ** r.randint(-3, 2),
        ],
    ),
    Shared(
        "reduceResistance",
        _reduce,
        lambda r: [_reading(r)],
        (
            _edge_reading(ohm=0.0),
            _edge_reading(ohm=0.1, leads_ohm=0.3),
            _edge_reading(ohm=0.1, leads_ohm=0.3, qualifier=">"),
            _edge_reading(in_circuit=True),
            _edge_reading(in_circuit=True, qualifier="<"),
            _edge_reading(in_circuit=True, qualifier=">"),
            _edge_reading(in_circuit=True, ohm=1e5),
            _edge_reading(in_circuit=True, parallel_ohm=8000.0),
            _edge_reading(meter_ohm=8000.0),
            _edge_reading(temperature_c=None, accuracy={"percent": 0.0, "digits": 0.0}),
        ),
        (
            _edge_reading(temperature_c=200.0),
            _edge_reading(temperature_c=NAN),
            _edge_reading(ohm=-1.0),
        ),
    ),
)


def _outcome(function: Callable[..., Any], arguments: list[Any]) -> dict[str, Any]:
    try:
        found = function(*arguments)
    except OutOfDomain:
        return {"refused": True}
    return {"value": found if isinstance(found, dict) else float(found)}


@functools.cache
def cases() -> tuple[dict[str, Any], ...]:
    """Return name, arguments and Python's outcome, of every shared function."""
    found = []
    for shared in SHARED:
        r = random.Random(f"parity {shared.name}")
        drawn = (shared.draw(r) for _ in range(ORDINARY))
        for arguments in (*drawn, *shared.edges, *shared.refused):
            outcome = _outcome(shared.python, arguments)
            found.append({"name": shared.name, "arguments": arguments, "python": outcome})
    return tuple(found)


_SIGNS = "0123456789.,'/- kMRGmnpμeE<>~±Ω\"½°CFint≤…×′١"

#: Numbers at the edges of the grammar and of what a float holds, and digits of other scripts.
ODD_NUMBERS = (
    "0.000", "-0", "0e-400", "1e-320", "9" * 40, "1" * 25 + "/" + "3" * 25, "2/3", "1/" + "7" * 50,
    "9007199254740993", "\u0663\u066b\u0665", "\u0663.\u0665", "\u096d/\u096e",
    "\uff13.\uff15", "5\x1f", "\x85 5", "5e-0003", "Open", "1_000", "5\ufeff", "a" * 61,
    "\U0001d7d5.\U0001d7d6", "0.1e-322",
)  # fmt: skip


def _texts() -> Iterator[tuple[str, str, str | None, bool]]:
    """Yield text, kind, default unit and decimal comma: the table's cases, then drawn ones."""
    for case in csv.DictReader(VALUES_CSV.read_text("utf-8").splitlines()):
        text = re.sub(r"\\u([0-9a-f]{4})", lambda m: chr(int(m[1], 16)), case["text"])
        yield text, case["kind"], case["default_unit"] or None, case["decimal_comma"] == "yes"
    for kind in KINDS.values():
        for spelling in kind.spellings:
            yield f"3.5 {spelling}", kind.name, None, False
    for number in ODD_NUMBERS:
        for kind_name in ("length", "resistance"):
            yield number, kind_name, EXAMPLES[kind_name].split()[1], False
    r = random.Random("parity of texts")
    for _ in range(ORDINARY):
        kind_name = r.choice(sorted(KINDS))
        text = "".join(r.choice(_SIGNS) for _ in range(r.randint(1, 9)))
        if r.random() < 0.6:
            text = f"{r.randint(0, 9999)}{r.choice(['', '.', ',', '/', ' ', 'k', 'R'])}{text}"
        yield text, kind_name, EXAMPLES[kind_name].split()[1], r.random() < 0.3


@functools.cache
def texts() -> tuple[dict[str, Any], ...]:
    """Return text, kind, options and what Python reads or why it refuses, of the grammar."""
    found = []
    for text, kind, unit, comma in _texts():
        python: dict[str, Any]
        try:
            written = read_value(text, KINDS[kind], default_unit=unit, decimal_comma=comma)
            python = dataclasses.asdict(written)
        except ValueUnreadable as error:
            python = {"what": error.what, "todo": error.todo}
        options = {"defaultUnit": unit, "decimalComma": comma}
        found.append({"text": text, "kind": kind, "options": options, "python": python})
    return tuple(found)


@functools.cache
def vectors_script() -> str:
    """Return the vectors as a data script: infinities and no numbers are JavaScript's own words."""
    data = {
        "cases": cases(),
        "texts": texts(),
        "wires": list(REFERENCE.wires),
        "bobbins": list(REFERENCE.bobbins),
    }
    return f"coilbook.vectors = {json.dumps(data)};\n"

"""The calculators: their fields and starting values, the formulas behind them, tables to read off.

The page computes with formulas.js; what stands on it without a script is computed here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coilbook.core.constants import FRACTION_DENOMINATOR
from coilbook.core.formulas.copper import temperature_factor
from coilbook.core.units import convert
from coilbook.measures.response import EXAMPLE_LOADS, Circuits, levels_db, marks
from coilbook.measures.response_of_piece import TABLE_HZ
from coilbook.pages import text
from coilbook.pages.declare import OnePage
from coilbook.pages.page import Book
from coilbook.pages.piece.response_section import LoadText, load_text
from coilbook.pages.reference.sources_page import ALL_FORMULAS, FormulaView, formula_view

#: The formulas behind each calculator, by their names.
_BEHIND = {
    "temperature": ("to_20c", "accuracy_half_width", "expanded"),
    "parallel": ("take_out_parallel_ohm", "expanded"),
    "turns": (
        "coil_resistance_ohm",
        "coil_turns",
        "resistance_sensitivities",
        "fill_ratio",
        "awg_diameter_m",
    ),
    "lengths": (),
    "flux": (),
    "hum": (
        "imbalance_percent",
        "hum_left_db",
        "hum_left_interval",
        "series_ohm",
        "coils_in_parallel_ohm",
    ),
    "response": ("levels_db", "marks"),
}
#: A full-size pickup's circuit to begin with, by common practice: henries, ohms, farads.
START_CIRCUIT = (4.4, 8.0e3, 110e-12)
_WARM_C = tuple(range(10, 37, 2))
#: The page's one script, and what it is made of in this order.
SCRIPT = "assets/js/calculators_whole.js"
PARTS: tuple[str, ...] = (
    "assets/data/bench.js",
    "assets/js/grammar.js",
    "assets/js/formulas.js",
    "assets/js/calculators.js",
)


@dataclass(frozen=True, slots=True)
class Slider:
    """One slider; ``factor`` takes what it shows to SI."""

    name: str
    label: str
    unit: str
    low: str
    high: str
    step: str
    start: str
    factor: str


@dataclass(frozen=True, slots=True)
class PartChoice:
    """One line of a list to choose from."""

    key: str
    name: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class TwoFigures:
    """A line of a table to read off."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Level:
    """The starting circuit's level at one frequency under the first load."""

    hertz: int
    name: str
    value: str


@dataclass(frozen=True, slots=True)
class CalculatorsContext:
    """Everything on the page of calculators."""

    formulas: dict[str, tuple[FormulaView, ...]]
    bobbins: tuple[PartChoice, ...]
    wires: tuple[PartChoice, ...]
    turns: str
    factors: tuple[TwoFigures, ...]
    sixteenths: tuple[TwoFigures, ...]
    inch_mm: str
    gauss_per_mt: str
    sliders: tuple[Slider, ...]
    loads: tuple[LoadText, ...]
    levels: tuple[Level, ...]
    start_peak: str
    script: str


def context(book: Book) -> CalculatorsContext:
    """Return everything on the page of calculators."""
    by_name = {doc.name: doc for doc in ALL_FORMULAS}
    reference = book.reference
    usual = next(f for f in reference.families.values() if f.bobbin_id and f.wire_id)
    circuit = Circuits(*(np.array([part]) for part in START_CIRCUIT))
    load = EXAMPLE_LOADS[0]
    levels = levels_db(circuit, load, np.array(TABLE_HZ, dtype=np.float64))[0]
    peak = float(marks(circuit, load).peak_hz[0])
    return CalculatorsContext(
        formulas={
            name: tuple(formula_view(book, by_name[formula]) for formula in formulas)
            for name, formulas in _BEHIND.items()
        },
        bobbins=tuple(
            PartChoice(key, row.name, key == usual.bobbin_id)
            for key, row in reference.bobbins.items()
        ),
        wires=tuple(
            PartChoice(key, f"{row.awg} AWG, {row.build} build", key == usual.wire_id)
            for key, row in reference.wires.items()
        ),
        turns=text.number(usual.turns_per_coil or 5000, 0),
        factors=tuple(
            TwoFigures(f"{celsius}", f"{1.0 / temperature_factor(float(celsius)):.4f}")
            for celsius in _WARM_C
        ),
        sixteenths=tuple(
            TwoFigures(_fraction(part), f"{convert(part / FRACTION_DENOMINATOR, 'inch', 'mm'):.2f}")
            for part in range(1, FRACTION_DENOMINATOR + 1)
        ),
        inch_mm=f"{convert(1.0, 'inch', 'mm'):g}",
        gauss_per_mt=f"{convert(1.0, 'mT', 'gauss'):g}",
        sliders=_sliders(),
        loads=tuple(load_text(load) for load in EXAMPLE_LOADS),
        levels=tuple(
            Level(round(hertz), f"{hertz:g}", text.number(float(level), 1))
            for hertz, level in zip(TABLE_HZ, levels, strict=True)
        ),
        script=SCRIPT,
        start_peak=f"{peak / 1e3:.2f}",
    )


def _fraction(part: int) -> str:
    """Return a number of sixteenths of an inch in lowest terms."""
    bottom = FRACTION_DENOMINATOR
    while part % 2 == 0 and bottom % 2 == 0:
        part, bottom = part // 2, bottom // 2
    return f"{part}/{bottom}" if bottom > 1 else f"{part}"


def _sliders() -> tuple[Slider, ...]:
    inductance, resistance, capacitance = START_CIRCUIT
    load = EXAMPLE_LOADS[0]
    rows = (
        ("inductance_h", "Inductance", "H", 0.5, 12.0, 0.1, inductance, 1.0),
        ("resistance_ohm", "Resistance", "kΩ", 1.0, 20.0, 0.1, resistance / 1e3, 1e3),
        ("capacitance_f", "Self-capacitance", "pF", 20.0, 400.0, 5.0, capacitance * 1e12, 1e-12),
        ("volume_ohm", "Volume pot", "kΩ", 50.0, 1000.0, 10.0, load.volume_ohm / 1e3, 1e3),
        ("tone_ohm", "Tone pot", "kΩ", 50.0, 1000.0, 10.0, load.tone_ohm / 1e3, 1e3),
        ("tone_f", "Tone capacitor", "nF", 0.0, 100.0, 1.0, load.tone_f * 1e9, 1e-9),
        ("cable_f", "Cable", "pF", 0.0, 2000.0, 10.0, load.cable_f * 1e12, 1e-12),
        ("input_ohm", "Amplifier's input", "kΩ", 50.0, 5000.0, 10.0, load.input_ohm / 1e3, 1e3),
    )
    return tuple(
        Slider(
            name, label, unit, f"{low:g}", f"{high:g}", f"{step:g}", f"{start:.6g}", f"{factor:g}"
        )
        for name, label, unit, low, high, step, start, factor in rows
    )


PAGE = OnePage(
    path="calculators/index.html",
    template="calculators.html.j2",
    section="calculators",
    title="Calculators",
    description="Temperature, parallel path, turns, lengths, flux, hum and response.",
    context=context,
    search_text="calculate temperature parallel turns resistance window fill fractions "
    "inch mm gauss tesla imbalance hum response pots cable",
)

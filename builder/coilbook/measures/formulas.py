"""The formulas as data, read from their own docstrings, for the methods page.

A docstring is the only place where a formula's text lives; :func:`document` says what it must hold.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from coilbook.core.budgets import joint, uncertainty
from coilbook.core.formulas import (
    circuit,
    coil,
    copper,
    hum,
    inductor,
    layers,
    pair,
    rods,
    window,
    wire,
)
from coilbook.core.formulas import resonance as circuits
from coilbook.core.reduction import instrument, probe, rod_ceilings
from coilbook.measures import (
    columns,
    expansion,
    expected,
    magnet_field,
    magnet_grade,
    metals,
    monte_carlo,
    phase,
    resonance,
    response,
)

_FIELDS = ("Formula", "Arguments", "Returns", "Validity", "Errors", "Source")
_NEEDED = ("Formula", "Arguments", "Returns", "Validity", "Source")
_FIELD = re.compile(rf"({'|'.join(_FIELDS)}): (.+)\Z", re.DOTALL)
_ARGUMENT = re.compile(r"(\w+) (\S+) \[([^\]]*)\]")
_RESULT = re.compile(r"(.+?) \[([^\]]*)\]")

Basis = Literal["published", "common practice", "geometry"]


@dataclass(frozen=True, slots=True)
class FormulaArgument:
    """One argument: its name in code, its letter in the formula (LaTeX), its unit."""

    name: str
    symbol: str
    unit: str


@dataclass(frozen=True, slots=True)
class FormulaDoc:
    """One formula as the methods page shows it.

    ``source_id`` is a key of sources.csv when ``basis`` is published, else None. ``notes`` holds
    whatever else the docstring says, a derivation for one, a paragraph each.
    """

    name: str
    topic: str
    sentence: str
    latex: str
    arguments: tuple[FormulaArgument, ...]
    result_symbol: str
    result_unit: str
    validity: str
    errors: str
    basis: Basis
    source_id: str | None
    locator: str
    notes: tuple[str, ...]


def document(function: Callable[..., Any], topic: str) -> FormulaDoc:
    """Return what a formula's docstring says.

    Raises ``ValueError``, naming the function and the field, if one is missing or unreadable.
    """
    name = function.__name__
    sentence, *paragraphs = inspect.cleandoc(function.__doc__ or "").split("\n\n")
    fields: dict[str, str] = {}
    notes: list[str] = []
    for paragraph in paragraphs:
        if not paragraph.startswith("Formula:"):
            notes.append(" ".join(paragraph.split()))
            continue
        # A field runs on over indented lines.
        for line in re.split(r"\n(?! )", paragraph):
            match = _FIELD.match(line)
            if match is None:
                raise ValueError(f"{name}: '{line}' is not one of {', '.join(_FIELDS)}.")
            fields[match[1]] = " ".join(match[2].split())
    missing = [field for field in _NEEDED if field not in fields]
    if missing:
        raise ValueError(f"{name}: the docstring lacks {', '.join(missing)}.")
    arguments = tuple(FormulaArgument(*found) for found in _ARGUMENT.findall(fields["Arguments"]))
    result = _RESULT.match(fields["Returns"])
    if not arguments or result is None:
        raise ValueError(f"{name}: write arguments as 'name symbol [unit]', the result likewise.")
    basis, source_id, locator = _source(fields["Source"])
    return FormulaDoc(
        name=name,
        topic=topic,
        sentence=" ".join(sentence.split()),
        latex=fields["Formula"],
        arguments=arguments,
        result_symbol=result[1],
        result_unit=result[2],
        validity=fields["Validity"],
        errors=fields.get("Errors", ""),
        basis=basis,
        source_id=source_id,
        locator=locator,
        notes=tuple(notes),
    )


def _source(text: str) -> tuple[Basis, str | None, str]:
    if text == "common practice":
        return "common practice", None, ""
    if text == "geometry":
        return "geometry", None, ""
    source_id, _, locator = text.partition(" ")
    return "published", source_id, locator


#: The formulas by topic, in the order of the methods page.
FORMULA_FUNCTIONS: dict[str, tuple[Callable[..., Any], ...]] = {
    "wire": (wire.awg_diameter_m, wire.wire_resistance_ohm_per_m, wire.wire_mass_kg_per_m),
    "temperature": (
        copper.temperature_factor,
        copper.to_20c,
        copper.at_temperature,
        probe.thermal_expansion_m,
    ),
    "circuit": (circuit.parallel_ohm, circuit.take_out_parallel_ohm),
    "coil": (
        coil.racetrack_perimeter_m,
        coil.build_up_m,
        coil.mean_turn_m,
        coil.wire_length_m,
        coil.coil_resistance_ohm,
        coil.turns_of_length,
        coil.coil_turns,
        coil.resistance_sensitivities,
        layers.turns_per_layer,
        layers.layer_count,
        layers.spool_length_m,
        layers.wound_mass_kg_per_m,
        layers.coil_mass_kg,
        layers.turns_of_mass,
        layers.mass_sensitivities,
        expected.scaled_inductance_h,
    ),
    "window": (window.layered_turns, window.scatter_turns, window.fill_ratio),
    "pair": (
        pair.difference_ohm,
        pair.imbalance_percent,
        pair.normalised_error,
        hum.series_ohm,
        hum.coils_in_parallel_ohm,
        hum.partly_split_ohm,
        hum.hum_left_of_turns_db,
        hum.hum_left_db,
        hum.hum_left_of_imbalance_db,
        hum.hum_left_interval,
        phase.string_sign,
        phase.hum_sign,
    ),
    "resonance": (
        circuits.total_load_ohm,
        circuits.total_capacitance_f,
        circuits.undamped_frequency_hz,
        resonance.gain_db,
        resonance.gain_with_tone_db,
        circuits.peak_frequency_hz,
        circuits.peak_height_db,
        circuits.band_edge_hz,
        circuits.inductance_from_peak_h,
        circuits.capacitance_from_peak_f,
        circuits.peak_frequency_sensitivities,
        response.inductance_without_capacitance_h,
        response.levels_db,
        response.level_interval_db,
        response.marks,
        inductor.quality_factor,
        inductor.series_inductance_h,
        inductor.parallel_inductance_h,
        inductor.extra_loss,
        inductor.loss_surplus,
        probe.peak_by_capacitance_hz,
        probe.peak_by_inductance_hz,
        probe.driven_peak_ratio,
    ),
    "magnet": (
        magnet_field.bar_on_axis_t,
        rods.rod_on_axis_t,
        magnet_field.bar_field_t,
        magnet_field.rod_field_t,
        magnet_field.middle_of_face_t,
        magnet_field.highest_over_face_t,
        magnet_grade.bar_demagnetising_factor,
        magnet_grade.rod_demagnetising_factor,
        magnet_grade.row_demagnetising_factor,
        magnet_grade.demagnetising_factor,
        magnet_grade.demagnetisation_curve_t,
        magnet_grade.working_polarisation_t,
        magnet_grade.ceiling_t,
        magnet_grade.self_demagnetised_t,
        rod_ceilings.likely_standoffs_m,
        magnet_grade.rule_out,
        magnet_grade.field_change,
        probe.standoff_ratio,
        probe.standoff_sensitivities,
    ),
    "metals": (
        metals.conductivity_percent,
        metals.skin_depth_m,
        metals.apparent_permeability,
        metals.permeable_rod_factor,
    ),
    "uncertainty": (
        instrument.accuracy_half_width,
        joint.best_weights,
        joint.chi_square,
        uncertainty.rectangular,
        uncertainty.standard_uncertainty_of_mean,
        uncertainty.combined_standard_uncertainty,
        uncertainty.effective_degrees_of_freedom,
        expansion.coverage_factor,
        uncertainty.expanded,
        columns.reduce_columns,
        monte_carlo.drawn_result,
        monte_carlo.meaningful_tolerance,
        monte_carlo.compare,
    ),
}

FORMULAS: tuple[FormulaDoc, ...] = tuple(
    document(function, topic)
    for topic, functions in FORMULA_FUNCTIONS.items()
    for function in functions
)

"""Many resistance readings reduced at once: arrays in, arrays out, by the same formulas.

``reduce_reading`` tells the story of one reading, step by step, with
its budget. Here an archive's readings go through the same chain as columns, for work in which only
the value and its standard uncertainty count.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np

from coilbook.core.constants import (
    ALPHA_20_PER_K,
    CONDUCTIVITY_HALF_WIDTH,
    INPUT_RESISTANCE_HALF_WIDTH,
    LEADS_HALF_WIDTH,
    REFERENCE_TEMPERATURE_C,
    UNSTATED_TEMPERATURE_HALF_WIDTH_K,
)
from coilbook.core.formulas.copper import temperature_factor
from coilbook.core.reduction.instrument import instrument_budget
from coilbook.core.units import scale
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray, each_not_negative
from coilbook.records.contents import Reading

_SHARE = 1.0 / math.sqrt(3.0)  # a rectangular distribution's, JCGM 100 4.3.7


@dataclass(frozen=True, slots=True)
class ResistanceColumns:
    """Readings of copper as columns of one length.

    ``half_width_ohm`` is the instrument's limit of error for the reading. A conductance is 1 over
    what lies in parallel, 0 where nothing does, and its ``tolerance`` the limit of error as a
    share: ``meter_s`` is the meter's own, ``path_s`` what lay across the coil. ``lead_ohm`` are the
    meter's leads.
    """

    reading_ohm: FloatArray
    half_width_ohm: FloatArray
    temperature_c: FloatArray
    temperature_half_width_k: FloatArray
    path_s: FloatArray
    path_tolerance: FloatArray
    meter_s: FloatArray
    lead_ohm: FloatArray

    def __post_init__(self) -> None:
        lengths = {np.shape(getattr(self, field.name)) for field in fields(self)}
        if len(lengths) != 1:
            raise OutOfDomain(f"the columns have {len(lengths)} lengths. Give each as many rows.")


@dataclass(frozen=True, slots=True)
class ReducedColumns:
    """Resistances at 20 °C and out of circuit; ``bound`` where a load could not be taken out.

    A reading that reaches what is said to lie across it, or that does not reach its leads, cannot
    be: what is left of it is no more than a bound.
    """

    resistance_ohm: FloatArray
    standard_uncertainty_ohm: FloatArray
    bound: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


def columns_of(readings: Iterable[Reading]) -> ResistanceColumns:
    """Return the columns of readings of copper that are numbers (no bound, no open circuit).

    A reading in circuit whose parallel path is unknown has no such column.

    Raises :class:`OutOfDomain`, naming the line, for a reading that does not belong here.
    """
    rows = []
    for reading in readings:
        in_circuit = reading.row.circuit == "in_circuit"
        unknown = in_circuit and reading.parallel_ohm is None
        copper = reading.property.reduction == "copper"
        if not copper or reading.value is None or reading.qualifier or unknown:
            raise OutOfDomain(
                f"readings.csv:{reading.line}: this is no number of copper with a known path. "
                "Leave it out of the columns."
            )
        to_ohm = scale(reading.property.unit or "", "ohm")
        lines, _ = instrument_budget(reading, reading.value)
        temperature_c, half_width_k = reading.temperature_c, reading.temperature_half_width_k
        if temperature_c is None:
            temperature_c = REFERENCE_TEMPERATURE_C
            half_width_k = UNSTATED_TEMPERATURE_HALF_WIDTH_K
        path_ohm, meter_ohm = reading.parallel_ohm, reading.input_resistance_ohm
        rows.append(
            (
                reading.value * to_ohm,
                math.hypot(*(line.effect for line in lines)) / _SHARE * to_ohm,
                temperature_c,
                half_width_k,
                1.0 / path_ohm if in_circuit and path_ohm else 0.0,
                reading.parallel_tolerance / 100.0 if in_circuit else 0.0,
                1.0 / meter_ohm if meter_ohm else 0.0,
                reading.lead_resistance_ohm,
            )
        )
    table = np.array(rows, dtype=np.float64).reshape(len(rows), len(fields(ResistanceColumns)))
    return ResistanceColumns(*(np.ascontiguousarray(column) for column in table.T))


def reduce_columns(columns: ResistanceColumns) -> ReducedColumns:
    r"""Return resistances at 20 °C and out of circuit with their standard uncertainties.

    Formula: R_{20} = \frac{q \, R_m}{k}, \quad q = \frac{1}{1 - R_m G}, \quad
        u^2 = \left( \frac{q^2}{k} \right)^2 \left[ u_m^2 + R_m^4 u_G^2 \right]
        + \left( \frac{R_{20}}{k} \right)^2 \left[ \alpha^2 u_T^2 + (T - 20\,°\mathrm{C})^2
        u_\alpha^2 \right]
    Arguments: columns c [Ω, °C, K, S]
    Returns: R_{20} [Ω]
    Validity: as one reading's way: what lies across, of conductance G, out first, then to 20 °C
        with k = 1 + α (T − 20 °C); every limit of error rectangular. A meter's own conductance and
        its leads are taken out before, in the same manner. A straight line in the inputs.
    Errors: OutOfDomain for an input below 0 or a temperature of no bench.
    Source: jcgm-100 5.1.2
    """
    each_not_negative(
        reading_ohm=columns.reading_ohm,
        half_width_ohm=columns.half_width_ohm,
        temperature_half_width_k=columns.temperature_half_width_k,
        path_s=columns.path_s,
        path_tolerance=columns.path_tolerance,
        meter_s=columns.meter_s,
        lead_ohm=columns.lead_ohm,
    )
    per_factor = 1.0 / temperature_factor(columns.temperature_c)
    value = columns.reading_ohm
    square = columns.half_width_ohm * columns.half_width_ohm
    bound = np.zeros(value.shape, dtype=np.bool_)
    if columns.meter_s.any():
        tolerance = np.full(value.shape, INPUT_RESISTANCE_HALF_WIDTH)
        value, square = _take_out(value, square, columns.meter_s, tolerance, bound)
    if columns.lead_ohm.any():
        short = (columns.lead_ohm > 0.0) & (value <= columns.lead_ohm)
        bound |= short
        leads = np.where(short, 0.0, columns.lead_ohm)
        value = value - leads
        leads *= LEADS_HALF_WIDTH
        square += leads * leads
    if columns.path_s.any():
        value, square = _take_out(value, square, columns.path_s, columns.path_tolerance, bound)
    resistance = value * per_factor
    square *= per_factor * per_factor
    cooler = columns.temperature_half_width_k * ALPHA_20_PER_K
    copper = columns.temperature_c - REFERENCE_TEMPERATURE_C
    copper *= ALPHA_20_PER_K * CONDUCTIVITY_HALF_WIDTH
    relative = cooler * cooler
    relative += copper * copper
    relative *= (resistance * per_factor) ** 2
    square += relative
    return ReducedColumns(resistance, np.sqrt(square) * _SHARE, bound)


def _take_out(
    value: FloatArray,
    square: FloatArray,
    conductance_s: FloatArray,
    tolerance: FloatArray,
    bound: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
) -> tuple[FloatArray, FloatArray]:
    """Take a conductance out of values whose limits of error, squared, are ``square``."""
    load = value * conductance_s
    over = load >= 1.0
    if over.any():
        bound |= over
        load[over] = 0.0
    rise = 1.0 / (1.0 - load)
    path = load * tolerance
    path *= value
    square = square + path * path
    square *= (rise * rise) ** 2
    return value * rise, square

"""What measures hands to the later rooms: readings reduced to comparable values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from coilbook.measures.uncertainty import Contribution
from coilbook.records.types import Calibration, Qualifier

#: What stands against a reduced value; data, worded by the templates.
Flag = Literal[
    "calibration_lapsed",  # the instrument was past its due date on the day
    "no_instrument",  # no accuracy is known: only the written digits count
    "no_temperature",  # 20 °C ± 6 K was assumed
    "parallel_unknown",  # read in circuit with an unknown path: the value is a lower bound
    "parallel_impossible",  # read above the resistance said to be in parallel
    "derived",  # computed from other readings of the piece
    "assumed_construction",  # rests on the family's usual wire and bobbin
]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a reduction, as data: ``before`` and ``after`` are in the property's unit.

    ``code`` is ``parallel``, ``temperature`` or ``derived``; ``data`` holds what the step used.
    """

    code: str
    before: float
    after: float
    data: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ReducedValue:
    """A reading at 20 °C and out of circuit, or a value derived from several, with uncertainty.

    ``value`` and ``standard_uncertainty`` are in ``unit``, the property's. ``value`` is None for an
    open circuit and for a category. ``line`` is the reading's in readings.csv, 0 if derived.
    """

    piece_id: str
    component: str
    property_id: str
    unit: str
    value: float | None
    standard_uncertainty: float | None
    qualifier: Qualifier
    category: str | None
    line: int
    written: str
    date: str
    instrument_id: str | None
    calibration: Calibration
    steps: tuple[Step, ...] = ()
    budget: tuple[Contribution, ...] = ()
    flags: tuple[Flag, ...] = ()

    @property
    def comparable(self) -> bool:
        """Whether a number stands here that may be compared and counted (not a bound, not open)."""
        return self.value is not None and self.qualifier == ""


@dataclass(frozen=True, slots=True)
class Closure:
    """Whether coil_a and coil_b add up to the pair.

    ``normalised_error`` is En = |pair - (a + b)| / (2 u of the difference); they close at En <= 1.
    Values in kΩ.
    """

    sum_kohm: float
    pair_kohm: float
    difference_kohm: float
    standard_uncertainty_kohm: float
    normalised_error: float

    @property
    def closes(self) -> bool:
        """Whether the difference is within its expanded uncertainty (k = 2)."""
        return self.normalised_error <= 1.0


@dataclass(frozen=True, slots=True)
class Turns:
    """Turns that a coil's resistance stands for, on the family's usual wire and bobbin."""

    component: str
    turns: float
    standard_uncertainty: float
    wire_id: str
    bobbin_id: str
    budget: tuple[Contribution, ...]
    fill_square: float


@dataclass(frozen=True, slots=True)
class MeasuredPiece:
    """Everything that measures can say of one piece.

    ``values`` has every reading reduced, in the order of the file, then the derived ones.
    ``best`` names, for each (component, property), the one that stands for it: see
    :func:`coilbook.measures.reduce.choose`.
    """

    piece_id: str
    values: tuple[ReducedValue, ...]
    best: Mapping[tuple[str, str], ReducedValue]
    closure: Closure | None
    turns: tuple[Turns, ...]

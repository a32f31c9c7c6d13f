"""What measures hands to the later rooms: readings reduced to comparable values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from coilbook.core.budgets.budget import Contribution, Lines
from coilbook.core.budgets.joint import CombinedTurns
from coilbook.core.budgets.uncertainty import Estimate
from coilbook.core.reduction.gauges import Fit
from coilbook.core.reduction.reduced_value import ReducedValue

TroubleCode = Literal[
    "not_finite",  # not a number, or without end
    "not_above_zero",  # nothing, or less than nothing, where there must be something
    "out_of_domain",  # a condition that no bench has; ``data`` has the sentence
    "parallel_impossible",  # read at or above what is said to lie across it
    "coil_open_pair_reads",  # a coil is open, and there is a way through the pair
    "pair_open_coils_read",  # the pair is open, and both its coils have a reading
    "closure_fails",  # the coils do not add up to the pair
]


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something about a piece's readings that cannot be, with its place; worded by the templates.

    ``line`` is the reading's in readings.csv, 0 where several readings together make the trouble;
    ``data`` holds what the words need.
    """

    code: TroubleCode
    component: str
    property_id: str
    line: int
    data: Mapping[str, float | str] = field(default_factory=dict)


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
    """Turns that a coil's resistance stands for, on the family's usual wire and bobbin.

    ``turns`` and ``budget`` are by resistance alone. ``estimates`` has every estimate there is, by
    ``resistance``, ``mass`` and ``counter``, and ``combined`` what they make together, None of one
    alone. ``fit`` is of the combined turns where they agree.
    """

    component: str
    turns: float
    standard_uncertainty: float
    wire_id: str
    bobbin_id: str
    budget: Lines
    fit: Fit
    estimates: Mapping[str, Estimate]
    combined: CombinedTurns | None = None

    @property
    def dominant(self) -> Contribution:
        """Return what makes the turns by resistance most unsure."""
        return max(self.budget, key=lambda line: line.effect)


@dataclass(frozen=True, slots=True)
class MeasuredPiece:
    """Everything that measures can say of one piece.

    ``values`` has every reading reduced, in the order of the file, then the derived ones.
    ``best`` names, for each (component, property), the one that stands for it: see
    ``reduce.choose``. ``troubles`` are the readings that cannot be, alone or
    together: those that could not be reduced are in no other place.
    """

    piece_id: str
    values: tuple[ReducedValue, ...]
    best: Mapping[tuple[str, str], ReducedValue]
    closure: Closure | None
    turns: tuple[Turns, ...]
    troubles: tuple[Trouble, ...] = ()

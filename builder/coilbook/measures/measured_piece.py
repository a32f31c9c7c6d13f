"""What measures hands to the later rooms: readings reduced to comparable values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

from coilbook.measures.budget import Contribution, Lines
from coilbook.measures.uncertainty import Estimate
from coilbook.records.contents import Calibration, Qualifier

if TYPE_CHECKING:
    from coilbook.measures.gauges import Fit
    from coilbook.measures.joint import CombinedTurns

#: What stands against a reduced value; data, worded by the templates.
Flag = Literal[
    "calibration_lapsed",  # past its due date: the uncertainty is the last calibration's, unbacked
    "no_instrument",  # no accuracy is known: only the written digits count
    "no_temperature",  # 20 °C ± 6 K was assumed
    "parallel_unknown",  # read in circuit with an unknown path: the value is a lower bound
    "parallel_impossible",  # read above the resistance said to be in parallel
    "above_reading",  # what is to be taken out is not below the reading: an upper bound
    "parallel_equivalent",  # a parallel equivalent without its Q: an upper bound of the series one
    "probe_across",  # a probe's load could not be taken out: a lower bound of the peak
    "standoff",  # read off the pole, and not brought to it: a lower bound
    "insulation",  # kept as read: it falls with warmth and damp and depends on the test voltage
    "derived",  # computed from other readings of the piece
    "assumed_construction",  # rests on the family's usual wire and bobbin
]


class Step(NamedTuple):
    """One step of a reduction, as data: ``before`` and ``after`` are in the property's unit.

    ``code`` names what was done; ``data`` is what the step used (kept as names and values).

    - ``meter``, ``leads``, ``parallel``: the meter's own resistance, its leads, and what lay across
      the coil, taken out; ``path_unknown``: nobody knows what lay across, ``data`` says what the
      value would be at the most (``at_most``) if nothing below ``smallest_kohm`` did;
      ``temperature``: brought to 20 °C;
    - ``series``: from the parallel to the series equivalent; ``fixture``: the bridge's own
      capacitance taken out; ``probe``: the peak without the probe; ``zero``: what the probe showed
      without a magnet taken out; ``standoff``: brought to the pole;
    - ``derived``: computed from other values.
    """

    code: str
    before: float
    after: float
    names: tuple[str, ...] = ()
    values: tuple[float | str, ...] = ()

    @classmethod
    def of(cls, code: str, before: float, after: float, data: Mapping[str, float | str]) -> Step:
        """Return a step with its data."""
        # Of an archive's many steps the names are always the same, and are kept once.
        names = tuple(data)
        return cls(code, before, after, _NAMES.setdefault(names, names), tuple(data.values()))

    @property
    def data(self) -> dict[str, float | str]:
        """Return what the step used, by name."""
        return dict(zip(self.names, self.values, strict=True))


_NAMES: dict[tuple[str, ...], tuple[str, ...]] = {}


class ReducedValue(NamedTuple):
    """A reading at 20 °C and out of circuit, or a value derived from several, with uncertainty.

    ``value`` and ``standard_uncertainty`` are in ``unit``, the property's. ``value`` is None for an
    open circuit and for a category. ``line`` is the reading's in readings.csv, 0 if derived.

    ``interval`` stands beside the bound of a coil read with an unknown path across it: the coil has
    at least the lower end, whatever lies across, and at most the upper one if nothing below
    :data:`coilbook.measures.constants.SMALLEST_ACROSS_OHM` does (None: nothing can be said).

    A reading made past its instrument's due date has the flag ``calibration_lapsed`` and keeps its
    value. Its uncertainty is the one that the last calibration stood for, and nothing backs it any
    more: see ``uncertainty_backed``.
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
    budget: Lines = ()
    flags: tuple[Flag, ...] = ()
    interval: tuple[float, float | None] | None = None
    test_frequency_hz: float | None = None

    @property
    def key(self) -> tuple[str, str, int]:
        """What tells a value from the others of its piece, however often it is worked out."""
        return self.component, self.property_id, self.line

    @property
    def uncertainty_backed(self) -> bool:
        """Whether a calibration in force, or none that was due, stands behind the uncertainty."""
        return "calibration_lapsed" not in self.flags

    @property
    def comparable(self) -> bool:
        """Whether a number stands here that may be compared and counted (not a bound, not open)."""
        return self.value is not None and self.qualifier == ""


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
    :func:`coilbook.measures.reduce.choose`. ``troubles`` are the readings that cannot be, alone or
    together: those that could not be reduced are in no other place.
    """

    piece_id: str
    values: tuple[ReducedValue, ...]
    best: Mapping[tuple[str, str], ReducedValue]
    closure: Closure | None
    turns: tuple[Turns, ...]
    troubles: tuple[Trouble, ...] = ()

"""A reading reduced to a comparable value: its number, its steps, its budget."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

from coilbook.core.budgets.budget import Lines
from coilbook.core.seen import Calibration, Qualifier

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
    :data:`coilbook.core.constants.SMALLEST_ACROSS_OHM` does (None: nothing can be said).

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

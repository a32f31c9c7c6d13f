"""One piece as a whole: its readings reduced, and all else that is worked out from them.

What every page needs of every piece stands in :class:`MeasuredPiece`. The rest is dear (a response
takes thousands of draws) and asked for by one piece's own page or command alone. It is worked out
here when it is first asked for, and kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from coilbook.core.budgets.budget import Contribution
from coilbook.core.budgets.combine import scaled
from coilbook.core.formulas.hum import HumLeft, hum_left_interval
from coilbook.core.reduction.gauges import GaugeCandidate, gauge_candidates
from coilbook.core.reduction.measured_piece import MeasuredPiece, Turns
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.units import scale
from coilbook.measures.pair_sums import CoilSum, coil_sums
from coilbook.measures.phase import CoilPhase, PairPhase, coil_phase, pair_phase
from coilbook.records.contents import Piece, Reference

# What draws and searches takes arrays, whose libraries take longer to load than a piece to measure:
# each is loaded by what asks for it.
if TYPE_CHECKING:
    from coilbook.measures.checks import ResultCheck
    from coilbook.measures.magnet_of_piece import MagnetOfPiece
    from coilbook.measures.response_of_piece import Response


class LevelInterval(NamedTuple):
    """A level of a response in dB, and the ends of its 95 % interval."""

    level_db: float
    low_db: float
    high_db: float


class LevelsAt(NamedTuple):
    """The level at one frequency under each load, in the order of the response's curves."""

    frequency_hz: float
    levels: tuple[LevelInterval, ...]


class ReadPeak(NamedTuple):
    """The resonant frequency as read, and the level of the unloaded curve at it.

    ``level_db`` is None where there is no curve, or the peak lies beyond its ends.
    """

    frequency_hz: float
    standard_uncertainty_hz: float
    level_db: float | None


class Share(NamedTuple):
    """A line of a budget, and its share of the result's variance."""

    line: Contribution
    share: float


class WholePiece:
    """All that measures can say of one piece.

    It is computed from the records and from ``measured`` alone, whether the piece was measured once
    or anew.
    """

    def __init__(self, piece: Piece, measured: MeasuredPiece, reference: Reference) -> None:
        self.piece, self.measured = piece, measured
        self._reference = reference

    @cached_property
    def response(self) -> Response:
        """What the readings say of the piece's response, or what is missing for it."""
        from coilbook.measures.response_of_piece import response_of_piece

        return response_of_piece(self.piece, self.measured)

    @cached_property
    def response_levels(self) -> tuple[LevelsAt, ...]:
        """The response at the frequencies of the table; nothing where there are no curves."""
        import numpy as np

        from coilbook.measures.response_of_piece import TABLE_HZ

        found = self.response
        if not found.curves:
            return ()
        rows = []
        for hertz in TABLE_HZ:
            at = int(np.searchsorted(found.frequencies_hz, hertz))
            levels = (
                LevelInterval(float(c.level_db[at]), float(c.low_db[at]), float(c.high_db[at]))
                for c in found.curves
            )
            rows.append(LevelsAt(hertz, tuple(levels)))
        return tuple(rows)

    @cached_property
    def read_peak(self) -> ReadPeak | None:
        """The resonant frequency as it was read, None where no number was."""
        import numpy as np

        found = self.response
        read = found.read_peak
        if read is None or read.value is None:
            return None
        to_hz = scale(read.unit, "hertz")
        hertz, level = read.value * to_hz, None
        if found.curves and found.frequencies_hz[0] <= hertz <= found.frequencies_hz[-1]:
            level = float(np.interp(hertz, found.frequencies_hz, found.curves[0].level_db))
        return ReadPeak(hertz, (read.standard_uncertainty or 0.0) * to_hz, level)

    @cached_property
    def checks(self) -> Mapping[tuple[str, str], ResultCheck]:
        """Straight-line intervals beside drawn ones, by component and property."""
        from coilbook.measures.checks import result_checks

        found = result_checks(self.measured, self._reference)
        return {(check.component, check.property_id): check for check in found}

    @cached_property
    def hum(self) -> HumLeft | None:
        """The hum that the coils' imbalance leaves, None where it is not known as a number.

        The upper end is that of the imbalance itself (k = 2): near equal coils a decibel is no
        straight line.
        """
        imbalance = self.measured.best.get(("pair", "coil-imbalance"))
        if imbalance is None or not imbalance.comparable or imbalance.value is None:
            return None
        return hum_left_interval(imbalance.value, imbalance.standard_uncertainty or 0.0)

    @cached_property
    def sums(self) -> tuple[CoilSum, ...]:
        """What the two coils read in each way of switching them."""
        return coil_sums(self.measured)

    @cached_property
    def pair_phase(self) -> PairPhase | None:
        """Whether two coils add their strings and cancel their hum; None of a single coil."""
        return pair_phase(self.measured) if self.piece.family.coils == 2 else None

    @cached_property
    def coil_phases(self) -> tuple[CoilPhase, ...]:
        """The senses of each coil, as far as they are recorded."""
        if self.pair_phase is not None:
            return self.pair_phase.coils
        return (coil_phase(self.measured, "coil"),)

    @cached_property
    def phase_complete(self) -> bool:
        """Whether enough is recorded for every coil's sign."""
        if self.pair_phase is not None:
            return not self.pair_phase.missing
        return self.coil_phases[0].string is not None

    @cached_property
    def magnet(self) -> MagnetOfPiece | None:
        """What the readings say of the magnets, None if nothing was read of them."""
        from coilbook.measures.magnet_of_piece import magnet_of_piece

        return magnet_of_piece(self.piece, self.measured, self._reference)

    @cached_property
    def gauges(self) -> Mapping[str, tuple[GaugeCandidate, ...]]:
        """Every wire of the reference held against each coil whose turns are known."""
        return {turns.component: self._gauges(turns) for turns in self.measured.turns}

    def _gauges(self, turns: Turns) -> tuple[GaugeCandidate, ...]:
        best = self.measured.best
        read = best[turns.component, "coil-resistance"]
        mass = best.get((turns.component, "wire-mass"))
        to_kohm = scale(read.unit, "kΩ")
        weighed = mass is not None and mass.comparable and mass.value
        return gauge_candidates(
            (read.value or 0.0) * to_kohm,
            scaled(read.budget, to_kohm),
            self._reference.bobbins[turns.bobbin_id],
            self._reference.wires.values(),
            mass=(mass.value, mass.budget) if weighed and mass and mass.value else None,
            counted=turns.estimates.get("counter"),
        )

    def shares(self, value: ReducedValue) -> tuple[Share, ...]:
        """Return the lines of a value's budget with their shares, the greatest first.

        A share is of the variance that the value states, which counts what its lines have in
        common. Nothing of a value without an uncertainty.
        """
        total = value.standard_uncertainty
        if not total:
            return ()
        lines = sorted(value.budget, key=lambda line: -line.effect)
        return tuple(Share(line, (line.effect / total) ** 2) for line in lines)

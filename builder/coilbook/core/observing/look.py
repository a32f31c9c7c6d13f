"""One piece beside its peers: what every observation is made from."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.core.judging.consistency import Consistency
from coilbook.core.observing.peers import GroupKey, PeersSeen, Standing
from coilbook.core.observing.said import Assessment
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import PieceSeen, ReferenceSeen

#: A group's middle is known well enough for an observation from so many peers on.
SMALLEST_PEERS = 30
#: How far from the middle of its peers, in their robust standard deviations, a value is unusual.
#: This and the next ones were tuned on seeds of the blind trial (tests/trial) that it does not
#: report, for at most 2 % false alarms each.
UNUSUAL = 2.6
#: The same for a magnet, weaker or stronger than its peers.
UNUSUAL_FIELD = 2.2
#: The same for losses beyond the copper that are put down to shorted turns.
ONE_SIDED = 2.4
#: The same for losses that a path may have made as well.
LOSSES = 1.65
#: The same with a sign of a path that says nothing alone: the sum of both over the root of two.
TOGETHER = 1.9
#: Coils that make more than their pair, in standard uncertainties of the difference, are read as a
#: path across the pair from so many on, where nothing else tells.
CLOSURE = 1.3
#: Where the losses tell as well, the sum of both over the root of two must make so much, or the
#: resistances alone ALONE.
BOTH = 1.6
ALONE = 2.2
#: Without peers the pair's loss is expected to exceed its coils' by nothing, give or take so much
#: (one standard deviation) for metal that both coils reach and for the leads' capacitance (common
#: practice).
SURPLUS_SPREAD = 0.02
#: Below so much there is no sign of a path.
HINT = 0.5
#: Nothing that lies across a pickup is smaller or larger than these, kΩ (common practice).
PATHS_KOHM = (1.0, 3000.0)
#: Share of the peers that must have less imbalance, in percent.
IMBALANCE_RANK = 98.0

QUARTILES_TO_SIGMA = 1.349
COILS = ("coil", "coil_a", "coil_b")
RESISTANCE = {"pair": "pair-resistance", **dict.fromkeys(COILS, "coil-resistance")}
RATIO = {"pair": "pair-inductance-ratio", **dict.fromkeys(COILS, "coil-inductance-ratio")}
SURPLUS = "pair-loss-surplus"
LOSS = {"pair": "pair-extra-loss", **dict.fromkeys(COILS, "coil-extra-loss")}


@dataclass(frozen=True, slots=True)
class PathSigns:
    """How far two coils and their pair speak of a path across it, in standard deviations.

    ``off`` is by how much the coils' resistances exceed the pair's, ``surplus`` by how much the
    pair's losses exceed the coils' beside its peers, None where unknown; ``strength`` what they
    make together, and ``told`` whether that is enough to say so.
    """

    off: float | None
    surplus: float | None
    strength: float
    told: bool


@dataclass(frozen=True, slots=True)
class Look:
    """One piece with all that the observations need of it.

    ``among`` are the periods among whose pieces its peers are looked for, in this order: the one
    that it lies wholly within, if there is just one, then all of them (None).
    """

    piece: PieceSeen
    measured: MeasuredPiece
    assessment: Assessment
    consistent: Consistency
    summaries: PeersSeen
    reference: ReferenceSeen
    among: tuple[str | None, ...]

    def number(self, component: str, property_id: str) -> tuple[float, ReducedValue] | None:
        """Return the number that stands for a property of a part, if it may be compared."""
        value = self.measured.best.get((component, property_id))
        if value is None or not value.comparable or value.value is None:
            return None
        if value.standard_uncertainty is None or "parallel_impossible" in value.flags:
            return None
        return value.value, value

    def standing(self, component: str, property_id: str) -> tuple[float, Standing] | None:
        """Return how many robust standard deviations a value lies from its peers' middle.

        The value's own uncertainty counts on top of their spread, so that a poor reading of a
        usual piece is not unusual.
        """
        number = self.number(component, property_id)
        if number is None:
            return None
        standing = self._peers(component, property_id, number[0])
        if standing is None:
            return None
        spread = (standing.upper_quartile - standing.lower_quartile) / QUARTILES_TO_SIGMA
        # The middle of n peers is itself known to about 1.25 spreads over the root of n.
        whole = math.hypot(
            spread * math.sqrt(1.0 + 1.57 / standing.n), standard_uncertainty(number[1])
        )
        if whole <= 0.0:
            return None
        return (number[0] - standing.median) / whole, standing

    def _peers(self, component: str, property_id: str, number: float) -> Standing | None:
        """Return a value's place among the peers of its period if they suffice, else of all."""
        for period_id in self.among:
            key = GroupKey(self.piece.family.family_id, property_id, component, period_id)
            standing = self.summaries.standing(key, number, self.piece.row.piece_id)
            if standing is not None and standing.n >= SMALLEST_PEERS:
                return standing
        return None

    @property
    def closed(self) -> tuple[float, float, float] | None:
        """Return both coils, kΩ, and how far they are above their pair, in its uncertainties."""
        closure = self.measured.closure
        a, b = (self.number(coil, "coil-resistance") for coil in ("coil_a", "coil_b"))
        if closure is None or closure.standard_uncertainty_kohm <= 0.0 or a is None or b is None:
            return None
        return a[0], b[0], -closure.difference_kohm / closure.standard_uncertainty_kohm

    @property
    def surplus(self) -> tuple[float, float, int] | None:
        """Return how far the pair's losses exceed its coils', what is usual, and of how many peers.

        The first in standard deviations; where there are not enough peers it is held against
        nothing, give or take :data:`SURPLUS_SPREAD`.
        """
        number, standing = self.number("pair", SURPLUS), self.standing("pair", SURPLUS)
        if number is None:
            return None
        if standing is not None:
            return standing[0], standing[1].median, standing[1].n
        return number[0] / math.hypot(SURPLUS_SPREAD, standard_uncertainty(number[1])), 0.0, 0

    @property
    def path(self) -> PathSigns | None:
        """Return how far the coils and their pair speak of a path across it; None if they cannot.

        Resistances in series add, and so do losses: what lies across the pair takes more from the
        one and adds more to the other than it does to its coils.
        """
        closed, surplus = self.closed, self.surplus
        off = None if closed is None else closed[2]
        z = None if surplus is None else surplus[0]
        if off is None and z is None:
            return None
        if off is None or z is None:
            strength = off if off is not None else z
            assert strength is not None
            return PathSigns(off, z, strength, strength >= CLOSURE)
        both = (off + z) / math.sqrt(2.0)
        if off >= ALONE and off > both:
            return PathSigns(off, z, off, True)
        return PathSigns(off, z, both, both >= BOTH)

    @property
    def rewound(self) -> bool:
        """Whether the piece's winding is not its first one."""
        return self.piece.row.state == "rewound"


def standard_uncertainty(value: ReducedValue) -> float:
    """Return a value's standard uncertainty in its own unit, 0 where it has none."""
    return value.standard_uncertainty or 0.0

"""One piece beside its peers: what every observation is made from."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.assessment.consistency import Consistency
from coilbook.assessment.types import Assessment
from coilbook.measures.types import MeasuredPiece, ReducedValue
from coilbook.records.types import Piece, Reference
from coilbook.stats import GroupKey, Standing, Summaries

#: A group's middle is known well enough for an observation from so many peers on.
SMALLEST_PEERS = 30
#: How far from the middle of its peers, in their robust standard deviations, a value is unusual.
#: This and the next ones were tuned on seeds of the blind trial (tests/trial) that it does not
#: report, for at most 2 % false alarms each.
UNUSUAL = 2.6
#: The same for a magnet, weaker or stronger than its peers.
UNUSUAL_FIELD = 2.2
#: The same for losses beyond the copper, where only one side is asked.
ONE_SIDED = 2.4
#: A closure is read as a path across the pair from so many standard uncertainties on.
CLOSURE = 1.3
#: From so many on it says nothing alone, but counts with losses that are high as well: the sum of
#: both, over the root of two, is read as a path or a short from TOGETHER on.
HINT = 0.5
TOGETHER = 1.4
#: Nothing that lies across a pickup is smaller or larger than these, kΩ (common practice).
PATHS_KOHM = (1.0, 3000.0)
#: Share of the peers that must have less imbalance, in percent.
IMBALANCE_RANK = 98.0

QUARTILES_TO_SIGMA = 1.349
COILS = ("coil", "coil_a", "coil_b")
RESISTANCE = {"pair": "pair-resistance", **dict.fromkeys(COILS, "coil-resistance")}
RATIO = {"pair": "pair-inductance-ratio", **dict.fromkeys(COILS, "coil-inductance-ratio")}
LOSS = {"pair": "pair-extra-loss", **dict.fromkeys(COILS, "coil-extra-loss")}


@dataclass(frozen=True, slots=True)
class Look:
    """One piece with all that the observations need of it.

    ``among`` are the periods among whose pieces its peers are looked for, in this order: the one
    that it lies wholly within, if there is just one, then all of them (None).
    """

    piece: Piece
    measured: MeasuredPiece
    assessment: Assessment
    consistent: Consistency
    summaries: Summaries
    reference: Reference
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
    def rewound(self) -> bool:
        """Whether the piece's winding is not its first one."""
        return self.piece.row.state == "rewound"


def standard_uncertainty(value: ReducedValue) -> float:
    """Return a value's standard uncertainty in its own unit, 0 where it has none."""
    return value.standard_uncertainty or 0.0

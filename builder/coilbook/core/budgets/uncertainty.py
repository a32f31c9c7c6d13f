"""Uncertainty after the GUM (JCGM 100): contributions, their sum, and what dominates it.

The same inputs can be drawn at random instead, for when a straight line is no good likeness of the
formula: see :mod:`coilbook.measures.monte_carlo`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coilbook.core.budgets.budget import Budget, Lines
from coilbook.core.budgets.budget import Contribution as Contribution
from coilbook.errors import OutOfDomain


@dataclass(frozen=True, slots=True)
class Correlation:
    """How far two lines of a budget, by their places in it, vary together: r from −1 to 1."""

    first: int
    second: int
    coefficient: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its budget, combined by the law of propagation of uncertainty.

    Lines without a :class:`Correlation` are independent of one another.
    Raises :class:`OutOfDomain` for a correlation that names no pair of lines or is none, and where
    all of them together cannot be (the combined variance would be below 0).
    """

    value: float
    contributions: Lines
    correlations: tuple[Correlation, ...] = ()

    def __post_init__(self) -> None:
        if not self.correlations:
            return
        lines = len(self.contributions)
        for r in self.correlations:
            if not (0 <= r.first < lines and 0 <= r.second < lines and r.first != r.second):
                raise OutOfDomain(
                    f"a correlation joins lines {r.first} and {r.second} of a budget of {lines}. "
                    "Name two different lines, counted from 0."
                )
            if not -1.0 <= r.coefficient <= 1.0:
                raise OutOfDomain(
                    f"a correlation must lie from -1 to 1, and is {r.coefficient}. Check it."
                )

    @property
    def standard_uncertainty(self) -> float:
        """Return the combined standard uncertainty, in the value's unit (GUM 5.1.2 and 5.2.2)."""
        if not self.correlations:
            return Budget.of(self.contributions).standard_uncertainty
        return combined_standard_uncertainty(
            [c.sensitivity * c.standard_uncertainty for c in self.contributions], self.correlations
        )

    @property
    def dominant(self) -> Contribution | None:
        """Return the contribution with the largest effect, or None of an empty budget."""
        return max(self.contributions, key=lambda c: c.effect, default=None)

    @property
    def effective_degrees_of_freedom(self) -> float:
        """Return how well the combined standard uncertainty is known (GUM G.4.1).

        Lines that are correlated were observed together: they count as one line with their joint
        effect and the fewest degrees of freedom among them.
        """
        groups = _joined(len(self.contributions), self.correlations)
        effects, freedoms = [], []
        for group in groups:
            inside = {line: at for at, line in enumerate(group)}
            effects.append(
                combined_standard_uncertainty(
                    [
                        self.contributions[i].sensitivity
                        * self.contributions[i].standard_uncertainty
                        for i in group
                    ],
                    [
                        Correlation(inside[r.first], inside[r.second], r.coefficient)
                        for r in self.correlations
                        if r.first in inside
                    ],
                )
            )
            freedoms.append(min(self.contributions[i].degrees_of_freedom for i in group))
        return effective_degrees_of_freedom(effects, freedoms)


def _joined(lines: int, correlations: Sequence[Correlation]) -> list[list[int]]:
    """Return the lines in groups: those that a chain of correlations joins are together."""
    group = list(range(lines))
    for r in correlations:
        old, new = group[r.second], group[r.first]
        group = [new if g == old else g for g in group]
    members: dict[int, list[int]] = {}
    for line, g in enumerate(group):
        members.setdefault(g, []).append(line)
    return list(members.values())


def combined_standard_uncertainty(
    effects: Sequence[float], correlations: Sequence[Correlation] = ()
) -> float:
    r"""Return the standard uncertainty of a result from the effects of its inputs.

    Formula: u_c^2 = \sum_i e_i^2 + 2 \sum_{i<j} e_i \, e_j \, r_{ij}, \quad e_i = c_i u_i
    Arguments: effects e_i [unit], correlations r_{ij} [1]
    Returns: u_c [unit]
    Validity: where the result is near enough a straight line in its inputs over their
        uncertainties. Effects keep their signs. Pairs that are not named are independent.
    Errors: OutOfDomain for correlations that cannot all be true together.
    Source: jcgm-100 5.2.2
    """
    variance = math.fsum(effect * effect for effect in effects)
    if correlations:
        variance = math.fsum(
            (
                variance,
                *(2.0 * effects[r.first] * effects[r.second] * r.coefficient for r in correlations),
            )
        )
    if variance < -1e-12 * sum(effect * effect for effect in effects):
        raise OutOfDomain(
            "these correlations cannot all be true together: the result's variance would be below "
            "0. Check their signs and sizes."
        )
    return math.sqrt(max(variance, 0.0))


def effective_degrees_of_freedom(
    effects: Sequence[float], degrees_of_freedom: Sequence[float]
) -> float:
    r"""Return the effective degrees of freedom of a combined standard uncertainty.

    Formula: \nu_{eff} = \frac{u_c^4}{\sum_i e_i^4 / \nu_i}, \quad e_i = c_i u_i
    Arguments: effects e_i [unit], degrees_of_freedom \nu_i [1]
    Returns: \nu_{eff} [1]
    Validity: independent inputs (Welch and Satterthwaite); infinite where every input with an
        effect is known by its limits. Not cut down to a whole number.
    Errors: OutOfDomain unless every number of degrees of freedom is above 0 and one goes with each
        effect.
    Source: jcgm-100 G.4.1
    """
    if len(effects) != len(degrees_of_freedom):
        raise OutOfDomain(
            f"{len(effects)} effects and {len(degrees_of_freedom)} degrees_of_freedom do not go "
            "together. Give one for each effect."
        )
    for freedom in degrees_of_freedom:
        if not freedom > 0.0:
            raise OutOfDomain(
                f"degrees_of_freedom must be above 0, and is {freedom}. Repeat the reading, or "
                "take the instrument's stated limits instead."
            )
    total = math.hypot(*effects)
    if total == 0.0:
        return math.inf
    below = math.fsum(
        (effect / total) ** 4 / freedom
        for effect, freedom in zip(effects, degrees_of_freedom, strict=True)
    )
    return 1.0 / below if below > 0.0 else math.inf


def standard_uncertainty_of_mean(readings: Sequence[float]) -> float:
    r"""Return the standard uncertainty of the mean of repeated readings, by their spread.

    Formula: u = \frac{s}{\sqrt{n}}, \quad s^2 = \frac{\sum_i (x_i - \bar{x})^2}{n - 1}
    Arguments: readings x_i [unit]
    Returns: u [unit]
    Validity: readings made independently under the same conditions; n − 1 degrees of freedom. What
        all readings have in common (the instrument's own error) is not in their spread.
    Errors: OutOfDomain for fewer than two readings.
    Source: jcgm-100 4.2.3
    """
    if len(readings) < 2:
        raise OutOfDomain(f"readings holds {len(readings)}: a spread needs two or more.")
    n = len(readings)
    mean = math.fsum(readings) / n
    return math.sqrt(math.fsum([(x - mean) ** 2 for x in readings]) / (n - 1) / n)


def rectangular(half_width: float) -> float:
    r"""Return the standard uncertainty of a rectangular distribution.

    Formula: u = \frac{a}{\sqrt{3}}
    Arguments: half_width a [unit]
    Returns: u [unit]
    Validity: a ≥ 0, every value within ±a equally likely, none outside.
    Source: jcgm-100 4.3.7
    """
    return half_width / math.sqrt(3.0)


def expanded(standard_uncertainty: float, coverage_factor: float = 2.0) -> float:
    r"""Return the expanded uncertainty.

    Formula: U = k \, u
    Arguments: standard_uncertainty u [unit], coverage_factor k [1]
    Returns: U [unit]
    Validity: about 95 % for k = 2 when u is well known and the result near normal.
    Source: jcgm-100 6.2.1
    """
    return coverage_factor * standard_uncertainty

"""Uncertainty after the GUM (JCGM 100): contributions, their sum, and what dominates it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of an uncertainty budget.

    ``estimate`` and ``standard_uncertainty`` are in the input's own ``unit``; ``sensitivity`` is
    the derivative of the result with respect to it, so ``effect`` is in the result's unit.
    ``distribution`` names the shape that ``standard_uncertainty`` was taken from.
    """

    name: str
    estimate: float
    standard_uncertainty: float
    sensitivity: float
    unit: str
    distribution: str = "normal"

    @property
    def effect(self) -> float:
        """Return the contribution to the result's standard uncertainty, in the result's unit."""
        return abs(self.sensitivity) * self.standard_uncertainty


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its budget; ``standard_uncertainty`` is the root sum of squares (GUM 5.1.2)."""

    value: float
    contributions: tuple[Contribution, ...]

    @property
    def standard_uncertainty(self) -> float:
        """Return the combined standard uncertainty, in the value's unit, inputs uncorrelated."""
        return math.hypot(*(c.effect for c in self.contributions))

    @property
    def dominant(self) -> Contribution | None:
        """Return the contribution with the largest effect, or None of an empty budget."""
        return max(self.contributions, key=lambda c: c.effect, default=None)


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

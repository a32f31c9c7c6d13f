"""Whether a wire fits a bobbin, and which gauges a coil's readings leave possible."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Literal

from coilbook.core.budgets import combine
from coilbook.core.budgets.budget import Budget, Input, Lines
from coilbook.core.budgets.joint import combined_turns, joint_budget
from coilbook.core.budgets.uncertainty import Estimate, expanded, rectangular
from coilbook.core.constants import BOBBIN_HALF_WIDTH_M, SCATTER_FILL, WINDOW_FILL_RANGE
from coilbook.core.formulas.window import (
    HEXAGONAL_PACKING,
    fill_ratio,
    layered_turns,
    scatter_turns,
)
from coilbook.core.reduction.turns import (
    turns_estimate,
    turns_from_mass_estimate,
    winding_half_widths,
    winding_lines,
    winding_of,
)
from coilbook.core.seen import BobbinSeen, WireSeen

FitWord = Literal["fits", "only_if_nested", "cannot_fit"]

#: Why a gauge is not consistent with what was read; data, worded by the templates.
WhyNot = Literal[
    "window_too_full",  # more turns than the window takes, even nested
    "window_too_empty",  # fewer turns than a coil of the right gauge would have
    "turns_outside_range",  # not the turns that are documented
    "turns_disagree",  # not the turns that were read
    "mass_disagrees",  # resistance and mass make different turns of it
]


@dataclass(frozen=True, slots=True)
class Fit:
    """How full turns leave a window, as shares of the turns that it takes.

    ``ratio`` is the share of a square lay's, with its budget; above 1 it does not fit so.
    """

    ratio: Estimate
    ratio_nested: float
    ratio_scatter: float

    @property
    def ratio_square(self) -> float:
        """Return the share of the turns that a square lay takes."""
        return self.ratio.value

    @property
    def fits(self) -> FitWord:
        """Say whether it fits; what speaks against it must be above 1 by more than its U (k = 2).

        ``cannot_fit``: even nested, the closest lay there is. ``only_if_nested``: laid square.
        """
        if max(self.ratio_nested, self.ratio_square) <= 1.0:
            return "fits"
        surely = 1.0 - expanded(self.ratio.standard_uncertainty) / self.ratio.value
        if self.ratio_nested * surely > 1.0:
            return "cannot_fit"
        return "only_if_nested" if self.ratio_square * surely > 1.0 else "fits"


@dataclass(frozen=True, slots=True)
class GaugeCandidate:
    """One wire held against what was read of a coil.

    ``turns`` are those that the resistance stands for on this wire; with a mass or a count of turns
    that agrees, all of them combined. ``reasons`` is empty where nothing speaks against it, which
    never means that it is the one.
    """

    wire_id: str
    turns: Estimate
    fit: Fit
    reasons: Mapping[WhyNot, float] = field(default_factory=dict)

    @property
    def consistent(self) -> bool:
        """Whether nothing that was read speaks against this wire."""
        return not self.reasons


def gauge_fits(turns: Estimate, wire: WireSeen, bobbin: BobbinSeen) -> Fit:
    """Say how full turns of a wire leave a bobbin's window, and whether they fit.

    The turns' own budget is carried on. The wire's overall diameter and the winding height enter
    the turns as well as the window, each as one input; the window's depth comes on top.
    """
    winding = winding_of(wire, bobbin)
    height_m, depth_m = winding.winding_height_m, bobbin.winding_depth_mm / 1000.0
    over_m = winding.overall_diameter_m
    square = fill_ratio(turns.value, height_m, depth_m, over_m)
    half = winding_half_widths(wire)
    window = winding_lines(
        winding,
        {name: half[name] for name in ("overall_diameter_m", "winding_height_m")},
        {"overall_diameter_m": 2.0 * square / over_m, "winding_height_m": -square / height_m},
    )
    depth = Budget((_depth(bobbin.winding_depth_mm),), (-square / bobbin.winding_depth_mm,))
    budget = joint_budget(
        (("", square / turns.value, turns.contributions), ("", 1.0, window + depth))
    )
    return Fit(
        ratio=Estimate(square, budget),
        ratio_nested=turns.value / layered_turns(height_m, depth_m, over_m, HEXAGONAL_PACKING),
        ratio_scatter=turns.value / scatter_turns(height_m, depth_m, over_m, SCATTER_FILL),
    )


@cache
def _depth(depth_mm: float) -> Input:
    half_width_mm = BOBBIN_HALF_WIDTH_M * 1000.0
    return Input(combine.DEPTH, depth_mm, rectangular(half_width_mm), "mm", "rectangular")


def gauge_candidates(
    resistance_kohm: float,
    budget: Lines,
    bobbin: BobbinSeen,
    wires: Iterable[WireSeen],
    turns_range: tuple[float, float] | None = None,
    fill_range: tuple[float, float] = WINDOW_FILL_RANGE,
    *,
    mass: tuple[float, Lines] | None = None,
    counted: Estimate | None = None,
) -> tuple[GaugeCandidate, ...]:
    """Return every wire with the turns that a resistance stands for on it, and what speaks against.

    Arguments: the coil's resistance at 20 °C [kΩ] with its budget; ``turns_range``, turns that are
    documented; ``fill_range``, the least and the most share of a square lay's turns; ``mass``, that
    of its wire [g] with its budget; ``counted``, turns that were read.

    Only what is sure (k = 2) speaks against a wire, so that several are left as a rule: a
    resistance alone cannot tell one gauge from the next. A mass narrows it most, since resistance
    and mass lean on the diameter with opposite signs.
    """
    return tuple(
        _candidate(resistance_kohm, budget, bobbin, wire, turns_range, fill_range, mass, counted)
        for wire in wires
    )


def _candidate(
    resistance_kohm: float,
    budget: Lines,
    bobbin: BobbinSeen,
    wire: WireSeen,
    turns_range: tuple[float, float] | None,
    fill_range: tuple[float, float],
    mass: tuple[float, Lines] | None,
    counted: Estimate | None,
) -> GaugeCandidate:
    winding, half = winding_of(wire, bobbin), winding_half_widths(wire)
    by_resistance = turns_estimate(resistance_kohm, budget, winding, half)
    estimates = {"resistance": by_resistance}
    reasons: dict[WhyNot, float] = {}
    if counted is not None:
        reasons |= _disagreement("turns_disagree", estimates, "counter", counted)
    if mass is not None:
        by_mass = turns_from_mass_estimate(*mass, winding, half)
        reasons |= _disagreement("mass_disagrees", estimates, "mass", by_mass)
    turns = combined_turns(estimates).estimate
    fit = gauge_fits(turns, wire, bobbin)
    extent = expanded(fit.ratio.standard_uncertainty)
    if fit.ratio_square - extent > fill_range[1]:
        reasons["window_too_full"] = fit.ratio_square
    if fit.ratio_square + extent < fill_range[0]:
        reasons["window_too_empty"] = fit.ratio_square
    if turns_range is not None:
        reach = expanded(turns.standard_uncertainty)
        if turns.value + reach < turns_range[0] or turns.value - reach > turns_range[1]:
            reasons["turns_outside_range"] = turns.value
    return GaugeCandidate(wire.wire_id, turns, fit, reasons)


def _disagreement(
    why: WhyNot, estimates: dict[str, Estimate], name: str, other: Estimate
) -> dict[WhyNot, float]:
    """Return why another estimate disagrees with that by resistance, with its turns; or add it."""
    both = combined_turns({"resistance": estimates["resistance"], name: other})
    if both.agrees:
        estimates[name] = other
        return {}
    return {why: other.value}

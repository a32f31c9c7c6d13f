"""Propagation of distributions (JCGM 101): the inputs drawn at random through the whole formula.

The law of propagation of uncertainty takes a formula for a straight line. Where it is none over the
width of its inputs, or where one flat input governs, the drawn interval is the better one.
:func:`compare` says which of the two cases a result is.

Draws are the same in every run: each input's are made from its own name.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import stdtrit

from coilbook.core.budgets.uncertainty import Contribution
from coilbook.core.constants import require_not_negative
from coilbook.errors import OutOfDomain
from coilbook.measures.arrays import FloatArray
from coilbook.measures.expansion import coverage_factor

#: How many values of each input are drawn; the ends of a 95 % interval then stand within about
#: 2 % of its half-width. JCGM 101 (7.2.2) asks for a million where the ends' second digit matters.
DRAWS = 10_000
#: The digits of a standard uncertainty that count as meaningful where two intervals are compared.
MEANINGFUL_DIGITS = 1

_SEED = 101
_SHAPES = ("normal", "rectangular", "triangular", "arcsine")

Model = Callable[[Mapping[str, FloatArray]], FloatArray]


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the draws of a result come to.

    ``low`` and ``high`` leave the same share out at either end; ``shortest`` is the narrowest
    interval with the same content, which is the better one for a lopsided result.
    """

    mean: float
    standard_uncertainty: float
    low: float
    high: float
    shortest: tuple[float, float]
    level: float
    draws: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """The interval of a straight line beside the drawn one, at the same level.

    ``tolerance`` is half a unit of the last meaningful digit of the standard uncertainty; they
    agree where neither end is farther apart than that (JCGM 101, 8).
    """

    linear_low: float
    linear_high: float
    drawn: Drawn
    tolerance: float

    @property
    def agrees(self) -> bool:
        """Whether the straight line is good enough for this result."""
        return (
            max(abs(self.linear_low - self.drawn.low), abs(self.linear_high - self.drawn.high))
            <= self.tolerance
        )

    @property
    def interval(self) -> tuple[float, float]:
        """Return the interval to state at the draws' level: the drawn one.

        It holds what it says even where a flat input governs, of which a normal distribution's
        interval holds more than that.
        """
        return self.drawn.low, self.drawn.high


@lru_cache(maxsize=256)
def _uniform(name: str, draws: int, seed: int) -> FloatArray:
    """Return draws between 0 and 1, the same for the same name, one in each of as many slices."""
    generator = np.random.default_rng((seed, zlib.crc32(name.encode())))
    # One draw from every slice of equal probability, in random order: ends settle faster.
    slices: FloatArray = (generator.permutation(draws) + generator.random(draws)) / draws
    slices.flags.writeable = False
    return slices


@lru_cache(maxsize=256)
def standard_draws(
    name: str,
    distribution: str = "normal",
    degrees_of_freedom: float = math.inf,
    draws: int = DRAWS,
    seed: int = _SEED,
) -> FloatArray:
    """Return draws of an input with mean 0 and standard uncertainty 1, for its name and shape.

    An input with few degrees of freedom is drawn from the t-distribution (JCGM 101, 6.4.9.7), which
    spreads wider than 1. Each input's draws take one value of every slice of equal probability.

    Raises :class:`OutOfDomain` for a shape that is none of the four.
    """
    share = _uniform(name, draws, seed)
    values: FloatArray
    if distribution == "normal":
        values = np.asarray(stdtrit(degrees_of_freedom, share))
    elif distribution == "rectangular":
        values = math.sqrt(3.0) * (2.0 * share - 1.0)
    elif distribution == "triangular":
        below = np.sqrt(2.0 * share) - 1.0
        above = 1.0 - np.sqrt(2.0 * (1.0 - share))
        values = math.sqrt(6.0) * np.where(share < 0.5, below, above)
    elif distribution == "arcsine":
        values = math.sqrt(2.0) * np.sin(np.pi * (share - 0.5))
    else:
        raise OutOfDomain(f"'{distribution}' is no shape that can be drawn: {', '.join(_SHAPES)}.")
    values.flags.writeable = False
    return values


def draw_input(line: Contribution, key: str = "", draws: int = DRAWS) -> FloatArray:
    """Return draws of a budget's input, in its own unit; ``key`` sets it apart from its namesakes.

    Raises :class:`OutOfDomain` for an unknown shape.
    """
    unit = standard_draws(f"{key}|{line.name}", line.distribution, line.degrees_of_freedom, draws)
    return line.estimate + line.standard_uncertainty * unit


def correlated_draws(
    lines: Sequence[Contribution], coefficients: FloatArray, draws: int = DRAWS
) -> list[FloatArray]:
    """Return draws of normal inputs that vary together as ``coefficients`` (their matrix) says.

    Raises :class:`OutOfDomain` where the matrix is none of correlations (not symmetric, no ones on
    its diagonal, or not positive definite).
    """
    matrix = np.asarray(coefficients, dtype=np.float64)
    size = len(lines)
    if (
        matrix.shape != (size, size)
        or not np.allclose(matrix, matrix.T)
        or not np.allclose(np.diag(matrix), 1.0)
    ):
        raise OutOfDomain(f"coefficients is no matrix of correlations of {size} inputs.")
    try:
        root = np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError as error:
        raise OutOfDomain(
            "coefficients cannot all be true together: the matrix is not positive definite."
        ) from error
    apart = np.array([standard_draws(f"|{line.name}", draws=draws) for line in lines])
    together = root @ apart
    return [
        line.estimate + line.standard_uncertainty * row
        for line, row in zip(lines, together, strict=True)
    ]


def drawn_result(values: FloatArray, level: float = 0.95) -> Drawn:
    r"""Return what draws of a result come to: its mean, spread and interval.

    Formula: \left[ y_{(q)}, \, y_{(q + p M)} \right], \quad q = \tfrac{1 - p}{2} M
    Arguments: values y_r [unit], level p [1]
    Returns: y_{low}, y_{high} [unit]
    Validity: M draws in order of size; for 10,000 of them the ends are good to 2 % of the
        half-width. The shortest interval of the same content is given beside it.
    Errors: OutOfDomain for fewer than 100 draws, one that is no number, or a level outside 0 to 1.
    Source: jcgm-101 7.7
    """
    if not 0.0 < level < 1.0:
        raise OutOfDomain(f"level must lie between 0 and 1, and is {level}. Give 0.95 for 95 %.")
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    count = len(ordered)
    if count < 100:
        raise OutOfDomain(f"values holds {count} draws: an interval needs 100 or more.")
    if not (math.isfinite(ordered[0]) and math.isfinite(ordered[-1])):
        raise OutOfDomain("values holds a draw that is no number. Check the inputs' limits.")
    inside = round(level * count)
    left = (count - inside) // 2
    widths = ordered[inside:] - ordered[: count - inside]
    first = int(np.argmin(widths))
    return Drawn(
        mean=float(np.mean(ordered)),
        standard_uncertainty=float(np.std(ordered, ddof=1)),
        low=float(ordered[left]),
        high=float(ordered[left + inside]),
        shortest=(float(ordered[first]), float(ordered[first + inside])),
        level=level,
        draws=count,
    )


def propagate(
    model: Model, budget: Iterable[Contribution], level: float = 0.95, draws: int = DRAWS
) -> Drawn:
    """Return what a model gives when every input of a budget is drawn, by its name.

    Inputs are independent. ``model`` takes the draws by the lines' names and returns the result's.

    Raises :class:`OutOfDomain` for two lines of one name, an unknown shape, or what
    :func:`drawn_result` refuses.
    """
    inputs: dict[str, FloatArray] = {}
    for line in budget:
        if line.name in inputs:
            raise OutOfDomain(f"the budget has two lines named '{line.name}'. Tell them apart.")
        inputs[line.name] = draw_input(line, draws=draws)
    return drawn_result(model(inputs), level)


def meaningful_tolerance(standard_uncertainty: float, digits: int = MEANINGFUL_DIGITS) -> float:
    r"""Return half a unit of the last meaningful digit of a standard uncertainty.

    Formula: \delta = \tfrac{1}{2} \, 10^{l}, \quad u = c \cdot 10^{l}
    Arguments: standard_uncertainty u [unit], digits n [1]
    Returns: \delta [unit]
    Validity: c is a whole number of n digits. Intervals whose ends are nearer than δ say the same.
    Errors: OutOfDomain for an uncertainty below 0 or fewer than one digit.
    Source: jcgm-101 7.9.2
    """
    require_not_negative(standard_uncertainty=standard_uncertainty)
    if digits < 1:
        raise OutOfDomain(f"digits must be 1 or more, and is {digits}.")
    if standard_uncertainty == 0.0:
        return 0.0
    # As it would be printed: 0.0996 with one digit is 0.1.
    exponent = int(f"{standard_uncertainty:.{digits - 1}e}".split("e")[1])
    return 0.5 * 10.0 ** (exponent - digits + 1)


def compare(value: float, standard_uncertainty: float, drawn: Drawn) -> Comparison:
    r"""Return the interval of the straight line beside the drawn one.

    Formula: d_{low} = |y - k u - y_{low}|, \quad d_{high} = |y + k u - y_{high}|
    Arguments: value y [unit], standard_uncertainty u [unit], drawn m [unit]
    Returns: d [unit]
    Validity: both at the draws' level, k that of a normal result. They agree where both are at most
        δ, half a unit of the uncertainty's last meaningful digit.
    Errors: OutOfDomain for an uncertainty below 0.
    Source: jcgm-101 8.1
    """
    require_not_negative(standard_uncertainty=standard_uncertainty)
    extent = coverage_factor(drawn.level) * standard_uncertainty
    return Comparison(
        value - extent, value + extent, drawn, meaningful_tolerance(standard_uncertainty)
    )

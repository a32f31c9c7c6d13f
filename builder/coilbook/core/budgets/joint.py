"""Several estimates of one quantity made into one: weights, budget, and whether they agree.

Turns from a resistance and turns from a weighing both lean on the wire's bare diameter, with
opposite signs: what is thicker than thought has more turns than its resistance says and fewer than
its mass says. Taken together they say it better than either, by far more than two independent
estimates would.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from coilbook.core.budgets.budget import Budget, Input
from coilbook.core.budgets.combine import COMMON_INPUTS
from coilbook.core.budgets.uncertainty import Contribution, Estimate
from coilbook.core.constants import FloatArray
from coilbook.errors import OutOfDomain

#: Estimates disagree where chance alone would part them so far in fewer cases than this.
AGREES_AT = 0.05

#: An estimate's name, the derivative of the result by it, and its budget.
Part = tuple[str, float, Iterable[Contribution]]


@dataclass(frozen=True, slots=True)
class CombinedTurns:
    """One estimate out of several, with the weight of each, which add up to 1.

    ``chi_square`` has one degree of freedom fewer than there are estimates, and ``probability`` is
    that of one so large or larger by chance. Where the estimates do not agree, one of them (or the
    wire or the bobbin that they rest on) is wrong, and ``estimate`` is no better than any.
    """

    estimate: Estimate
    weights: Mapping[str, float]
    chi_square: float
    probability: float

    @property
    def agrees(self) -> bool:
        """Whether chance can well have parted the estimates so far."""
        return self.probability >= AGREES_AT


def joint_budget(parts: Iterable[Part]) -> Budget:
    """Return the budget of a result that rests on several estimates.

    An input of :data:`~coilbook.core.budgets.combine.COMMON_INPUTS` that several of them share (the
    same name, estimate and uncertainty) is one line, its sensitivities added with their signs, so
    that what cancels is seen to cancel (JCGM 100, F.1.2.4). Every other line belongs to its
    estimate alone, and is named after it.
    """
    places: dict[tuple[object, ...], int] = {}
    shared: list[Input] = []
    shared_by: list[float] = []
    own: list[Input] = []
    own_by: list[float] = []
    for label, derivative, lines in parts:
        budget = Budget.of(lines)
        for line, by in zip(budget.inputs, budget.sensitivities, strict=True):
            sensitivity = derivative * by
            if line.name not in COMMON_INPUTS:
                own.append(line._replace(name=f"{label}: {line.name}") if label else line)
                own_by.append(sensitivity)
                continue
            key = (line.name, line.estimate, line.standard_uncertainty, line.unit)
            at = places.setdefault(key, len(shared))
            if at == len(shared):
                shared.append(line)
                shared_by.append(0.0)
            shared[at] = line
            shared_by[at] += sensitivity
    return Budget((*shared, *own), shared_by + own_by)


def _identity(line: Contribution) -> tuple[object, ...]:
    return line.name, line.estimate, line.standard_uncertainty, line.unit


def covariance(budgets: Sequence[Iterable[Contribution]]) -> FloatArray:
    """Return the covariance of several estimates from the inputs that their budgets share.

    Shared are the same as in :func:`joint_budget`; V = C diag(u²) Cᵀ over all inputs (JCGM 100,
    F.1.2.3).
    """
    inputs: dict[tuple[object, ...], dict[int, float]] = {}
    for row, budget in enumerate(budgets):
        for place, line in enumerate(budget):
            own = line.name not in COMMON_INPUTS
            key = (row, place) if own else _identity(line)
            column = inputs.setdefault(key, {})
            effect = line.sensitivity * line.standard_uncertainty
            column[row] = column.get(row, 0.0) + effect
    effects = np.zeros((len(budgets), len(inputs)))
    for column_at, column in enumerate(inputs.values()):
        for row, effect in column.items():
            effects[row, column_at] = effect
    return effects @ effects.T


def best_weights(covariance: FloatArray) -> FloatArray:
    r"""Return the weights that give several estimates of one quantity the least joint variance.

    Formula: w = \frac{V^{-1} \, 1}{1^T \, V^{-1} \, 1}
    Arguments: covariance V [the square of the estimates' unit]
    Returns: w [1]
    Validity: generalised least squares of a constant; the weights add up to 1. Of estimates that
        say the very same the weight is shared out equally; one without any uncertainty takes all.
    Errors: OutOfDomain unless the covariance is a square of finite numbers.
    Source: common practice
    """
    _require_square(covariance)
    n = len(covariance)
    size = float(np.max(np.diag(covariance))) or 1.0
    # The least variance under the condition that the weights add up to 1 (Lagrange). Unlike the
    # formula this stands where V has no inverse, for one exact estimate or for two of a kind.
    system = np.ones((n + 1, n + 1))
    system[:n, :n] = covariance / size
    system[n, n] = 0.0
    target = np.zeros(n + 1)
    target[n] = 1.0
    solved = np.linalg.lstsq(system, target, rcond=None)[0]
    return np.asarray(solved[:n], dtype=np.float64)


def chi_square(values: FloatArray, covariance: FloatArray) -> float:
    r"""Return how far several estimates of one quantity lie apart, by their own uncertainties.

    Formula: \chi^2 = \Delta^T S^{-1} \Delta, \quad \Delta_i = x_{i+1} - x_1
    Arguments: values x [the estimates' unit], covariance V [the square of that unit]
    Returns: \chi^2 [1]
    Validity: S is the covariance of the differences \Delta, out of V. Near normal estimates of one
        and the same quantity give a chi-square of n − 1 degrees of freedom; for two of them it is
        the square of twice the normalised error. Infinite where two differ that cannot.
    Errors: OutOfDomain unless the covariance is a square of finite numbers.
    Source: common practice
    """
    _require_square(covariance)
    if len(values) < 2:
        return 0.0
    differ = np.hstack([-np.ones((len(values) - 1, 1)), np.eye(len(values) - 1)])
    apart = differ @ values
    spread = differ @ covariance @ differ.T
    size = float(np.max(np.abs(spread))) or 1.0
    solved = np.linalg.lstsq(spread / size, apart, rcond=1e-12)[0] / size
    if not np.allclose(spread @ solved, apart, rtol=1e-6, atol=1e-9 * float(np.max(abs(values)))):
        return float("inf")
    return float(apart @ solved)


def _require_square(covariance: FloatArray) -> None:
    shape = covariance.shape
    if len(shape) != 2 or shape[0] != shape[1] or not np.all(np.isfinite(covariance)):
        raise OutOfDomain(f"{shape} is no covariance. Give a square of finite numbers.")


def combined_turns(estimates: Mapping[str, Estimate]) -> CombinedTurns:
    """Return one estimate of a coil's turns out of several, by generalised least squares.

    ``estimates`` names each by what it rests on, as in ``resistance``, ``mass``, ``counter``. The
    weights come from their covariance, which their budgets' common inputs make; the result's budget
    joins theirs, each common input once with its sensitivities weighted and added.
    Raises :class:`OutOfDomain` when there is none.
    """
    if not estimates:
        raise OutOfDomain("no estimate of the turns is given. Give at least one.")
    if len(estimates) == 1:
        ((name, alone),) = estimates.items()
        return CombinedTurns(alone, {name: 1.0}, 0.0, 1.0)
    values = np.array([estimate.value for estimate in estimates.values()])
    joint = covariance([estimate.contributions for estimate in estimates.values()])
    weights = [float(w) for w in best_weights(joint)]
    budget = joint_budget(
        (name, weight, estimate.contributions)
        for (name, estimate), weight in zip(estimates.items(), weights, strict=True)
    )
    apart = chi_square(values, joint)
    return CombinedTurns(
        estimate=Estimate(float(values @ weights), budget),
        weights=dict(zip(estimates, weights, strict=True)),
        chi_square=apart,
        probability=float(chdtrc(len(estimates) - 1, apart)),
    )

"""Several estimates of one quantity made into one: weights, budget, and whether they agree.

Turns from a resistance and turns from a weighing both lean on the wire's bare diameter, with
opposite signs: what is thicker than thought has more turns than its resistance says and fewer than
its mass says. Taken together they say it better than either, by far more than two independent
estimates would.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from coilbook.core.budgets.budget import Budget, Input
from coilbook.core.budgets.combine import COMMON_INPUTS
from coilbook.core.budgets.uncertainty import Contribution, Estimate
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
            shared_by[at] = shared_by[at] + sensitivity
    return Budget((*shared, *own), shared_by + own_by)


def _identity(line: Contribution) -> tuple[object, ...]:
    return line.name, line.estimate, line.standard_uncertainty, line.unit


Matrix = Sequence[Sequence[float]]

#: A pivot below this share of the largest figure is none: what is left of it is rounding.
_NO_PIVOT = 1e-13


def covariance(budgets: Sequence[Iterable[Contribution]]) -> list[list[float]]:
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
    rows = range(len(budgets))
    return [
        [math.fsum([c.get(i, 0.0) * c.get(j, 0.0) for c in inputs.values()]) for j in rows]
        for i in rows
    ]


def _solved(matrix: Matrix, target: Sequence[float]) -> list[float] | None:
    """Solve a small system of equations by elimination; None where it has no one answer."""
    n = len(target)
    rows = [[*matrix[i], target[i]] for i in range(n)]
    for column in range(n):
        pivot = max(range(column, n), key=lambda at: abs(rows[at][column]))
        if abs(rows[pivot][column]) < _NO_PIVOT:
            return None
        kept = rows[pivot]
        rows[pivot] = rows[column]
        rows[column] = kept
        for at in range(n):
            if at != column:
                share = rows[at][column] / kept[column]
                rows[at] = [own - share * other for own, other in zip(rows[at], kept, strict=True)]
    return [rows[i][n] / rows[i][i] for i in range(n)]


def best_weights(covariance: Matrix) -> list[float]:
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
    size = max([covariance[i][i] for i in range(n)]) or 1.0
    # The least variance under the condition that the weights add up to 1 (Lagrange). Unlike the
    # formula this stands where V has no inverse, for one exact estimate.
    system = [[*[x / size for x in row], 1.0] for row in covariance]
    system.append([1.0] * n + [0.0])
    solved = _solved(system, [0.0] * n + [1.0])
    if solved is None:
        return [1.0 / n] * n
    return solved[:n]


def chi_square(values: Sequence[float], covariance: Matrix) -> float:
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
    v = covariance
    others = range(1, len(values))
    apart = [values[i] - values[0] for i in others]
    if not any(difference != 0.0 for difference in apart):
        return 0.0
    spread = [[v[i][j] - v[i][0] - v[0][j] + v[0][0] for j in others] for i in others]
    size = max([max([abs(x) for x in row]) for row in spread]) or 1.0
    solved = _solved([[x / size for x in row] for row in spread], apart)
    if solved is None:
        return math.inf
    return math.fsum([x / size * difference for x, difference in zip(solved, apart, strict=True)])


def chi_square_above(chi: float, degrees_of_freedom: int) -> float:
    r"""Return the probability of so large a chi-square, or a larger one, by chance.

    Formula: Q = \frac{\Gamma(\nu / 2, \chi^2 / 2)}{\Gamma(\nu / 2)}
    Arguments: chi \chi^2 [1], degrees_of_freedom \nu [1]
    Returns: Q [1]
    Validity: by the recurrence from one or two degrees of freedom, which is exact.
    Errors: OutOfDomain for fewer than one degree of freedom or a chi-square below 0.
    Source: common practice
    """
    if degrees_of_freedom < 1 or not chi >= 0.0:
        raise OutOfDomain(
            f"a chi-square of {chi} with {degrees_of_freedom} degrees of freedom has no meaning. "
            "Give 0 or more, and 1 degree or more."
        )
    half = chi / 2.0
    if half == math.inf:
        return 0.0
    if degrees_of_freedom % 2 == 0:
        freedom, total, term = 2, math.exp(-half), half * math.exp(-half)
    else:
        freedom, total = 1, math.erfc(math.sqrt(half))
        term = 2.0 * math.sqrt(half / math.pi) * math.exp(-half)
    while freedom < degrees_of_freedom:
        total += term
        freedom += 2
        term *= half / (freedom / 2.0)
    return total


def _require_square(covariance: Matrix) -> None:
    n = len(covariance)
    for row in covariance:
        if len(row) != n or not all(math.isfinite(x) for x in row):
            raise OutOfDomain("that is no covariance. Give a square of finite numbers.")


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
    values = [estimate.value for estimate in estimates.values()]
    joint = covariance([estimate.contributions for estimate in estimates.values()])
    weights = best_weights(joint)
    budget = joint_budget(
        (name, weight, estimate.contributions)
        for (name, estimate), weight in zip(estimates.items(), weights, strict=True)
    )
    apart = chi_square(values, joint)
    return CombinedTurns(
        estimate=Estimate(math.fsum([x * w for x, w in zip(values, weights, strict=True)]), budget),
        weights=dict(zip(estimates, weights, strict=True)),
        chi_square=apart,
        probability=chi_square_above(apart, len(estimates) - 1),
    )

"""An uncertainty budget: its lines, and many of them kept small.

An archive's pieces have some sixty lines each, of which a page shows a few. What a line says of its
input mostly stands in other budgets as well; only the sensitivity is its own. So a :class:`Budget`
keeps inputs and sensitivities apart, and makes lines when they are asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, overload


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of an uncertainty budget.

    ``estimate`` and ``standard_uncertainty`` are in the input's own ``unit``; ``sensitivity`` is
    the derivative of the result with respect to it, so ``effect`` is in the result's unit.
    ``distribution`` names the shape that ``standard_uncertainty`` was taken from: ``normal``,
    ``rectangular``, ``triangular`` or ``arcsine``. ``degrees_of_freedom`` is how well
    ``standard_uncertainty`` itself is known: one less than the readings whose spread it is, or
    infinite where it rests on stated limits.
    """

    name: str
    estimate: float
    standard_uncertainty: float
    sensitivity: float
    unit: str
    distribution: str = "normal"
    degrees_of_freedom: float = math.inf

    @property
    def effect(self) -> float:
        """Return the contribution to the result's standard uncertainty, in the result's unit."""
        return abs(self.sensitivity) * self.standard_uncertainty


class Input(NamedTuple):
    """What a line says of its input, as in :class:`Contribution`."""

    name: str
    estimate: float
    standard_uncertainty: float
    unit: str
    distribution: str = "normal"
    degrees_of_freedom: float = math.inf


Lines = Sequence[Contribution]


class Budget(Lines):
    """Lines of a budget, as :class:`Contribution` when they are looked at.

    ``inputs`` and ``sensitivities`` go together one by one.
    """

    __slots__ = ("inputs", "sensitivities")

    def __init__(self, inputs: tuple[Input, ...], sensitivities: Iterable[float]) -> None:
        self.inputs = inputs
        self.sensitivities = tuple(sensitivities)

    @classmethod
    def of(cls, lines: Iterable[Contribution]) -> Budget:
        """Return lines as a budget; one that is a budget already is returned as it is."""
        if isinstance(lines, Budget):
            return lines
        lines = tuple(lines)
        return cls(
            tuple(
                Input(
                    c.name,
                    c.estimate,
                    c.standard_uncertainty,
                    c.unit,
                    c.distribution,
                    c.degrees_of_freedom,
                )
                for c in lines
            ),
            [c.sensitivity for c in lines],
        )

    def __add__(self, other: Iterable[Contribution]) -> Budget:
        """Return the lines of both, the other's last."""
        more = Budget.of(other)
        return Budget(self.inputs + more.inputs, self.sensitivities + more.sensitivities)

    def scaled(self, factor: float) -> Budget:
        """Return the budget carried through one more step, whose derivative is ``factor``."""
        return Budget(self.inputs, [c * factor for c in self.sensitivities])

    def named(self, of: str) -> Budget:
        """Return the budget with each line named after what its input belongs to."""
        inputs = tuple([one._replace(name=f"{of}: {one.name}") for one in self.inputs])
        return Budget(inputs, self.sensitivities)

    @property
    def standard_uncertainty(self) -> float:
        """Return the combined standard uncertainty of lines that are all independent."""
        pairs = zip(self.inputs, self.sensitivities, strict=True)
        return math.hypot(*[abs(c) * one[2] for one, c in pairs])

    def __len__(self) -> int:
        return len(self.inputs)

    def __iter__(self) -> Iterator[Contribution]:
        for one, by in zip(self.inputs, self.sensitivities, strict=True):
            yield _line(one, by)

    @overload
    def __getitem__(self, at: int) -> Contribution: ...

    @overload
    def __getitem__(self, at: slice) -> Budget: ...

    def __getitem__(self, at: int | slice) -> Contribution | Budget:
        if isinstance(at, int):
            return _line(self.inputs[at], self.sensitivities[at])
        return Budget(self.inputs[at], self.sensitivities[at])

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Budget | tuple):
            return NotImplemented
        return tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash((self.inputs, self.sensitivities))

    def __repr__(self) -> str:
        return f"Budget({list(self)})"


#: The budget of what has none.
NOTHING = Budget((), ())


def _line(one: Input, sensitivity: float) -> Contribution:
    return Contribution(
        one.name,
        one.estimate,
        one.standard_uncertainty,
        sensitivity,
        one.unit,
        one.distribution,
        one.degrees_of_freedom,
    )

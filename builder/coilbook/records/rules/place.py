"""Where rules note what they find, and how they look an id up in another table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import Problem

V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class Place:
    """One line of one file, on which findings are noted."""

    problems: list[Problem]
    file: str
    line: int = 0

    def on(self, line: int) -> Place:
        """Return another line of the same file."""
        return Place(self.problems, self.file, line)

    def error(self, column: str, what: str, todo: str) -> None:
        """Note something that must be mended."""
        self.problems.append(Problem(self.file, self.line, column, what, todo, "error"))

    def doubt(self, column: str, what: str, todo: str) -> None:
        """Note something that may be right and looks wrong."""
        self.problems.append(Problem(self.file, self.line, column, what, todo, "doubt"))


@dataclass(frozen=True, slots=True)
class Known(Generic[V]):
    """The rows of a table by id, for looking up references to it.

    ``where`` names the table in messages, and ``todo`` is their next step.
    ``ids`` are all that stand in the file, those of faulty rows included (None: unreadable), so
    that one slip is told once and not again wherever its row is referred to.
    """

    where: str
    rows: Mapping[str, V]
    ids: frozenset[str] | None
    todo: str
    _hints: dict[str, str] = field(default_factory=dict)

    def find(self, wanted: str, at: Place, column: str) -> V | None:
        """Return the row of an id; note an error where no row has it."""
        row = self.rows.get(wanted)
        if row is None and self.ids is not None and wanted not in self.ids:
            if wanted not in self._hints:
                self._hints[wanted] = did_you_mean(wanted, self.rows)
            at.error(
                column,
                f"'{wanted}' is not in {self.where}.",
                f"{self._hints[wanted]}{self.todo}",
            )
        return row

    def find_all(self, wanted: Iterable[str], at: Place, column: str) -> list[V]:
        """Return the rows of several ids."""
        found = (self.find(one, at, column) for one in wanted)
        return [row for row in found if row is not None]

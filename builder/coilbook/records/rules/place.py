"""Where rules note what they find, and how they look an id up in another table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from coilbook.core.written.spelling import did_you_mean, nearest
from coilbook.errors import Problem
from coilbook.records.tables.cells import folded_word

V = TypeVar("V")

#: So many ids are named where none comes near the one that is wanted.
FEW = 6


@dataclass(frozen=True, slots=True)
class Place:
    """One line of one file, on which findings are noted."""

    problems: list[Problem]
    file: str
    line: int = 0

    def on(self, line: int) -> Place:
        """Return another line of the same file."""
        return Place(self.problems, self.file, line)

    def error(self, code: str, column: str, what: str, todo: str) -> None:
        """Note something that must be mended."""
        self.problems.append(Problem(self.file, self.line, column, what, todo, "error", code))

    def doubt(self, code: str, column: str, what: str, todo: str) -> None:
        """Note something that may be right and looks wrong."""
        self.problems.append(Problem(self.file, self.line, column, what, todo, "doubt", code))

    def note(self, code: str, column: str, what: str, todo: str) -> None:
        """Note how something was taken that can be taken in more than one way."""
        self.problems.append(Problem(self.file, self.line, column, what, todo, "note", code))


@dataclass(frozen=True, slots=True)
class Known(Generic[V]):
    """The rows of a table by id, for looking up references to it.

    ``where`` names the table in messages, and ``todo`` is their next step.
    ``ids`` are all that stand in the file, those of faulty rows included (None: unreadable), so
    that one slip is told once and not again wherever its row is referred to. ``called`` has what
    the trade calls some of them, folded, with the id that is meant and a sentence that says so.
    """

    where: str
    rows: Mapping[str, V]
    ids: frozenset[str] | None
    todo: str
    called: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    _hints: dict[str, str] = field(default_factory=dict)

    def find(self, wanted: str, at: Place, column: str) -> V | None:
        """Return the row of an id; note an error where no row has it."""
        row = self.rows.get(wanted)
        if row is None and self.ids is not None and wanted not in self.ids:
            if wanted not in self._hints:
                self._hints[wanted] = self._hint(wanted)
            at.error(
                "id-unknown",
                column,
                f"'{wanted}' is not in {self.where}.",
                f"{self._hints[wanted]}{self.todo}",
            )
        return row

    def meant(self, wanted: str) -> V | None:
        """Return the row of an id, or of the one that was probably meant, to look further with."""
        row = self.rows.get(wanted)
        if row is not None or self.ids is None or wanted in self.ids:
            return row
        by_trade = self.called.get(folded_word(wanted))
        return self.rows.get(by_trade[0] if by_trade else nearest(wanted, self.rows) or "")

    def _hint(self, wanted: str) -> str:
        by_trade = self.called.get(folded_word(wanted))
        if by_trade is not None:
            return f"Did you mean '{by_trade[0]}'? {by_trade[1]} "
        near = did_you_mean(wanted, self.rows)
        if near or not 0 < len(self.rows) <= FEW:
            return near
        return f"It has {', '.join(self.rows)}. "

    def find_all(self, wanted: Iterable[str], at: Place, column: str) -> list[V]:
        """Return the rows of several ids."""
        found = (self.find(one, at, column) for one in wanted)
        return [row for row in found if row is not None]

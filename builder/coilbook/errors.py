"""The error tree, and the one shape in which every problem of a record is told.

A problem never travels alone: readers collect all of them and hand them over together, so that a
shop sees every slip of an evening's typing at once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

#: An error stops a build, a doubt does not; a note only says how something was taken.
Severity = Literal["error", "doubt", "note"]


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing that is wrong, or doubtful, at one place.

    ``line`` counts from 1 with the header row as line 1; 0 means the file as a whole.
    ``column`` is the column's name, or an empty string for the whole row or file. ``code`` says
    what sort of problem it is, whatever its words: the page of messages lists every one.
    """

    file: str
    line: int
    column: str
    what: str
    todo: str
    severity: Severity = "error"
    code: str = ""

    def __str__(self) -> str:
        place = self.file
        if self.line:
            place += f":{self.line}"
        if self.column:
            place += f" {self.column}"
        return f"{place}: {self.what} {self.todo}".rstrip()


class CoilbookError(Exception):
    """Base of every error that Coilbook raises on purpose. The message ends with the next step."""


class RecordsInvalid(CoilbookError):
    """Records hold at least one error; ``problems`` has all of them, doubts included."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        errors = sum(p.severity == "error" for p in self.problems)
        noun = "error" if errors == 1 else "errors"
        super().__init__(f"{errors} {noun} in the records. Mend them and run the command again.")


class OptionsInvalid(RecordsInvalid):
    """What was typed for one command holds at least one mistake; ``problems`` has all of them."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        super().__init__(problems)
        self.args = ("Correct what was typed, and run the command again.",)


class NotAnArchive(CoilbookError):
    """The folder named is not an archive (it holds no coilbook.toml)."""


class UnknownId(CoilbookError):
    """The reference has no family, wire or bobbin of this id or gauge."""


class UnknownPiece(CoilbookError):
    """No piece of the archive has this id."""


class ValueUnreadable(CoilbookError, ValueError):
    """A written value does not follow the grammar. ``what`` and ``todo`` are sentences.

    ``code`` is that of a :class:`Problem`.
    """

    def __init__(self, code: str, what: str, todo: str) -> None:
        self.code = code
        self.what = what
        self.todo = todo
        super().__init__(f"{what} {todo}")


class OutOfDomain(CoilbookError, ValueError):
    """A formula was asked for a value outside its validity."""


class SiteBroken(CoilbookError):
    """The site was built but must not be published (a dead link, a missing file)."""


class KindsMixed(CoilbookError):
    """Invented records were about to be pooled or compared with measured ones."""

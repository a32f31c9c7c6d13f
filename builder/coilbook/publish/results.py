"""What publish passes between its own modules, and the report of a build."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from coilbook.errors import Problem

#: Called with the name of the stage, how many of its steps are done, and how many there are.
Progress = Callable[[str, int, int], None]


def say_nothing(stage: str, done: int, total: int) -> None:
    """Stand in for a caller that wants no progress."""


@dataclass(frozen=True, slots=True)
class BuildReport:
    """What a build made: ``pages`` counts HTML pages, ``size_bytes`` every file of the site.

    ``doubts`` are the records' doubtful places; they do not stop a build.
    """

    out: Path
    title: str
    kind: Literal["measured", "invented"]
    pages: int
    pieces: int
    files: int
    size_bytes: int
    seconds: float
    doubts: tuple[Problem, ...] = ()

    @property
    def index(self) -> Path:
        """Return the page to open first."""
        return self.out / "index.html"


@dataclass(frozen=True, slots=True)
class Assets:
    """Files that go into the site beside its pages: text made here, and files copied as they are.

    Keys are paths within the site, with ``/``.
    """

    made: Mapping[str, str]
    copied: Mapping[str, Path]


@dataclass(frozen=True, slots=True)
class WrittenSite:
    """What was written of a site."""

    pages: int
    files: int
    size_bytes: int

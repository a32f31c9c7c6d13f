"""Every message that a check can give, each with an example, as the tests have written it.

``tests/records/messages_report.py`` makes each slip and notes what it earns, so that no example can
differ from what is said.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from coilbook.errors import Severity
from coilbook.resources import dataset_dir

MESSAGES_FILE = "messages.csv"


@dataclass(frozen=True, slots=True)
class Message:
    """One message: its code, a slip that earns it, where it is then told, and in which words."""

    code: str
    severity: Severity
    table: str
    column: str
    slip: str
    what: str
    todo: str


def load_messages(folder: Path | None = None) -> tuple[Message, ...]:
    """Return every message from the reference's folder, in the order of the file."""
    path = (folder or dataset_dir() / "reference") / MESSAGES_FILE
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(Message(**row) for row in csv.DictReader(file))  # type: ignore[arg-type]

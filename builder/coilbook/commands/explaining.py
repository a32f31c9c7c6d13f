"""The command 'coilbook explain': a message with its example, or the list of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from coilbook.commands.problems import width, wrapped
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import UnknownId
from coilbook.records.tables.messages import Message, load_messages


def messages(code: str | None) -> tuple[Message, ...]:
    """Return the message of a code, or every one.

    Raises :class:`UnknownId` with the nearest for a code that is none.
    """
    every = load_messages()
    if code is None:
        return every
    found = tuple(message for message in every if message.code == code.strip("[]"))
    if not found:
        near = did_you_mean(code, [message.code for message in every])
        raise UnknownId(f"No message has the word '{code}'. {near}'coilbook explain' lists them.")
    return found


def as_text(found: Sequence[Message], *, one: bool) -> str:
    """Return one message with its example, or a line for each."""
    columns = width()
    if not one:
        longest = max(len(message.code) for message in found)
        return "\n".join(f"{m.code:{longest}}  {m.severity:5}  {m.slip}" for m in found)
    lines = []
    for message in found:
        place = f"{message.table} {message.column}".strip()
        lines += [
            f"{message.code} ({message.severity})",
            wrapped(f"For instance: {message.slip}, in {place}.", columns),
            wrapped(f"It says: {message.what}", columns),
            wrapped(f"What to do: {message.todo}", columns),
        ]
    return "\n".join(lines)


def as_data(found: Sequence[Message]) -> list[dict[str, Any]]:
    """Return messages as plain data."""
    return [asdict(message) for message in found]

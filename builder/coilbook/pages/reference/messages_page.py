"""The page on what a check says: every message with a slip that earns it, and what to do."""

from __future__ import annotations

import re
from dataclasses import dataclass

from coilbook.errors import Severity
from coilbook.pages.declare import OnePage
from coilbook.pages.page import Book
from coilbook.records.tables.messages import Message


@dataclass(frozen=True, slots=True)
class MessageView:
    """One message; ``where`` is the table and column, or the option, of its example."""

    code: str
    slip: str
    where: str
    what: str
    todo: str


@dataclass(frozen=True, slots=True)
class MessageGroup:
    """The messages of one weight."""

    severity: Severity
    messages: tuple[MessageView, ...]


@dataclass(frozen=True, slots=True)
class MessagesContext:
    """Everything on the page."""

    groups: tuple[MessageGroup, ...]
    count: int


def context(book: Book) -> MessagesContext:
    """Return every message, errors first."""
    by_severity: dict[Severity, list[MessageView]] = {}
    for message in book.messages:
        by_severity.setdefault(message.severity, []).append(_view(message))
    groups = tuple(MessageGroup(severity, tuple(of)) for severity, of in by_severity.items())
    return MessagesContext(groups, len(book.messages))


def _view(message: Message) -> MessageView:
    where = f"{message.table} {message.column}".strip()
    return MessageView(
        message.code, message.slip, where, _breakable(message.what), _breakable(message.todo)
    )


def _breakable(sentence: str) -> str:
    """Return a sentence in which a header row may go on to the next line."""
    return re.sub(r",(?=\S)", ",\N{ZERO WIDTH SPACE}", sentence)


PAGE = OnePage(
    path="data/messages/index.html",
    template="messages.html.j2",
    section="about",
    title="What a check says",
    description="Every message of a check, with a slip that earns it and what to do.",
    context=context,
    search_text="messages errors doubts notes check mistake slip what to do csv spreadsheet",
)

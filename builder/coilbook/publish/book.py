"""Everything that is known of an archive, worked out: from its folder to the pages' book.

The build and ``coilbook show`` both go this one way, so that they cannot come to differ.
"""

from __future__ import annotations

import gc
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from coilbook.errors import Problem, RecordsInvalid
from coilbook.publish.types import Progress, say_nothing

# The rooms below are loaded when they are needed: pandas alone takes half a second, and a mere
# check of records need not wait for it.
if TYPE_CHECKING:
    from coilbook.pages.types import Book
    from coilbook.records.types import Archive, Piece, PublicArchive, Reference


@dataclass(frozen=True, slots=True)
class Opened:
    """Records without an error; ``problems`` are their doubtful places."""

    reference: Reference
    archive: Archive
    problems: tuple[Problem, ...]


def open_records(archive_dir: Path, progress: Progress = say_nothing) -> Opened:
    """Read the reference and the archive in ``archive_dir``.

    Raises: RecordsInvalid with every problem if there is an error among them.
    """
    from coilbook.records import load_archive, load_reference

    progress("reading records", 0, 2)
    reference = load_reference()
    if reference.value is None:
        raise RecordsInvalid(reference.problems)
    progress("reading records", 1, 2)
    loaded = load_archive(archive_dir, reference.value)
    problems = reference.problems + loaded.problems
    if loaded.value is None:
        raise RecordsInvalid(problems)
    progress("reading records", 2, 2)
    return Opened(reference.value, loaded.value, problems)


@contextmanager
def uncollected() -> Iterator[None]:
    """Keep Python from looking for garbage while nothing but results that stay is made.

    It looks through all that is alive again and again, and in a large archive that takes a third of
    the time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def compose_book(
    reference: Reference,
    archive: PublicArchive,
    *,
    compare: Iterable[Piece] | None = None,
    progress: Progress = say_nothing,
) -> Book:
    """Measure every published piece, summarise them, and compare pieces with claims and peers.

    Arguments: compare, the pieces to compare if not all that are published. One that is kept back
    may be among them: it is measured and compared as well, and stays out of every summary.
    """
    from coilbook.assessment import assess
    from coilbook.measures import measure_piece
    from coilbook.pages.types import Book
    from coilbook.records.trial import load_trial
    from coilbook.stats import summarise

    pieces = archive.pieces
    measured = {}
    assessments = {}
    with uncollected():
        for done, (piece_id, piece) in enumerate(pieces.items(), start=1):
            measured[piece_id] = measure_piece(piece, reference)
            progress("measuring pieces", done, len(pieces))
        progress("summarising", 0, 1)
        summaries = summarise(archive, dict(measured), reference)
        progress("summarising", 1, 1)
        compared = list(pieces.values() if compare is None else compare)
        for done, piece in enumerate(compared, start=1):
            piece_id = piece.row.piece_id
            if piece_id not in measured:
                measured[piece_id] = measure_piece(piece, reference)
            assessments[piece_id] = assess(piece, measured[piece_id], archive, reference, summaries)
            progress("comparing pieces", done, len(compared))
    return Book(reference, archive, measured, summaries, assessments, load_trial())

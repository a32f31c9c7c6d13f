"""Everything that is known of an archive, worked out: from its folder to the pages' book.

The build and ``coilbook show`` both go this one way, so that they cannot come to differ.
"""

from __future__ import annotations

import gc
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from coilbook.errors import Problem, RecordsInvalid
from coilbook.publish.results import Progress, say_nothing

# The rooms below are loaded when they are needed: numpy and scipy take half a second, and a mere
# check of records need not wait for it.
if TYPE_CHECKING:
    from coilbook.core.observing.said import Assessment
    from coilbook.core.reduction.measured_piece import MeasuredPiece
    from coilbook.pages.page import Book
    from coilbook.records.contents import Archive, Piece, PublicArchive, Reference
    from coilbook.stats.groups import Gathered, Summaries


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


_Item = TypeVar("_Item")


def used_up(items: deque[_Item]) -> Iterator[_Item]:
    """Yield items and let go of each.

    In a large archive there is no room for them beside what is made of them.
    """
    while items:
        yield items.popleft()


def compose_book(
    reference: Reference,
    archive: PublicArchive,
    *,
    compare: Iterable[Piece] | None = None,
    progress: Progress = say_nothing,
) -> Book:
    """Measure every published piece and summarise them, ready to compare pieces with their peers.

    Pieces are compared, each when its page is written: of a large archive only what all pages need
    is held in memory.

    Arguments: compare, the pieces to compare if not all that are published. One that is kept back
    may be among them: it is measured and compared as well, and stays out of every summary. Peers
    are of one family, so that only the families of these pieces are then summarised.
    """
    from coilbook.core.reduction.piece import measure_piece
    from coilbook.pages.page import Book
    from coilbook.records.tables.messages import load_messages
    from coilbook.records.tables.trial import load_trial
    from coilbook.stats.groups import gather, summaries_of

    pieces: Mapping[str, Piece] = archive.pieces
    compared = pieces
    if compare is not None:
        compared = {piece.row.piece_id: piece for piece in compare}
        families = {piece.row.family_id for piece in compared.values()}
        pieces = {name: one for name, one in pieces.items() if one.row.family_id in families}
    kept_back = {name: one for name, one in compared.items() if name not in archive.pieces}
    every = {**archive.pieces, **kept_back}
    measured = MeasuredPieces(every, lambda piece: measure_piece(piece, reference))
    with uncollected():
        gathered: deque[Gathered] = deque()
        for done, (piece_id, piece) in enumerate(pieces.items(), start=1):
            gathered.append(gather(piece.row, measured[piece_id], reference))
            progress("measuring pieces", done, len(pieces))
        progress("summarising", 0, 1)
        summaries = summaries_of(archive.settings.kind, used_up(gathered), reference)
        progress("summarising", 1, 1)
    assessments = AssessedPieces(compared, measured, archive, reference, summaries)
    # Pages of their own tell of these alone.
    trial = load_trial() if compare is None else ()
    messages = load_messages() if compare is None else ()
    return Book(reference, archive, measured, summaries, assessments, trial, messages)


#: So many pieces stay measured, of some 10 kB each; the rest is measured anew when it is asked for.
STAY = 20_000


class MeasuredPieces(Mapping[str, "MeasuredPiece"]):
    """The pieces of an archive measured, each when it is first asked for.

    The first :data:`STAY` of them stay, and beside them the one that was asked for last: what is
    said of a large archive must not take more memory than its records.
    """

    def __init__(
        self,
        pieces: Mapping[str, Piece],
        measure: Callable[[Piece], MeasuredPiece],
        stay: int = STAY,
    ) -> None:
        self._pieces, self._measure, self._stay = pieces, measure, stay
        self._staying: dict[str, MeasuredPiece] = {}
        self._last: MeasuredPiece | None = None

    def __getitem__(self, piece_id: str) -> MeasuredPiece:
        found = self._staying.get(piece_id)
        if found is not None:
            return found
        if self._last is not None and self._last.piece_id == piece_id:
            return self._last
        found = self._measure(self._pieces[piece_id])
        if len(self._staying) < self._stay:
            self._staying[piece_id] = found
        else:
            self._last = found
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._pieces)

    def __len__(self) -> int:
        return len(self._pieces)


class AssessedPieces(Mapping[str, "Assessment"]):
    """The assessments of an archive's pieces, each made when its page asks for it, and let go."""

    def __init__(
        self,
        pieces: Mapping[str, Piece],
        measured: Mapping[str, MeasuredPiece],
        archive: PublicArchive,
        reference: Reference,
        summaries: Summaries,
    ) -> None:
        self._pieces, self._measured = pieces, measured
        self._archive, self._reference, self._summaries = archive, reference, summaries
        self._last: Assessment | None = None

    def __getitem__(self, piece_id: str) -> Assessment:
        from coilbook.core.observing.assess import assess

        if self._last is None or self._last.piece_id != piece_id:
            piece, measured = self._pieces[piece_id], self._measured[piece_id]
            self._last = assess(piece, measured, self._archive, self._reference, self._summaries)
        return self._last

    def __iter__(self) -> Iterator[str]:
        return iter(self._pieces)

    def __len__(self) -> int:
        return len(self._pieces)

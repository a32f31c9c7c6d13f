"""The book's pieces: worked out when they are asked for, and no more of them held than must be."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from coilbook.assessment import assess
from coilbook.measures import measure_piece
from coilbook.publish.book import AssessedPieces, MeasuredPieces, compose_book, open_records
from coilbook.records import public_view
from coilbook.records.contents import Piece
from coilbook.resources import dataset_dir

OPENED = open_records(dataset_dir() / "demo")
ARCHIVE = public_view(OPENED.archive)
#: A few pieces are enough to see what stays; they are each other's only peers.
FEW = replace(
    ARCHIVE, pieces=MappingProxyType({name: ARCHIVE.pieces[name] for name in [*ARCHIVE.pieces][:6]})
)


def test_what_does_not_stay_is_measured_anew_and_alike() -> None:
    """Two of six pieces stay and the last one asked for; the rest comes out the same again."""
    asked: list[str] = []

    def measure(piece: Piece) -> object:
        asked.append(piece.row.piece_id)
        return measure_piece(piece, OPENED.reference)

    held = MeasuredPieces(FEW.pieces, measure, stay=2)  # type: ignore[arg-type]
    names = list(FEW.pieces)
    first = [held[name] for name in names]
    assert held[names[-1]] is first[-1]
    assert asked == names
    again = [held[name] for name in names]
    assert asked[len(names) :] == names[2:]
    assert again == first
    assert [again[at] is first[at] for at in range(3)] == [True, True, False]
    assert first == [measure_piece(piece, OPENED.reference) for piece in FEW.pieces.values()]


def test_verdicts_are_on_the_very_values_that_the_book_shows() -> None:
    """A piece measured anew is assessed anew: its page finds the verdicts on its own values."""
    book = compose_book(OPENED.reference, FEW)
    held = MeasuredPieces(FEW.pieces, lambda piece: measure_piece(piece, OPENED.reference), stay=0)
    assessed = AssessedPieces(FEW.pieces, held, FEW, OPENED.reference, book.summaries)
    for name, piece in FEW.pieces.items():
        whole = book.assessments[name]
        other = held[next(n for n in FEW.pieces if n != name)]
        assert other.piece_id != name
        mine, said = held[name], assessed[name]
        assert all(any(v.value is value for value in mine.values) for v in said.verdicts)
        assert said == assess(piece, mine, FEW, OPENED.reference, book.summaries)
        assert said == whole
    assert list(assessed) == list(FEW.pieces)
    assert len(assessed) == len(held) == 6

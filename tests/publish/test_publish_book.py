"""The book's pieces: worked out when they are asked for, and no more of them held than must be."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from coilbook.core.observing.assess import assess
from coilbook.core.reduction.piece import measure_piece
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


def test_a_piece_measured_anew_keeps_its_verdicts_and_places() -> None:
    """Nothing stays here: what was said of a piece is found on its values, measured again since."""
    book = compose_book(OPENED.reference, FEW)
    held = MeasuredPieces(FEW.pieces, lambda piece: measure_piece(piece, OPENED.reference), stay=0)
    assessed = AssessedPieces(FEW.pieces, held, FEW, OPENED.reference, book.summaries)
    found = 0
    for name, piece in FEW.pieces.items():
        before, said = held[name], assessed[name]
        assert said == assess(piece, before, FEW, OPENED.reference, book.summaries)
        assert said == book.assessments[name]
        other = held[next(n for n in FEW.pieces if n != name)]
        assert other.piece_id != name
        anew = held[name]
        for at, value in anew.best.items():
            assert value is not before.best[at]
            assert said.verdicts_of(value) == tuple(
                v for v in said.verdicts if (v.value.component, v.value.property_id) == at
            )
            assert said.place_of(value) == next((p for p in said.places if p.value == value), None)
            found += len(said.verdicts_of(value))
        assert assessed[name] is said
    assert found > 100
    assert list(assessed) == list(FEW.pieces)
    assert len(assessed) == len(held) == 6


def test_no_two_values_of_a_piece_have_one_key() -> None:
    """A verdict is found by its value's key: of all the demo's pieces no two values share one."""
    book = compose_book(OPENED.reference, ARCHIVE)
    for measured in book.measured.values():
        keys = [value.key for value in measured.values]
        assert len(set(keys)) == len(keys), measured.piece_id
        assert {v.key for v in measured.best.values()} <= set(keys)

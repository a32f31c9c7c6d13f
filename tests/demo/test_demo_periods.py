"""The matrix of periods over the invented archive: what is sound is not contradicted."""

from __future__ import annotations

from collections import Counter

from demo_known import Demo

from coilbook.core.judging.consistency import consistency
from coilbook.core.observing.peers import periods_within

#: Stories after which a piece, or what was read of it, is no longer as it was made.
_ALTERED = frozenset(
    {
        "shorted-turns",
        "swapped-magnet",
        "dead-magnet",
        "recharged",
        "contradiction",
        "open-coil",
        "bad-joint",
        "leaky-insulation",
        "in-circuit-unknown",
        "rewound",
    }
)
#: The project's goal.
CONTRADICTED_AT_MOST = 0.05


def _words(demo: Demo) -> Counter[str]:
    """Count the words of every cell of an untouched piece's own period."""
    words: Counter[str] = Counter()
    for name, piece in demo.archive.pieces.items():
        within = periods_within(piece.row, demo.reference)
        if piece.row.state != "untouched" or demo.stories[name] & _ALTERED or len(within) != 1:
            continue
        found = consistency(piece, demo.measured[name], demo.archive, demo.reference)
        (row,) = [row for row in found.rows if row.period_id == within[0].period_id]
        words["pieces"] += 1
        words.update(cell.word for cell in row.cells)
        words.update(seen.word for seen in row.features)
    return words


def test_untouched_pieces_are_not_contradicted_by_their_own_period(demo: Demo) -> None:
    """Of all cells that were decided, at most one in twenty speaks against the true period.

    Truth: the pieces whose winding, magnet and readings no story of the generator altered, and
    whose years lie in one period. Counted over all of them together.
    """
    words = _words(demo)
    decided = words["consistent"] + words["not_consistent"]
    assert words["pieces"] >= 100
    assert decided >= 1000
    assert words["not_consistent"] / decided <= CONTRADICTED_AT_MOST


def test_most_cells_of_an_untouched_piece_are_decided(demo: Demo) -> None:
    """It is not by deciding nothing that nothing is contradicted: most cells with a claim are."""
    words = _words(demo)
    decided = words["consistent"] + words["not_consistent"]
    assert decided >= 4 * words["too_close_to_call"]


def test_other_periods_are_contradicted(demo: Demo) -> None:
    """Nor is every period found to fit: most pieces have one that is spoken against."""
    spoken = [
        any(row.contradictions for row in found.rows)
        for name, piece in demo.archive.pieces.items()
        if (found := consistency(piece, demo.measured[name], demo.archive, demo.reference)).rows
    ]
    assert sum(spoken) / len(spoken) > 0.5

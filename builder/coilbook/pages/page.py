"""What pages takes and what it hands to publish."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from coilbook.core.observing.said import Assessment
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.measures.whole_piece import WholePiece
from coilbook.records.contents import Piece, PublicArchive, Reference
from coilbook.records.tables.messages import Message
from coilbook.records.tables.trial import TrialRow
from coilbook.stats.groups import Summaries

if TYPE_CHECKING:
    from coilbook.assessment.review.crosscheck import CrossCheck


@dataclass(frozen=True)
class Book:
    """Everything that the pages are written from: published pieces only."""

    reference: Reference
    archive: PublicArchive
    measured: Mapping[str, MeasuredPiece]
    summaries: Summaries
    assessments: Mapping[str, Assessment]
    trial: tuple[TrialRow, ...] = ()
    messages: tuple[Message, ...] = ()

    @property
    def invented(self) -> bool:
        """Whether the archive's records are invented, which every page then says."""
        return self.archive.settings.kind == "invented"

    @cached_property
    def cross_checks(self) -> tuple[CrossCheck, ...]:
        """Every documented resistance beside what the documented turns come to."""
        from coilbook.assessment.review.crosscheck import cross_checks

        return cross_checks(self.reference)

    def whole(self, piece: Piece) -> WholePiece:
        """Return all that measures can say of a piece: of what is dear, what is asked for."""
        return WholePiece(piece, self.measured[piece.row.piece_id], self.reference)


@dataclass(frozen=True, slots=True)
class PageOut:
    """One page: the inside of its article, links relative to ``path`` and ending in index.html.

    ``search_text`` is what the search box may find it by; an empty one keeps it out of the search.
    """

    path: str
    title: str
    html: str
    description: str
    section: str
    search_title: str = ""
    search_text: str = ""


@dataclass(frozen=True, slots=True)
class SiteContent:
    """All pages that are made from records."""

    pages: tuple[PageOut, ...]


def root_of(path: str) -> str:
    """Return the way from a page back to the site's root, as in ``../../``."""
    return "../" * path.count("/")

"""A small made-up book for tests of publish: no archive is read, and every part is plain to see."""

from __future__ import annotations

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ArchiveKind
from coilbook.pages.page import PageOut, SiteContent
from coilbook.records import load_reference
from coilbook.records.contents import Piece, PublicArchive, Reading, Reference
from coilbook.records.tables.models import ArchiveSettings, PieceRow, ReadingRow

MENU = ("families", "pieces", "check", "materials", "calculators", "methods", "sources")


def reference() -> Reference:
    """Return the documented reference as it stands."""
    loaded = load_reference().value
    assert loaded is not None
    return loaded


def page(path: str, html: str = "<h1>Page</h1><p>text</p>", **more: str) -> PageOut:
    """Return a page with as little said as possible."""
    return PageOut(
        path,
        more.pop("title", "Page"),
        html,
        more.pop("description", "A page."),
        more.pop("section", "home"),
        **more,
    )


def content(*pages: PageOut) -> SiteContent:
    """Return the given pages with those that the menu and the prose link to."""
    paths = {p.path for p in pages}
    needed = ["index.html", *(f"{name}/index.html" for name in (*MENU, "data"))]
    return SiteContent((*pages, *(page(path) for path in needed if path not in paths)))


def piece(known: Reference, piece_id: str, **cells: object) -> Piece:
    """Return a piece of the full-size family with one written reading of its pair."""
    row = PieceRow.model_validate(
        {
            "piece_id": piece_id,
            "family_id": "full-size-humbucker",
            "state": "untouched",
            "potted": "no",
            "publish": "yes",
            **cells,
        }
    )
    prop = known.properties["pair-resistance"]
    reading = ReadingRow.model_validate(
        {
            "piece_id": piece_id,
            "component": "pair",
            "property_id": prop.property_id,
            "value": "8,10 kΩ",
            "circuit": "free",
            "date": "2026-02-03",
        }
    )
    return Piece(
        row,
        2,
        known.families["full-size-humbucker"],
        (
            Reading(
                reading, 2, prop, 8.1, "", None, 0.01, 22.0, 1.0, None, 10.0, None, None, "unknown"
            ),
        ),
    )


def measured(piece_id: str, kohm: float | None = 8.037) -> MeasuredPiece:
    """Return a measured piece whose pair has the given resistance, or is open."""
    value = ReducedValue(
        piece_id, "pair", "pair-resistance", "kΩ", kohm, 0.031, "" if kohm else "open", None, 2,
        "8,10 kΩ", "2026-02-03", None, "unknown", flags=("no_instrument",),
    )  # fmt: skip
    return MeasuredPiece(piece_id, (value,), {("pair", "pair-resistance"): value}, None, ())


def archive(kind: ArchiveKind, *pieces: Piece, **settings: object) -> PublicArchive:
    """Return a public archive of the given pieces."""
    return PublicArchive(
        ArchiveSettings.model_validate(
            {"title": "A bench", "publisher": "Someone", "licence": "CC-BY-4.0", "kind": kind}
            | settings
        ),
        {p.row.piece_id: p for p in pieces},
        (),
        (),
        {},
    )

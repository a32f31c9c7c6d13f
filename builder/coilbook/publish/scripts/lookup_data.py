"""The data script of the lookup page: every published piece as columns, for lookup.js to search."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Mapping

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.publish.scripts.one_object import assigned
from coilbook.records.contents import Piece, PublicArchive, Reference

PIECES_SCRIPT = "assets/data/pieces.js"
#: Where a piece's resistance is looked for: the pair's if it has two coils, else the coil's.
_RESISTANCES = (("pair", "pair-resistance"), ("coil", "coil-resistance"))

#: A span of more years than this says too little of any one of them.
_LONGEST_SPELT_OUT = 20


def fold(text: str) -> str:
    """Return text without case, accents and punctuation, words one space apart.

    ``coilbook.lookup.fold`` in site_src/js/lookup.js does the same; a test holds the two together.
    """
    lowered = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).lower())
    plain = (ch for ch in lowered if not unicodedata.category(ch).startswith("M"))
    return " ".join("".join(ch if ch.isalnum() else " " for ch in plain).split())


def pieces_script(
    archive: PublicArchive, measured: Mapping[str, MeasuredPiece], reference: Reference
) -> str:
    """Return ``coilbook.pieces = {…};`` with one list per column, pieces in the file's order.

    ``kohm`` is the resistance at 20 °C of the pair or the only coil [kΩ]; ``kohm_of`` says which.
    """
    columns: dict[str, list[object]] = {}
    for piece_id, piece in archive.pieces.items():
        row = _row(piece, measured[piece_id], reference)
        for name, value in row.items():
            columns.setdefault(name, []).append(value)
    columns = columns or {"id": []}
    data = {"kind": archive.settings.kind, **columns}
    return assigned("pieces", json.dumps(data, separators=(",", ":")))


def _row(piece: Piece, measured: MeasuredPiece, reference: Reference) -> dict[str, object]:
    row = piece.row
    kohm, kohm_text, kohm_of = _resistance(measured, reference)
    features = (reference.features[f].name for f in row.features)
    words = (
        row.piece_id,
        piece.family.name,
        row.position,
        row.state,
        row.condition,
        *features,
        row.remark,
        *_years(row.year_first, row.year_last),
    )
    return {
        "id": row.piece_id,
        "family": row.family_id,
        "family_name": piece.family.name,
        "position": row.position,
        "year_first": row.year_first,
        "year_last": row.year_last,
        "state": row.state,
        "words": fold(" ".join(word for word in words if word)),
        "kohm": kohm,
        "kohm_text": kohm_text,
        "kohm_of": kohm_of,
        "url": f"pieces/{row.piece_id}/index.html",
    }


def _years(first: int | None, last: int | None) -> tuple[str, ...]:
    """Return every year of a span as a word, or a long span's ends."""
    if first is None or last is None:
        return ()
    years = range(first, last + 1) if last - first <= _LONGEST_SPELT_OUT else (first, last)
    return tuple(str(year) for year in years)


def _resistance(
    measured: MeasuredPiece, reference: Reference
) -> tuple[float | None, str | None, str | None]:
    for component, property_id in _RESISTANCES:
        best = measured.best.get((component, property_id))
        if best is not None and best.comparable and best.value is not None:
            decimals = reference.properties[property_id].decimals or 0
            # Rounded as shown, so that what a reader sees in the row is what the limits test.
            shown = round(best.value, decimals)
            return shown, f"{shown:.{decimals}f}", component
    return None, None, None

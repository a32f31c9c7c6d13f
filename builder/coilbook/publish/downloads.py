"""The public archive as files to download and cite: CSV tables and a descriptor of them.

What a shop measured, what an invented shop is said to have measured, and what is documented never
share a file. Every table of an invented archive says so in its name and in each of its rows.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.seen import ArchiveKind
from coilbook.pages.reference.sources_page import documented_file
from coilbook.records.contents import PublicArchive, Reference
from coilbook.records.tables.cells import Row
from coilbook.records.tables.models import (
    REFERENCE_TABLES,
    ArchiveSettings,
    ClaimRow,
    PieceRow,
    ReadingRow,
)

FOLDER = "data"
DESCRIPTOR = f"{FOLDER}/datapackage.json"
_PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
_KIND_COLUMN = ("archive_kind", "string", "measured, or invented for a demonstration.")

#: Columns of reduced.csv: name, type of Table Schema, meaning.
_REDUCED = (
    ("piece_id", "string", "The piece."),
    ("family_id", "string", "Its family."),
    ("component", "string", "The part that was measured."),
    ("property_id", "string", "The property."),
    ("value", "number", "At 20 °C and out of circuit, in unit; empty if open or a category."),
    ("standard_uncertainty", "number", "Standard uncertainty of value, in unit (k = 1)."),
    ("unit", "string", "The property's unit."),
    ("qualifier", "string", "< or > if value is only a bound, open for an open circuit."),
    ("category", "string", "The word, for a category property."),
    ("as_written", "string", "The reading as somebody wrote it; empty if derived."),
    ("date", "string", "The day it was read; empty if not known or derived."),
    ("instrument_id", "string", "The instrument."),
    ("calibration", "string", "valid, lapsed or unknown on that day."),
    ("flags", "string", "What stands against the value, split by ;"),
)


@dataclass(frozen=True, slots=True)
class DownloadTable:
    """One table to download: the columns' names, types and meanings, and the rows as cells."""

    path: str
    title: str
    columns: tuple[tuple[str, str, str], ...]
    rows: tuple[tuple[str, ...], ...]

    def csv(self) -> str:
        """Return the table as CSV with a header row."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow([name for name, _, _ in self.columns])
        writer.writerows(self.rows)
        return out.getvalue()


def file_prefix(kind: ArchiveKind) -> str:
    """Return what the names of an archive's files begin with."""
    return "invented-" if kind == "invented" else ""


def tables(
    archive: PublicArchive, measured: Mapping[str, MeasuredPiece], reference: Reference
) -> tuple[DownloadTable, ...]:
    """Return every table of a site, the archive's own ones first."""
    kind = archive.settings.kind
    pieces = list(archive.pieces.values())
    values = (
        _reduced(value, archive.pieces[piece_id].row.family_id)
        for piece_id in archive.pieces
        for value in measured[piece_id].values
    )
    own = (
        _of_rows("pieces", "Pieces", PieceRow, (p.row for p in pieces), leave_out="publish"),
        _of_rows(
            "readings",
            "Readings as written",
            ReadingRow,
            (reading.row for piece in pieces for reading in piece.readings),
        ),
        DownloadTable("reduced", "Values at 20 °C and out of circuit", _REDUCED, tuple(values)),
        _of_rows("claims", "The shop's own claims", ClaimRow, (c.row for c in archive.claims)),
    )
    documented = _of_rows(
        "documented-claims", "Documented claims", ClaimRow, (c.row for c in reference.claims)
    )
    return (
        *(
            DownloadTable(
                f"{FOLDER}/{file_prefix(kind)}{table.path}.csv",
                table.title,
                (*table.columns, _KIND_COLUMN),
                tuple((*row, kind) for row in table.rows),
            )
            for table in own
        ),
        replace(documented, path=f"{FOLDER}/{documented.path}.csv"),
        *(
            replace(
                _of_rows(file, title_of(file), REFERENCE_TABLES[file], rows),
                path=f"{FOLDER}/{documented_file(file)}",
            )
            for file, rows in reference.figure_rows().items()
        ),
    )


def title_of(file: str) -> str:
    """Return a table of the reference in words."""
    return f"Documented {file.removesuffix('.csv').replace('_', ' ')}"


def downloads(
    archive: PublicArchive, measured: Mapping[str, MeasuredPiece], reference: Reference
) -> dict[str, str]:
    """Return every file of the downloads, by its path within the site."""
    made = tables(archive, measured, reference)
    descriptor = json.dumps(_descriptor(archive.settings, made), indent=2, ensure_ascii=False)
    return {**{table.path: table.csv() for table in made}, DESCRIPTOR: descriptor + "\n"}


def _of_rows(
    name: str, title: str, model: type[Row], rows: Iterable[Row], leave_out: str = ""
) -> DownloadTable:
    fields = {n: field for n, field in model.model_fields.items() if n != leave_out}
    # As written means as text: 007 stays 007, and "7.82k" is no number.
    columns = tuple((n, "string", field.description or "") for n, field in fields.items())
    cells = (row.model_dump(mode="json", include=set(fields)) for row in rows)
    return DownloadTable(
        name, title, columns, tuple(tuple(_cell(c[n]) for n in fields) for c in cells)
    )


def _reduced(value: ReducedValue, family_id: str) -> tuple[str, ...]:
    return tuple(
        _cell(cell)
        for cell in (
            value.piece_id,
            family_id,
            value.component,
            value.property_id,
            value.value,
            value.standard_uncertainty,
            value.unit,
            value.qualifier,
            value.category,
            value.written,
            value.date,
            value.instrument_id,
            value.calibration,
            ";".join(value.flags),
        )
    )


def _cell(value: object) -> str:
    if value is None:
        return ""
    # Nine digits are more than any reading carries, and hide the noise of the last binary place.
    return f"{value:.9g}" if isinstance(value, float) else str(value)


def _descriptor(settings: ArchiveSettings, made: Iterable[DownloadTable]) -> dict[str, object]:
    return {
        "$schema": _PROFILE,
        "name": f"{file_prefix(settings.kind)}coilbook-data",
        "title": settings.title,
        "archive_kind": settings.kind,
        "licenses": [{"name": settings.licence}],
        "contributors": [{"title": settings.publisher, "roles": ["publisher"]}],
        "resources": [
            {
                "name": table.path.removeprefix(f"{FOLDER}/").removesuffix(".csv"),
                "path": table.path.removeprefix(f"{FOLDER}/"),
                "title": table.title,
                "type": "table",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": {
                    "fields": [
                        {"name": name, "type": kind, "description": meaning}
                        for name, kind, meaning in table.columns
                    ]
                },
            }
            for table in made
        ],
    }

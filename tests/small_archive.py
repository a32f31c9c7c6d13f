"""A small archive as a shop would type it, for tests of more than one room."""

from __future__ import annotations

import csv
from pathlib import Path

SETTINGS = """\
title = "Test bench"
publisher = "A test"
licence = "CC-BY-4.0"
kind = "{kind}"
"""
PIECES = (
    "piece_id", "family_id", "year_first", "year_last", "year_basis", "position", "state",
    "condition", "potted", "features", "publish", "remark", "private_owner",
)  # fmt: skip
READINGS = (
    "piece_id", "component", "property_id", "value", "temperature", "circuit", "instrument_id",
    "date", "private_note",
)  # fmt: skip
INSTRUMENTS = (
    "instrument_id", "name", "measures", "accuracy_percent", "accuracy_digits", "calibrated", "due",
)  # fmt: skip


def write_table(path: Path, columns: tuple[str, ...], rows: list[dict[str, str]]) -> None:
    """Write rows as a CSV table of an archive; cells that a row leaves out stay empty."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def write_archive(folder: Path, *, kind: str = "measured", count: int = 12) -> Path:
    """Write a small archive: ``count`` humbuckers of two uneven coils, and one single-coil."""
    folder.mkdir(parents=True)
    (folder / "coilbook.toml").write_text(SETTINGS.format(kind=kind), encoding="utf-8")
    pieces, readings = [], []
    for i in range(1, count + 1):
        piece_id = f"tb-{i:04d}"
        pieces.append(
            {
                "piece_id": piece_id,
                "family_id": "full-size-humbucker",
                "year_first": str(1957 + i % 4),
                "year_last": str(1958 + i % 4),
                "year_basis": "lead wire",
                "position": ("bridge", "neck")[i % 2],
                "state": "untouched",
                "condition": "cover désoldered" if i == 1 else "clean",
                "potted": "no",
                "publish": "yes",
            }
        )
        for component, kohm in (
            ("coil_a", 3.6 + 0.05 * (i % 12)),
            ("coil_b", 4.4 - 0.03 * (i % 12)),
        ):
            readings.append(
                {
                    "piece_id": piece_id,
                    "component": component,
                    "property_id": "coil-resistance",
                    "value": f"{kohm:.2f} kΩ",
                    "temperature": "22 °C",
                    "circuit": "free",
                    "instrument_id": "meter",
                    "date": "2026-03-14",
                }
            )
    pieces.append(
        {
            "piece_id": "tb-9001",
            "family_id": "wide-bar-single-coil",
            "state": "unknown",
            "potted": "unknown",
            "publish": "yes",
        }
    )
    readings.append(
        {
            "piece_id": "tb-9001",
            "component": "coil",
            "property_id": "coil-resistance",
            "value": "7,9k",
            "temperature": "20 °C",
            "circuit": "free",
            "instrument_id": "meter",
            "date": "2026-03-15",
        }
    )
    write_table(folder / "pieces.csv", PIECES, pieces)
    write_table(folder / "readings.csv", READINGS, readings)
    write_table(
        folder / "instruments.csv",
        INSTRUMENTS,
        [
            {
                "instrument_id": "meter",
                "name": "bench meter",
                "measures": "resistance",
                "accuracy_percent": "0.5",
                "accuracy_digits": "2",
                "calibrated": "2026-01-10",
                "due": "2027-01-10",
            }
        ],
    )
    return folder

"""The data's only definition: one frozen pydantic model per table, and the tables of each folder.

The CSV reader validates rows with them, the data dictionary and ``datapackage.json`` are generated
from them, and later rooms read their fields. Cells arrive as text; a cell that is empty becomes
``None`` (or ``()`` for a list). The reference's models are in ``documented``, ``curated`` and
``published`` of this room, an archive's in ``shop``.

A rule that needs one row alone lives in its model. A rule that needs another table (a reference, a
unit, a bound) lives in :mod:`coilbook.records.rules.shared`.
"""

from __future__ import annotations

from coilbook.records.tables.cells import Row
from coilbook.records.tables.curated import Alias, Derivation, Exemption, MethodSource
from coilbook.records.tables.documented import (
    Bobbin,
    ClaimRow,
    Family,
    Feature,
    Magnet,
    Period,
    Property,
    Source,
    Wire,
)
from coilbook.records.tables.published import (
    Alloy,
    Insulation,
    NominalPart,
    OtherWire,
    Permeability,
)
from coilbook.records.tables.shop import (
    ArchiveSettings,
    InstrumentRow,
    PieceRow,
    ReadingRow,
    Thresholds,
)

__all__ = [
    "ARCHIVE_TABLES",
    "FIGURE_TABLES",
    "OPTIONAL_TABLES",
    "REFERENCE_TABLES",
    "Alias",
    "Alloy",
    "ArchiveSettings",
    "Bobbin",
    "ClaimRow",
    "Derivation",
    "Exemption",
    "Family",
    "Feature",
    "InstrumentRow",
    "Insulation",
    "Magnet",
    "MethodSource",
    "NominalPart",
    "OtherWire",
    "Period",
    "Permeability",
    "PieceRow",
    "Property",
    "ReadingRow",
    "Source",
    "Thresholds",
    "Wire",
]

#: Tables of dataset/reference, in the order they are read.
REFERENCE_TABLES: dict[str, type[Row]] = {
    "sources.csv": Source,
    "properties.csv": Property,
    "wires.csv": Wire,
    "magnets.csv": Magnet,
    "bobbins.csv": Bobbin,
    "other_wires.csv": OtherWire,
    "insulations.csv": Insulation,
    "permeabilities.csv": Permeability,
    "alloys.csv": Alloy,
    "nominal_parts.csv": NominalPart,
    "families.csv": Family,
    "periods.csv": Period,
    "features.csv": Feature,
    "claims.csv": ClaimRow,
    "derivations.csv": Derivation,
    "exemptions.csv": Exemption,
    "method_sources.csv": MethodSource,
    "aliases.csv": Alias,
}

#: Those of them that are figures of standards and of practice, to be downloaded as they stand.
FIGURE_TABLES = (
    "wires.csv",
    "other_wires.csv",
    "insulations.csv",
    "magnets.csv",
    "alloys.csv",
    "permeabilities.csv",
    "nominal_parts.csv",
    "bobbins.csv",
    "sources.csv",
)

#: Tables of an archive; the last two are the shop's own and may be missing.
ARCHIVE_TABLES: dict[str, type[Row]] = {
    "instruments.csv": InstrumentRow,
    "pieces.csv": PieceRow,
    "readings.csv": ReadingRow,
    "sources.csv": Source,
    "claims.csv": ClaimRow,
}
OPTIONAL_TABLES = frozenset({"sources.csv", "claims.csv"})

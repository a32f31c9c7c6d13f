"""Loading the reference and an archive: every problem of every file, then the whole or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Generic, TypeVar

from coilbook.core.written.spelling import nearest
from coilbook.errors import Problem
from coilbook.records.contents import Archive, Piece, PublicArchive, Reading, Reference
from coilbook.records.reading.rows import Numbered, R, Table, load_table
from coilbook.records.rules import bench, curation
from coilbook.records.rules import shared as rules
from coilbook.records.rules.instruments import instruments_by_id, read_traits
from coilbook.records.rules.place import Known, Place
from coilbook.records.tables.cells import Evidence, Row
from coilbook.records.tables.models import (
    ARCHIVE_TABLES,
    OPTIONAL_TABLES,
    REFERENCE_TABLES,
    Alloy,
    Bobbin,
    ClaimRow,
    Derivation,
    Exemption,
    Family,
    Feature,
    InstrumentRow,
    Insulation,
    Magnet,
    MethodSource,
    NominalPart,
    OtherWire,
    Period,
    Permeability,
    PieceRow,
    Property,
    ReadingRow,
    Source,
    Wire,
)
from coilbook.records.tables.settings import SETTINGS_FILE, load_settings
from coilbook.resources import dataset_dir

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Loaded(Generic[T]):
    """What was loaded and every problem met; ``value`` is None if and only if one is an error."""

    value: T | None
    problems: tuple[Problem, ...]


class _Folder:
    """A folder of tables, and the one list on which everything found in it is noted."""

    def __init__(self, folder: Path, models: Mapping[str, type[Row]]) -> None:
        self.folder = folder
        self.models = models
        self.problems: list[Problem] = []
        self.read_problems: list[Problem] = []
        self.guessed: dict[str, dict[int, frozenset[str]]] = {}

    def place(self, file: str) -> Place:
        return Place(self.problems, file)

    def table(self, file: str, model: type[R]) -> Table[R]:
        optional = file in OPTIONAL_TABLES and self.models is ARCHIVE_TABLES
        table = load_table(self.folder / file, model, optional=optional)
        self.read_problems += table.problems
        self.guessed[file] = table.guessed
        rules.check_keys(table, self.place(file))
        return table

    def warn_of_misnamed_files(self) -> None:
        """Doubt a file that would be left out because its name only nearly is a table's."""
        for path in sorted(self.folder.glob("*.csv")):
            near = nearest(path.stem, (Path(name).stem for name in self.models))
            if path.name not in self.models and near is not None:
                self.place(path.name).doubt(
                    "",
                    f"the file is not read, since no table is called {path.name}.",
                    f"Did you mean '{near}.csv'? Rename or remove it.",
                )

    def _guesses(self, problem: Problem) -> frozenset[str]:
        return self.guessed.get(problem.file, {}).get(problem.line, frozenset())

    def loaded(self, build: Callable[[], T]) -> Loaded[T]:
        """Build the whole if nothing is an error."""
        found = (p for p in self.problems if p.column not in self._guesses(p))
        problems = tuple(sorted([*self.read_problems, *found]))
        whole = not any(problem.severity == "error" for problem in problems)
        return Loaded(build() if whole else None, problems)


def load_reference(folder: Path | None = None) -> Loaded[Reference]:
    """Load the documented side, from ``folder`` or the one that comes with Coilbook."""
    tables = _Folder(folder or dataset_dir() / "reference", REFERENCE_TABLES)
    tables.warn_of_misnamed_files()
    sources = tables.table("sources.csv", Source)
    properties = tables.table("properties.csv", Property)
    wires = tables.table("wires.csv", Wire)
    magnets = tables.table("magnets.csv", Magnet)
    bobbins = tables.table("bobbins.csv", Bobbin)
    other_wires = tables.table("other_wires.csv", OtherWire)
    insulations = tables.table("insulations.csv", Insulation)
    permeabilities = tables.table("permeabilities.csv", Permeability)
    alloys = tables.table("alloys.csv", Alloy)
    parts = tables.table("nominal_parts.csv", NominalPart)
    families = tables.table("families.csv", Family)
    periods = tables.table("periods.csv", Period)
    features = tables.table("features.csv", Feature)
    claims = tables.table("claims.csv", ClaimRow)
    derivations = tables.table("derivations.csv", Derivation)
    exemptions = tables.table("exemptions.csv", Exemption)
    method_sources = tables.table("method_sources.csv", MethodSource)

    known = rules.Documented(
        properties=rules.known_rows(properties),
        families=rules.known_rows(families),
        periods=rules.known_rows(periods),
        features=rules.known_rows(features),
        sources=rules.known_rows(sources),
    )
    evidenced = (
        ("wires.csv", wires), ("magnets.csv", magnets), ("bobbins.csv", bobbins),
        ("families.csv", families), ("periods.csv", periods), ("features.csv", features),
        ("claims.csv", claims), ("other_wires.csv", other_wires),
        ("insulations.csv", insulations), ("permeabilities.csv", permeabilities),
        ("alloys.csv", alloys), ("nominal_parts.csv", parts),
    )  # fmt: skip
    for file, table in evidenced:
        rules.check_evidence(
            table.rows, rules.REFERENCE_EVIDENCE, known.sources, tables.place(file)
        )
    rules.check_properties(properties, tables.place("properties.csv"))
    rules.check_families(
        families,
        known.families,
        rules.known_rows(bobbins),
        rules.known_rows(wires),
        tables.place("families.csv"),
    )
    rules.check_alloys(alloys, rules.known_rows(permeabilities), tables.place("alloys.csv"))
    rules.check_insulations(insulations, known.properties, tables.place("insulations.csv"))
    rules.check_periods(periods, known.families, tables.place("periods.csv"))
    rules.check_features(features, known.families, tables.place("features.csv"))
    read = [
        rules.read_claim(
            numbered, known, "reference", tables.place("claims.csv"),
            decimal_comma=claims.decimal_comma,
        )
        for numbered in claims.rows
    ]  # fmt: skip
    curation.check_overlaps(periods, tables.place("periods.csv"))
    curation.check_feature_years(features, known.families, tables.place("features.csv"))
    curation.check_contradictions(
        (claim for claim in read if claim is not None), tables.place("claims.csv")
    )
    for method in method_sources.rows:
        known.sources.find(
            method.row.source_id, tables.place("method_sources.csv").on(method.line), "source_id"
        )
    curation.check_sources(
        sources,
        (numbered.row for _, table in evidenced for numbered in table.rows),
        method_sources.by_id(),
        tables.place("sources.csv"),
    )
    curation.check_exemptions(
        exemptions,
        known.properties,
        known.families.rows,
        (numbered.row for numbered in claims.rows),
        tables.place("exemptions.csv"),
    )
    curation.check_derivations(
        derivations, rules.known_rows(claims), known.families, tables.place("derivations.csv")
    )
    return tables.loaded(
        lambda: Reference(
            properties=MappingProxyType(properties.by_id()),
            families=MappingProxyType(families.by_id()),
            periods=MappingProxyType(periods.by_id()),
            features=MappingProxyType(features.by_id()),
            claims=tuple(claim for claim in read if claim is not None),
            wires=MappingProxyType(wires.by_id()),
            magnets=MappingProxyType(magnets.by_id()),
            bobbins=MappingProxyType(bobbins.by_id()),
            sources=MappingProxyType(sources.by_id()),
            derivations=tuple(numbered.row for numbered in derivations.rows),
            exemptions=tuple(numbered.row for numbered in exemptions.rows),
            method_sources=MappingProxyType(method_sources.by_id()),
            other_wires=MappingProxyType(other_wires.by_id()),
            insulations=MappingProxyType(insulations.by_id()),
            permeabilities=MappingProxyType(permeabilities.by_id()),
            alloys=MappingProxyType(alloys.by_id()),
            parts=MappingProxyType(parts.by_id()),
        )
    )


def load_archive(folder: Path, reference: Reference) -> Loaded[Archive]:
    """Load a shop's archive and hold it against the reference."""
    tables = _Folder(folder, ARCHIVE_TABLES)
    settings = load_settings(folder, tables.place(SETTINGS_FILE))
    tables.warn_of_misnamed_files()
    instruments = tables.table("instruments.csv", InstrumentRow)
    pieces = tables.table("pieces.csv", PieceRow)
    readings = tables.table("readings.csv", ReadingRow)
    sources = tables.table("sources.csv", Source)
    claims = tables.table("claims.csv", ClaimRow)

    all_sources = Known(
        "sources.csv, here or in the reference",
        {**reference.sources, **sources.by_id()},
        None if sources.ids is None else sources.ids | frozenset(reference.sources),
        "Correct it, or add it to the archive's sources.csv.",
    )
    known = _documented(reference, all_sources)
    own = tables.place("claims.csv")
    if settings is not None:
        allowed: tuple[Evidence, ...] = (*rules.REFERENCE_EVIDENCE, settings.kind)
        rules.check_evidence(claims.rows, allowed, all_sources, own)
    _check_collisions(sources, reference.sources, tables.place("sources.csv"))
    _check_collisions(claims, {c.row.claim_id: c for c in reference.claims}, own)
    own_claims = [
        rules.read_claim(numbered, known, "archive", own, decimal_comma=claims.decimal_comma)
        for numbered in claims.rows
    ]
    curation.check_contradictions((claim for claim in own_claims if claim is not None), own)
    for piece in pieces.rows:
        bench.check_piece(piece, known, tables.place("pieces.csv"))
    by_piece = _readings(readings, pieces, instruments, known, tables)
    bench.check_pairs(by_piece, tables.place("readings.csv"))
    return tables.loaded(
        lambda: Archive(
            # Without settings there is an error, and this is not called.
            settings=settings,  # type: ignore[arg-type]
            pieces=MappingProxyType(
                {n.row.piece_id: _piece(n, reference, by_piece) for n in pieces.rows}
            ),
            instruments=tuple(numbered.row for numbered in instruments.rows),
            claims=tuple(claim for claim in own_claims if claim is not None),
            sources=MappingProxyType(sources.by_id()),
        )
    )


def public_view(archive: Archive) -> PublicArchive:
    """Return what may leave the shop: published pieces, and the instruments that read them."""
    pieces = {id_: piece for id_, piece in archive.pieces.items() if piece.row.publish}
    used = {
        (reading.instrument.instrument_id, reading.instrument.measures)
        for piece in pieces.values()
        for reading in piece.readings
        if reading.instrument is not None
    }
    return PublicArchive(
        settings=archive.settings,
        pieces=MappingProxyType(pieces),
        instruments=tuple(
            row for row in archive.instruments if (row.instrument_id, row.measures) in used
        ),
        claims=archive.claims,
        sources=archive.sources,
    )


def _documented(reference: Reference, sources: Known[Source]) -> rules.Documented:
    def known(file: str, rows: Mapping[str, R]) -> Known[R]:
        return Known(f"the reference's {file}", rows, frozenset(rows), "Correct it.")

    return rules.Documented(
        properties=known("properties.csv", reference.properties),
        families=known("families.csv", reference.families),
        periods=known("periods.csv", reference.periods),
        features=known("features.csv", reference.features),
        sources=sources,
    )


def _check_collisions(table: Table[R], taken: Iterable[str], at: Place) -> None:
    """Refuse an id of the reference for something else in an archive."""
    theirs = {id_.casefold() for id_ in taken}
    for numbered in table.rows:
        column = numbered.row.key[0]
        id_ = str(getattr(numbered.row, column))
        if id_.casefold() in theirs:
            at.on(numbered.line).error(
                column,
                f"'{id_}' is an id of the reference.",
                "Give it another id, with your bench's letters in front.",
            )


def _readings(
    readings: Table[ReadingRow],
    pieces: Table[PieceRow],
    instruments: Table[InstrumentRow],
    known: rules.Documented,
    tables: _Folder,
) -> dict[str, list[Reading]]:
    """Read every reading, and sort them by piece."""
    shop = bench.Shop(
        known=known,
        pieces=rules.known_rows(pieces),
        instruments=Known(
            "instruments.csv",
            instruments_by_id(instruments),
            instruments.ids,
            "Correct it, or add it to instruments.csv.",
        ),
        traits=read_traits(instruments, tables.place("instruments.csv")),
        decimal_comma=readings.decimal_comma,
    )
    by_piece: dict[str, list[Reading]] = {}
    at = tables.place("readings.csv")
    for numbered in readings.rows:
        reading = bench.read_reading(numbered, shop, at)
        if reading is not None and numbered.line not in readings.guessed:
            by_piece.setdefault(reading.row.piece_id, []).append(reading)
    return by_piece


def _piece(
    numbered: Numbered[PieceRow], reference: Reference, readings: Mapping[str, list[Reading]]
) -> Piece:
    row = numbered.row
    family = reference.families[row.family_id]
    return Piece(row, numbered.line, family, tuple(readings.get(row.piece_id, ())))

"""Loading the reference and an archive: every problem of every file, then the whole or nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Generic, TypeVar

from coilbook.core.written.spelling import nearest
from coilbook.errors import Problem
from coilbook.records.contents import Archive, Claim, Piece, PublicArchive, Reading, Reference
from coilbook.records.reading.rows import Numbered, R, Table, load_table
from coilbook.records.rules import bench, curation
from coilbook.records.rules import shared as rules
from coilbook.records.rules.instruments import check_dates, instruments_by_id, read_traits
from coilbook.records.rules.place import Known, Place
from coilbook.records.tables.cells import Evidence, Row
from coilbook.records.tables.models import (
    ARCHIVE_TABLES,
    OPTIONAL_TABLES,
    REFERENCE_TABLES,
    Alias,
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
                    "file-not-read",
                    "",
                    f"the file is not read, since no table is called {path.name}.",
                    f"Did you mean '{near}.csv'? Rename or remove it.",
                )

    def _guesses(self, problem: Problem) -> frozenset[str]:
        return self.guessed.get(problem.file, {}).get(problem.line, frozenset())

    def loaded(self, build: Callable[[], T]) -> Loaded[T]:
        """Build the whole if nothing is an error."""
        found = (p for p in self.problems if p.column not in self._guesses(p))
        # One faulty unit of several values of a row is told once.
        problems = tuple(dict.fromkeys(sorted([*self.read_problems, *found])))
        whole = not any(problem.severity == "error" for problem in problems)
        return Loaded(build() if whole else None, problems)


class _ReferenceTables:
    """The tables of the reference as they were read, and what is known by its id."""

    def __init__(self, folder: _Folder) -> None:
        self.folder = folder
        self.sources = folder.table("sources.csv", Source)
        self.properties = folder.table("properties.csv", Property)
        self.wires = folder.table("wires.csv", Wire)
        self.magnets = folder.table("magnets.csv", Magnet)
        self.bobbins = folder.table("bobbins.csv", Bobbin)
        self.other_wires = folder.table("other_wires.csv", OtherWire)
        self.insulations = folder.table("insulations.csv", Insulation)
        self.permeabilities = folder.table("permeabilities.csv", Permeability)
        self.alloys = folder.table("alloys.csv", Alloy)
        self.parts = folder.table("nominal_parts.csv", NominalPart)
        self.families = folder.table("families.csv", Family)
        self.periods = folder.table("periods.csv", Period)
        self.features = folder.table("features.csv", Feature)
        self.claims = folder.table("claims.csv", ClaimRow)
        self.derivations = folder.table("derivations.csv", Derivation)
        self.exemptions = folder.table("exemptions.csv", Exemption)
        self.method_sources = folder.table("method_sources.csv", MethodSource)
        self.aliases = folder.table("aliases.csv", Alias)
        self.known = rules.Documented(
            properties=rules.known_rows(self.properties),
            families=rules.known_rows(self.families),
            periods=rules.known_rows(self.periods),
            features=rules.known_rows(self.features),
            sources=rules.known_rows(self.sources),
        )
        self.evidenced = (
            ("wires.csv", self.wires), ("magnets.csv", self.magnets),
            ("bobbins.csv", self.bobbins), ("families.csv", self.families),
            ("periods.csv", self.periods), ("features.csv", self.features),
            ("claims.csv", self.claims), ("other_wires.csv", self.other_wires),
            ("insulations.csv", self.insulations), ("permeabilities.csv", self.permeabilities),
            ("alloys.csv", self.alloys), ("nominal_parts.csv", self.parts),
            ("aliases.csv", self.aliases),
        )  # fmt: skip

    def check_rows(self) -> None:
        """Hold each row against what it names in other tables."""
        place, known = self.folder.place, self.known
        for file, table in self.evidenced:
            rules.check_evidence(table.rows, rules.REFERENCE_EVIDENCE, known.sources, place(file))
        rules.check_properties(self.properties, place("properties.csv"))
        rules.check_families(
            self.families,
            known.families,
            rules.known_rows(self.bobbins),
            rules.known_rows(self.wires),
            place("families.csv"),
        )
        rules.check_alloys(self.alloys, rules.known_rows(self.permeabilities), place("alloys.csv"))
        rules.check_insulations(self.insulations, known.properties, place("insulations.csv"))
        rules.check_periods(self.periods, known.families, place("periods.csv"))
        rules.check_features(self.features, known.families, place("features.csv"))
        for alias in self.aliases.rows:
            known.families.find(
                alias.row.family_id, place("aliases.csv").on(alias.line), "family_id"
            )
        for method in self.method_sources.rows:
            known.sources.find(
                method.row.source_id, place("method_sources.csv").on(method.line), "source_id"
            )

    def read_claims(self) -> tuple[Claim, ...]:
        """Return every claim that can be read; what is wrong with the others is noted."""
        read = (
            rules.read_claim(
                numbered, self.known, "reference", self.folder.place("claims.csv"),
                decimal_comma=self.claims.decimal_comma,
            )
            for numbered in self.claims.rows
        )  # fmt: skip
        return tuple(claim for claim in read if claim is not None)

    def check_together(self, claims: tuple[Claim, ...]) -> None:
        """Hold what stands beside each other for one reader against itself."""
        place, known = self.folder.place, self.known
        curation.check_overlaps(self.periods, place("periods.csv"))
        curation.check_feature_years(self.features, known.families, place("features.csv"))
        curation.check_contradictions(claims, place("claims.csv"))
        curation.check_sources(
            self.sources,
            (numbered.row for _, table in self.evidenced for numbered in table.rows),
            self.method_sources.by_id(),
            place("sources.csv"),
        )
        curation.check_exemptions(
            self.exemptions,
            known.properties,
            known.families.rows,
            (numbered.row for numbered in self.claims.rows),
            place("exemptions.csv"),
        )
        curation.check_derivations(
            self.derivations,
            rules.known_rows(self.claims),
            known.families,
            place("derivations.csv"),
        )

    def whole(self, claims: tuple[Claim, ...]) -> Reference:
        """Return the reference, of tables without an error."""
        return Reference(
            properties=MappingProxyType(self.properties.by_id()),
            families=MappingProxyType(self.families.by_id()),
            periods=MappingProxyType(self.periods.by_id()),
            features=MappingProxyType(self.features.by_id()),
            claims=claims,
            wires=MappingProxyType(self.wires.by_id()),
            magnets=MappingProxyType(self.magnets.by_id()),
            bobbins=MappingProxyType(self.bobbins.by_id()),
            sources=MappingProxyType(self.sources.by_id()),
            derivations=tuple(numbered.row for numbered in self.derivations.rows),
            exemptions=tuple(numbered.row for numbered in self.exemptions.rows),
            method_sources=MappingProxyType(self.method_sources.by_id()),
            other_wires=MappingProxyType(self.other_wires.by_id()),
            insulations=MappingProxyType(self.insulations.by_id()),
            permeabilities=MappingProxyType(self.permeabilities.by_id()),
            alloys=MappingProxyType(self.alloys.by_id()),
            parts=MappingProxyType(self.parts.by_id()),
            aliases=MappingProxyType(self.aliases.by_id()),
        )


def load_reference(folder: Path | None = None) -> Loaded[Reference]:
    """Load the documented side, from ``folder`` or the one that comes with Coilbook."""
    found = _Folder(folder or dataset_dir() / "reference", REFERENCE_TABLES)
    found.warn_of_misnamed_files()
    tables = _ReferenceTables(found)
    tables.check_rows()
    claims = tables.read_claims()
    tables.check_together(claims)
    return found.loaded(lambda: tables.whole(claims))


def load_archive(
    folder: Path, reference: Reference, today: dt.date | None = None
) -> Loaded[Archive]:
    """Load a shop's archive and hold it against the reference.

    With ``today``, a date that has not come yet is doubted; a build knows no day, so that two of
    the same records are alike.
    """
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
    # Settings that cannot be read leave the kind open; they have their own error.
    kinds: tuple[Evidence, ...] = (settings.kind,) if settings else ("measured", "invented")
    rules.check_evidence(claims.rows, (*rules.REFERENCE_EVIDENCE, *kinds), all_sources, own)
    _check_collisions(sources, reference.sources, tables.place("sources.csv"))
    _check_collisions(claims, {c.row.claim_id: c for c in reference.claims}, own)
    own_claims = [
        rules.read_claim(numbered, known, "archive", own, decimal_comma=claims.decimal_comma)
        for numbered in claims.rows
    ]
    curation.check_contradictions((claim for claim in own_claims if claim is not None), own)
    for piece in pieces.rows:
        bench.check_piece(
            piece, known, tables.place("pieces.csv"), pieces.guessed.get(piece.line, frozenset())
        )
    check_dates(instruments, today, tables.place("instruments.csv"))
    by_piece = _readings(readings, pieces, instruments, known, tables, today)
    bench.check_pairs(by_piece, tables.place("readings.csv"))
    bench.check_sums(by_piece, tables.place("readings.csv"))
    bench.check_read(pieces.rows, readings.ids, tables.place("pieces.csv"))
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
        families=replace(known("families.csv", reference.families), called=reference.called()),
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
                "id-of-the-reference",
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
    today: dt.date | None,
) -> dict[str, list[Reading]]:
    """Read every reading, and sort them by piece."""
    # A piece with a slip of its own is still the piece that its readings are of.
    as_meant = {n.row.piece_id: n.row for n in pieces.rows}
    shop = bench.Shop(
        known=known,
        pieces=replace(rules.known_rows(pieces), rows=as_meant),
        instruments=Known(
            "instruments.csv",
            instruments_by_id(instruments),
            instruments.ids,
            "Correct it, or add it to instruments.csv.",
        ),
        traits=read_traits(instruments, tables.place("instruments.csv")),
        decimal_comma=readings.decimal_comma,
        today=today,
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

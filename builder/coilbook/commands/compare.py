"""The command 'coilbook compare': a piece that is in no archive, from what was typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from coilbook.commands.families import note_of
from coilbook.commands.show import PieceInBook
from coilbook.core.units import KINDS
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import CoilbookError, OptionsInvalid, Problem
from coilbook.publish.book import compose_book, open_records
from coilbook.records import public_view
from coilbook.records.contents import Reference
from coilbook.records.reading.loose import LOOSE_BASIS, LooseReading, load_loose
from coilbook.records.tables.cells import COMPONENT_PARTS

_YEARS = re.compile(r"(\d{4})(?:\s*[-–/]\s*(\d{4}|\d{2}))?")
_GAUGE = re.compile(r"(?:awg)?[ -]?(\d{1,2})[ -]?(?:awg)?", re.IGNORECASE)
_READ = re.compile(r"\s*([^@=\s]+)\s*(?:@\s*([^=\s]+)\s*)?=(.*)", re.DOTALL)

#: Options of one reading: the property and part in a family of one coil, and in one of two.
_SIMPLE: Mapping[str, tuple[tuple[str, str], tuple[str, str]]] = {
    "pair": (("pair-resistance", "pair"), ("pair-resistance", "pair")),
    "coil": (("coil-resistance", "coil"), ("coil-resistance", "coil")),
    "coil-a": (("coil-resistance", "coil_a"), ("coil-resistance", "coil_a")),
    "coil-b": (("coil-resistance", "coil_b"), ("coil-resistance", "coil_b")),
    "inductance": (("coil-inductance", "coil"), ("pair-inductance", "pair")),
    "quality": (("coil-quality", "coil"), ("pair-quality", "pair")),
    "field": (("pole-flux-density", "magnet"), ("pole-flux-density", "magnet")),
    "spacing": (("pole-spacing", "pickup"), ("pole-spacing", "pickup")),
}
#: Options that are a condition of the readings.
_CONDITIONS = ("at", "parallel", "frequency")


def _mistake(code: str, option: str, what: str, todo: str) -> Problem:
    return Problem(option, 0, "", what, todo, "error", code)


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed: ``simple`` by the option's name, ``reads`` as ``PROPERTY[@PART]=VALUE``."""

    family_id: str
    year: str | None = None
    years: str | None = None
    position: str | None = None
    state: str | None = None
    features: tuple[str, ...] = ()
    simple: Mapping[str, str] = field(default_factory=dict)
    gauge: str | None = None
    reads: tuple[str, ...] = ()
    at: str | None = None
    parallel: str | None = None
    frequency: str | None = None
    accuracy: str | None = None


def compare_piece(archive_dir: Path, typed: Typed) -> tuple[PieceInBook, tuple[Problem, ...]]:
    """Return a piece that is in no archive, beside one's pieces, and what is doubtful of it.

    Raises :class:`OptionsInvalid` with every mistake, each under the option that it was made in.
    """
    opened = open_records(archive_dir)
    reference = opened.reference
    mistakes: list[Problem] = []
    notes: list[Problem] = []
    family, why = reference.family_called(typed.family_id)
    if family is not None:
        if why:
            notes.append(note_of(typed.family_id, family, why))
        typed = replace(typed, family_id=family.family_id)
    cells = {
        "family_id": typed.family_id,
        "state": typed.state or "unknown",
        "potted": "unknown",
        "position": typed.position or "",
        "features": ";".join(typed.features),
        **_years(typed, mistakes),
    }
    years_from = "--year" if typed.year is not None else "--years"
    places = {
        "family_id": "--family",
        "state": "--state",
        "position": "--position",
        "features": "--feature",
        "year_first": years_from,
        "year_last": years_from,
    }
    readings = _readings(typed, reference, mistakes)
    if not readings and not mistakes:
        mistakes.append(
            _mistake(
                "nothing-read",
                "coilbook compare",
                "nothing was read of the piece.",
                "Give at least one reading, as in --pair 8.1k.",
            )
        )
    loaded = load_loose(cells, places, readings, reference)
    problems = (*mistakes, *notes, *loaded.problems)
    if loaded.value is None or mistakes:
        raise OptionsInvalid(problems)
    public = public_view(opened.archive)
    book = compose_book(reference, public, compare=[loaded.value])
    return PieceInBook(loaded.value, book), problems


def refuse_a_stray_unit(directory: Path | None, given: Mapping[str, str | None]) -> None:
    """Refuse a unit that stands where the archive's folder belongs, as in ``--pair 8.1 k``.

    Raises :class:`CoilbookError` that shows how to write the two together.
    """
    if directory is None or directory.exists():
        return
    unit = str(directory)
    spelt = any(unit in kind.spellings or unit in kind.bare for kind in KINDS.values())
    values = [given.get(name.replace("-", "_")) for name in (*_SIMPLE, *_CONDITIONS)]
    bare = [text for text in values if text and re.fullmatch(r"[\d.,]+", text)]
    if spelt and bare:
        raise CoilbookError(
            f"'{unit}' stands apart from its number. Write the two together, as in "
            f'{bare[-1]}{unit}, or in quotation marks, as in "{bare[-1]} {unit}".'
        )


def _years(typed: Typed, mistakes: list[Problem]) -> dict[str, str]:
    """Return the piece's years, from a year or a span of them."""
    if typed.year is not None and typed.years is not None:
        mistakes.append(
            _mistake(
                "years-twice", "--years", "a year is given as well.", "Give --year or --years."
            )
        )
    cells: dict[str, str] = {}
    for option, given, how in (
        ("--year", typed.year, "1959"),
        ("--years", typed.years, "1957-1960"),
    ):
        found = _YEARS.fullmatch(given.strip()) if given is not None else None
        if found is not None and (option == "--years" or found[2] is None):
            cells = {
                "year_first": found[1],
                # 1957-58 ends in 1958.
                "year_last": found[1][: 4 - len(found[2] or "")] + (found[2] or ""),
                "year_basis": LOOSE_BASIS,
            }
        elif given is not None:
            mistakes.append(
                _mistake(
                    "years-unreadable",
                    option,
                    f"'{given}' cannot be read as years.",
                    f"Write it as {how}.",
                )
            )
    return cells


def _readings(
    typed: Typed, reference: Reference, mistakes: list[Problem]
) -> tuple[LooseReading, ...]:
    family = reference.families.get(typed.family_id)
    two = family is None or family.coils == 2
    found = []
    for name, value in typed.simple.items():
        option = f"--{name}"
        if family is not None and name in (("coil",) if two else ("pair", "coil-a", "coil-b")):
            coils, instead = (
                ("two coils", "--coil-a and --coil-b, or --pair for both in series")
                if two
                else ("one coil", "--coil")
            )
            what = f"{family.family_id} has {coils}."
            mistakes.append(_mistake("coils-of-the-family", option, what, f"Give {instead}."))
            continue
        found.append(_reading(typed, reference, option, *_SIMPLE[name][two], value))
    if typed.gauge is not None:
        gauge = _GAUGE.fullmatch(typed.gauge.strip())
        words = f"{gauge[1]} AWG" if gauge is not None else typed.gauge
        found += [
            _reading(typed, reference, "--gauge", "wire-gauge", part, words)
            for part in (("coil_a", "coil_b") if two else ("coil",))
        ]
    for text in typed.reads:
        parts = _READ.fullmatch(text)
        if parts is None:
            mistakes.append(
                _mistake(
                    "reading-unreadable",
                    "--read",
                    f"'{text}' is no reading.",
                    "Write PROPERTY=VALUE, or PROPERTY@PART=VALUE, as in magnet-length=63.5mm.",
                )
            )
            continue
        property_id, part, value = parts[1], parts[2], parts[3].strip()
        part = part or _only_part(property_id, two, reference, mistakes)
        if part is not None:
            place = f"--read {property_id}"
            found.append(_reading(typed, reference, place, property_id, part, value))
    return tuple(found)


def _only_part(
    property_id: str, two: bool, reference: Reference, mistakes: list[Problem]
) -> str | None:
    """Return the part at which a property is read; a coil of two has to be named."""
    place = f"--read {property_id}"
    prop = reference.properties.get(property_id)
    if prop is None:
        ways = {"pair": "pair-{}", "coil": "coil-{}@coil_a"} if two else {"coil": "coil-{}"}
        same = [
            way.format(property_id)
            for part, way in ways.items()
            if f"{part}-{property_id}" in reference.properties
        ]
        todo = f"Write {' or '.join(same)}." if same else ""
        todo = todo or did_you_mean(property_id, reference.properties)
        todo = todo or "The data dictionary lists them."
        what = f"'{property_id}' is no property of the reference."
        mistakes.append(_mistake("id-unknown", place, what, todo.strip()))
        return None
    if prop.component == "coil" and two:
        mistakes.append(
            _mistake(
                "coil-not-said",
                place,
                "nothing says which of the two coils was read.",
                f"Write {property_id}@coil_a or {property_id}@coil_b.",
            )
        )
        return None
    return COMPONENT_PARTS[prop.component][0]


def _reading(
    typed: Typed, reference: Reference, place: str, property_id: str, part: str, value: str
) -> LooseReading:
    """Return a reading with those of the shared conditions that say something of it."""
    cells = {"property_id": property_id, "component": part, "value": value}
    prop = reference.properties.get(property_id)
    accuracy = None
    if prop is not None and prop.reduction == "copper":
        if typed.accuracy is not None:
            percent, _, digits = typed.accuracy.replace("%", "").partition("+")
            accuracy = (percent, digits)
        cells["circuit"] = "free" if typed.parallel is None else "in_circuit"
        if typed.parallel is not None and typed.parallel != "unknown":
            cells["parallel"] = typed.parallel
        if typed.at is not None:
            cells["temperature"] = typed.at
    if typed.frequency is not None and property_id.endswith(("-inductance", "-quality")):
        cells["test_frequency"] = typed.frequency
    shared = {
        "temperature": "--at",
        "parallel": "--parallel",
        "test_frequency": "--frequency",
        "accuracy_percent": "--accuracy",
        "accuracy_digits": "--accuracy",
    }
    return LooseReading(cells, place, shared, accuracy)

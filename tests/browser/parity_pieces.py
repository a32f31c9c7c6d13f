"""Pieces drawn for the page that checks one, as somebody would type them, slips included.

About half are from readings of the demo, some of them changed so that they stand out; the others
are from the limits of claims and properties. parity_said.py has what Python says of each.
"""

from __future__ import annotations

import dataclasses
import functools
import math
import random
from collections.abc import Mapping
from typing import Any

from coilbook.core.observing.peers import GroupKey
from coilbook.core.units import convert, kind_of
from coilbook.errors import ValueUnreadable
from coilbook.pages.page import Book
from coilbook.publish.book import compose_book, open_records
from coilbook.publish.scripts.check_data import peer_value
from coilbook.records import public_view, read_value
from coilbook.resources import dataset_dir
from coilbook.stats.groups import Summaries, summary_of
from coilbook.stats.summary import Member

PIECES = 300
_TEMPERATURES = (
    "",
    "79 °F",
    "21",
    "23,5 °C",
    "296 K",
    "26C",
    "21.5°",
    "4 °C",
    "-60 °C",
    "warm",
    "212F",
)
_HALF_WIDTHS = ("", "", "", "0,5", "2 °F", "-1 K", "x")
_CIRCUITS = ("free", "free", "free", "in_circuit", "in_circuit", "", "in_circut")
_PARALLELS = ("500k", "250 kΩ", "1M", "8k", "0", "470", "pot", "")
_TOLERANCES = ("", "", "20", "60", "5.5", "-1", "nan", "ten")
_FREQUENCIES = ("1 kHz", "1k", "1000", "1 kHz", "120 Hz", "", "0 Hz", "low")
_STANDOFFS = ("", "", "2 mm", "1/8 in", "0,5", "7 mm", "-1 mm", "far")
_ZEROS = ("", "", "-1 mT", "0.5", "2 G", "900 mT", "< 1", "none")
_DATES = ("", "", "", "2026-03-14", "2025-11-02", "14.3.2026", "2026-02-30")
_ACCURACIES = (
    None, None, None, {"percent": "0.5", "digits": "2"}, {"percent": " 0,5 ", "digits": "2,0"},
    {"percent": 1, "digits": 3.5}, {"percent": "", "digits": "1"}, {"percent": "0", "digits": ""},
)  # fmt: skip
_WRONG_ACCURACIES = ({"percent": "-1", "digits": "2"}, {"percent": "half", "digits": "-2,0,1"})
_SLIPS = (
    "open", "OL", "about 8", "7,820", "7-8 k", "8 ± 0.1", "nan", "8.1 apples", "4.4 H", "1/0", "0",
    "-3", "8k1", "1e9", "42awg", "42 AGW", "ohm", "12 kohmz", "1 3/2 in", "٣.٥",
)  # fmt: skip

#: What is made of a demo piece's readings of a property, so that it stands out from its peers.
_ALTERED: Mapping[str, tuple[float, ...]] = {
    "coil-resistance": (0.5, 0.8, 1.35, 1.7),
    "pair-resistance": (0.8, 0.96, 0.985, 1.1),
    "coil-inductance": (0.4, 0.6, 1.5),
    "pair-inductance": (0.4, 0.6, 1.5),
    "coil-quality": (0.3, 0.6),
    "pair-quality": (0.3, 0.6),
    "pole-flux-density": (0.4, 1.6, 2.5, 4.0),
}


@functools.cache
def demo() -> Book:
    """Return the demo's book, with its peers as the page has them."""
    opened = open_records(dataset_dir() / "demo")
    book = compose_book(opened.reference, public_view(opened.archive))
    rounded = [
        summary_of(
            summary.key,
            summary.kind,
            summary.unit,
            tuple(dataclasses.replace(m, value=peer_value(m.value)) for m in summary.members),
        )
        for family_id in book.reference.families
        for summary in book.summaries.of_family(family_id)
    ]
    by_key = {summary.key: summary for summary in rounded}
    for key, values in added_peers().items():
        more = tuple(Member(f"added-{i}", value, 0.01, None) for i, value in enumerate(values))
        there = by_key[key].members if key in by_key else ()
        by_key[key] = summary_of(key, book.summaries.kind, "1", (*there, *more))
    return dataclasses.replace(book, summaries=Summaries(book.summaries.kind, by_key.values()))


@functools.cache
def added_peers() -> dict[GroupKey, tuple[float, ...]]:
    """Return peers of groups that the demo leaves empty, so that nothing stays unlooked for."""
    r = random.Random("peers that the demo lacks")
    found = {}
    for family_id, components in (
        ("full-size-humbucker", ("coil_a", "coil_b", "pair")),
        ("staggered-rod-single-coil", ("coil",)),
        ("wide-bar-single-coil", ("coil",)),
    ):
        for component in components:
            of = "pair" if component == "pair" else "coil"
            values = sorted(peer_value(r.gauss(0.15, 0.05)) for _ in range(40))
            found[GroupKey(family_id, f"{of}-extra-loss", component)] = tuple(values)
    surpluses = sorted(peer_value(r.gauss(-0.01, 0.01)) for _ in range(40))
    found[GroupKey("full-size-humbucker", "pair-loss-surplus", "pair")] = tuple(surpluses)
    return found


# --- what is typed -------------------------------------------------------------------------------


def _now_and_then(r: random.Random, often: float, words: tuple[Any, ...], usual: Any) -> Any:
    return r.choice(words) if r.random() < often else usual


def _number(r: random.Random, value: float, unit: str) -> str:
    """Write a number in one of the ways that people do."""
    digits = r.randint(2, 5)
    plain = f"{value:.{digits}g}"
    ways = [plain, f"{plain} {unit}", f"{plain}{unit}".replace(".", ",", 1)]
    if unit == "kΩ":
        ways += [
            f"{plain}k",
            f"{1000 * value:.0f}",
            f"{1000 * value:.0f} ohm",
            f"{plain.replace('.', 'k', 1)}",
        ]
    if unit == "mm":
        ways += [
            f"{value / 25.4:.3f} in",
            f"{int(value / 25.4 * 16)}/16 in",
            f"{value / 10:.2f} cm",
        ]
    if unit == "mT":
        ways += [f"{10 * value:.0f} G", f"{value / 1000:.4f} T"]
    return r.choice(("", "", "", "", "", "< ", ">")) + r.choice(ways)


def _typical(r: random.Random, family_id: str, property_id: str) -> float:
    """Return a number near what is documented, or within what is plausible."""
    book = demo()
    prop = book.reference.properties[property_id]
    said = [
        number
        for claim in book.reference.claims
        if claim.row.family_id == family_id and claim.row.property_id == property_id
        for number in (claim.low, claim.typical, claim.high)
        if number is not None
    ]
    if said and r.random() < 0.9:
        return r.choice(said) * r.uniform(0.85, 1.2)
    low, high = prop.plausible_low or 1.0, prop.plausible_high or 100.0
    return math.exp(r.uniform(math.log(low), math.log(high)))


def _drawn_reading(r: random.Random, family_id: str) -> dict[str, Any]:
    book = demo()
    family = book.reference.families[family_id]
    prop = r.choice([p for p in book.reference.properties.values() if p.origin != "derived"])
    if r.random() < 0.4:
        prop = book.reference.properties[
            r.choice(("coil-resistance", "coil-resistance", "pair-resistance", "pole-flux-density"))
        ]
    if prop.component == "pair" and family.coils == 1 and r.random() < 0.9:
        prop = book.reference.properties["coil-resistance"]
    parts = {"coil": ("coil",) if family.coils == 1 else ("coil_a", "coil_b")}
    component = r.choice(parts.get(prop.component, (prop.component,)))
    if prop.kind == "category":
        value = r.choice(prop.categories)
    else:
        value = _number(r, _typical(r, family_id, prop.property_id), prop.unit or "")
    return {"property_id": prop.property_id, "component": component, "value": value}


def _carefully(r: random.Random, cells: dict[str, Any]) -> dict[str, Any]:
    """Add conditions without a slip, as far as they are missing."""
    prop = demo().reference.properties[cells["property_id"]]
    if prop.reduction == "copper" and "circuit" not in cells:
        cells |= {"temperature": r.choice(("", "79 °F", "21,5")), "circuit": "free"}
    elif prop.reduction == "copper" and r.random() < 0.15:
        cells["temperature"] = ""
    if prop.property_id.endswith(("-inductance", "-quality")):
        cells["test_frequency"] = "1 kHz"
    if prop.reduction == "copper" and r.random() < 0.02:
        cells["value"] = "open"
    return cells | {"accuracy": r.choice(_ACCURACIES)}


def _conditions(r: random.Random, cells: dict[str, Any]) -> dict[str, Any]:
    prop = demo().reference.properties.get(cells["property_id"])
    if prop is not None and prop.reduction == "copper" and "circuit" not in cells:
        cells["temperature"] = r.choice(_TEMPERATURES)
        cells["temperature_uncertainty"] = r.choice(_HALF_WIDTHS)
        cells["circuit"] = r.choice(_CIRCUITS)
        if cells["circuit"] == "in_circuit" or r.random() < 0.03:
            cells["parallel"] = r.choice(_PARALLELS)
            cells["parallel_tolerance"] = r.choice(_TOLERANCES)
    if prop is not None and prop.property_id.endswith(("-inductance", "-quality")):
        cells["test_frequency"] = r.choice(_FREQUENCIES)
    if prop is not None and prop.reduction == "inductance":
        cells["equivalent"] = r.choice(("", "", "series", "parallel", "paralel"))
    if prop is not None and prop.reduction == "flux":
        cells["standoff"] = r.choice(_STANDOFFS)
        cells["zero"] = r.choice(_ZEROS)
    cells["date"] = _now_and_then(r, 0.3, _DATES, "")
    cells["accuracy"] = _now_and_then(r, 0.02, _WRONG_ACCURACIES, r.choice(_ACCURACIES))
    if r.random() < 0.04:
        column = r.choice(
            (
                "value",
                "value",
                "unit",
                "qualifier",
                "component",
                "property_id",
                "standoff",
                "equivalent",
            )
        )
        cells[column] = {
            "value": lambda: r.choice(_SLIPS),
            "unit": lambda: r.choice(("kΩ", "ohm", "mm", "mT", "Ohms", "stone", "1", " kΩ ")),
            "qualifier": lambda: r.choice(("<", ">", "open", "=")),
            "component": lambda: r.choice(("coil", "coil_a", "pair", "coila", "pickup", "")),
            "property_id": lambda: r.choice(
                ("coil-imbalance", "coil-resistence", "no such", "pole-spacing", "", "nul")
            ),
            "standoff": lambda: "1 mm",
            "equivalent": lambda: "series",
        }[column]()
    return cells


def _from_demo(r: random.Random, family_id: str) -> list[dict[str, Any]]:
    pieces = [p for p in demo().archive.pieces.values() if p.family.family_id == family_id]
    if not pieces:
        return []
    piece = r.choice(pieces)
    rows = [
        {
            name: str(cell)
            for name, cell in reading.row.model_dump(mode="json").items()
            if cell is not None and name not in ("piece_id", "instrument_id", "remark")
        }
        for reading in piece.readings
    ]
    return rows if r.random() < 0.5 else r.sample(rows, r.randint(1, len(rows)))


def _altered(r: random.Random, rows: list[dict[str, Any]]) -> None:
    """Change one kind of reading of a piece, as a repair or a slip would, so that it stands out."""
    ids = sorted({row["property_id"] for row in rows} & set(_ALTERED))
    if not ids:
        return
    changed = r.choice(ids)
    factor = r.choice(_ALTERED[changed])
    prop = demo().reference.properties[changed]
    for row in rows:
        if row["property_id"] == changed and r.random() < 0.7:
            try:
                read = read_value(row["value"], kind_of(prop.unit or ""), default_unit=prop.unit)
            except ValueUnreadable:
                continue
            if read.magnitude is not None:
                value = convert(read.magnitude, read.unit, prop.unit or "") * factor
                row["value"] = f"{value:.5g} {prop.unit}" if prop.unit != "1" else f"{value:.5g}"


def _loss_readings(rows: list[dict[str, Any]], r: random.Random) -> list[dict[str, Any]]:
    """Return quality factors, and the inductances that are missing, of coils with a resistance."""
    read = {(row["component"], row["property_id"]) for row in rows}
    more = []
    for component, property_id in sorted(read):
        if not property_id.endswith("-resistance") or component == "pickup":
            continue
        of = property_id.removesuffix("-resistance")
        wanted = [(f"{of}-quality", f"{r.uniform(0.3, 2.5):.2f}")]
        if (component, f"{of}-inductance") not in read:
            wanted.append((f"{of}-inductance", f"{r.uniform(1.5, 5.0):.2f} H"))
        more += [
            {"property_id": name, "component": component, "value": value} for name, value in wanted
        ]
    return more


def _rod_readings(r: random.Random) -> list[dict[str, Any]]:
    """Return a field over a rod magnet, and the rod's sizes."""
    readings = [("pole-flux-density", "magnet", f"{r.uniform(20.0, 260.0):.1f} mT")]
    if r.random() < 0.8:
        readings.append(
            ("pole-diameter", "pickup", r.choice(("4.8 mm", "3/16 in", "0.187in", "5")))
        )
    if r.random() < 0.5:
        readings.append(("magnet-length", "magnet", r.choice(("17 mm", "11/16 in", "25"))))
    if r.random() < 0.3:
        readings.append(("magnet-grade", "magnet", r.choice(_grades())))
    return [
        {"property_id": name, "component": part, "value": value} for name, part, value in readings
    ]


def _grades() -> tuple[str, ...]:
    return demo().reference.properties["magnet-grade"].categories


def draw_piece(r: random.Random) -> dict[str, Any]:
    """Return a piece as the page's form would hand it over."""
    reference = demo().reference
    family_id = r.choice(list(reference.families))
    if r.random() < 0.4:
        family_id = r.choice(("full-size-humbucker", *(k.family_id for k in added_peers())))
    elif r.random() < 0.4:
        family_id = r.choice(sorted({p.family.family_id for p in demo().archive.pieces.values()}))
    family = reference.families[family_id]
    typed: dict[str, Any] = {
        "family_id": _now_and_then(r, 0.02, ("full-size-humbuker", "x y", "", "con"), family_id),
        "year_first": "",
        "year_last": "",
        "position": r.choice(("", *family.positions)),
        "state": r.choice(("", "untouched", "unknown", "rewound", "repaired")),
        "potted": r.choice(("", "yes", "no", "unknown")),
        "features": r.sample(sorted(reference.features), r.choice((0, 0, 1, 2, 4))),
    }
    if r.random() < 0.7:
        first = r.randint(family.first_year - 2, family.last_year + 1)
        last = first + r.choice((0, 0, 1, 3))
        typed["year_first"], typed["year_last"] = str(first), str(last)
    if r.random() < 0.08:
        column, words = r.choice(
            (
                ("year_first", ("59", "1959?", "", "2060")),
                ("year_last", ("19 60", "", "1900")),
                ("position", ("nek", "left hand", "bridge")),
                ("state", ("untuched", "rewond")),
                ("features", (["no-such"], ["Lead Wire"], ["lead-braided-metl"])),
            )
        )
        typed[column] = r.choice(words)
    careful = r.random() < 0.5
    rows = _from_demo(r, family_id) if careful or r.random() < 0.5 else []
    if r.random() < 0.6:
        _altered(r, rows)
    if r.random() < 0.25:
        rows += _loss_readings(rows, r)
    if family.pole_kind == "rods" and r.random() < 0.3:
        rows += _rod_readings(r)
    most = (0, 0, 1, 2) if rows else (1, 2, 3, 6, 9)
    rows += [_drawn_reading(r, family_id) for _ in range(r.choice(most))]
    typed["readings"] = [(_carefully if careful else _conditions)(r, row) for row in rows]
    return typed


@functools.cache
def pieces() -> tuple[dict[str, Any], ...]:
    """Return the drawn pieces, the same in every run, and those that chance hardly draws."""
    r = random.Random("parity of whole pieces 1")
    return (*(draw_piece(r) for _ in range(PIECES)), *_HARDLY_DRAWN)


def _made(family_id: str, *readings: tuple[str, str, str]) -> dict[str, Any]:
    """Return a piece with nothing but these readings: property, component and value."""
    return {
        "family_id": family_id,
        "year_first": "",
        "year_last": "",
        "position": "",
        "state": "",
        "potted": "",
        "features": [],
        "readings": [
            {"property_id": name, "component": part, "value": value, "test_frequency": hertz}
            if (hertz := "1 kHz" if name.endswith(("-inductance", "-quality")) else "")
            else {"property_id": name, "component": part, "value": value, "circuit": circuit}
            if (circuit := "free" if name.endswith("-resistance") else "")
            else {"property_id": name, "component": part, "value": value}
            for name, part, value in readings
        ],
    }


#: A rod magnet beyond what any grade can give; a coil without a way through; one far above its
#: peers and not beyond all of them; coils and a pair whose losses do not add up.
_HARDLY_DRAWN = (
    _made(
        "staggered-rod-single-coil",
        ("pole-flux-density", "magnet", "900 mT"),
        ("pole-diameter", "pickup", "4.8 mm"),
    ),
    _made("full-size-humbucker", ("coil-resistance", "coil_a", "open")),
    _made("full-size-humbucker", ("coil-resistance", "coil_b", "4.78 kΩ")),
    _made(
        "full-size-humbucker",
        ("coil-resistance", "coil_a", "4.05 kΩ"),
        ("coil-resistance", "coil_b", "3.95 kΩ"),
        ("pair-resistance", "pair", "7.98 kΩ"),
        ("coil-inductance", "coil_a", "2.25 H"),
        ("coil-inductance", "coil_b", "2.2 H"),
        ("pair-inductance", "pair", "4.5 H"),
        ("coil-quality", "coil_a", "2.8"),
        ("coil-quality", "coil_b", "2.75"),
        ("pair-quality", "pair", "2.4"),
    ),
    # The same of a family that has no such peers.
    _made(
        "small-humbucker",
        ("coil-resistance", "coil_a", "3.3 kΩ"),
        ("coil-resistance", "coil_b", "3.3 kΩ"),
        ("pair-resistance", "pair", "6.6 kΩ"),
        ("coil-inductance", "coil_a", "1.55 H"),
        ("coil-inductance", "coil_b", "1.5 H"),
        ("pair-inductance", "pair", "3.1 H"),
        ("coil-quality", "coil_a", "2.8"),
        ("coil-quality", "coil_b", "2.75"),
        ("pair-quality", "pair", "2.1"),
    ),
)


def _first_day() -> tuple[dict[str, Any], ...]:
    """Return pieces with the slips of a first day, of the piece and of its readings."""
    coil = {"property_id": "coil-resistance", "component": "coil_a", "value": "4.02k"}
    coil |= {"circuit": "free", "temperature": "22 °C"}
    rows: tuple[dict[str, Any], ...] = (
        *(
            {**coil, "value": value}
            for value in ("4.02", "4020", "4,02", "0.0041", "4.02k / 3.87k")
        ),
        *({**coil, "temperature": text} for text in ("72", "300", "3", "-60")),
        *(
            {**coil, "date": text}
            for text in ("46095", "03/04/2026", "14.03.2026", "3/14/2026", "31-02-2026", "32873")
        ),
        *({**coil, "component": text} for text in ("Coil A", "coil-b", "pair", "Pair ", "magnet")),
        *({**coil, "circuit": "in circuit", "parallel": text} for text in ("500", "500000", "1q")),
        *(
            {**coil, "property_id": name, "component": part}
            for name in ("resistance", "coil-resistence", "imbalance", "turns")
            for part in ("coil_a", "pair")
        ),
        {**coil, "unit": "kHz", "value": "4.02q"},
        {**coil, "qualifier": "<", "value": ">9M"},
        *(
            {"property_id": "pole-spacing", "component": "pickup", "value": value}
            for value in ("42384", "2016-01-15", "16-Jan", "2", "50", "1 15/16")
        ),
        {"property_id": "wire-insulation", "component": "coil_a", "value": "Plain-Enamel"},
        {"property_id": "coil-quality", "component": "coil_a", "value": "2.3"},
    )
    plain = {**_made("full-size-humbucker"), "readings": [dict(row) for row in rows]}
    cells = (
        (
            "family_id",
            ("humbucker", "Full-Size-Humbucker", "Full-size humbucker", "Soap bar", "x y"),
        ),
        ("year_first", ("1958/59", "1957-1960", "ca. 1958", " 1958 ", "58", "late fifties")),
        ("position", ("Bridge", "brigde")),
        ("state", ("Untouched", "un-touched")),
        ("potted", ("TRUE", "N", "No", "perhaps")),
    )
    some = [dict(row) for row in rows[:1]]
    return (
        plain,
        *({**plain, "readings": some, column: text} for column, texts in cells for text in texts),
        {**plain, "family_id": "single coil", "position": "brigde", "features": ["no-such"]},
    )


_HARDLY_DRAWN = (*_HARDLY_DRAWN, *_first_day())

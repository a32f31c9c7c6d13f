"""The data scripts of the page that checks a piece: the records that it is told by.

One script holds what all families share: the reference's tables, the archive's own claims, and the
limits by which what was typed is read. Each family has one more with its peers, which the
page loads when that family is chosen, so that a large archive costs only what is asked of it.
``tests/browser/test_browser_check_parity.py`` runs both sides on the same pieces.
"""

from __future__ import annotations

import json
from typing import Any

from coilbook.core.observing.peers import periods_within
from coilbook.publish.scripts.one_object import assigned
from coilbook.records.contents import Claim, PublicArchive, Reference
from coilbook.records.reading.loose import LOOSE_BASIS, LOOSE_ID
from coilbook.records.reading.rows import belongs
from coilbook.records.rules import bench, conditions, values
from coilbook.records.tables.cells import (
    COMPONENT_PARTS,
    SERIALS,
    YEARS,
    YES_NO,
    literal_words,
)
from coilbook.records.tables.models import InstrumentRow, PieceRow, Property, ReadingRow
from coilbook.stats.groups import Summaries
from coilbook.stats.summary import Summary

CHECK_SCRIPT = "assets/data/check.js"
KNOWN_SCRIPT = "assets/data/known.js"
PEERS_FOLDER = "assets/data/peers"

#: Digits that a peer's value keeps: ten times finer than any of them is known.
PEER_DIGITS = 5

#: What is not looked for on the page, and what of a bench's instruments it does not know.
LEFT_OUT = {
    "findings": ("calibration_lapsed",),
    "conditions": (
        "calibration",
        "leads",
        "meter",
        "fixture",
        "probe",
        "draws",
        "gauges",
        "response",
        "phase",
        "sums",
    ),
}


#: What the core sees of a wire, a bobbin and a magnet.
_WIRE = (
    "wire_id",
    "awg",
    "build",
    *(f"{what}_{end}_mm" for what in ("bare", "overall") for end in ("min", "nom", "max")),
)
_BOBBIN = (
    "bobbin_id",
    "core_length_mm",
    "core_width_mm",
    "winding_height_mm",
    "winding_depth_mm",
)
_MAGNET = ("magnet_id", "grade", "material", "value_kind", "br_mt")


def check_script(reference: Reference, archive: PublicArchive) -> str:
    """Return ``coilbook.checkData = {…};``: tables, claims, limits and words."""
    data = {
        "kind": archive.settings.kind,
        "thresholds": archive.settings.thresholds.model_dump(),
        "looseId": LOOSE_ID,
        "looseBasis": LOOSE_BASIS,
        "properties": {
            key: {"property_id": key, **_property(row)} for key, row in reference.properties.items()
        },
        "families": {key: _family(key, reference) for key in reference.families},
        "called": reference.called(),
        "periods": {
            key: _only(
                row.model_dump(),
                "period_id",
                "family_id",
                "name",
                "first_year",
                "last_year",
                "summary",
            )
            for key, row in reference.periods.items()
        },
        "features": {
            key: {
                **_only(row.model_dump(), "feature_id", "name", "first_year", "last_year"),
                "kind": row.feature_kind,
                "families": list(row.families),
            }
            for key, row in reference.features.items()
        },
        "claims": [_claim(claim) for claim in (*reference.claims, *archive.claims)],
        # A rod is held against the documented grades and counts of the reference alone.
        "referenceClaims": len(reference.claims),
        "wires": [_only(row.model_dump(), *_WIRE) for row in reference.wires.values()],
        "bobbins": [_only(row.model_dump(), *_BOBBIN) for row in reference.bobbins.values()],
        "magnets": [_only(row.model_dump(), *_MAGNET) for row in reference.magnets.values()],
        "parts": {coils: _parts(coils) for coils in (1, 2)},
        "words": _words(),
        "limits": _limits(),
        "left_out": LEFT_OUT,
    }
    return assigned("checkData", _json(data))


def known_script(known: dict[str, object]) -> str:
    """Return ``coilbook.known = …;`` of what the page words, read quickest as one text."""
    text = json.dumps(known, separators=(",", ":"), allow_nan=False, ensure_ascii=False)
    return assigned("known", f"JSON.parse({json.dumps(text, ensure_ascii=False)})")


def peers_scripts(
    reference: Reference, archive: PublicArchive, summaries: Summaries
) -> dict[str, str]:
    """Return a script for each family with the values of its groups, by the script's path.

    ``groups`` has every combination of periods and position that occurs; ``values`` has for each
    property and part its numbers in order of size (``v``) and the group that each is in (``g``).
    """
    scripts = {}
    for family_id in reference.families:
        groups: dict[tuple[tuple[str, ...], str | None], int] = {}
        values = {
            f"{summary.key.property_id}|{summary.key.component}": _values(
                summary, reference, archive, groups
            )
            for summary in summaries.of_family(family_id)
            if summary.key.period_id is None and summary.key.position is None
        }
        data = {
            "kind": summaries.kind,
            "groups": [[list(periods), position] for periods, position in groups],
            "values": values,
        }
        name = json.dumps(family_id)
        scripts[f"{PEERS_FOLDER}/{family_id}.js"] = (
            assigned("peersOf", "coilbook.peersOf || {}")
            + f"coilbook.peersOf[{name}] = {_json(data)};\n"
            + f"if (coilbook.peersLoaded) {{ coilbook.peersLoaded({name}); }}\n"
        )
    return scripts


def peer_value(value: float) -> float:
    """Return a peer's value as the page has it."""
    return float(f"{value:.{PEER_DIGITS}g}")


def _values(
    summary: Summary,
    reference: Reference,
    archive: PublicArchive,
    groups: dict[tuple[tuple[str, ...], str | None], int],
) -> dict[str, list[float] | list[int]]:
    found = []
    for member in summary.members:
        row = archive.pieces[member.piece_id].row
        periods = tuple(period.period_id for period in periods_within(row, reference))
        group = groups.setdefault((periods, row.position), len(groups))
        found.append((peer_value(member.value), group))
    found.sort()
    return {"v": [value for value, _ in found], "g": [group for _, group in found]}


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=False)


def _only(row: dict[str, Any], *columns: str) -> dict[str, Any]:
    return {column: row[column] for column in columns}


def _property(row: Property) -> dict[str, Any]:
    columns = (
        "name", "unit", "kind", "component", "origin", "reduction", "hard_low", "hard_high",
        "plausible_low", "plausible_high", "decimals",
    )  # fmt: skip
    return {**_only(row.model_dump(), *columns), "categories": list(row.categories)}


def _family(family_id: str, reference: Reference) -> dict[str, Any]:
    row = reference.families[family_id]
    columns = (
        "family_id",
        "name",
        "coils",
        "poles",
        "pole_kind",
        "bobbin_id",
        "wire_id",
        "first_year",
        "last_year",
    )
    return {
        **_only(row.model_dump(), *columns),
        "positions": list(row.positions),
        "near": list(row.near),
        "periods": [period.period_id for period in reference.periods_of(family_id)],
    }


def _claim(claim: Claim) -> dict[str, Any]:
    columns = (
        "claim_id",
        "family_id",
        "period_id",
        "position",
        "property_id",
        "category",
        "evidence",
    )
    return {
        **_only(claim.row.model_dump(), *columns),
        "low": claim.low,
        "typical": claim.typical,
        "high": claim.high,
    }


def _parts(coils: int) -> dict[str, list[str]]:
    return {said_of: list(bench.parts_of(said_of, coils)) for said_of in COMPONENT_PARTS}


def _words() -> dict[str, Any]:
    """Return the words that columns may hold, and what belongs in those that may not be empty."""
    return {
        "reading": {
            column: list(words)
            for column in ReadingRow.model_fields
            if (words := literal_words(ReadingRow, column))
        },
        "piece": {column: list(literal_words(PieceRow, column)) for column in ("state", "potted")},
        "needed": {
            **{c: belongs(ReadingRow, c) for c in ("component", "property_id", "value")},
            "family_id": belongs(PieceRow, "family_id"),
        },
        "measures": list(literal_words(InstrumentRow, "measures")),
        "parts": {said_of: list(parts) for said_of, parts in COMPONENT_PARTS.items()},
        "kinds": dict(conditions.KIND_OF),
        "yesNo": {form: "yes" if yes else "no" for form, yes in YES_NO.items()},
        "usual": values.USUAL_SPELLINGS,
        "plainKinds": sorted(values.PLAIN_KINDS),
    }


def _limits() -> dict[str, object]:
    """Return the numbers by which what was typed is read; all others are printed with the core."""
    return {
        "years": YEARS,
        "digits": values.DIGITS,
        "serials": (SERIALS.start, SERIALS.stop),
        "coldHot": (conditions.COLD_C, conditions.HOT_C),
        "coolWarm": (conditions.COOL_C, conditions.WARM_C),
        "temperatureHalfWidthK": conditions.TEMPERATURE_HALF_WIDTH_K,
        "parallelTolerance": bench.PARALLEL_TOLERANCE_PERCENT,
    }

"""The page that checks a piece at the bench: what its scripts need to know beside the figures.

What is computed there is data of :mod:`coilbook.publish`; what is said are the sentences of
:mod:`coilbook.pages.tools.check_words`. Here are names, claims as they are worded, and the form.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilbook.core.constants import SMALLEST_ACROSS_OHM
from coilbook.core.units import kind_of
from coilbook.pages import text, views
from coilbook.pages.declare import OnePage
from coilbook.pages.family.features import feature_line
from coilbook.pages.page import Book
from coilbook.pages.piece.observations import (
    CELL_MARKS,
    GROUPS,
    OPEN_ROWS,
    OTHER_UNITS,
    SHORT_PARTS,
    group_of,
)
from coilbook.pages.piece.value_lines import MOST_NAMED
from coilbook.pages.tools import check_words
from coilbook.records.contents import Claim
from coilbook.records.tables.cells import COMPONENT_PARTS, DEVICE_PATTERN, ID_PATTERN
from coilbook.records.tables.models import Family, PieceRow, Property, ReadingRow
from coilbook.stats.quantiles import QUANTILE_TYPE

#: What is asked first of every piece, in the order in which a bench reads it. A family is asked
#: what fits its coils and poles; everything else can be added.
_ASKED: tuple[tuple[str, str], ...] = (
    ("pair-resistance", "pair"),
    ("coil-resistance", "coil"),
    ("coil-resistance", "coil_a"),
    ("coil-resistance", "coil_b"),
    ("pair-inductance", "pair"),
    ("coil-inductance", "coil"),
    ("pair-quality", "pair"),
    ("coil-quality", "coil"),
    ("pole-flux-density", "magnet"),
    ("pole-spacing", "pickup"),
    ("magnet-grade", "magnet"),
    ("wire-gauge", "coil"),
    ("wire-gauge", "coil_a"),
    ("wire-gauge", "coil_b"),
)


#: What is printed of the core for this page.
CORE_SCRIPT = "assets/js/core_check.js"
#: The page's one script, and what it is made of in this order: a slow machine opens two dozen small
#: files later than one. Each part is a script of its own in the sources and in the site.
SCRIPT = "assets/js/check_whole.js"
PARTS: tuple[str, ...] = (
    "assets/data/bench.js",
    "assets/data/check.js",
    "assets/data/known.js",
    "assets/js/grammar.js",
    "assets/js/formulas.js",
    "assets/js/check_base.js",
    "assets/js/check_read.js",
    "assets/js/check_reading.js",
    CORE_SCRIPT,
    "assets/js/check.js",
    "assets/js/text.js",
    "assets/js/check_words.js",
    "assets/js/check_strip.js",
    "assets/js/check_drafts.js",
    "assets/js/check_results.js",
    "assets/js/check_form.js",
    "assets/js/check_keep.js",
    "assets/js/check_page.js",
)


@dataclass(frozen=True, slots=True)
class FamilyChoice:
    """One line of a list to choose from."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class CheckContext:
    """Everything on the page that checks a piece."""

    families: tuple[FamilyChoice, ...]
    words: Mapping[str, object]
    script: str
    inside_at: str
    outside_at: str
    quantile_type: int


def context(book: Book) -> CheckContext:
    """Return everything on the page."""
    thresholds = book.archive.settings.thresholds
    return CheckContext(
        families=tuple(FamilyChoice(f.family_id, f.name) for f in book.reference.families.values()),
        words=words(),
        script=SCRIPT,
        inside_at=f"{thresholds.inside:g}",
        outside_at=f"{thresholds.outside:g}",
        quantile_type=QUANTILE_TYPE,
    )


def words() -> dict[str, object]:
    """Return the cases of every sentence that the page may say, for the template to word."""
    return {
        "reasons": check_words.REASONS,
        "findings": check_words.FINDINGS,
        "finding_kinds": check_words.FINDING_KINDS,
        "explanations": check_words.EXPLANATIONS,
        "next_steps": check_words.NEXT_STEPS,
        "lead_words": check_words.LEAD_WORDS,
        "leads": check_words.LEADS,
        "troubles": check_words.TROUBLES,
        "flags": check_words.FLAGS,
        "verdicts": check_words.VERDICTS,
        "claims": check_words.CLAIMS,
        "cells": check_words.CELLS,
        "groups": check_words.MATRIX_GROUPS,
        "places": check_words.PLACES,
        "slots": check_words.Slots({}),
    }


def known(book: Book) -> dict[str, object]:
    """Return what the page knows of families, claims and features, as it words it."""
    reference = book.reference
    claims = (*reference.claims, *book.archive.claims)
    return {
        "properties": {p.property_id: _property(p) for p in reference.properties.values()},
        "families": {f.family_id: _family(book, f) for f in reference.families.values()},
        "features": {
            feature_id: [line.name, line.years, line.how_to_see]
            for feature_id in reference.features
            for line in (feature_line(book, feature_id),)
        },
        "claims": {c.row.claim_id: _claim(book, c) for c in claims},
        "wires": {k: f"{w.awg} AWG, {w.build} build" for k, w in reference.wires.items()},
        "bobbins": {k: b.name for k, b in reference.bobbins.items()},
        "parts": text.PARTS,
        "shortParts": SHORT_PARTS,
        "otherUnits": OTHER_UNITS,
        "evidence": {code: word for code, (_, word) in text.EVIDENCE_MARKS.items()},
        "columns": {
            "pieces": list(PieceRow.model_fields),
            "readings": list(ReadingRow.model_fields),
        },
        "idPattern": ID_PATTERN,
        "devicePattern": DEVICE_PATTERN,
        "groups": GROUPS,
        "cellWords": list(CELL_MARKS),
        "mostNamed": MOST_NAMED,
        "openRows": OPEN_ROWS,
        "smallestAcross": f"{SMALLEST_ACROSS_OHM / 1000:.0f} kΩ",
    }


def _property(prop: Property) -> dict[str, object]:
    parts = COMPONENT_PARTS[prop.component]
    return {
        "name": prop.name,
        "unit": prop.unit,
        "decimals": prop.decimals or 0,
        "kind": "category" if prop.kind == "category" else kind_of(prop.unit or "").name,
        "copper": prop.reduction == "copper",
        "read": prop.origin != "derived",
        "categories": list(prop.categories),
        "group": group_of(prop),
        "short": text.lower_first(text.short_name(prop.name)),
        "definition": prop.definition,
        # A part named "coil" is that of a pickup with one.
        "rows": {part: views.row_name(prop, part, 1) for part in parts},
        "said": {part: views.sentence_name(prop, part, 1) for part in parts},
    }


def _family(book: Book, family: Family) -> dict[str, object]:
    fitting = [
        (p.property_id, part)
        for p in book.reference.properties.values()
        if p.origin != "derived"
        for part in views.parts_of(p, family)
    ]
    asked = [row for row in _ASKED if row in fitting and _is_asked(book, family, row[0])]
    return {
        "asked": asked,
        "more": [row for row in fitting if row not in asked],
        "features": [
            f.feature_id
            for f in book.reference.features.values()
            if not f.families or family.family_id in f.families
        ],
        "pieces": sum(p.family.family_id == family.family_id for p in book.archive.pieces.values()),
    }


def _is_asked(book: Book, family: Family, property_id: str) -> bool:
    """Whether a property is asked of a family: a blade has no spacing of its poles."""
    if property_id != "pole-spacing":
        return True
    return any(
        c.property.property_id == property_id for c in views.all_claims(book, family.family_id)
    )


def _claim(book: Book, claim: Claim) -> dict[str, object]:
    view = views.claim_view(book, claim)
    row = claim.row
    of_period = row.period_id if claim.property.kind == "quantity" and row.period_id else "all"
    found: dict[str, object] = {
        "text": view.text,
        "evidence": view.evidence.code,
        "href": view.evidence.href,
        "detail": view.evidence.detail,
        "position": view.position,
        "remark": view.remark,
        "own": view.own,
        "period": view.period,
        "place": f"families/{row.family_id}/index.html#{row.property_id}-{of_period}",
    }
    return {name: value for name, value in found.items() if value}


PAGE = OnePage(
    path="check/index.html",
    template="check.html.j2",
    section="check",
    title="Check a piece",
    description="Type what was read of a pickup: values at 20 °C, verdicts, observations.",
    context=context,
    search_text="check a piece at the bench type readings resistance temperature verdict "
    "draft save import",
)

"""One piece of an archive, for its owner's eyes: as plain data, and as text."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from coilbook.assessment import Assessment, Consistency, Finding, Place, Verdict
from coilbook.errors import UnknownPiece
from coilbook.measures import MeasuredPiece, ReducedValue, expanded
from coilbook.measures.hum import HumLeft
from coilbook.measures.measured_piece import Closure, Trouble, Turns
from coilbook.measures.uncertainty import Contribution, Estimate
from coilbook.pages import Book
from coilbook.pages.piece.piece_page import context
from coilbook.pages.render import environment
from coilbook.publish.book import compose_book, open_records
from coilbook.publish.engine import templates
from coilbook.records import public_view
from coilbook.records.contents import Piece, Reading
from coilbook.records.reading.loose import LOOSE_ID
from coilbook.records.spelling import did_you_mean

_HARD_SPACES = str.maketrans({"\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " "})


@dataclass(frozen=True, slots=True)
class PieceInBook:
    """A piece and the book that it stands in, which has it even if it is kept back."""

    piece: Piece
    book: Book

    @property
    def measured(self) -> MeasuredPiece:
        """The piece's readings reduced."""
        return self.book.measured[self.piece.row.piece_id]

    @property
    def assessment(self) -> Assessment:
        """What is said of the piece."""
        return self.book.assessments[self.piece.row.piece_id]


def find_piece(archive_dir: Path, piece_id: str) -> PieceInBook:
    """Read an archive and work out all that can be said of one piece.

    Its peers are the published pieces; the piece itself may be one that is kept back.
    Raises :class:`RecordsInvalid` with every problem, :class:`UnknownPiece` with a near miss.
    """
    opened = open_records(archive_dir)
    piece = opened.archive.pieces.get(piece_id)
    if piece is None:
        hint = did_you_mean(piece_id, opened.archive.pieces) or "Look it up in pieces.csv. "
        raise UnknownPiece(f"This archive has no piece '{piece_id}'. {hint}".strip())
    public = public_view(opened.archive)
    book = compose_book(opened.reference, public, compare=[piece])
    # An instrument that read nothing but pieces kept back is in no public view.
    own_view = replace(public, instruments=opened.archive.instruments)
    return PieceInBook(piece, replace(book, archive=own_view))


def as_data(shown: PieceInBook) -> dict[str, Any]:
    """Return a piece as plain data; U is the expanded uncertainty, k = 2, in the value's unit."""
    row = shown.piece.row
    measured, assessment = shown.measured, shown.assessment
    standing = {value.key for value in measured.best.values()}
    return {
        "piece": row.model_dump(mode="json"),
        "kind": shown.book.archive.settings.kind,
        "readings": [_reading(reading) for reading in shown.piece.readings],
        "values": [
            _value(value)
            | {
                "stands": value.key in standing,
                "verdicts": [_verdict(v) for v in assessment.verdicts_of(value)],
                "places": [_place(p) for p in [assessment.place_of(value)] if p is not None],
            }
            for value in measured.values
        ],
        "closure": _closure(measured.closure),
        "hum": _hum(shown.book.whole(shown.piece).hum),
        "turns": [_turns(turns) for turns in measured.turns],
        "troubles": [_trouble(trouble) for trouble in measured.troubles],
        "lead": {
            "word": assessment.lead.word,
            "reasons": [{"code": r.code, **r.data} for r in assessment.lead.reasons],
        },
        "findings": [_finding(finding) for finding in assessment.findings],
        "consistency": _consistency(assessment.consistency),
        "next_readings": [
            {
                "property_id": reading.property_id,
                "separates": reading.separates,
                "periods": list(reading.pair),
            }
            for reading in assessment.next_readings
        ],
    }


def as_text(shown: PieceInBook) -> str:
    """Return a piece as text, worded by the template show.txt.j2."""
    page = context(shown.book, shown.piece)
    names = {field.name: getattr(page, field.name) for field in fields(page)}
    text = (
        environment(templates(), escaped=False)
        .get_template("show.txt.j2")
        .render(
            invented=shown.book.invented,
            kept_back=not shown.piece.row.publish,
            loose=shown.piece.row.piece_id == LOOSE_ID,
            **names,
        )
    )
    return text.translate(_HARD_SPACES)


def _reading(reading: Reading) -> dict[str, Any]:
    return {"line": reading.line, **reading.row.model_dump(mode="json", exclude={"piece_id"})}


def _value(value: ReducedValue) -> dict[str, Any]:
    u = value.standard_uncertainty
    return {
        "component": value.component,
        "property_id": value.property_id,
        "line": value.line or None,
        "written": value.written,
        "value": value.value,
        "unit": value.unit,
        "U": None if u is None else expanded(u),
        "standard_uncertainty": u,
        "qualifier": value.qualifier,
        "interval": None if value.interval is None else list(value.interval),
        "category": value.category,
        "flags": list(value.flags),
        "steps": [
            {"code": s.code, "before": s.before, "after": s.after, "data": dict(s.data)}
            for s in value.steps
        ],
        "budget": _budget(value.budget),
    }


def _budget(lines: Iterable[Contribution]) -> list[dict[str, Any]]:
    """Return a budget's lines; ``effect`` is in the result's unit, the rest in the input's own."""
    return [
        {
            "name": line.name,
            "estimate": line.estimate,
            "unit": line.unit,
            "standard_uncertainty": line.standard_uncertainty,
            "effect": line.effect,
        }
        for line in lines
    ]


def _closure(closure: Closure | None) -> dict[str, Any] | None:
    if closure is None:
        return None
    return {
        "sum_kohm": closure.sum_kohm,
        "pair_kohm": closure.pair_kohm,
        "difference_kohm": closure.difference_kohm,
        "U_kohm": expanded(closure.standard_uncertainty_kohm),
        "normalised_error": closure.normalised_error,
        "closes": closure.closes,
    }


def _hum(left: HumLeft | None) -> dict[str, float | None] | None:
    """Return the hum that is left; None stands for no hum at all, minus infinity."""
    if left is None:
        return None
    levels = {"level_db": left.level_db, "low_db": left.low_db, "high_db": left.high_db}
    return {name: db if math.isfinite(db) else None for name, db in levels.items()}


def _turns(turns: Turns) -> dict[str, Any]:
    combined = turns.combined
    return {
        "component": turns.component,
        "turns": turns.turns,
        "U": expanded(turns.standard_uncertainty),
        "wire_id": turns.wire_id,
        "bobbin_id": turns.bobbin_id,
        "dominant": turns.dominant.name,
        "budget": _budget(turns.budget),
        "fits": turns.fit.fits,
        "fill_percent": 100.0 * turns.fit.ratio_square,
        "fill_nested_percent": 100.0 * turns.fit.ratio_nested,
        "estimates": {name: _estimate(one) for name, one in turns.estimates.items()},
        "combined": None
        if combined is None
        else {
            **_estimate(combined.estimate),
            "weights": dict(combined.weights),
            "probability": combined.probability,
            "agrees": combined.agrees,
        },
    }


def _estimate(estimate: Estimate) -> dict[str, float]:
    return {"turns": estimate.value, "U": expanded(estimate.standard_uncertainty)}


def _trouble(trouble: Trouble) -> dict[str, Any]:
    return {
        "code": trouble.code,
        "component": trouble.component,
        "property_id": trouble.property_id,
        "line": trouble.line or None,
        "data": dict(trouble.data),
    }


def _verdict(verdict: Verdict) -> dict[str, Any]:
    claim = verdict.claim
    return {
        "verdict": verdict.word,
        "probability": verdict.probability,
        "inside_at": verdict.inside_at,
        "outside_at": verdict.outside_at,
        "claim_id": claim.row.claim_id,
        "period_id": claim.row.period_id,
        "position": claim.row.position,
        "evidence": claim.row.evidence,
        "low": claim.low,
        "typical": claim.typical,
        "high": claim.high,
        "category": claim.row.category,
        "reasons": [{"code": r.code, **r.data} for r in verdict.reasons],
    }


def _place(place: Place) -> dict[str, Any]:
    return {
        "period_id": place.key.period_id,
        "position": place.key.position,
        "peers": place.peers,
        "percentile": place.percentile,
        "peer_median": place.peer_median,
    }


def _finding(finding: Finding) -> dict[str, Any]:
    certain = math.isinf(finding.strength)
    return {
        "code": finding.code,
        "component": finding.component,
        "property_id": finding.property_id or None,
        "standard_deviations": None if certain else finding.strength,
        "certain": certain,
        "fault": finding.fault,
        "explanations": list(finding.explanations),
        "next_step": finding.next_step,
        "data": dict(finding.data),
    }


def _consistency(found: Consistency | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "periods": [
            {
                "family_id": row.family_id,
                "period_id": row.period_id,
                "contradictions": row.contradictions,
                "agreements": row.agreements,
                "cells": [
                    {
                        "component": cell.component or None,
                        "property_id": cell.property_id,
                        "word": cell.word,
                        "claims": [verdict.claim.row.claim_id for verdict in cell.verdicts],
                    }
                    for cell in row.cells
                ],
                "features": [
                    {"feature_id": seen.feature_id, "word": seen.word} for seen in row.features
                ],
            }
            for row in found.rows
        ],
        "span": {
            "first_year": found.span.first_year,
            "last_year": found.span.last_year,
            "rests_on": list(found.span.rests_on),
            "conflicts": [list(pair) for pair in found.span.conflicts],
        },
        "left_out": list(found.left_out),
    }

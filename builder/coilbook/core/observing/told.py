"""All that is said of a piece, as plain data: what 'show' and 'compare' print, and a page shows.

U is the expanded uncertainty, k = 2, in the value's unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from coilbook.core.budgets.budget import Contribution
from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.core.formulas.hum import hum_left_interval
from coilbook.core.judging.consistency import Consistency
from coilbook.core.judging.verdict import Verdict
from coilbook.core.observing.said import Assessment, Finding, Place
from coilbook.core.reduction.measured_piece import Closure, MeasuredPiece, Trouble, Turns
from coilbook.core.reduction.reduced_value import ReducedValue


def told(measured: MeasuredPiece, assessment: Assessment, workings: bool = True) -> dict[str, Any]:
    """Return what a piece's readings come to, and what is said of it.

    Without ``workings`` budgets and steps are left empty: a page that shows none is told at every
    key, and they are half of what there is to tell.
    """
    standing = frozenset([value.key for value in measured.best.values()])
    return {
        "values": [
            {
                **_value_judged(value, standing, assessment),
                "steps": _steps(value) if workings else [],
                "budget": _budget(value.budget) if workings else [],
            }
            for value in measured.values
        ],
        "closure": _closure(measured.closure),
        "hum": _hum(measured.best.get(("pair", "coil-imbalance"))),
        "turns": [
            {**_turns(turns), "budget": _budget(turns.budget) if workings else []}
            for turns in measured.turns
        ],
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


def _value_judged(
    value: ReducedValue, standing: frozenset[tuple[str, str, int]], assessment: Assessment
) -> dict[str, Any]:
    return {
        **_value(value),
        "stands": value.key in standing,
        "verdicts": [_verdict(v) for v in assessment.verdicts_of(value)],
        "places": [_place(p) for p in [assessment.place_of(value)] if p is not None],
    }


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
    }


def _steps(value: ReducedValue) -> list[dict[str, Any]]:
    return [
        {"code": s.code, "before": s.before, "after": s.after, "data": dict(s.data)}
        for s in value.steps
    ]


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


def _hum(imbalance: ReducedValue | None) -> dict[str, float | None] | None:
    """Return the hum that an imbalance leaves; None stands for no hum at all, minus infinity."""
    if imbalance is None or not imbalance.comparable or imbalance.value is None:
        return None
    left = hum_left_interval(imbalance.value, imbalance.standard_uncertainty or 0.0)
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

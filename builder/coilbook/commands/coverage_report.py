"""What the reference covers and leaves open, for the command line: as plain data, and as text."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from coilbook.assessment.review.covered import coverage_of
from coilbook.assessment.review.crosscheck import CrossCheck, cross_checks
from coilbook.pages.reference import coverage_page as coverage
from coilbook.pages.worded import printed
from coilbook.records.contents import Reference
from coilbook.resources import templates


def as_text(reference: Reference) -> str:
    """Return a short account, worded by the template coverage.txt.j2."""
    page = coverage.context(reference, cross_checks(reference))
    names = {field.name: getattr(page, field.name) for field in fields(page)}
    return printed(templates(), "coverage.txt.j2", **names).rstrip("\n")


def as_data(reference: Reference) -> dict[str, Any]:
    """Return the whole as plain data; resistances in kΩ at 20 °C, U with k = 2."""
    found = coverage_of(reference)
    return {
        "claims": dict(found.total),
        "families": [
            {
                "family_id": row.family.family_id,
                "claims": dict(row.counts),
                "core": {
                    cell.prop.property_id: dict(cell.counts)
                    for cell in row.cells
                    if cell.applies and not (cell.exempt and cell.total == 0)
                },
            }
            for row in found.families
        ],
        "missing": [[f.family_id, p.property_id] for f, p in found.missing],
        "period_gaps": [
            [gap.family.family_id, gap.prop.property_id, [p.period_id for p in gap.periods]]
            for gap in found.period_gaps
        ],
        "year_gaps": [
            [gap.family.family_id, gap.first_year, gap.last_year] for gap in found.year_gaps
        ],
        "only_recalled": {
            line.prop.property_id: [f.family_id for f in line.families]
            for line in found.only_recalled
        },
        "contradictions": [
            [one.row.claim_id, other.row.claim_id] for one, other in found.contradictions
        ],
        "cross_check": [_check(check) for check in cross_checks(reference)],
    }


def _check(check: CrossCheck) -> dict[str, Any]:
    return {
        "claim_id": check.claim.row.claim_id,
        "turns_claims": [claim.row.claim_id for claim in check.turns],
        "wires": list(dict.fromkeys(one.wire.wire_id for one in check.implied)),
        "verdict": check.word,
        "why_not": check.why_not,
        "basis": check.basis,
        "parts_at": list(check.parts_at),
        "compared": [
            {
                "at": one.at,
                "claimed": one.claimed_kohm,
                "implied": one.implied_kohm,
                "U": one.expanded_kohm,
                "normalised_error": one.normalised_error,
                "turns_needed": one.turns_needed,
            }
            for one in check.compared
        ],
    }

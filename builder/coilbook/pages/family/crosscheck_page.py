"""The cross-check page: every documented resistance against what turns, wire and bobbin come to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coilbook.assessment.review.crosscheck import Beyond, CrossCheck, Implied
from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.pages import text, views
from coilbook.pages.declare import OnePage
from coilbook.pages.page import Book
from coilbook.pages.reference import coverage_page as coverage
from coilbook.records.contents import Claim
from coilbook.records.tables.models import Family, Property

#: Decimals of kΩ on this page: the claims have one or two.
_DECIMALS = 2


@dataclass(frozen=True, slots=True)
class ImpliedLine:
    """What one wire's claimed turns come to: each number with its U (k = 2)."""

    wire: str
    wire_href: str
    turns: str
    turns_href: str
    turns_evidence: text.Evidence
    turns_remark: str
    low: str
    typical: str
    high: str


@dataclass(frozen=True, slots=True)
class DifferingNumber:
    """One number that parts; ``at`` and ``side`` are codes that the template words."""

    at: str
    side: str
    claimed: str
    implied: str
    units: str
    turns_needed: str
    other_wire: str


@dataclass(frozen=True, slots=True)
class GroundView:
    """One step by which a claim was worked out from another."""

    how: str
    part: str
    href: str
    ground_href: str


@dataclass(frozen=True, slots=True)
class CheckView:
    """One row of the table."""

    anchor: str
    family: str
    family_id: str
    scope: str
    name: str
    claim: text.ClaimView
    claim_href: str
    bobbin: str
    bobbin_href: str
    bobbin_remark: str
    implied: tuple[ImpliedLine, ...]
    difference: str
    normalised_error: str
    word: str
    why_not: str
    reasons: tuple[DifferingNumber, ...]
    basis: str
    grounds: tuple[GroundView, ...]


@dataclass(frozen=True, slots=True)
class CrossCheckContext:
    """Everything on the page: those that part first."""

    parting: tuple[CheckView, ...]
    not_compared: tuple[CheckView, ...]
    agreeing: tuple[CheckView, ...]
    count: int
    extents: tuple[str, ...]
    worked_back_families: tuple[coverage.FamilyLink, ...]
    physics: coverage.PhysicsLine


def context(book: Book) -> CrossCheckContext:
    """Return what the page shows of all comparisons."""
    checks = book.cross_checks
    made = [view(book, check) for check in checks]
    worked_back = {
        check.family.family_id: check.family for check in checks if check.basis == "worked_back"
    }
    return CrossCheckContext(
        parting=tuple(v for v in made if v.word == "parts"),
        not_compared=tuple(v for v in made if v.word == "not_compared"),
        agreeing=tuple(v for v in made if v.word == "agrees"),
        count=len(made),
        extents=_extents(checks),
        worked_back_families=tuple(
            coverage.FamilyLink(f.name, f"families/{f.family_id}/index.html#coil-turns")
            for f in worked_back.values()
        ),
        physics=coverage.physics_line(checks),
    )


def _extents(checks: Iterable[CrossCheck]) -> tuple[str, ...]:
    """Return the least and the most U in percent of what is implied, if anything is."""
    percents = [
        100.0 * beyond.expanded_kohm / beyond.implied_kohm
        for check in checks
        for beyond in check.compared
    ]
    return tuple(text.number(f(percents), 0) for f in (min, max)) if percents else ()


def of_family(book: Book, family: Family) -> tuple[CheckView, ...]:
    """Return a family's comparisons that part, for its own page."""
    return tuple(
        view(book, check)
        for check in book.cross_checks
        if check.family.family_id == family.family_id and check.word == "parts"
    )


def view(book: Book, check: CrossCheck) -> CheckView:
    """Return one comparison ready to be shown."""
    claim, family = check.claim, check.family
    shown = views.claim_view(book, claim)
    worst = check.worst
    return CheckView(
        anchor=f"check-{claim.row.claim_id}",
        family=family.name,
        family_id=family.family_id,
        scope=", ".join(part for part in (shown.period, shown.position) if part) or "all years",
        name=claim.property.name,
        claim=shown,
        claim_href=coverage.claim_href(family.family_id, claim.row.claim_id),
        bobbin="" if check.bobbin is None else check.bobbin.name,
        bobbin_href=(
            "" if check.bobbin is None else f"materials/bobbins/index.html#{check.bobbin.bobbin_id}"
        ),
        bobbin_remark="" if check.bobbin is None else check.bobbin.remark or "",
        implied=tuple(_implied(book, one, check) for one in check.implied),
        difference="" if worst is None else _signed(2.0 * worst.normalised_error, 1),
        normalised_error="" if worst is None else text.number(abs(worst.normalised_error), 2),
        word=check.word,
        why_not=check.why_not or "",
        reasons=tuple(_reason(b) for b in check.compared if b.at in check.parts_at),
        basis=check.basis,
        grounds=tuple(
            GroundView(
                row.how,
                row.part,
                coverage.claim_href(family.family_id, row.claim_id),
                coverage.claim_href(family.family_id, row.rests_on),
            )
            for row in check.derivations
        ),
    )


def _implied(book: Book, one: Implied, check: CrossCheck) -> ImpliedLine:
    turns = views.claim_view(book, one.turns)
    return ImpliedLine(
        wire=f"{one.wire.awg} AWG, {one.wire.build} build",
        wire_href=f"materials/wires/index.html#{one.wire.wire_id}",
        turns=_turns(one.turns),
        turns_href=coverage.claim_href(check.family.family_id, one.turns.row.claim_id),
        turns_evidence=turns.evidence,
        turns_remark=turns.remark,
        low=_estimate(one.low),
        typical=_estimate(one.typical),
        high=_estimate(one.high),
    )


def _turns(claim: Claim) -> str:
    prop: Property = claim.property
    return text.span(claim.low, claim.typical, claim.high, prop)


def _estimate(estimate: Estimate | None) -> str:
    if estimate is None:
        return ""
    extent = expanded(estimate.standard_uncertainty)
    return f"{text.number(estimate.value, _DECIMALS)} ± {text.number(extent, _DECIMALS)}"


def _signed(value: float, decimals: int) -> str:
    shown = text.number(value, decimals)
    return f"+{shown}" if value > 0 else shown


def _reason(beyond: Beyond) -> DifferingNumber:
    return DifferingNumber(
        at=beyond.at,
        side="below" if beyond.normalised_error < 0 else "above",
        claimed=text.number(beyond.claimed_kohm, _DECIMALS),
        implied=f"{text.number(beyond.implied_kohm, _DECIMALS)} ± "
        f"{text.number(beyond.expanded_kohm, _DECIMALS)}",
        units=text.number(2.0 * abs(beyond.normalised_error), 1),
        turns_needed=text.number(beyond.turns_needed, -1),
        other_wire="" if beyond.other_wire is None else f"{beyond.other_wire.awg} AWG",
    )


PAGE = OnePage(
    path="crosscheck/index.html",
    template="crosscheck.html.j2",
    section="sources",
    title="Resistance against turns",
    description="Every documented resistance beside what the documented turns, wire and "
    "bobbin come to.",
    context=context,
    search_text="cross-check physics resistance turns wire gauge bobbin consistency "
    "claims that part",
)

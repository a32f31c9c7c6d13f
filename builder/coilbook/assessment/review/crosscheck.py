"""Every documented resistance against what the documented turns, wire and bobbin come to.

Claims of resistance and of turns are written down apart. Where both are right, turns of that wire
on that bobbin have that resistance, as nearly as wire, lay and bobbin are known. A claim that was
worked out from the other agrees with it whatever is true: that is said beside the comparison.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Literal

from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.core.formulas.coil import coil_turns
from coilbook.core.reduction.turns import winding_of
from coilbook.measures.expected import ExpectedCoil
from coilbook.records.contents import Claim, Reference
from coilbook.records.tables.models import Bobbin, Derivation, Family, Wire

#: How many coils' turns make each resistance.
COILS = {"coil-resistance": 1, "pair-resistance": 2}
#: Common practice: heavy formvar is wound of heavy-build wire, the other insulations of single.
_HEAVY = "heavy formvar"
#: A claim is held to part beyond this normalised error: its expanded uncertainty (k = 2).
_PARTS_BEYOND = 1.0

CheckWord = Literal["agrees", "parts", "not_compared"]
#: Why nothing could be compared.
WhyNot = Literal["no_turns", "no_wire", "no_bobbin", "no_number"]
#: Where a claim lies beyond what the turns come to.
PartsAt = Literal["low", "usual", "high"]
#: Whether agreement says anything: a claim worked out from the other agrees by its making. That
#: nothing is recorded does not prove that the two were found apart.
Basis = Literal["not_derived", "ends_worked_back", "worked_back"]


@dataclass(frozen=True, slots=True)
class Implied:
    """What claimed turns of one wire come to on the family's bobbin, in kΩ at 20 °C.

    ``low``, ``typical`` and ``high`` go with those of the claim about the turns, each with its
    budget; the turns are taken as exact.
    """

    turns: Claim
    wire: Wire
    low: Estimate | None
    typical: Estimate | None
    high: Estimate | None


@dataclass(frozen=True, slots=True)
class Beyond:
    """One number of a claim against what is implied for it.

    ``normalised_error`` is the difference over the expanded uncertainty (k = 2), below 0 where the
    claim is the lower; in standard uncertainties it is twice that. ``turns_needed`` is what the
    claim would take on the same wire. ``other_wire`` is the gauge, of the same build and next to
    it, that makes it with turns which are claimed; None where no gauge does.
    """

    at: PartsAt
    claimed_kohm: float
    implied_kohm: float
    expanded_kohm: float
    normalised_error: float
    turns_needed: float
    other_wire: Wire | None


@dataclass(frozen=True, slots=True)
class CrossCheck:
    """One claim of a resistance, with the claims that it was compared with, and what came of it.

    ``compared`` has an entry for each number that both sides give; ``parts_at`` are those beyond
    the expanded uncertainty. The usual value parts where it lies to either side; an end only where
    the claim reaches farther than the turns do: turns may be claimed more widely.
    """

    claim: Claim
    family: Family
    turns: tuple[Claim, ...]
    bobbin: Bobbin | None
    implied: tuple[Implied, ...]
    compared: tuple[Beyond, ...]
    parts_at: tuple[PartsAt, ...]
    word: CheckWord
    why_not: WhyNot | None
    basis: Basis
    derivations: tuple[Derivation, ...]

    @property
    def worst(self) -> Beyond | None:
        """Return the number that parts farthest, else that of the usual value, else any."""
        parting = [b for b in self.compared if b.at in self.parts_at]
        usual = [b for b in self.compared if b.at == "usual"]
        found = parting or usual or self.compared
        return max(found, key=lambda b: abs(b.normalised_error), default=None)


def cross_checks(reference: Reference) -> tuple[CrossCheck, ...]:
    """Return the comparison of every documented resistance, in the order of the claims."""
    by_matter: dict[tuple[str, str], list[Claim]] = {}
    for claim in reference.claims:
        by_matter.setdefault((claim.row.family_id, claim.row.property_id), []).append(claim)
    grounds = _Grounds(reference.derivations)
    return tuple(
        _check(claim, reference, by_matter, grounds)
        for claim in reference.claims
        if claim.row.property_id in COILS
    )


def nearest_scope(claims: Sequence[Claim], to: Claim) -> list[Claim]:
    """Return the claims that hold for another's years and position, the most special ones alone."""
    row = to.row
    for period, position in dict.fromkeys(product((row.period_id, None), (row.position, None))):
        found = [c for c in claims if (c.row.period_id, c.row.position) == (period, position)]
        if found:
            return found
    return []


def _check(
    claim: Claim,
    reference: Reference,
    by_matter: Mapping[tuple[str, str], list[Claim]],
    grounds: _Grounds,
) -> CrossCheck:
    family = reference.families[claim.row.family_id]
    bobbin = reference.bobbins.get(family.bobbin_id or "")

    def nearest(property_id: str) -> list[Claim]:
        return nearest_scope(by_matter.get((family.family_id, property_id), ()), claim)

    turns = tuple(nearest("coil-turns"))
    wires = _wires(reference, nearest("wire-gauge"), nearest("wire-insulation"))
    basis, derived = grounds.between(claim, turns)

    def result(
        word: CheckWord,
        why_not: WhyNot | None = None,
        implied: tuple[Implied, ...] = (),
        compared: tuple[Beyond, ...] = (),
        parts_at: tuple[PartsAt, ...] = (),
    ) -> CrossCheck:
        return CrossCheck(
            claim, family, turns, bobbin, implied, compared, parts_at, word, why_not, basis, derived
        )

    if not turns:
        return result("not_compared", "no_turns")
    if bobbin is None:
        return result("not_compared", "no_bobbin")
    if not wires:
        return result("not_compared", "no_wire")
    coils = COILS[claim.row.property_id]
    implied = tuple(_implied(one, wire, bobbin, coils) for one in turns for wire in wires)
    compared = tuple(
        beyond
        for at in _PLACES
        if (beyond := _compare(at, claim, implied, bobbin, coils, reference)) is not None
    )
    if not compared:
        return result("not_compared", "no_number", implied)
    parts_at = tuple(b.at for b in compared if _parts(b))
    return result("parts" if parts_at else "agrees", None, implied, compared, parts_at)


_PLACES: tuple[PartsAt, ...] = ("low", "usual", "high")
_FIELDS: dict[PartsAt, Literal["low", "typical", "high"]] = {
    "low": "low", "usual": "typical", "high": "high",
}  # fmt: skip


def _parts(beyond: Beyond) -> bool:
    if beyond.at == "low":
        return beyond.normalised_error < -_PARTS_BEYOND
    if beyond.at == "high":
        return beyond.normalised_error > _PARTS_BEYOND
    return abs(beyond.normalised_error) > _PARTS_BEYOND


def _wires(
    reference: Reference, gauges: Iterable[Claim], insulations: Iterable[Claim]
) -> tuple[Wire, ...]:
    """Return every wire that the claims allow; single build where nothing is said of it."""
    builds = {"heavy" if c.row.category == _HEAVY else "single" for c in insulations} or {"single"}
    wanted = {(c.row.category, build) for c in gauges for build in builds}
    return tuple(w for w in reference.wires.values() if (f"{w.awg} AWG", w.build) in wanted)


def _of_coils(turns: float, wire: Wire, bobbin: Bobbin, coils: int) -> Estimate:
    coil = ExpectedCoil(wire, bobbin, turns, temperature_half_width_k=0.0)
    return coil.resistance_20_kohm if coils == 1 else coil.pair_kohm


def _implied(turns: Claim, wire: Wire, bobbin: Bobbin, coils: int) -> Implied:
    low, typical, high = (
        None if count is None else _of_coils(count, wire, bobbin, coils)
        for count in (turns.low, turns.typical, turns.high)
    )
    return Implied(turns, wire, low, typical, high)


def _compare(
    at: PartsAt,
    claim: Claim,
    implied: Sequence[Implied],
    bobbin: Bobbin,
    coils: int,
    reference: Reference,
) -> Beyond | None:
    """Compare one number of a claim with the nearest of what any claimed turns and wire make."""
    value: float | None = getattr(claim, _FIELDS[at])
    if value is None:
        return None
    found = [
        (one, estimate) for one in implied if (estimate := getattr(one, _FIELDS[at])) is not None
    ]
    if not found:
        return None
    extents = [
        (value - estimate.value) / expanded(estimate.standard_uncertainty) for _, estimate in found
    ]
    nearest = min(range(len(found)), key=lambda i: abs(extents[i]))
    source, estimate = found[nearest]
    beyond = Beyond(
        at,
        value,
        estimate.value,
        expanded(estimate.standard_uncertainty),
        extents[nearest],
        float(coil_turns(1000.0 * value / coils, winding_of(source.wire, bobbin))),
        None,
    )
    if not _parts(beyond):
        return beyond
    other = _other_wire(value, source, bobbin, coils, reference)
    return replace(beyond, other_wire=other)


def _other_wire(
    value: float, source: Implied, bobbin: Bobbin, coils: int, reference: Reference
) -> Wire | None:
    """Return the nearest gauge of the same build that makes a resistance with claimed turns."""
    turns, wire = source.turns, source.wire
    counts = [n for n in (turns.low, turns.typical, turns.high) if n is not None]
    for other in sorted(reference.wires.values(), key=lambda w: abs(w.awg - wire.awg)):
        if other.build != wire.build or other.awg == wire.awg:
            continue
        least, most = (
            _of_coils(count, other, bobbin, coils) for count in (min(counts), max(counts))
        )
        if (
            least.value - expanded(least.standard_uncertainty)
            <= value
            <= most.value + expanded(most.standard_uncertainty)
        ):
            return other
    return None


class _Grounds:
    """What claims were worked out from, followed as far as it goes."""

    def __init__(self, derivations: Iterable[Derivation]) -> None:
        self._of: dict[str, list[Derivation]] = {}
        for row in derivations:
            self._of.setdefault(row.claim_id, []).append(row)

    def _reached(self, claim_id: str, *, ends: bool) -> dict[str, tuple[Derivation, ...]]:
        """Return every claim that one rests on, itself included, with the way to it."""
        found: dict[str, tuple[Derivation, ...]] = {claim_id: ()}
        ahead = [claim_id]
        while ahead:
            here = ahead.pop(0)
            for row in self._of.get(here, ()):
                if row.rests_on not in found and (ends or row.part == "all"):
                    found[row.rests_on] = (*found[here], row)
                    ahead.append(row.rests_on)
        return found

    def between(self, claim: Claim, turns: Iterable[Claim]) -> tuple[Basis, tuple[Derivation, ...]]:
        """Return whether a claim has a ground in common with any other, and the rows to it."""
        bases: tuple[tuple[Basis, bool], ...] = (("worked_back", False), ("ends_worked_back", True))
        for basis, ends in bases:
            mine = self._reached(claim.row.claim_id, ends=ends)
            for one in turns:
                theirs = self._reached(one.row.claim_id, ends=ends)
                common = next((claim_id for claim_id in theirs if claim_id in mine), None)
                if common is not None:
                    return basis, tuple(dict.fromkeys((*theirs[common], *mine[common])))
        return "not_derived", ()

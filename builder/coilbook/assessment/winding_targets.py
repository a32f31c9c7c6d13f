"""The winding sheet's targets: what a coil should come to, and what a departure may mean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.core.constants import ALPHA_20_PER_K, STRETCH_RANGE
from coilbook.core.formulas.copper import temperature_factor
from coilbook.core.judging.judge import judge
from coilbook.core.judging.verdict import Verdict
from coilbook.core.observing.peers import GroupKey
from coilbook.core.reduction.reduced_value import ReducedValue, Step
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import OutOfDomain, UnknownId
from coilbook.measures.expected import (
    ExpectedCoil,
    RunningCheck,
    running_checks,
    scaled_inductance_h,
)
from coilbook.records.contents import Claim, Reference
from coilbook.records.tables.models import Bobbin, Family, Thresholds, Wire
from coilbook.stats.groups import Summaries
from coilbook.stats.summary import Summary

#: Temperatures that the sheet's table covers [°C]: where people wind.
TEMPERATURES_C = tuple(float(t) for t in range(15, 31))

#: What may lie behind a departure of the resistance; worded by the templates.
DepartureCode = Literal[
    "thinner_wire",  # the next gauge up, by turns and build the same: wire_id
    "thicker_wire",  # the next gauge down: wire_id
    "other_build",  # the same gauge in the other build: wire_id
    "turns_missed",  # turns miscounted by 1 % of them: turns
    "turns_shorted",  # turns shorted out of the coil, as many as the band hides: turns
    "turns_lost_late",  # turns lost after the first check, as many as its ratio hides: turns
    "warmer",  # the coil 1 K warmer than thought
    "stretched",  # wire drawn longer by the whole range that is assumed
]


@dataclass(frozen=True, slots=True)
class Departure:
    """One thing that shifts the resistance, by so many percent of the target.

    ``apparent`` says whether the shift alone is more than the target's expanded uncertainty (k = 2)
    on the finished coil; what is less hides in it.
    """

    code: DepartureCode
    percent: float
    apparent: bool
    wire_id: str | None = None
    turns: float | None = None


@dataclass(frozen=True, slots=True)
class Inductance:
    """What a claim about inductance becomes at other turns [H]; an end that it lacks is None."""

    claim: Claim
    reference_turns: float
    low: float | None
    typical: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class WindingSheet:
    """Everything that a winding sheet says, as data; ``coil`` holds the expected figures.

    ``verdicts`` hold the expected resistance against what is documented of the family, period by
    period; ``peers`` are the archive's groups of the same resistance, if an archive was given.
    """

    family: Family
    wire: Wire
    bobbin: Bobbin
    usual_turns: int | None
    coil: ExpectedCoil
    checks: tuple[RunningCheck, ...]
    temperatures: tuple[tuple[float, Estimate], ...]
    departures: tuple[Departure, ...]
    inductances: tuple[Inductance, ...]
    verdicts: tuple[Verdict, ...]
    peers: tuple[Summary, ...]

    @property
    def two_coils(self) -> bool:
        """Whether the family has a pair, so that the sheet tells of it."""
        return self.family.coils == 2

    @property
    def usual(self) -> bool:
        """Whether wire and turns are the family's usual ones."""
        return self.wire.wire_id == self.family.wire_id and self.coil.turns == self.usual_turns


def winding_targets(
    reference: Reference,
    family_id: str,
    turns: float | None = None,
    wire_id: str | None = None,
    temperature_c: float = 20.0,
    summaries: Summaries | None = None,
    *,
    thresholds: Thresholds | None = None,
) -> WindingSheet:
    """Return what a family's coil should come to, wound of a wire to a number of turns.

    ``turns`` and ``wire_id`` are the family's usual ones if left out; ``temperature_c`` is that of
    the coil when it is read.

    Errors: UnknownId, with a near miss, for a family or wire that the reference does not have;
    OutOfDomain where the family has no usual bobbin, or no usual wire or turns and none are given,
    for turns or a temperature that no coil has.
    """
    family = reference.families.get(family_id)
    if family is None:
        hint = did_you_mean(family_id, reference.families)
        raise UnknownId(
            f"The reference has no family '{family_id}'. "
            f"{hint or 'It has: ' + ', '.join(reference.families) + '.'}".strip()
        )
    bobbin = reference.bobbins.get(family.bobbin_id or "")
    if bobbin is None:
        raise OutOfDomain(
            f"'{family_id}' has no usual bobbin, so nothing can be reckoned. Give it one in "
            "families.csv."
        )
    wire = _wire(reference, family, wire_id)
    count = turns if turns is not None else family.turns_per_coil
    if count is None:
        raise OutOfDomain(f"'{family_id}' has no usual number of turns. Give the turns.")
    coil = ExpectedCoil(wire, bobbin, float(count), temperature_c)
    checks = running_checks(coil)
    return WindingSheet(
        family=family,
        wire=wire,
        bobbin=bobbin,
        usual_turns=family.turns_per_coil,
        coil=coil,
        checks=checks,
        temperatures=tuple((t, coil.at(t)) for t in TEMPERATURES_C),
        departures=_departures(reference, coil, checks),
        inductances=_inductances(reference, family, coil.turns),
        verdicts=_verdicts(reference, family, coil, thresholds or Thresholds()),
        peers=_peers(family, summaries),
    )


def _wire(reference: Reference, family: Family, wire_id: str | None) -> Wire:
    wanted = wire_id if wire_id is not None else family.wire_id
    if wanted is None:
        raise OutOfDomain(f"'{family.family_id}' has no usual wire. Name the wire.")
    wire = reference.wires.get(wanted)
    if wire is None:
        hint = did_you_mean(wanted, reference.wires) or "wires.csv lists them."
        raise UnknownId(f"The reference has no wire '{wanted}'. {hint}".strip())
    return wire


def _departures(
    reference: Reference, coil: ExpectedCoil, checks: tuple[RunningCheck, ...]
) -> tuple[Departure, ...]:
    target = coil.resistance_kohm.value
    band = 100.0 * expanded(coil.resistance_kohm.standard_uncertainty) / target
    found: list[Departure] = []

    def add(
        code: DepartureCode, percent: float, wire_id: str | None = None, turns: float | None = None
    ) -> None:
        found.append(Departure(code, percent, abs(percent) > band, wire_id, turns))

    mine = coil.wire
    others: tuple[tuple[DepartureCode, int, str], ...] = (
        ("thinner_wire", mine.awg + 1, mine.build),
        ("thicker_wire", mine.awg - 1, mine.build),
        ("other_build", mine.awg, "heavy" if mine.build == "single" else "single"),
    )
    for code, awg, build in others:
        for wire in reference.wires.values():
            if (wire.awg, wire.build) == (awg, build):
                other = ExpectedCoil(wire, coil.bobbin, coil.turns, coil.temperature_c)
                add(code, 100.0 * (other.resistance_kohm.value / target - 1.0), wire.wire_id)
    fewer = coil.share(0.99).resistance_kohm.value
    add("turns_missed", 100.0 * (fewer / target - 1.0), turns=coil.turns / 100.0)
    percent_a_turn = coil.ohm_per_turn / (10.0 * target)
    add("turns_shorted", -band, turns=band / percent_a_turn)
    ratio = checks[-1].ratio
    late = 100.0 * expanded(ratio.standard_uncertainty) / ratio.value
    add("turns_lost_late", -late, turns=late / percent_a_turn)
    add("warmer", 100.0 * ALPHA_20_PER_K / temperature_factor(coil.temperature_c))
    add("stretched", 100.0 * (STRETCH_RANGE[1] - STRETCH_RANGE[0]))
    return tuple(found)


def _inductances(reference: Reference, family: Family, turns: float) -> tuple[Inductance, ...]:
    """Return every documented inductance at these turns; none where none is documented."""
    if family.turns_per_coil is None:
        return ()
    n_0 = float(family.turns_per_coil)

    def at(value: float | None) -> float | None:
        return None if value is None else scaled_inductance_h(value, turns, n_0)

    return tuple(
        Inductance(claim, n_0, at(claim.low), at(claim.typical), at(claim.high))
        for claim in reference.claims
        if claim.row.family_id == family.family_id
        and claim.row.property_id in ("coil-inductance", "pair-inductance")
    )


def _verdicts(
    reference: Reference, family: Family, coil: ExpectedCoil, thresholds: Thresholds
) -> tuple[Verdict, ...]:
    """Hold the expected resistance at 20 °C against every claim of the family about it."""
    cold = coil.resistance_20_kohm
    values = {"coil-resistance": _expected("coil", "coil-resistance", cold, coil)}
    if family.coils == 2:
        pair = ExpectedCoil(coil.wire, coil.bobbin, coil.turns).pair_kohm
        values["pair-resistance"] = _expected("pair", "pair-resistance", pair, coil)
    return tuple(
        judge(values[claim.row.property_id], claim, thresholds)
        for claim in reference.claims
        if claim.row.family_id == family.family_id and claim.row.property_id in values
    )


def _expected(
    component: str, property_id: str, estimate: Estimate, coil: ExpectedCoil
) -> ReducedValue:
    """Return an expected resistance in the shape in which measured ones are judged."""
    data: dict[str, float | str] = {
        "turns": coil.turns,
        "wire_id": coil.wire.wire_id,
        "bobbin_id": coil.bobbin.bobbin_id,
    }
    return ReducedValue(
        piece_id="",
        component=component,
        property_id=property_id,
        unit="kΩ",
        value=estimate.value,
        standard_uncertainty=estimate.standard_uncertainty,
        qualifier="",
        category=None,
        line=0,
        written="",
        date="",
        instrument_id=None,
        calibration="unknown",
        steps=(Step.of("derived", estimate.value, estimate.value, data),),
        budget=estimate.contributions,
        flags=("derived", "assumed_construction"),
    )


def _peers(family: Family, summaries: Summaries | None) -> tuple[Summary, ...]:
    if summaries is None:
        return ()
    parts = ("coil",) if family.coils == 1 else ("coil_a", "coil_b")
    keys = [GroupKey(family.family_id, "coil-resistance", part) for part in parts]
    if family.coils == 2:
        keys.append(GroupKey(family.family_id, "pair-resistance", "pair"))
    return tuple(s for key in keys if (s := summaries.get(key)) is not None)

"""The trial itself: an archive read, assessed blind, and held against what was truly done."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from trial_instruments import Bench
from trial_world import Alteration, Pickup, every_alteration, pickups

from coilbook.core.observing.assess import assess
from coilbook.core.observing.findings import Finding
from coilbook.core.reduction.measured_piece import MeasuredPiece
from coilbook.core.reduction.piece import measure_piece
from coilbook.records.contents import Reference
from coilbook.stats.groups import summarise

_RESISTANCES = ("resistance_outside_everything", "resistance_unusual")
_PATH = ("read_in_circuit", "losses_high", "coils_do_not_add_up", *_RESISTANCES)
#: Which findings count as having found an alteration, and the explanations that name it.
DETECTS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "shorted_turns": (("turns_shorted", "losses_high"), ("shorted_turns",)),
    "rewound": (("gauge_cannot_fit", *_RESISTANCES), ("rewound_coil", "other_gauge")),
    "magnet_swapped": (
        ("magnet_weak", "magnet_strong", "magnet_above_ceiling"),
        ("magnet_exchanged",),
    ),
    "magnet_recharged": (("magnet_strong", "magnet_above_ceiling"), ("magnet_recharged",)),
    "magnet_aged": (("magnet_weak",), ("magnet_aged",)),
    "in_circuit_all": (_PATH, ("across_the_pair",)),
    "in_circuit_pair_only": (_PATH, ("across_the_pair",)),
    "in_circuit_coils_unread": (_PATH, ("across_the_pair",)),
    "temperature_wrong": (("coils_do_not_add_up", *_RESISTANCES), ("other_temperature",)),
    "coil_exchanged": (("imbalance_unusual",), ("coil_exchanged",)),
}
#: Findings that a piece to which nothing was done should not have, with what each must have read.
#: The others say what is so of the records themselves: no date, an assumed temperature.
MAY_BE_FALSE: Mapping[str, str] = {
    "read_in_circuit": "coils and pair",
    "coils_do_not_add_up": "coils and pair",
    "turns_shorted": "L",
    "losses_high": "L",
    "gauge_cannot_fit": "a coil's R",
    "resistance_outside_everything": "R",
    "resistance_unusual": "R",
    "imbalance_unusual": "both coils' R",
    "magnet_above_ceiling": "field",
    "magnet_weak": "field",
    "magnet_strong": "field",
}
#: Alterations of which a sign of shorted turns, the only fault that is inferred, is a mistake.
MISTAKEN = ("rewound", "in_circuit", "coil_exchanged")
FAULT = "turns_shorted"
#: The name under which any of an alteration's findings counts.
ANY = "any_of_these"
#: The name under which any finding counts whose explanations name what was done.
EXPLAINED = "named_among_the_explanations"


@dataclass(frozen=True, slots=True, order=True)
class Row:
    """One line of the report; ``read`` says what was known of the pieces that it counts."""

    alteration: str
    size: str
    read: str
    finding: str
    n: int
    detected: int

    @property
    def interval(self) -> tuple[float, float]:
        """Return Wilson's 95 % interval of the share that was detected."""
        n, p, z = self.n, self.detected / self.n, 1.959964
        half = z * math.sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n))
        middle, whole = p + z * z / (2.0 * n), 1.0 + z * z / n
        return max(0.0, (middle - half) / whole), min(1.0, (middle + half) / whole)


@dataclass(frozen=True, slots=True)
class Outcome:
    """One piece: what it is, what was measured, what was found."""

    pickup: Pickup
    measured: MeasuredPiece
    found: tuple[Finding, ...]


def outcomes(
    count: int,
    seed: int,
    reference: Reference,
    wanted: Sequence[Alteration] = every_alteration(),
    altered: float = 0.12,
) -> list[Outcome]:
    """Return everything that is found in one archive, assessed without knowing the truth."""
    truth = pickups(count, seed, wanted, altered)
    archive = Bench(reference, seed).archive(truth)
    measured = {name: measure_piece(piece, reference) for name, piece in archive.pieces.items()}
    summaries = summarise(archive, measured, reference)
    found = []
    for pickup in truth:
        piece, values = archive.pieces[pickup.piece_id], measured[pickup.piece_id]
        assessment = assess(piece, values, archive, reference, summaries)
        found.append(Outcome(pickup, values, assessment.findings))
    return found


def rows(everything: Iterable[Outcome]) -> list[Row]:
    """Return the report's lines, in the order of the alterations, false alarms first."""
    counted: Counter[tuple[str, str, str, str]] = Counter()
    hit: Counter[tuple[str, str, str, str]] = Counter()
    for outcome in everything:
        for key, detected in _counts(outcome):
            counted[key] += 1
            hit[key] += detected
    return ordered(Row(*key, counted[key], hit[key]) for key in counted)


def ordered(lines: Iterable[Row]) -> list[Row]:
    """Return lines in the order of the alterations and their sizes, false alarms first."""
    done = [("none", ""), *((one.kind, one.size) for one in every_alteration())]
    order = {name: place for place, name in enumerate(done)}
    return sorted(lines, key=lambda row: (order[row.alteration, row.size], row))


def _counts(outcome: Outcome) -> Iterator[tuple[tuple[str, str, str, str], bool]]:
    codes = {finding.code for finding in outcome.found}
    done = outcome.pickup.alteration
    if done is None:
        for code, need in MAY_BE_FALSE.items():
            if _was_read(outcome, need):
                yield ("none", "", need, code), code in codes
        return
    wanted, names = DETECTS[done.kind]
    read = _known(outcome)
    explained = {name for finding in outcome.found for name in finding.explanations}
    for code in wanted:
        yield (done.kind, done.size, read, code), code in codes
    yield (done.kind, done.size, read, ANY), bool(codes & set(wanted))
    yield (done.kind, done.size, read, EXPLAINED), bool(explained & set(names))
    if done.kind.startswith(MISTAKEN) and _was_read(outcome, "L"):
        yield (done.kind, done.size, f"{read}, L", f"mistaken_for_{FAULT}"), FAULT in codes


def _was_read(outcome: Outcome, need: str) -> bool:
    best = outcome.measured.best
    if need == "coils and pair":
        return outcome.measured.closure is not None
    if need == "both coils' R":
        return ("pair", "coil-imbalance") in best
    if need == "a coil's R":
        return bool(outcome.measured.turns)
    if need == "field":
        return ("magnet", "pole-flux-density") in best
    return need != "L" or any(name.endswith("-inductance") for _, name in best)


def _known(outcome: Outcome) -> str:
    """Return in words what was read of a piece, as far as its alteration could show in it."""
    assert outcome.pickup.alteration is not None
    kind, pair = outcome.pickup.alteration.kind, len(outcome.pickup.coils) == 2
    best = outcome.measured.best
    if kind == "shorted_turns":
        at = next(i for i, coil in enumerate(outcome.pickup.coils) if coil.shorted)
        name = ("coil_a", "coil_b")[at] if pair else "coil"
        of_coil = (name, "coil-resistance") in best
        if not of_coil:
            name, word = "pair", "pair's "
        else:
            word = "coil's "
        of = "pair" if name == "pair" else "coil"
        if (name, f"{of}-inductance") not in best:
            return word + "R"
        return word + ("R, L and Q" if (name, f"{of}-quality") in best else "R and L")
    if kind.startswith("in_circuit"):
        q_read = any(name.endswith("-extra-loss") for _, name in best)
        return f"{'two coils' if pair else 'one coil'}, {'' if q_read else 'no '}Q"
    if kind.startswith("magnet"):
        return outcome.pickup.make.family_id
    return "all"

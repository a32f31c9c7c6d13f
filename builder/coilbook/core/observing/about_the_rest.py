"""Observations on magnets, on what is seen, and on the record itself.

See :mod:`coilbook.core.observing.findings`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilbook.core.budgets.combine import TEMPERATURE
from coilbook.core.constants import ALPHA_20_PER_K, UNSTATED_TEMPERATURE_HALF_WIDTH_K
from coilbook.core.formulas.normal import normal_quantile
from coilbook.core.judging.judge import DecidedAt, judge
from coilbook.core.judging.verdict import Verdict, VerdictWord
from coilbook.core.observing.look import UNUSUAL_FIELD, Look
from coilbook.core.observing.said import Finding
from coilbook.core.reduction.reduced_value import ReducedValue
from coilbook.core.reduction.rod_ceilings import rod_ceilings_of


def fields(look: Look) -> Iterator[Finding]:
    """Tell of a field that is weak, or strong, beside the peers.

    Tells: magnet_weak, magnet_strong
    Rule: the flux density lies UNUSUAL_FIELD standard deviations or more below, or above, the
        middle of at least SMALLEST_PEERS peers.
    Cannot tell: age from an exchange, nor a recharge from a better magnet; one probe from another,
        where the peers were read with several.
    """
    for component in ("magnet", "magnet_a", "magnet_b"):
        standing = look.standing(component, "pole-flux-density")
        number = look.number(component, "pole-flux-density")
        if standing is None or number is None or abs(standing[0]) < UNUSUAL_FIELD:
            continue
        weak = standing[0] < 0.0
        yield Finding(
            "magnet_weak" if weak else "magnet_strong",
            component,
            "pole-flux-density",
            abs(standing[0]),
            False,
            ("magnet_aged", "magnet_exchanged", "other_probe")
            if weak
            else ("magnet_recharged", "magnet_exchanged", "other_probe"),
            "read_the_field_again",
            {"seen": number[0], "usual": standing[1].median, "n": float(standing[1].n)},
        )


def ceilings(look: Look) -> Iterator[Finding]:
    """Tell of a rod magnet whose field its grade cannot give.

    Tells: magnet_above_ceiling
    Rule: the flux density lies above the ceiling of the grade that was read, or else of every
        grade documented for the family, each with a probability of RULED_OUT_FROM or more; only
        where the rods are the magnets and their diameter was read.
    Cannot tell: which grade it is; anything of magnets under steel poles.
    """
    field = look.measured.best.get(("magnet", "pole-flux-density"))
    if field is None or look.piece.family.pole_kind != "rods":
        return
    ceilings = rod_ceilings_of(look.piece, look.measured, look.reference)
    if ceilings is None:
        return
    read = look.measured.best.get((ceilings.reading.component, "magnet-grade"))
    grades = {read.category} if read is not None else set(_documented_grades(look))
    lines = [line.ruling for line in ceilings.grades if line.magnet.grade in grades]
    lines = [ruling for ruling in lines if ruling.probability is not None]
    if not lines or any(ruling.ruling != "ruled_out" for ruling in lines):
        return
    nearest = max(lines, key=lambda ruling: ruling.ceiling_t or 0.0)
    sure = min(max(nearest.probability or 0.0, 0.5), 1.0 - 1e-12)
    yield Finding(
        "magnet_above_ceiling",
        ceilings.reading.component,
        "pole-flux-density",
        normal_quantile(sure),
        False,
        ("magnet_exchanged", "other_probe", "misread"),
        "read_the_field_again",
        {
            "seen": ceilings.reading.value or 0.0,
            "ceiling": 1000.0 * (nearest.ceiling_t or 0.0),
            "grade": " or ".join(sorted(g for g in grades if g)),
        },
    )


def _documented_grades(look: Look) -> Iterator[str]:
    for claim in look.reference.claims_on(look.piece.family.family_id, "magnet-grade"):
        yield claim.row.category or ""


def dates(look: Look) -> Iterator[Finding]:
    """Tell of features that cannot both be original.

    Tells: dates_mixed
    Rule: the last year of one feature seen lies before the first year of another.
    Cannot tell: which of the two was changed, nor whether their documented years are right.
    """
    for early, late in look.consistent.span.conflicts:
        yield Finding(
            "dates_mixed",
            "pickup",
            "",
            math.inf,
            False,
            ("part_exchanged", "wrong_years"),
            "look_at_the_features",
            {"early": early, "late": late},
        )


def calibrations(look: Look) -> Iterator[Finding]:
    """Tell of readings whose uncertainty nothing backs any more, meter by meter.

    Tells: calibration_lapsed
    Rule: a reading is dated after its instrument's calibration was due.
    Cannot tell: whether the instrument had drifted.
    """
    meters: dict[str, list[ReducedValue]] = {}
    for value in look.measured.values:
        if value.line and "calibration_lapsed" in value.flags:
            meters.setdefault(value.instrument_id or "", []).append(value)
    for meter, values in meters.items():
        yield Finding(
            "calibration_lapsed",
            values[0].component,
            values[0].property_id,
            0.0,
            False,
            ("drifted_meter",),
            "check_the_meter",
            {"instrument": meter, "readings": float(len(values))},
        )


def temperatures(look: Look) -> Iterator[Finding]:
    """Tell of a verdict that the bench's temperature would turn, where none was noted.

    Tells: temperature_decisive
    Rule: no temperature was noted, and from one end to the other of what is then assumed, 20 °C
        ± UNSTATED_TEMPERATURE_HALF_WIDTH_K K, a verdict is once inside and once outside.
    Cannot tell: how warm it was.
    """
    for value in look.measured.best.values():
        if "no_temperature" not in value.flags or not value.line or not value.comparable:
            continue
        for verdict in look.assessment.verdicts_of(value):
            words = _words_over_the_span(value, verdict)
            if len(words) > 1:
                yield Finding(
                    "temperature_decisive",
                    value.component,
                    value.property_id,
                    0.0,
                    False,
                    ("other_temperature",),
                    "note_the_temperature",
                    {"claim": verdict.claim.row.claim_id, "words": " ".join(sorted(words))},
                )
                break


def _words_over_the_span(value: ReducedValue, verdict: Verdict) -> set[VerdictWord]:
    """Return the decided words that a verdict takes over the temperatures that may have been."""
    number, u = value.value, value.standard_uncertainty
    if number is None or u is None:
        return set()
    of_day = 0.0
    for line in value.budget:
        if line.name == TEMPERATURE:
            of_day += line.effect**2
    rest = math.sqrt(max(u * u - of_day, 0.0))
    thresholds = DecidedAt(verdict.inside_at, verdict.outside_at)
    words: set[VerdictWord] = set()
    for warmer in (-1.0, 0.0, 1.0):
        factor = 1.0 + warmer * UNSTATED_TEMPERATURE_HALF_WIDTH_K * ALPHA_20_PER_K
        moved = value._replace(value=number / factor, standard_uncertainty=max(rest, 1e-12))
        words.add(judge(moved, verdict.claim, thresholds).word)
    return words - {"too_close_to_call", "not_judged"}

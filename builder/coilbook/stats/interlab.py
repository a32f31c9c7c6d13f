"""Repeatability and reproducibility after ISO 5725-2, from repeated readings of like pieces.

A *level* is what was read again and again (a piece), a *lab* who read it (an instrument, a shop):
the standard's own words, so that the same analysis serves between instruments and between shops.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from scipy.special import fdtrc, fdtri, stdtrit

from coilbook.errors import OutOfDomain

Level = Mapping[str, Sequence[float]]

#: Levels of the consistency statistics: over the first a straggler, over the second an outlier.
STRAGGLER_LEVEL = 0.05
OUTLIER_LAB_LEVEL = 0.01


@dataclass(frozen=True, slots=True)
class Precision:
    """What repeated readings say of precision [standard deviations in the unit of the readings].

    ``repeatability_sd`` (s_r) is within one lab, ``between_labs_sd`` (s_L) between labs, and
    ``reproducibility_sd`` (s_R) both together. None where the readings cannot tell: no lab read a
    level twice, or no level was read by two labs. ``between_truncated`` says that labs differed by
    less than repeatability alone makes them, so that s_L was set to 0. ``f`` compares the two
    spreads and ``p_value`` is how often labs without a difference come out as far apart.
    """

    levels: int
    labs: int
    readings: int
    sum_squares_between: float
    degrees_between: int
    sum_squares_within: float
    degrees_within: int
    readings_per_lab: float | None
    f: float | None
    p_value: float | None
    repeatability_sd: float | None
    between_labs_sd: float | None
    reproducibility_sd: float | None
    reproducibility_degrees: float | None
    between_truncated: bool


@dataclass(frozen=True, slots=True)
class LabConsistency:
    """One lab within one level: Mandel's h and k, with what they may reach at 5 % and 1 %.

    ``h`` tells a mean apart from those of the others, ``k`` a scatter. k and its limits are None
    for a lab that read once; h where all means are one.
    """

    lab: str
    readings: int
    mean: float
    sd: float | None
    h: float | None
    k: float | None
    h_limits: tuple[float, float]
    k_limits: tuple[float, float] | None


def precision(levels: Iterable[Level]) -> Precision:
    r"""Split the spread of repeated readings into that within labs and that between them.

    Formula: s_r^2 = \frac{SS_W}{\nu_W}, \quad s_L^2 = \frac{SS_B / \nu_B - s_r^2}{n_0}, \quad
        s_R^2 = s_r^2 + s_L^2, \quad F = \frac{SS_B / \nu_B}{SS_W / \nu_W}
    Arguments: levels, each with the readings of each lab [any one unit]
    Returns: s_r, s_L, s_R [the readings' unit], F and its p [1]
    Validity: independent readings, one spread within all labs and levels. Labs may have read any
        number of times: n_0 is the standard's mean number of readings, weighed for that. Sums are
        pooled over levels, so a level with one lab adds to s_r alone. A negative s_L² counts as 0.
        The degrees of freedom of s_R are Satterthwaite's.
    Errors: OutOfDomain where nothing was read twice, or for a reading that is no number.
    Source: iso-5725-2 clause 7.4 (recalled)

    Reckoned in two passes, from each level's own mean, so that readings which agree in their first
    digits lose none of the last.
    """
    kept = [{lab: list(read) for lab, read in level.items() if len(read)} for level in levels]
    kept = [level for level in kept if level]
    names = {lab for level in kept for lab in level}
    within: list[float] = []
    between: list[float] = []
    total = degrees_within = degrees_between = 0
    weighed = 0.0
    for level in kept:
        count = sum(len(read) for read in level.values())
        everything = [value for read in level.values() for value in read]
        if not all(math.isfinite(value) for value in everything):
            raise OutOfDomain("A repeated reading is not a number. Leave it out.")
        centre = math.fsum(everything) / count
        centre += math.fsum(value - centre for value in everything) / count
        for read in level.values():
            mean = math.fsum(value - centre for value in read) / len(read)
            within.extend((value - centre - mean) ** 2 for value in read)
            between.append(len(read) * mean**2)
        total += count
        degrees_within += count - len(level)
        degrees_between += len(level) - 1
        weighed += count - sum(len(read) ** 2 for read in level.values()) / count
    if not degrees_within and not degrees_between:
        raise OutOfDomain(
            "No two readings are of one thing, so nothing can be said of precision. "
            "Read a piece again, on another day or with another instrument."
        )
    return _split(
        (len(kept), len(names), total),
        math.fsum(between),
        degrees_between,
        math.fsum(within),
        degrees_within,
        weighed / degrees_between if degrees_between else None,
    )


def _split(
    sizes: tuple[int, int, int],
    sum_between: float,
    degrees_between: int,
    sum_within: float,
    degrees_within: int,
    per_lab: float | None,
) -> Precision:
    repeat = sum_within / degrees_within if degrees_within else None
    spread = sum_between / degrees_between if degrees_between else None
    f = p_value = lab = whole = degrees = None
    truncated = False
    if repeat is not None and spread is not None and per_lab is not None:
        truncated = spread < repeat
        lab = max(0.0, (spread - repeat) / per_lab)
        whole = repeat + lab
        if repeat > 0.0:
            f = spread / repeat
            p_value = float(fdtrc(degrees_between, degrees_within, f))
        shares = ((spread / per_lab, degrees_between), (repeat - repeat / per_lab, degrees_within))
        divisor = sum(share**2 / count for share, count in shares)
        degrees = float(degrees_within) if truncated or not divisor else whole**2 / divisor
    elif spread is not None and per_lab == 1.0:
        # Each lab read each level once: the spread of labs is the reproducibility, undivided.
        whole, degrees = spread, float(degrees_between)
    return Precision(
        *sizes,
        sum_squares_between=sum_between,
        degrees_between=degrees_between,
        sum_squares_within=sum_within,
        degrees_within=degrees_within,
        readings_per_lab=per_lab,
        f=f,
        p_value=p_value,
        repeatability_sd=None if repeat is None else math.sqrt(repeat),
        between_labs_sd=None if lab is None else math.sqrt(lab),
        reproducibility_sd=None if whole is None else math.sqrt(whole),
        reproducibility_degrees=degrees,
        between_truncated=truncated,
    )


def lab_consistency(level: Level) -> tuple[LabConsistency, ...]:
    r"""Return Mandel's consistency statistics of every lab that read one level.

    Formula: h_i = \frac{\bar{x}_i - \bar{\bar{x}}}{s(\bar{x}_i)}, \quad k_i =
        \frac{s_i}{\sqrt{\sum s_j^2 / p'}}
    Arguments: the readings of each lab [any one unit]
    Returns: h, k and what they may reach at 5 % and 1 % [1]
    Validity: at least three labs; p' labs read more than once. The limits of k take all p' labs to
        have read as often as this one: exact for a balanced trial.
    Errors: OutOfDomain for fewer than three labs, or a reading that is no number.
    Source: iso-5725-2 clause 7.3.1 and annex A (recalled)
    """
    labs = {lab: list(read) for lab, read in level.items() if len(read)}
    count = len(labs)
    if count < 3:
        raise OutOfDomain(
            f"Consistency was asked of {count} labs. It needs three: two can only differ."
        )
    if not all(math.isfinite(value) for read in labs.values() for value in read):
        raise OutOfDomain("A repeated reading is not a number. Leave it out.")
    means = {lab: math.fsum(read) / len(read) for lab, read in labs.items()}
    centre = math.fsum(means.values()) / count
    apart = math.sqrt(math.fsum((m - centre) ** 2 for m in means.values()) / (count - 1))
    squares = {
        lab: math.fsum((value - means[lab]) ** 2 for value in read) / (len(read) - 1)
        for lab, read in labs.items()
        if len(read) > 1
    }
    scatter = math.sqrt(math.fsum(squares.values()) / len(squares)) if squares else 0.0
    levels = (STRAGGLER_LEVEL, OUTLIER_LAB_LEVEL)
    h_limits = (_h_limit(count, levels[0]), _h_limit(count, levels[1]))
    found = []
    for lab, read in labs.items():
        sd = math.sqrt(squares[lab]) if lab in squares else None
        limits = None
        if sd is not None and len(squares) > 1:
            size = len(squares), len(read)
            limits = (_k_limit(*size, levels[0]), _k_limit(*size, levels[1]))
        found.append(
            LabConsistency(
                lab=lab,
                readings=len(read),
                mean=means[lab],
                sd=sd,
                h=(means[lab] - centre) / apart if apart else None,
                k=sd / scatter if sd is not None and scatter else None,
                h_limits=h_limits,
                k_limits=limits,
            )
        )
    return tuple(found)


def _h_limit(labs: int, level: float) -> float:
    t_squared = float(stdtrit(labs - 2.0, level / 2.0)) ** 2
    return (labs - 1) * math.sqrt(t_squared / (labs * (t_squared + labs - 2)))


def _k_limit(labs: int, readings: int, level: float) -> float:
    # F of the other labs' scatter over this one's, whose lower tail is this one's being large.
    f = float(fdtri((labs - 1.0) * (readings - 1.0), readings - 1.0, level))
    return math.sqrt(labs / (1.0 + (labs - 1.0) * f))

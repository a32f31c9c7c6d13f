"""The trial's pickups: how they were wound and magnetised, and what was done to some of them.

All spreads are the trial's own assumptions, of the size that benches report (common practice); the
wires' limits are those of NEMA MW 1000 (from memory, as in the project's table).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from trial_physics import Coil, Former, wound_ohm

#: Wires by gauge: bare diameter least, nominal, most and overall nominal, mm.
GAUGES = {
    "41": (0.069, 0.07112, 0.074, 0.079),
    "42": (0.061, 0.0635, 0.066, 0.071),
    "42h": (0.061, 0.0635, 0.066, 0.076),
    "43": (0.053, 0.05588, 0.058, 0.062),
    "43h": (0.053, 0.05588, 0.058, 0.069),
}


@dataclass(frozen=True, slots=True)
class Era:
    """Years in which a family was wound one way: mean turns, spread of pieces and of coils."""

    first: int
    last: int
    share: float
    turns: int
    pieces_sd: float
    coils_sd: float
    magnets_mt: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Make:
    """One family. ``metal`` is coupling squared, bare and covered; ``covered`` the share."""

    family_id: str
    share: float
    former: Former
    coils: int
    gauge: str
    positions: tuple[str, ...]
    henry_per_turn2: float
    metal: tuple[float, float]
    covered: float
    metal_s: float
    farad: float
    eras: tuple[Era, ...]


MAKES = (
    Make(
        "full-size-humbucker", 0.6, Former(64.0, 4.8, 6.4), 2, "42", ("bridge", "neck"),
        8.7e-8, (0.13, 0.20), 0.75, 8.0e-5, 6.0e-11,
        (
            Era(1957, 1958, 0.25, 4950, 0.030, 0.027, (32.0, 40.0)),
            Era(1959, 1960, 0.25, 5080, 0.030, 0.027, (32.0, 40.0)),
            Era(1962, 1965, 0.30, 4900, 0.020, 0.015, (40.0,)),
            Era(1966, 1970, 0.20, 4720, 0.012, 0.006, (40.0,)),
        ),
    ),
    Make(
        "staggered-rod-single-coil", 0.22, Former(57.2, 4.8, 11.1), 1, "42h",
        ("bridge", "middle", "neck"), 3.75e-8, (0.06, 0.06), 0.0, 6.0e-5, 1.0e-10,
        (
            Era(1957, 1964, 0.6, 8050, 0.040, 0.0, (95.0,)),
            Era(1965, 1970, 0.4, 7700, 0.015, 0.0, (95.0,)),
        ),
    ),
    Make(
        "wide-bar-single-coil", 0.18, Former(60.0, 6.0, 6.4), 1, "42", ("bridge", "neck"),
        6.9e-8, (0.11, 0.11), 0.0, 7.0e-5, 1.1e-10,
        (
            Era(1953, 1960, 0.6, 9900, 0.040, 0.0, (31.0, 38.0)),
            Era(1961, 1970, 0.4, 9650, 0.020, 0.0, (38.0,)),
        ),
    ),
)  # fmt: skip

#: Every alteration of the trial, with its sizes; each pair of them gets the same share.
ALTERATIONS: dict[str, tuple[str, ...]] = {
    "shorted_turns": ("1 %", "2 %", "5 %", "10 %", "20 %"),
    "rewound": ("41 AWG", "43 AWG"),
    "magnet_swapped": ("0.6 x", "0.8 x", "1.3 x", "1.6 x"),
    "magnet_recharged": ("1.15 x",),
    "magnet_aged": ("10 %", "25 %", "50 %"),
    "in_circuit_all": ("500 k", "250 k", "100 k", "50 k", "10 k"),
    "in_circuit_pair_only": ("500 k", "250 k", "100 k", "50 k", "10 k"),
    "in_circuit_coils_unread": ("500 k", "250 k", "100 k", "50 k", "10 k"),
    "temperature_wrong": ("5 K", "10 K", "20 K"),
    "coil_exchanged": ("5 %", "10 %", "20 %"),
}
#: Those that need a pickup of two coils.
_OF_PAIRS = ("in_circuit_pair_only", "coil_exchanged")


@dataclass(frozen=True, slots=True)
class Alteration:
    """What was done to a piece; ``kind`` is a key of :data:`ALTERATIONS`."""

    kind: str
    size: str

    @property
    def amount(self) -> float:
        """Return the size as the number it begins with."""
        return float(self.size.split()[0])


@dataclass(frozen=True, slots=True)
class Pickup:
    """One piece as it truly is. ``across_ohm`` lies over it while it is read, unmarked.

    ``mutual`` is the coupling of two coils; ``shared_metal`` how much metal reached by both adds to
    what it does to each, as a share (see :func:`trial_physics.mutual_ohm`).
    """

    piece_id: str
    make: Make
    year: int
    position: str
    coils: tuple[Coil, ...]
    mutual: float
    shared_metal: float
    field_mt: float
    alteration: Alteration | None = None
    across_ohm: float | None = None
    temperature_slip_k: float = 0.0


def every_alteration() -> tuple[Alteration, ...]:
    """Return each alteration at each of its sizes."""
    return tuple(Alteration(kind, size) for kind, sizes in ALTERATIONS.items() for size in sizes)


def pickups(
    count: int, seed: int, wanted: Sequence[Alteration] = every_alteration(), altered: float = 0.12
) -> tuple[Pickup, ...]:
    """Return an archive's worth of pickups, of which a share was altered, each way in turn."""
    rng = np.random.default_rng(seed)
    number = round(count * altered)
    at = rng.permutation(count)[:number]
    done = {int(place): wanted[i % len(wanted)] for i, place in enumerate(at)}
    return tuple(_pickup(f"tr-{i:05d}", done.get(i), rng) for i in range(count))


def _pickup(piece_id: str, alteration: Alteration | None, rng: np.random.Generator) -> Pickup:
    makes = MAKES
    if alteration is not None and alteration.kind in _OF_PAIRS:
        makes = MAKES[:1]
    make = makes[_drawn([m.share for m in makes], rng)]
    era = make.eras[_drawn([e.share for e in make.eras], rng)]
    gauge = make.gauge
    if alteration is not None and alteration.kind == "rewound":
        gauge = alteration.size[:2] + make.gauge[2:]
        gauge = gauge if gauge in GAUGES else gauge[:2]
    spool = _wire(gauge, rng)
    mean = era.turns * (1.0 + era.pieces_sd * rng.standard_normal())
    metal = make.metal[rng.random() < make.covered] * np.exp(0.12 * rng.standard_normal())
    core = make.henry_per_turn2 * np.exp(0.04 * rng.standard_normal())
    seconds = make.metal_s * np.exp(0.10 * rng.standard_normal())
    packing, stretch = rng.uniform(0.95, 1.10), rng.uniform(0.0, 0.03)
    coils = []
    for _ in range(make.coils):
        turns = round(mean * (1.0 + era.coils_sd * rng.standard_normal()))
        # One pickup's coils mostly come off one spool, whose wire wanders a little.
        of_spool = spool if rng.random() < 0.85 else _wire(gauge, rng)
        bare, overall = (d * (1.0 + 0.003 * rng.standard_normal()) for d in of_spool)
        coils.append(
            Coil(
                float(turns),
                wound_ohm(make.former, turns, bare, overall, packing, stretch),
                core * np.exp(0.01 * rng.standard_normal()),
                float(np.sqrt(metal)),
                seconds,
                make.farad * np.exp(0.1 * rng.standard_normal()),
            )
        )
    strength = era.magnets_mt[rng.integers(len(era.magnets_mt))]
    # What charging left of it, and what time took from it.
    field = strength * np.exp(0.05 * rng.standard_normal()) * (1.0 - rng.beta(2.0, 30.0))
    pickup = Pickup(
        piece_id,
        make,
        int(rng.integers(era.first, era.last + 1)),
        make.positions[rng.integers(len(make.positions))],
        tuple(coils),
        # Some metal is reached by both coils, mostly so that their effects on it cancel.
        0.03 * float(np.exp(0.2 * rng.standard_normal())),
        float(rng.uniform(-0.2, 0.1)),
        float(field),
    )
    return pickup if alteration is None else _altered(pickup, alteration, rng)


def _altered(pickup: Pickup, alteration: Alteration, rng: np.random.Generator) -> Pickup:
    """Return a pickup after something was done to it; a rewound one was wound that way."""
    kind, amount = alteration.kind, alteration.amount
    pickup = replace(pickup, alteration=alteration)
    if kind == "shorted_turns":
        at = int(rng.integers(len(pickup.coils)))
        short = replace(
            pickup.coils[at],
            shorted=amount / 100.0,
            short_coupling=float(rng.uniform(0.85, 0.97)),
            contact_ohm=float(rng.uniform(0.0, 10.0)),
        )
        return _with_coil(pickup, at, short)
    if kind == "coil_exchanged":
        at = int(rng.integers(len(pickup.coils)))
        by = 1.0 + (amount if rng.random() < 0.5 else -amount) / 100.0
        own = pickup.coils[1 - at]
        # From elsewhere: other turns, and wire of another spool of the same gauge.
        bare, overall = _wire(pickup.make.gauge, rng)
        turns = round(own.turns * by)
        ohm = wound_ohm(
            pickup.make.former, turns, bare, overall, rng.uniform(0.95, 1.10), rng.uniform(0, 0.03)
        )
        return _with_coil(pickup, at, replace(pickup.coils[at], turns=float(turns), ohm=ohm))
    if kind in ("magnet_swapped", "magnet_recharged"):
        return replace(pickup, field_mt=pickup.field_mt * amount)
    if kind == "magnet_aged":
        return replace(pickup, field_mt=pickup.field_mt * (1.0 - amount / 100.0))
    if kind == "temperature_wrong":
        return replace(pickup, temperature_slip_k=amount if rng.random() < 0.5 else -amount)
    if kind.startswith("in_circuit"):
        # A control is within 10 % of what it says.
        return replace(pickup, across_ohm=1000.0 * amount * float(rng.uniform(0.9, 1.1)))
    return pickup


def _with_coil(pickup: Pickup, at: int, coil: Coil) -> Pickup:
    coils = list(pickup.coils)
    coils[at] = coil
    return replace(pickup, coils=tuple(coils))


def _wire(gauge: str, rng: np.random.Generator) -> tuple[float, float]:
    """Return the bare and overall diameter of a spool, within the limits of its gauge, mm."""
    least, nominal, most, overall = GAUGES[gauge]
    bare = float(np.clip(nominal * (1.0 + 0.02 * rng.standard_normal()), least, most))
    return bare, overall * (bare / nominal) * (1.0 + 0.01 * float(rng.standard_normal()))


def _drawn(shares: list[float], rng: np.random.Generator) -> int:
    whole = sum(shares)
    return int(rng.choice(len(shares), p=[share / whole for share in shares]))

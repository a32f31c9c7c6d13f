"""Which pieces the invented shop holds, and what happened to whom."""

from __future__ import annotations

from random import Random

from demo_pieces import Plan
from demo_world import MAKES, make

_HUM, _SMALL, _WIDE = "full-size-humbucker", "small-humbucker", "wide-bar-single-coil"
_STAG, _COVERED = "staggered-rod-single-coil", "covered-small-rod-single-coil"
_BASE, _BASS, _STEEL = "base-plate-rod-single-coil", "split-bass", "horseshoe-lap-steel"

#: Stories that happen to single pieces: story, family, first year of the era, how many. A piece has
#: one of them at the most.
PLACED: tuple[tuple[str, str, int, int], ...] = (
    ("rewound", _HUM, 1957, 2), ("rewound", _HUM, 1959, 2), ("rewound", _HUM, 1961, 1),
    ("rewound", _HUM, 1962, 2), ("rewound", _SMALL, 1969, 1), ("rewound", _WIDE, 1953, 2),
    ("rewound", _STAG, 1957, 2), ("rewound", _STAG, 1965, 1), ("rewound", _COVERED, 1951, 1),
    ("rewound", _BASE, 1955, 1), ("rewound", _BASS, 1957, 1),
    ("open-coil", _HUM, 1959, 1), ("open-coil", _STAG, 1957, 1),
    ("shorted-turns", _HUM, 1957, 1), ("shorted-turns", _WIDE, 1953, 1),
    ("shorted-turns", _STAG, 1965, 1),
    ("recharged", _HUM, 1957, 1), ("recharged", _WIDE, 1946, 1), ("recharged", _STAG, 1954, 1),
    ("swapped-magnet", _HUM, 1957, 1), ("swapped-magnet", _HUM, 1959, 1),
    ("dead-magnet", _WIDE, 1946, 1),
    ("in-circuit-known", _HUM, 1957, 1), ("in-circuit-known", _HUM, 1959, 3),
    ("in-circuit-known", _HUM, 1961, 1), ("in-circuit-known", _HUM, 1962, 2),
    ("in-circuit-known", _HUM, 1966, 1), ("in-circuit-known", _WIDE, 1961, 1),
    ("in-circuit-known", _STAG, 1957, 2), ("in-circuit-known", _BASE, 1955, 1),
    ("in-circuit-unknown", _HUM, 1962, 1), ("in-circuit-unknown", _COVERED, 1951, 1),
    ("cold", _HUM, 1959, 1), ("cold", _WIDE, 1953, 1), ("cold", _STAG, 1965, 1),
    ("hot", _HUM, 1957, 1), ("hot", _COVERED, 1965, 1), ("hot", _BASS, 1957, 1),
    ("lapsed", _HUM, 1966, 1), ("lapsed", _SMALL, 1969, 1), ("lapsed", _STAG, 1965, 1),
    ("lapsed", _BASE, 1965, 1),
    ("no-temperature", _HUM, 1962, 1), ("no-temperature", _HUM, 1966, 1),
    ("no-temperature", _WIDE, 1961, 1), ("no-temperature", _BASS, 1965, 1),
    ("pair-only", _HUM, 1957, 2), ("pair-only", _HUM, 1959, 3), ("pair-only", _HUM, 1962, 1),
    ("pair-only", _SMALL, 1959, 2),
    ("leaky-insulation", _COVERED, 1951, 1), ("bad-joint", _HUM, 1959, 1),
    ("contradiction", _HUM, 1957, 1),
)  # fmt: skip

#: Pieces whose true resistance lies on a limit that the reference claims: family, first year of the
#: era, kΩ. ``test_demo_truth.py`` holds each against the reference's claims.
NEAR_LIMIT: tuple[tuple[str, int, float], ...] = (
    (_HUM, 1959, 7.5), (_HUM, 1959, 9.0), (_HUM, 1957, 7.5), (_HUM, 1962, 7.8), (_HUM, 1966, 7.2),
    (_STAG, 1957, 6.4), (_WIDE, 1953, 9.0), (_SMALL, 1969, 7.2),
)  # fmt: skip

UNPUBLISHED, UNKNOWN_POSITION = 8, 15


def plans(seed: str) -> list[Plan]:
    """Return the plans of every piece, in the order in which they came to the bench."""
    made = [Plan(one, era) for one in MAKES for era in one.eras for _ in range(era.pieces)]
    for story, family_id, first, count in PLACED:
        for plan in _free(made, family_id, first)[:count]:
            plan.stories = (story,)
    for family_id, first, kohm in NEAR_LIMIT:
        plan = _free(made, family_id, first)[0]
        plan.stories, plan.aim_kohm = ("near-limit", "untouched"), kohm
    for plan in made:
        if plan.make.family_id == _STEEL:
            plan.stories = ("few-in-family",)
        elif (plan.make.family_id, plan.era.first) == (_HUM, 1956):
            plan.stories = ("few-in-period",)
        elif not plan.stories and (plan.make.family_id, plan.era.first) == (_HUM, 1962):
            plan.stories = ("parts-from-practice",)
    rng = Random(f"{seed}/arrivals")
    for one in MAKES:
        stories = ("few-in-family", "undated") if one.family_id == _STEEL else ("undated",)
        made.extend(
            Plan(one, rng.choice(one.eras), stories, dated=False) for _ in range(one.undated)
        )
    _scatter(rng, made)
    rng.shuffle(made)
    return made


def _free(made: list[Plan], family_id: str, first: int) -> list[Plan]:
    era = next(era for era in make(family_id).eras if era.first == first)
    return [
        plan
        for plan in made
        if plan.make.family_id == family_id and plan.era is era and not plan.stories
    ]


def _scatter(rng: Random, made: list[Plan]) -> None:
    """Leave some pieces out of what is published, and the position of some unsaid."""
    plain = [plan for plan in made if not plan.stories]
    for plan in rng.sample(plain, UNPUBLISHED):
        plan.stories = ("unpublished",)
    plain = [plan for plan in made if not plan.stories and len(plan.make.positions) > 1]
    for plan in rng.sample(plain, UNKNOWN_POSITION):
        plan.stories = ("unknown-position",)

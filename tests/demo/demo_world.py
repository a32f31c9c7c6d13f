"""The invented world: how each family of pickup was wound and magnetised, era by era.

These are the makers' averages of a world that does not exist. They stand near what the reference
documents, apart from the places where ``generate.py`` parts from it on purpose. Bobbins and wires
are written out here, not read from the reference: a later correction there must not change what
these pieces truly are. ``test_demo_physics.py`` says so when the two part.
"""

from __future__ import annotations

from dataclasses import dataclass

from demo_physics import Core


@dataclass(frozen=True, slots=True)
class Stock:
    """A gauge of wire as it was bought: diameters in mm as least, nominal, most."""

    wire_id: str
    gauge: str
    bare: tuple[float, float, float]
    overall: tuple[float, float, float]


WIRES = {
    wire.wire_id: wire
    for wire in (
        Stock("awg-42-single", "42 AWG", (0.061, 0.0635, 0.066), (0.066, 0.071, 0.076)),
        Stock("awg-42-heavy", "42 AWG", (0.061, 0.0635, 0.066), (0.071, 0.076, 0.081)),
        Stock("awg-43-single", "43 AWG", (0.053, 0.05588, 0.058), (0.058, 0.062, 0.066)),
        Stock("awg-38-single", "38 AWG", (0.099, 0.1016, 0.104), (0.107, 0.113, 0.119)),
    )
}


@dataclass(frozen=True, slots=True)
class Era:
    """Some years of a family: pieces from them in the archive, and how their coils were wound.

    ``turns_sd`` is the spread between pickups, ``uneven_sd`` the further spread of each coil of a
    pair. ``wire_sd_mm`` is how much the wire's bare diameter wandered between spools. ``grades``
    are the magnets' grades that went in; ``bars`` their length and thickness in mm.
    """

    first: int
    last: int
    pieces: int
    turns: int
    turns_sd: float
    uneven_sd: float = 0.0
    wire_id: str = "awg-42-single"
    insulation: str = "plain enamel"
    wire_sd_mm: float = 0.0013
    grades: tuple[str, ...] = ("5",)
    bar: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Make:
    """A family of the invented world.

    ``henry_per_turn2`` times the turns squared is a coil's inductance on its cores. ``mt_per_t`` is
    the field at a pole for each tesla of the bar's magnetisation; a rod's field is computed from
    its own shape. ``spacing_mm`` is that of the outer poles, then of some made for a narrow neck.
    """

    family_id: str
    core: Core
    coils: int
    positions: tuple[str, ...]
    eras: tuple[Era, ...]
    henry_per_turn2: float
    picofarad: tuple[float, float]
    gram: tuple[float, float]
    spacing_mm: tuple[float, ...]
    undated: int
    bobbin_material: str
    cover: tuple[str, ...]
    lead: tuple[str, ...]
    magnet_count: int
    mt_per_t: float | None = None
    rod_mm: tuple[float, float] | None = None
    potted: tuple[str, ...] = ("no",)


#: Magnetisation that a grade keeps in a pickup, mT, as a bar across two rows of steel and as a rod
#: standing free. Invented, of the size that the grades' open-circuit behaviour allows.
BAR_MT = {"2": 385.0, "3": 350.0, "4": 340.0, "5": 450.0, "8": 560.0, "steel": 420.0}
ROD_MT = {"2": 205.0, "3": 190.0, "4": 195.0, "5": 265.0}

_MIXED = ("2", "2", "3", "4", "5", "5")
_BRAID = ("braided metal over cloth",)

MAKES: tuple[Make, ...] = (
    Make(
        "full-size-humbucker", Core(64, 4.8, 6.4), 2, ("bridge", "neck"),
        (
            Era(1956, 1956, 5, 4850, 120, 170, grades=_MIXED, bar=(63.5, 3.18)),
            Era(1957, 1958, 20, 4960, 130, 230, grades=_MIXED, bar=(63.5, 3.18)),
            Era(1959, 1960, 23, 5150, 170, 270, grades=_MIXED, bar=(63.5, 3.18)),
            Era(1961, 1961, 10, 4950, 120, 180, grades=_MIXED, bar=(60.3, 3.0)),
            # Here the archive and practice part: benches are told 8.5 kΩ or 7.5 kΩ.
            Era(1962, 1965, 20, 4810, 60, 70, grades=("2", "5", "5"), bar=(60.3, 3.0),
                wire_sd_mm=0.0007),
            Era(1966, 1970, 14, 4640, 20, 12, insulation="polyurethane", bar=(60.3, 3.0),
                wire_sd_mm=0.0006),
        ),
        8.6e-8, (116, 14), (146, 5), (49.2, 46.0), 8, "butyrate", ("nickel silver",),
        _BRAID, 1, mt_per_t=0.103,
    ),
    Make(
        "small-humbucker", Core(54, 3.6, 6.0), 2, ("bridge", "neck"),
        (
            Era(1959, 1968, 11, 4800, 140, 120, bar=(57.2, 3.2), grades=("2", "5", "5")),
            Era(1969, 1980, 12, 4750, 60, 40, insulation="polyurethane", bar=(57.2, 3.2),
                wire_sd_mm=0.0008),
        ),
        6.6e-8, (118, 13), (92, 4), (49.2,), 3, "other plastic", ("nickel silver",), _BRAID, 1,
        mt_per_t=0.098,
    ),
    Make(
        "wide-bar-single-coil", Core(60, 6.0, 6.4), 1, ("bridge", "neck"),
        (
            Era(1946, 1952, 9, 9600, 330, grades=("2", "3", "4", "5"), bar=(63.5, 3.18)),
            Era(1953, 1960, 12, 10000, 350, grades=_MIXED, bar=(63.5, 3.18)),
            Era(1961, 1970, 10, 9650, 180, grades=("5", "5", "2"), bar=(63.5, 3.18),
                wire_sd_mm=0.0009),
        ),
        6.9e-8, (120, 13), (128, 5), (49.2,), 3, "butyrate", ("plastic",), _BRAID, 2,
        mt_per_t=0.118,
    ),
    Make(
        "staggered-rod-single-coil", Core(57.2, 4.8, 11.1), 1, ("bridge", "middle", "neck"),
        (
            Era(1954, 1956, 6, 8300, 260, wire_id="awg-42-heavy", insulation="heavy formvar"),
            Era(1957, 1964, 15, 8050, 210, wire_id="awg-42-heavy", insulation="heavy formvar"),
            Era(1965, 1970, 11, 7650, 60, wire_sd_mm=0.0008),
        ),
        3.75e-8, (104, 12), (62, 3), (52.4,), 2, "fibre", ("plastic",), ("cloth",), 6,
        rod_mm=(17.0, 4.76), potted=("yes", "yes", "no"),
    ),
    Make(
        "covered-small-rod-single-coil", Core(55.3, 4.8, 7.5), 1, ("neck",),
        (
            Era(1951, 1964, 13, 8050, 230, wire_id="awg-43-single", wire_sd_mm=0.0011),
            Era(1965, 1970, 10, 8000, 80, wire_id="awg-43-single", wire_sd_mm=0.0008),
        ),
        3.3e-8, (128, 13), (58, 3), (50.5,), 1, "fibre", ("brass", "nickel silver"), ("cloth",), 6,
        rod_mm=(13.0, 4.76), potted=("yes", "no"),
    ),
    Make(
        "base-plate-rod-single-coil", Core(59.3, 4.8, 10.8), 1, ("bridge",),
        (
            Era(1950, 1951, 3, 9800, 200, wire_id="awg-43-single", grades=("3",)),
            Era(1952, 1954, 5, 9400, 240, grades=("3",)),
            Era(1955, 1964, 9, 8900, 260),
            Era(1965, 1970, 4, 8400, 80, wire_sd_mm=0.0008),
        ),
        4.1e-8, (126, 13), (84, 4), (54.5,), 1, "fibre", ("none",), ("cloth",), 6,
        rod_mm=(16.0, 4.76), potted=("yes", "yes", "no"),
    ),
    Make(
        "split-bass", Core(36, 4.8, 10.0), 2, ("middle",),
        (
            Era(1957, 1964, 9, 10000, 200, 160, wire_id="awg-42-heavy",
                insulation="heavy formvar"),
            Era(1965, 1970, 7, 9850, 80, 50, wire_sd_mm=0.0008),
        ),
        3.0e-8, (138, 15), (118, 5), (64.5,), 1, "fibre", ("plastic",), ("cloth",), 8,
        rod_mm=(16.0, 4.76), potted=("no", "yes"),
    ),
    Make(
        "horseshoe-lap-steel", Core(64, 12, 9.0), 1, ("bridge",),
        (
            Era(1932, 1942, 2, 5050, 150, wire_id="awg-38-single", grades=("steel",)),
            Era(1946, 1957, 2, 4950, 150, wire_id="awg-38-single", grades=("steel",)),
        ),
        6.2e-8, (96, 10), (455, 12), (57.0,), 1, "fibre", ("none",), ("cloth",), 2,
        mt_per_t=0.075,
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mark:
    """A feature that pieces of a family may show: its id, its years, how often it is there."""

    feature_id: str
    families: tuple[str, ...]
    first: int
    last: int
    share: float


_HUM = ("full-size-humbucker",)
_HUMS = ("full-size-humbucker", "small-humbucker")
_RODS = (
    "staggered-rod-single-coil", "covered-small-rod-single-coil", "base-plate-rod-single-coil",
    "split-bass",
)  # fmt: skip

MARKS: tuple[Mark, ...] = (
    Mark("lead-braided-metal", (*_HUMS, "wide-bar-single-coil"), 1900, 2000, 0.8),
    Mark("lead-cloth", _RODS, 1900, 1966, 0.85),
    Mark("lead-plastic", _RODS, 1968, 2000, 0.8),
    Mark("cover-nickel-silver", _HUMS, 1957, 1965, 0.7),
    Mark("cover-chromium", _HUMS, 1967, 2000, 0.7),
    Mark("cover-never-opened", _HUMS, 1900, 2000, 0.3),
    Mark("cover-brass", ("covered-small-rod-single-coil",), 1900, 2000, 0.4),
    Mark("bobbin-square-window", _HUM, 1956, 1966, 0.25),
    Mark("bobbin-pale", _HUM, 1959, 1960, 0.3),
    Mark("bobbin-fibre-dark-below", _RODS, 1900, 1963, 0.5),
    Mark("bobbin-fibre-grey-below", _RODS, 1965, 1968, 0.7),
    Mark("bobbin-date-written", _RODS, 1954, 1966, 0.35),
    Mark("label-applied-for", _HUM, 1957, 1961, 0.6),
    Mark("label-patent-number", _HUM, 1963, 1965, 0.7),
    Mark("base-stamped-number", _HUM, 1966, 1970, 0.7),
    Mark("base-steel-copper-plated", ("base-plate-rod-single-coil",), 1952, 2000, 0.6),
    Mark("magnet-long-bar", _HUM, 1956, 1960, 0.3),
    Mark("magnet-short-bar", _HUM, 1962, 1970, 0.3),
    Mark("tape-cloth-string", ("base-plate-rod-single-coil",), 1900, 2000, 0.6),
    Mark("wire-formvar", ("staggered-rod-single-coil", "split-bass"), 1955, 1963, 0.4),
)


def make(family_id: str) -> Make:
    """Return the make of a family."""
    return next(m for m in MAKES if m.family_id == family_id)

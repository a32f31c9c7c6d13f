"""The true pieces: one pickup drawn from its make and era, with what its story did to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from demo_physics import Winding, coil_ohm, resonance_hz, rod_face_mt
from demo_world import BAR_MT, MARKS, ROD_MT, WIRES, Era, Make, Stock

#: How deep the flux meter's sensing spot lies below its face, mm.
PROBE_MM = 0.5
#: Two coils over one magnet lend each other a little inductance.
MUTUAL = 1.04


@dataclass(slots=True)
class Plan:
    """What is asked of a piece before it is drawn. ``aim_kohm`` fixes its true resistance."""

    make: Make
    era: Era
    stories: tuple[str, ...] = ()
    dated: bool = True
    aim_kohm: float | None = None


@dataclass(slots=True)
class Coil:
    """A coil as it truly is. ``ohm`` is at 20 °C and None for an open coil."""

    component: str
    winding: Winding
    gauge: str
    insulation: str
    ohm: float | None
    henry: float


@dataclass(slots=True)
class Truth:
    """A piece as it truly is, and what the shop wrote about it."""

    piece_id: str
    plan: Plan
    year: int
    coils: tuple[Coil, ...]
    joint_ohm: float
    picofarad: float
    grade: str
    magnet_mm: tuple[float, ...]
    flux_mt: float
    spacing_mm: float
    gram: float
    insulation_mohm: float
    potting: str
    lead: str
    cover: str
    position: str = ""
    year_first: int | None = None
    year_last: int | None = None
    year_basis: str = ""
    state: str = "untouched"
    condition: str = ""
    potted: str = "no"
    features: tuple[str, ...] = ()
    publish: bool = True
    remark: str = ""
    private: dict[str, str] = field(default_factory=dict)

    @property
    def stories(self) -> tuple[str, ...]:
        """Return the piece's stories."""
        return self.plan.stories

    @property
    def ohm(self) -> float | None:
        """Return the resistance between the outer leads at 20 °C, Ω; None if open."""
        parts = [coil.ohm for coil in self.coils]
        known = [ohm for ohm in parts if ohm is not None]
        return sum(known) + self.joint_ohm if len(known) == len(parts) else None

    @property
    def henry(self) -> float | None:
        """Return the inductance between the outer leads, H; None if open."""
        if self.ohm is None:
            return None
        total = sum(coil.henry for coil in self.coils)
        return total * MUTUAL if self.plan.make.family_id.endswith("humbucker") else total

    @property
    def hertz(self) -> float | None:
        """Return the unloaded resonance, Hz; None if open."""
        return None if self.henry is None else resonance_hz(self.henry, self.picofarad * 1e-12)


def _within(rng: Random, mean: float, sd: float, low: float, high: float) -> float:
    """Draw from a normal distribution, again until it falls inside."""
    while True:
        drawn = rng.gauss(mean, sd)
        if low <= drawn <= high:
            return drawn


def _spool(rng: Random, stock: Stock, era: Era) -> tuple[float, float]:
    """Draw the wire's bare and overall diameter, mm."""
    low, nominal, high = stock.bare
    bare = _within(rng, nominal, era.wire_sd_mm, low, high)
    low, nominal, high = stock.overall
    return bare, _within(rng, nominal, 0.002, max(low, bare + 0.003), high)


def _wind(rng: Random, plan: Plan) -> tuple[Coil, ...]:
    """Draw the coils, as wound at the works or, if the story says so, by a rewinder."""
    make, era = plan.make, plan.era
    rewound = "rewound" in plan.stories
    stock = WIRES[era.wire_id]
    insulation = "polyurethane" if rewound else era.insulation
    bare, overall = _spool(rng, stock, era)
    turns = rng.gauss(era.turns, era.turns_sd)
    if rewound:
        turns = era.turns * rng.choice((0.88, 0.93, 1.06, 1.1, 1.14))
    coils = []
    for component in ("coil_a", "coil_b")[: make.coils] if make.coils == 2 else ("coil",):
        own = turns + rng.gauss(0.0, 10.0 if rewound else era.uneven_sd)
        winding = Winding(
            turns=round(own),
            bare_mm=bare,
            overall_mm=overall,
            packing=rng.triangular(0.87, 1.2, 1.03),
            stretch=rng.uniform(0.0, 0.03),
        )
        ohm = coil_ohm(make.core, winding)
        henry = make.henry_per_turn2 * own**2 * rng.gauss(1.0, 0.02)
        coils.append(Coil(component, winding, stock.gauge, insulation, ohm, henry))
    return tuple(coils)


def _aim(coils: tuple[Coil, ...], make: Make, aim_kohm: float) -> None:
    """Change the turns, all coils alike, until the pickup comes as near the aim as turns allow."""
    for _ in range(8):
        ratio = aim_kohm * 1000 / sum(coil.ohm or 0.0 for coil in coils)
        for coil in coils:
            old = coil.winding
            turns = round(old.turns * (1 + (ratio - 1) / 1.085))
            coil.winding = Winding(turns, old.bare_mm, old.overall_mm, old.packing, old.stretch)
            coil.ohm = coil_ohm(make.core, coil.winding)
            coil.henry *= (turns / old.turns) ** 2


def _harm(rng: Random, coils: tuple[Coil, ...], stories: tuple[str, ...]) -> None:
    """Do to a coil what the story says: break it, or short some of its turns."""
    coil = coils[-1]
    if "open-coil" in stories:
        coil.ohm = None
    if "shorted-turns" in stories and coil.ohm is not None:
        # The turns that are out take their copper along; the closed loop that they make takes
        # far more of the inductance.
        coil.ohm *= rng.uniform(0.93, 0.96)
        coil.henry *= rng.uniform(0.38, 0.5)


def _magnet(rng: Random, plan: Plan, year: int) -> tuple[str, tuple[float, ...], float]:
    """Draw the magnet: its grade, its edges in mm, and the field at a pole in mT."""
    make, era = plan.make, plan.era
    grade = rng.choice(era.grades)
    kept = 1 - 0.02 - (2025 - year) * rng.uniform(0.0003, 0.0022)
    if "recharged" in plan.stories:
        kept = 0.62
    if "dead-magnet" in plan.stories:
        kept = 0.08
    if "swapped-magnet" in plan.stories:
        grade, kept = "8", 0.99
    if make.rod_mm is not None:
        length = make.rod_mm[0] + rng.gauss(0.0, 0.15)
        diameter = make.rod_mm[1] + rng.gauss(0.0, 0.02)
        face = rod_face_mt(ROD_MT[grade] * kept, length, diameter, PROBE_MM)
        return grade, (length, diameter), face * rng.gauss(1.0, 0.02)
    face = (make.mt_per_t or 0.0) * BAR_MT[grade] * kept * rng.gauss(1.0, 0.04)
    if era.bar is None:
        return grade, (), face
    length, thickness = era.bar
    if "swapped-magnet" in plan.stories:
        length = 50.8
    edges = (rng.gauss(length, 0.25), rng.gauss(12.7, 0.06), rng.gauss(thickness, 0.03))
    return grade, edges, face


def _features(rng: Random, truth: Truth) -> tuple[str, ...]:
    """Draw features that the years allow, in the order of the world's list."""
    first = truth.year_first or truth.year
    last = truth.year_last or truth.year
    family = truth.plan.make.family_id
    seen = [
        mark.feature_id
        for mark in MARKS
        if family in mark.families
        and mark.first <= first
        and last <= mark.last
        and rng.random() < mark.share
    ]
    if "rewound" in truth.stories:
        seen = [f for f in seen if not f.startswith(("wire-", "tape-", "cover-never"))]
    if truth.lead == "four-conductor":
        seen = [f for f in seen if not f.startswith(("lead-", "cover-never"))]
        seen.append("lead-four-conductor")
    if "contradiction" in truth.stories:
        seen = [f for f in seen if not f.startswith("label-")] + ["base-stamped-number"]
    return tuple(seen)


def _years(rng: Random, truth: Truth) -> None:
    """Write down years: as exact as what they rest on."""
    era, year = truth.plan.era, truth.year
    narrow, wide = rng.choice(_YEAR_BASIS_EXACT), rng.choice(_YEAR_BASIS_WIDE)
    if rng.random() < 0.6 or era.first == era.last:
        truth.year_first = truth.year_last = year
        truth.year_basis = narrow
    else:
        # Most people stop at a period's edge; some spans run over it.
        over = not truth.stories and rng.random() < 0.3
        eras = truth.plan.make.eras if over else (era,)
        truth.year_first = max(eras[0].first, year - rng.randrange(3))
        truth.year_last = min(eras[-1].last, year + rng.randrange(1, 3))
        truth.year_basis = wide


_YEAR_BASIS_EXACT = (
    "serial number of the instrument it came in",
    "dates on other parts of the same instrument",
    "bill of sale kept with the instrument",
    "date on the parts, read with a lens",
)
_YEAR_BASIS_WIDE = (
    "features of the instrument it came in",
    "label, base and screws taken together",
    "said when it was brought in; features do not contradict it",
    "lead and fibre taken together",
)
_CONDITIONS = (
    "",
    "",
    "",
    "plating worn on one corner of the cover",
    "dust between the poles, otherwise clean",
    "two screws rusted in place, left alone",
    "lead frayed at the end",
    "lead shortened, about 12 cm left",
    "old solder on the base, looks first",
    "slight bow in the base plate",
    "tape lifting at one end",
    "rattles faintly when shaken",
    "dry fibre, a hairline crack at one corner",
    "dull and even all over; nothing loose",
)
_STORY_CONDITIONS = {
    "rewound": ("fresh tape and bright wire at the last turn", "new coil on the old parts"),
    "open-coil": ("no reading through the last coil; green spot at its lead",),
    "shorted-turns": ("thin and dull sound reported; a dent in the side of the coil",),
    "recharged": ("weak when it came in; charged again at the bench",),
    "dead-magnet": ("hardly draws a paper clip",),
    "swapped-magnet": ("bar is shorter than its place, packed out with card",),
    "bad-joint": ("grey, cracked joint where the two coils are joined",),
}


def draw(piece_id: str, plan: Plan, rng: Random) -> Truth:
    """Draw one true piece and the shop's words about it."""
    make, era, stories = plan.make, plan.era, plan.stories
    year = rng.randint(era.first, era.last)
    coils = _wind(rng, plan)
    if plan.aim_kohm is not None:
        _aim(coils, make, plan.aim_kohm)
    _harm(rng, coils, stories)
    grade, edges, flux = _magnet(rng, plan, year)
    position = rng.choice(make.positions)
    narrow = len(make.spacing_mm) > 1 and position == "neck" and rng.random() < 0.35
    potted = rng.choice(make.potted)
    lead = make.lead[0]
    if lead == "cloth" and year > 1967:
        lead = "plastic"
    truth = Truth(
        piece_id=piece_id,
        plan=plan,
        year=year,
        coils=coils,
        joint_ohm=420.0 if "bad-joint" in stories else 0.0,
        picofarad=max(60.0, rng.gauss(*make.picofarad)),
        grade=grade,
        magnet_mm=edges,
        flux_mt=flux,
        spacing_mm=make.spacing_mm[1 if narrow else 0] + rng.gauss(0.0, 0.08),
        gram=rng.gauss(*make.gram),
        insulation_mohm=2.6 if "leaky-insulation" in stories else 10 ** rng.uniform(1.5, 3.3),
        potting="wax" if potted == "yes" else "none",
        lead=lead,
        cover=_cover(rng, make, year),
        position=position,
        potted=potted,
    )
    _describe(rng, truth)
    return truth


def _cover(rng: Random, make: Make, year: int) -> str:
    if make.family_id == "full-size-humbucker" and year == 1956:
        return "steel"
    if make.family_id == "covered-small-rod-single-coil":
        return rng.choice(make.cover) if year < 1965 else make.cover[-1]
    return make.cover[0]


def _describe(rng: Random, truth: Truth) -> None:
    """Fill in what the shop wrote: years, state, condition, features, private notes."""
    plan, stories = truth.plan, truth.stories
    if plan.dated:
        _years(rng, truth)
    if "contradiction" in stories:
        truth.year_first = truth.year_last = 1958
        truth.year_basis = "said when it was brought in"
        truth.remark = "base and year do not go together; the base may be from another piece"
    if "unknown-position" in stories:
        truth.position = ""
    chance = rng.random()
    if "rewound" in stories:
        truth.state = "rewound"
    elif "untouched" not in stories and not set(stories) & _STORY_CONDITIONS.keys():
        truth.state = "repaired" if chance < 0.08 else "unknown" if chance < 0.14 else "untouched"
    if {"recharged", "swapped-magnet"} & set(stories):
        truth.state = "repaired"
    if truth.state == "repaired" and plan.make.family_id.endswith("humbucker"):
        truth.lead = rng.choice(("four-conductor", truth.lead))
    if rng.random() < 0.07:
        truth.potted = "unknown"
    special = next((s for s in stories if s in _STORY_CONDITIONS), None)
    truth.condition = rng.choice(_STORY_CONDITIONS[special] if special else _CONDITIONS)
    truth.features = _features(rng, truth)
    truth.publish = "unpublished" not in stories
    truth.private = {
        "private_customer": f"ticket {rng.randrange(1, 1000):04d} shelf {rng.choice('ABCDEF')}",
        "private_price": str(rng.randrange(12, 90) * 5),
    }

"""A piece at the bench: which readings are taken of it, with what, and what is written down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import partial
from random import Random

from demo_bench import (
    HAND_METER_DUE,
    meter,
    write_capacitance,
    write_flux,
    write_frequency,
    write_inductance,
    write_length,
    write_mass,
    write_ratio,
    write_sixteenths,
)
from demo_more import held, more_readings
from demo_physics import probed_hz, quality, warm_ohm
from demo_pieces import Coil, Truth
from demo_sitting import Bench, Taken, digits

#: Shares of pieces read as a parallel equivalent, and of those read with their quality factor.
_PARALLEL_SHARE, _QUALITY_SHARE = 0.035, 0.2
#: What cores, cover and magnet lose, as a share of the reactance.
_CORE_LOSS = 0.07
#: The insulation tester's end, MΩ.
TESTER_END_MOHM = 100.0
_COLD_C, _HOT_C = 12.0, 31.0
COLD_DAY, HOT_DAY = dt.date(2026, 1, 19), dt.date(2025, 8, 12)
LAPSED_DAYS = (dt.date(2025, 12, 9), dt.date(2026, 1, 20), dt.date(2026, 2, 10))


#: A way of reading a resistance: component, property, true Ω.
Read = Callable[[str, str, float | None], None]


def _resistances(truth: Truth, read: Read) -> None:
    """Read every coil's resistance and, of two, the pair's."""
    for coil in truth.coils:
        read(coil.component, "coil-resistance", coil.ohm)
    if len(truth.coils) == 2:
        read("pair", "pair-resistance", truth.ohm)


def _outer(truth: Truth, read: Read) -> None:
    """Read the resistance between the outer leads only, as one can without taking leads off."""
    if len(truth.coils) == 2:
        read("pair", "pair-resistance", truth.ohm)
    else:
        read("coil", "coil-resistance", truth.ohm)


_KNOWN_PARALLEL = (
    ("500k", 500_000.0, 10.0),
    ("250k", 250_000.0, 10.0),
    ("250 kΩ", 250_000.0, 20.0),
    ("500 kΩ", 500_000.0, 20.0),
    ("0.5 M", 500_000.0, 10.0),
)


def _copper(bench: Bench, date: dt.date) -> None:
    """Take the copper readings, by whatever story the piece has."""
    truth, rng, read = bench.truth, bench.rng, bench.resistance
    stories = truth.stories
    hand = date <= HAND_METER_DUE and rng.random() < 0.4
    if "in-circuit-known" in stories:
        part, remark = rng.choice(_KNOWN_PARALLEL), "through the volume control, full up"
        tag = ("in-circuit-known",)
        _outer(truth, partial(read, in_circuit=part, stories=tag, remark=remark))
    elif "in-circuit-unknown" in stories:
        hidden, remark = rng.choice((300_000.0, 180_000.0)), "still in the instrument"
        tag = ("in-circuit-unknown",)
        _outer(truth, partial(read, hidden_ohm=hidden, stories=tag, remark=remark))
    elif "cold" in stories:
        bench.sit(COLD_DAY, rng.gauss(_COLD_C, 0.2))
        remark = "early, before the stove was lit"
        _resistances(truth, partial(read, stories=("cold",), remark=remark))
    elif "hot" in stories:
        bench.sit(HOT_DAY, rng.gauss(_HOT_C, 0.2))
        _resistances(truth, partial(read, stories=("hot",), remark="in the heat of the afternoon"))
    elif "lapsed" in stories:
        _resistances(truth, partial(read, hand_meter=True, stories=("lapsed",)))
    elif "no-temperature" in stories:
        _outer(truth, partial(read, no_temperature=True, stories=("no-temperature",)))
    elif "pair-only" in stories:
        _outer(truth, partial(read, hand_meter=hand))
    else:
        _resistances(truth, partial(read, hand_meter=hand))
    if {"cold", "hot"} & set(stories):
        bench.sit(date)
        _resistances(truth, partial(read, remark="again, on a mild day"))
    elif not stories and rng.random() < 0.1:
        bench.sit(date + dt.timedelta(days=1))
        _outer(truth, partial(read, remark="again, after a night on the bench"))


def _coil_reactances(bench: Bench) -> None:
    truth, rng = bench.truth, bench.rng
    bridge = meter("lcr-bridge", "inductance")
    frequency = rng.choice(("1 kHz", "1000 Hz", "120 Hz", "1kHz"))
    both = len(truth.coils) == 2
    parallel = not both and bench.more.random() < _PARALLEL_SHARE
    watched = parallel or bench.more.random() < _QUALITY_SHARE
    if watched:  # at mains hum's frequency a pickup's quality says little
        frequency = "1 kHz"

    def inductance(component: str, property_id: str, henry: float, ohm: float) -> None:
        q = quality(henry, warm_ohm(ohm, bench.piece_c), 1000.0, _CORE_LOSS)
        shown = henry * (1 + q**-2) if parallel else henry
        bench.quantity(
            component, property_id, bridge, henry * 1000, write_inductance,
            unit="H", unit_in_counts=1000, seen=shown * 1000,
            circuit="free", test_frequency=frequency,
            equivalent="parallel" if parallel else "",
        )  # fmt: skip
        if watched:
            bench.later.append(
                partial(
                    bench.quantity,
                    component, property_id.replace("inductance", "quality"),
                    meter("lcr-bridge", "ratio"), q, write_ratio,
                    unit="1", circuit="free", test_frequency=frequency,
                )
            )  # fmt: skip

    def each(coil: Coil) -> None:
        if coil.ohm is not None:
            inductance(coil.component, "coil-inductance", coil.henry, coil.ohm)

    if not both or rng.random() < 0.5 or "shorted-turns" in truth.stories:
        for coil in truth.coils:
            each(coil)
    if both and truth.henry is not None and truth.ohm is not None:
        inductance("pair", "pair-inductance", truth.henry, truth.ohm)
    if truth.hertz is None or truth.henry is None or truth.ohm is None:
        return
    if rng.random() < 0.75:
        clips = meter("lcr-bridge", "capacitance")
        bench.quantity(
            "pickup", "self-capacitance", clips, truth.picofarad, write_capacitance,
            unit="pF", seen=truth.picofarad + clips.input_pf,
            circuit="free", test_frequency="100 kHz",
        )  # fmt: skip
    if rng.random() < 0.85:
        sweep = meter("sweep-oscillator", "frequency")
        seen = probed_hz(
            truth.henry, truth.ohm, truth.picofarad * 1e-12, sweep.input_pf * 1e-12, sweep.input_ohm
        )
        bench.quantity(
            "pickup", "resonant-frequency", sweep, truth.hertz, write_frequency,
            unit="kHz", unit_in_counts=1000, seen=seen, circuit="free",
        )  # fmt: skip


def _flux(bench: Bench, date: dt.date) -> None:
    truth, stories = bench.truth, bench.truth.stories
    gauss_meter = meter("flux-meter", "flux_density")

    def read(flux_mt: float, tag: tuple[str, ...], remark: str) -> None:
        seen, cells = held(bench, flux_mt)
        bench.quantity(
            "magnet", "pole-flux-density", gauss_meter, flux_mt, write_flux,
            unit="mT", seen=seen, stories=tag, remark=remark, **cells,
        )  # fmt: skip

    if "dead-magnet" in stories:
        bench.note(
            "magnet", "pole-flux-density", ("<5", "mT"), digits(truth.flux_mt), "mT",
            instrument_id="flux-meter", stories=("dead-magnet",), remark="the pointer hardly moves",
        )  # fmt: skip
    elif "recharged" in stories:
        read(truth.flux_mt, ("recharged",), "before charging")
        bench.sit(date + dt.timedelta(days=bench.rng.randrange(2, 9)))
        # The piece came in with 0.62 of what a full charge leaves, and goes out with 0.98 of it.
        read(truth.flux_mt / 0.62 * 0.98, ("recharged",), "after charging")
        bench.sit(date)
    else:
        read(truth.flux_mt, (), "")


def _dimensions(bench: Bench) -> None:
    truth, rng = bench.truth, bench.rng
    calipers, rule = meter("calipers", "length"), meter("steel-rule", "length")

    def length(component: str, property_id: str, millimetre: float, by_rule: bool) -> None:
        bench.quantity(
            component, property_id, rule if by_rule else calipers, millimetre,
            write_sixteenths if by_rule else write_length, unit="mm",
        )  # fmt: skip

    length("pickup", "pole-spacing", truth.spacing_mm, rng.random() < 0.3)
    make = truth.plan.make
    if make.rod_mm is not None and rng.random() < 0.7:
        length("pickup", "pole-diameter", truth.magnet_mm[1], by_rule=False)
    if make.rod_mm is None and truth.magnet_mm and _opened(bench):
        edges = ("magnet-length", "magnet-width", "magnet-thickness")
        for component in ("magnet_a", "magnet_b")[: make.magnet_count]:
            component = component if make.magnet_count == 2 else "magnet"
            for edge, true_mm in zip(edges, truth.magnet_mm, strict=True):
                by_rule = edge == "magnet-length" and rng.random() < 0.4
                length(component, edge, true_mm + rng.gauss(0.0, 0.02), by_rule)
    if "swapped-magnet" in truth.stories:
        bench.note(
            "magnet", "magnet-grade", ("8", ""), truth.grade, "", stories=("swapped-magnet",),
            remark="as marked in ink on the bar's end",
        )  # fmt: skip
    if rng.random() < 0.8:
        bench.quantity(
            "pickup", "pickup-mass", meter("scale", "mass"), truth.gram, write_mass, unit="g"
        )


def _opened(bench: Bench) -> bool:
    """Whether somebody could get at the magnet with calipers."""
    return "swapped-magnet" in bench.truth.stories or bench.rng.random() < 0.35


def _insulation(bench: Bench) -> None:
    truth, rng = bench.truth, bench.rng
    if "leaky-insulation" not in truth.stories and rng.random() < 0.6:
        return
    tester = meter("insulation-tester", "resistance")
    if truth.insulation_mohm < TESTER_END_MOHM * 0.95:
        shown = tester.shows(truth.insulation_mohm, rng)
        written, qualifier = (f"{shown:.1f} MΩ", ""), ""
    else:
        written, qualifier = rng.choice(
            (((">100M", ""), ""), (("> 100 MΩ", ""), ""), (("100", "MΩ"), ">"), (("OL", ""), ""))
        )
    bench.note(
        "pickup", "insulation-resistance", written, digits(truth.insulation_mohm), "MΩ",
        instrument_id=tester.instrument_id, qualifier=qualifier,
        stories=("bound",) if truth.insulation_mohm >= TESTER_END_MOHM * 0.95 else (),
    )  # fmt: skip


def _words(bench: Bench) -> None:
    truth, rng = bench.truth, bench.rng
    make, coil = truth.plan.make, truth.coils[0]
    if rng.random() < 0.6:
        bench.word(coil.component, "wire-gauge", coil.gauge)
    if rng.random() < 0.4:
        bench.word(coil.component, "wire-insulation", coil.insulation)
    if rng.random() < 0.5:
        bench.word("cover", "cover-metal", truth.cover)
    if rng.random() < 0.5:
        bench.word("pickup", "bobbin-plastic", make.bobbin_material)
    if rng.random() < 0.6:
        bench.word("lead", "lead-wire", truth.lead)
    if rng.random() < 0.4 and truth.potted != "unknown":
        bench.word("pickup", "potting", truth.potting)
    if rng.random() < 0.4:
        count = make.magnet_count
        bench.note("pickup", "magnet-count", (str(count), "pieces"), str(count), "pieces")


def measure(truth: Truth, date: dt.date, rng: Random, more: Random) -> list[Taken]:
    """Take a piece through the bench and return what was written."""
    bench = Bench(truth, date, rng, more)
    _copper(bench, date)
    _coil_reactances(bench)
    _flux(bench, date)
    _dimensions(bench)
    _insulation(bench)
    _words(bench)
    more_readings(bench)
    return bench.taken

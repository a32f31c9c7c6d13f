"""A piece at the bench: which readings are taken of it, with what, and what is written down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from random import Random

from demo_bench import (
    HAND_METER_DUE,
    Meter,
    Sitting,
    meter,
    write_capacitance,
    write_flux,
    write_frequency,
    write_inductance,
    write_length,
    write_mass,
    write_resistance,
    write_sixteenths,
    write_temperature,
)
from demo_physics import beside_ohm, warm_ohm
from demo_pieces import Coil, Truth

#: The insulation tester's end, MΩ.
TESTER_END_MOHM = 100.0
_COLD_C, _HOT_C = 12.0, 31.0
COLD_DAY, HOT_DAY = dt.date(2026, 1, 19), dt.date(2025, 8, 12)
LAPSED_DAYS = (dt.date(2025, 12, 9), dt.date(2026, 1, 20), dt.date(2026, 2, 10))


@dataclass(slots=True)
class Taken:
    """A row of readings.csv, and beside it the truth in the property's unit."""

    row: dict[str, str]
    truth: str
    unit: str
    stories: tuple[str, ...]


def _digits(value: float) -> str:
    """Return a true value with digits enough for any comparison."""
    return f"{value:.6g}"


class Bench:
    """One piece's sitting: takes readings and keeps them in order."""

    def __init__(self, truth: Truth, date: dt.date, rng: Random) -> None:
        self.truth, self.rng = truth, rng
        self.taken: list[Taken] = []
        self.sit(date)

    def sit(self, date: dt.date, celsius: float | None = None) -> None:
        """Begin a sitting on a day: note the temperature, and let the piece have its own."""
        if celsius is None:
            celsius = min(max(self.rng.gauss(21.8, 1.7), 18.0), 26.0)
        written, says = write_temperature(celsius, self.rng)
        half_width, note = self.rng.choice(((1.0, ""), (1.0, "1 K"), (0.5, "0.5 K"), (2.0, "2 K")))
        self.sitting = Sitting(date, says, half_width, written, note)
        self.piece_c = self.sitting.piece_c(self.rng)

    def note(
        self,
        component: str,
        property_id: str,
        written: tuple[str, str],
        truth: str,
        unit: str,
        *,
        instrument_id: str = "",
        stories: tuple[str, ...] = (),
        warm: bool = False,
        **cells: str,
    ) -> None:
        """Write a row down; ``warm`` notes the temperature too."""
        row = {
            "piece_id": self.truth.piece_id,
            "component": component,
            "property_id": property_id,
            "value": written[0],
            "qualifier": "",
            "unit": written[1],
            "temperature": self.sitting.noted if warm else "",
            "temperature_uncertainty": self.sitting.noted_uncertainty if warm else "",
            "circuit": "",
            "parallel": "",
            "parallel_tolerance": "",
            "test_frequency": "",
            "instrument_id": instrument_id,
            "date": self.sitting.date.isoformat(),
            "remark": "",
            "private_note": f"tray {self.rng.randrange(1, 30)}" if self.rng.random() < 0.1 else "",
        }
        row.update(cells)
        self.taken.append(Taken(row, truth, unit, stories))

    def resistance(
        self,
        component: str,
        property_id: str,
        ohm: float | None,
        *,
        hand_meter: bool = False,
        in_circuit: tuple[str, float, float] | None = None,
        hidden_ohm: float | None = None,
        no_temperature: bool = False,
        stories: tuple[str, ...] = (),
        remark: str = "",
    ) -> None:
        """Read a copper resistance, warm as it is and with whatever lies beside it.

        ``in_circuit`` is the parallel part as written, its nominal resistance in Ω and its
        tolerance in percent; ``hidden_ohm`` is one that nobody wrote down.
        """
        instrument = meter("hand-multimeter" if hand_meter else "bench-multimeter", "resistance")
        cells = {"circuit": "free", "remark": remark}
        if ohm is None:
            written = ("OL" if component == "pair" else "open", "")
            cells["qualifier"] = self.rng.choice(("", "open"))
            self.note(
                component, property_id, written, "open", "kΩ",
                instrument_id=instrument.instrument_id, warm=True, stories=stories, **cells,
            )  # fmt: skip
            return
        seen = warm_ohm(ohm, self.piece_c)
        if in_circuit is not None:
            text, nominal, tolerance = in_circuit
            part = nominal * (1 + self.rng.gauss(0.0, tolerance / 100 / 3**0.5))
            seen = beside_ohm(seen, part)
            cells["circuit"], cells["parallel"] = "in_circuit", text
            cells["parallel_tolerance"] = "" if tolerance == 10 else f"{tolerance:g}"
        elif hidden_ohm is not None:
            seen = beside_ohm(seen, hidden_ohm)
            cells["circuit"] = "in_circuit"
        shown = instrument.shows(seen, self.rng)
        self.note(
            component, property_id, write_resistance(shown, instrument.count, self.rng),
            _digits(ohm / 1000), "kΩ", instrument_id=instrument.instrument_id,
            warm=not no_temperature, stories=stories, **cells,
        )  # fmt: skip

    def quantity(
        self,
        component: str,
        property_id: str,
        instrument: Meter,
        truth: float,
        write: Callable[[float, Random], tuple[str, str]],
        *,
        unit: str,
        unit_in_counts: float = 1.0,
        stories: tuple[str, ...] = (),
        **cells: str,
    ) -> None:
        """Read any other quantity.

        ``truth`` is in the count's unit; one of ``unit`` is ``unit_in_counts`` of it.
        """
        shown = instrument.shows(truth, self.rng)
        self.note(
            component, property_id, write(shown, self.rng), _digits(truth / unit_in_counts), unit,
            instrument_id=instrument.instrument_id, stories=stories,
            warm=False, **cells,
        )  # fmt: skip

    def word(self, component: str, property_id: str, word: str) -> None:
        """Note what was seen, in the property's own word."""
        self.note(component, property_id, (word, ""), word, "")


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

    def inductance(component: str, property_id: str, henry: float) -> None:
        bench.quantity(
            component, property_id, bridge, henry * 1000, write_inductance,
            unit="H", unit_in_counts=1000, circuit="free", test_frequency=frequency,
        )  # fmt: skip

    def each(coil: Coil) -> None:
        if coil.ohm is not None:
            inductance(coil.component, "coil-inductance", coil.henry)

    if not both or rng.random() < 0.5 or "shorted-turns" in truth.stories:
        for coil in truth.coils:
            each(coil)
    if both and truth.henry is not None:
        inductance("pair", "pair-inductance", truth.henry)
    if truth.hertz is None:
        return
    if rng.random() < 0.75:
        bench.quantity(
            "pickup", "self-capacitance", meter("lcr-bridge", "capacitance"), truth.picofarad,
            write_capacitance, unit="pF", circuit="free", test_frequency="100 kHz",
        )  # fmt: skip
    if rng.random() < 0.85:
        bench.quantity(
            "pickup", "resonant-frequency", meter("sweep-oscillator", "frequency"), truth.hertz,
            write_frequency, unit="kHz", unit_in_counts=1000, circuit="free",
        )  # fmt: skip


def _flux(bench: Bench, date: dt.date) -> None:
    truth, stories = bench.truth, bench.truth.stories
    gauss_meter = meter("flux-meter", "flux_density")

    def read(flux_mt: float, tag: tuple[str, ...], remark: str) -> None:
        bench.quantity(
            "magnet", "pole-flux-density", gauss_meter, flux_mt, write_flux,
            unit="mT", stories=tag, remark=remark,
        )  # fmt: skip

    if "dead-magnet" in stories:
        bench.note(
            "magnet", "pole-flux-density", ("<5", "mT"), _digits(truth.flux_mt), "mT",
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
        "pickup", "insulation-resistance", written, _digits(truth.insulation_mohm), "MΩ",
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


def measure(truth: Truth, date: dt.date, rng: Random) -> list[Taken]:
    """Take a piece through the bench and return what was written."""
    bench = Bench(truth, date, rng)
    _copper(bench, date)
    _coil_reactances(bench)
    _flux(bench, date)
    _dimensions(bench)
    _insulation(bench)
    _words(bench)
    return bench.taken

"""The invented bench: its instruments, what they show, and how its hands write that down."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from random import Random


@dataclass(frozen=True, slots=True)
class Meter:
    """One instrument for one kind of quantity.

    ``gain`` is its fixed error as a share of what it reads: the truth that no record tells; it lies
    within ``percent``. ``count`` is one count, in ``count_unit``; ``count_written`` is how
    instruments.csv gives it. ``stated`` are cells of instruments.csv on what the instrument does to
    a reading, and ``lead_ohm``, ``input_ohm`` and ``input_pf`` what it truly does.
    """

    instrument_id: str
    name: str
    measures: str
    percent: float
    digits: float
    count: float
    count_unit: str
    count_written: str
    gain: float
    due: dt.date
    remark: str = ""
    stated: dict[str, str] = field(default_factory=dict)
    lead_ohm: float = 0.0
    input_ohm: float = math.inf
    input_pf: float = 0.0

    def shows(self, truth: float, rng: Random) -> float:
        """Return what the display shows of a true value in ``count_unit``: whole counts.

        From reading to reading it wanders by a sixth of the digits that its maker allows for.
        """
        wander = rng.gauss(0.0, self.digits / 6)
        counts = round(truth * (1 + self.gain) / self.count + wander)
        return max(counts, 0) * self.count


CALIBRATED = dt.date(2025, 2, 17)
HAND_METER_DUE = dt.date(2025, 11, 30)
_FIRM = dt.date(2026, 8, 31)

METERS: tuple[Meter, ...] = (
    Meter(
        "bench-multimeter", "Bench multimeter", "resistance", 0.2, 3, 1, "Ω", "1 Ω", 0.0007, _FIRM,
        stated={"lead_resistance": "0.3 Ω"}, lead_ohm=0.37,
    ),
    Meter(
        "hand-multimeter", "Hand-held multimeter", "resistance", 0.5, 2, 10, "Ω", "10 Ω", -0.0011,
        HAND_METER_DUE, "Past its date since the end of November 2025; still on the bench.",
        {"lead_resistance": "500 mΩ"}, lead_ohm=0.41,
    ),
    Meter(
        "lcr-bridge", "Inductance bridge", "inductance", 0.5, 3, 1, "mH", "1 mH", 0.0014, _FIRM,
        "Series reading, unless a reading says otherwise.",
    ),
    Meter(
        "lcr-bridge", "Inductance bridge", "capacitance", 1, 2, 1, "pF", "1 pF", 0.003, _FIRM,
        "The clips have a few picofarads of their own.", {"input_capacitance": "4 pF"},
        input_pf=4.2,
    ),
    Meter("flux-meter", "Flux meter", "flux_density", 2, 1, 1, "mT", "1 mT", 0.008, _FIRM,
          "Flat probe, its sensing spot half a millimetre below the face.",
          {"sensor_depth": "0.5 mm"}),
    Meter("calipers", "Digital calipers", "length", 0, 3, 0.01, "mm", "0.01 mm", 0.0, _FIRM),
    Meter("steel-rule", "Steel rule in sixteenths of an inch", "length", 0, 0.5, 25.4 / 16, "mm",
          "1/16 in", 0.0, _FIRM),
    Meter("thermometer", "Thermometer at the bench", "temperature", 0, 3, 0.1, "°C", "0.1 °C",
          0.0, _FIRM, "Read before each sitting; it does not touch the piece."),
    Meter("scale", "Postal scale", "mass", 0, 1, 1, "g", "1 g", 0.0, _FIRM),
    Meter("sweep-oscillator", "Sweep oscillator and counter", "frequency", 1, 2, 10, "Hz", "10 Hz",
          -0.004, _FIRM, "The piece is driven through a small coil and watched on a light probe.",
          {"input_resistance": "10M", "input_capacitance": "12 pF"}, input_ohm=9.8e6,
          input_pf=12.5),
    Meter("insulation-tester", "Insulation tester, 50 V range", "resistance", 5, 1, 0.1, "MΩ",
          "0.1 MΩ", 0.01, _FIRM, "Ends at 100 MΩ."),
    Meter("lcr-bridge", "Inductance bridge", "ratio", 2, 2, 0.01, "", "0.01", -0.004, _FIRM,
          "Quality factor."),
    Meter("letter-scale", "Letter scale", "mass", 0, 1, 0.01, "g", "0.01 g", 0.0, _FIRM,
          "Weighs the spool before and after."),
    Meter("winding-counter", "Counter of the winding machine", "count", 0, 1, 1, "turns",
          "1 turn", 0.0, _FIRM),
)  # fmt: skip


def meter(instrument_id: str, measures: str) -> Meter:
    """Return the row of an instrument for a kind of quantity."""
    for candidate in METERS:
        if (candidate.instrument_id, candidate.measures) == (instrument_id, measures):
            return candidate
    raise KeyError((instrument_id, measures))


@dataclass(frozen=True, slots=True)
class Sitting:
    """One piece at the bench on one day: the temperature there, and how it is noted.

    ``half_width_k`` is how far off the note may be; the piece's own temperature is drawn from a
    normal distribution with the standard deviation of that rectangle, since nobody puts the
    thermometer into the coil.
    """

    date: dt.date
    noted_c: float
    half_width_k: float
    noted: str
    noted_uncertainty: str

    def piece_c(self, rng: Random) -> float:
        """Draw the temperature that the piece truly has."""
        return rng.gauss(self.noted_c, self.half_width_k / math.sqrt(3))


def write_temperature(celsius: float, rng: Random) -> tuple[str, float]:
    """Return a temperature as written, and what the writing says, in °C."""
    style = rng.randrange(6)
    if style == 0:
        fahrenheit = round(celsius * 9 / 5 + 32)
        return f"{fahrenheit} °F", (fahrenheit - 32) * 5 / 9
    if style == 1:
        whole = round(celsius)
        return f"{whole} °C", float(whole)
    tenths = round(celsius, 1)
    return {
        2: f"{tenths:.1f} °C",
        3: f"{tenths:.1f}",
        4: f"{tenths:.1f} °C".replace(".", ","),
        5: f"{tenths:.1f}°C",
    }[style], tenths


def write_resistance(ohm: float, count: float, rng: Random) -> tuple[str, str]:
    """Return a resistance as written, and the unit's cell; every digit of the display is kept."""
    places = 3 if count < 10 else 2
    kilo = f"{ohm / 1000:.{places}f}"
    whole, _, part = kilo.partition(".")
    ways = [
        (f"{kilo}k", ""),
        (f"{kilo} kΩ", ""),
        (kilo, "kΩ"),
        (f"{ohm:.0f}", "Ω"),
        (f"{ohm:.0f} Ω", ""),
        (f"{whole}k{part}", ""),
        (f"{kilo} kohm", ""),
    ]
    if places == 2:  # 7,823 could mean thousands, and nobody here writes that
        ways += [(kilo.replace(".", ",") + " kΩ", "")] * 2
    return rng.choice(ways)


def write_inductance(millihenry: float, rng: Random) -> tuple[str, str]:
    """Return an inductance as written, and the unit's cell."""
    henry = f"{millihenry / 1000:.3f}"
    return (
        (f"{henry} H", ""),
        (henry, "H"),
        (f"{millihenry:.0f} mH", ""),
        (f"{henry}H", ""),
    )[rng.randrange(4)]


def write_capacitance(picofarad: float, rng: Random) -> tuple[str, str]:
    """Return a capacitance as written, and the unit's cell."""
    return (
        (f"{picofarad:.0f} pF", ""),
        (f"{picofarad:.0f}", "pF"),
        (f"{picofarad / 1000:.3f} nF", ""),
        (f"{picofarad:.0f}p", ""),
    )[rng.randrange(4)]


def write_frequency(hertz: float, rng: Random) -> tuple[str, str]:
    """Return a frequency as written, and the unit's cell."""
    kilo = f"{hertz / 1000:.2f}"
    return (
        (f"{kilo} kHz", ""),
        (kilo, "kHz"),
        (f"{hertz:.0f} Hz", ""),
        (kilo.replace(".", ",") + " kHz", ""),
    )[rng.randrange(4)]


def write_flux(millitesla: float, rng: Random) -> tuple[str, str]:
    """Return a flux density as written, and the unit's cell."""
    return (
        (f"{millitesla:.0f} mT", ""),
        (f"{millitesla:.0f}", "mT"),
        (f"{millitesla * 10:.0f} G", ""),
        (f"{millitesla / 1000:.3f} T", ""),
    )[rng.randrange(4)]


def write_length(millimetre: float, rng: Random) -> tuple[str, str]:
    """Return a length off the calipers as written, and the unit's cell."""
    written = f"{millimetre:.2f}"
    return (
        (f"{written} mm", ""),
        (written, "mm"),
        (written.replace(".", ",") + " mm", ""),
        (f"{written}mm", ""),
    )[rng.randrange(4)]


def write_sixteenths(millimetre: float, rng: Random) -> tuple[str, str]:
    """Return a length off the steel rule as written: inches and a fraction in lowest terms."""
    whole, sixteenths = divmod(round(millimetre / 25.4 * 16), 16)
    if not sixteenths:
        return f"{whole} in", ""
    shared = math.gcd(sixteenths, 16)
    fraction = f"{sixteenths // shared}/{16 // shared}"
    if not whole:
        return f"{fraction} in", ""
    return (f"{whole} {fraction} in", f'{whole}-{fraction}"')[rng.randrange(2)], ""


def write_mass(gram: float, rng: Random) -> tuple[str, str]:
    """Return a mass as written, and the unit's cell."""
    return ((f"{gram:.0f} g", ""), (f"{gram:.0f}", "g"))[rng.randrange(2)]


def write_fine_mass(gram: float, rng: Random) -> tuple[str, str]:
    """Return a mass off the letter scale as written, and the unit's cell."""
    return ((f"{gram:.2f} g", ""), (f"{gram:.2f}", "g"))[rng.randrange(2)]


def write_ratio(ratio: float, rng: Random) -> tuple[str, str]:
    """Return a quality factor as written: a bare number, with or without its comma."""
    return (f"{ratio:.2f}", f"{ratio:.2f}".replace(".", ","))[rng.randrange(2)], ""


def write_turns(turns: float, rng: Random) -> tuple[str, str]:
    """Return turns off the counter as written, and the unit's cell."""
    return ((f"{turns:.0f} turns", ""), (f"{turns:.0f}", "turns"))[rng.randrange(2)]

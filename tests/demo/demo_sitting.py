"""A piece's sitting at the bench: taking a reading, and writing its row beside its truth."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from demo_bench import Meter, Sitting, meter, write_resistance, write_temperature
from demo_physics import beside_ohm, warm_ohm
from demo_pieces import Truth


@dataclass(slots=True)
class Taken:
    """A row of readings.csv, and beside it the truth in the property's unit."""

    row: dict[str, str]
    truth: str
    unit: str
    stories: tuple[str, ...]


def digits(value: float) -> str:
    """Return a true value with digits enough for any comparison."""
    return f"{value:.6g}"


class Bench:
    """One piece's sitting: takes readings and keeps them in order."""

    def __init__(self, truth: Truth, date: dt.date, rng: Random, more: Random) -> None:
        self.truth, self.rng = truth, rng
        #: Chance for whatever is looked at beyond the usual, so that the usual stays as it is.
        self.more = more
        self.taken: list[Taken] = []
        self.later: list[Callable[[], None]] = []
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
            "equivalent": "",
            "standoff": "",
            "zero": "",
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
        shown = instrument.shows(seen + instrument.lead_ohm, self.rng)
        self.note(
            component, property_id, write_resistance(shown, instrument.count, self.rng),
            digits(ohm / 1000), "kΩ", instrument_id=instrument.instrument_id,
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
        seen: float | None = None,
        stories: tuple[str, ...] = (),
        **cells: str,
    ) -> None:
        """Read any other quantity.

        ``truth`` is in the count's unit; one of ``unit`` is ``unit_in_counts`` of it. ``seen`` is
        what the instrument has before it, where that is not the truth.
        """
        shown = instrument.shows(truth if seen is None else seen, self.rng)
        self.note(
            component, property_id, write(shown, self.rng), digits(truth / unit_in_counts), unit,
            instrument_id=instrument.instrument_id, stories=stories,
            warm=False, **cells,
        )  # fmt: skip

    def word(self, component: str, property_id: str, word: str) -> None:
        """Note what was seen, in the property's own word."""
        self.note(component, property_id, (word, ""), word, "")

"""The trial's bench: what its instruments show of a pickup, as the records that a shop would keep.

Errors are drawn within the limits that each instrument states: one for each range of each meter as
it stood after an adjustment, and one for each reading. The day's warmth is noted with an error that
a sitting's readings have in common; a hand warms one coil more than another.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from trial_physics import (
    beside,
    direct_ohm,
    impedance_ohm,
    mutual_ohm,
    series_reading,
    through_the_junction,
    with_capacitance,
)
from trial_world import Pickup

from coilbook.records.contents import Piece, PublicArchive, Reading, Reference
from coilbook.records.tables.models import ArchiveSettings, InstrumentRow, PieceRow, ReadingRow

HERTZ = 1000.0
_DAY = dt.date(2026, 3, 14)


def _instrument(name: str, measures: str, percent: float, digits: float) -> InstrumentRow:
    return InstrumentRow.model_validate(
        {
            "instrument_id": name,
            "name": name.replace("-", " "),
            "measures": measures,
            "accuracy_percent": percent,
            "accuracy_digits": digits,
        }
    )


#: Meters by how many adjustments the trial saw; each stands a little otherwise after each.
_ADJUSTMENTS = 12
FINE = _instrument("bench-meter", "resistance", 0.2, 3)
COARSE = _instrument("hand-meter", "resistance", 0.5, 2)
BRIDGE = _instrument("bridge", "inductance", 0.5, 3)
BRIDGE_Q = _instrument("bridge", "count", 2.0, 1)
FLUX = _instrument("flux-meter", "flux_density", 2.0, 1)


@dataclass(frozen=True, slots=True)
class _Meter:
    """A meter after one adjustment: the gain error of its lower range and of its upper one."""

    row: InstrumentRow
    step: float
    low: float
    high: float


class Bench:
    """A shop's instruments, which read pickups into records."""

    def __init__(self, reference: Reference, seed: int) -> None:
        self._reference = reference
        self._rng = np.random.default_rng((seed, 1))
        self._meters = {
            row.instrument_id: [
                _Meter(row, step, *(self._within(row.accuracy_percent / 100.0) for _ in range(2)))
                for _ in range(_ADJUSTMENTS)
            ]
            for row, step in ((FINE, 0.001), (COARSE, 0.01))
        }
        self._line = 1

    def archive(self, pickups: Iterable[Pickup]) -> PublicArchive:
        """Return the public archive of these pickups as this bench read them."""
        settings = ArchiveSettings.model_validate(
            {"title": "T", "publisher": "T", "licence": "CC0-1.0", "kind": "invented"}
        )
        pieces = {pickup.piece_id: self.piece(pickup) for pickup in pickups}
        instruments = (FINE, COARSE, BRIDGE, BRIDGE_Q, FLUX)
        return PublicArchive(settings, pieces, instruments, (), {})

    def piece(self, pickup: Pickup) -> Piece:
        """Return one pickup's records: what was read of it, for not all is read of every one."""
        row = PieceRow.model_validate(
            {
                "piece_id": pickup.piece_id,
                "family_id": pickup.make.family_id,
                "year_first": pickup.year,
                "year_last": pickup.year,
                "year_basis": "the trial",
                "position": pickup.position,
                "state": "untouched",
                "potted": "no",
                "publish": "yes",
            }
        )
        family = self._reference.families[pickup.make.family_id]
        return Piece(row, 2, family, tuple(self._readings(pickup)))

    def _readings(self, pickup: Pickup) -> Iterator[Reading]:
        rng = self._rng
        kind = pickup.alteration.kind if pickup.alteration else ""
        pair = len(pickup.coils) == 2
        # What the bench took the time for; an alteration that is about coils and pair has both.
        both = kind.startswith("in_circuit") or rng.random() < 0.85
        coils_read = kind != "in_circuit_coils_unread" and both
        pair_read = pair and (not coils_read or kind.startswith("in_circuit") or rng.random() < 0.9)
        inductance_read, quality_read = rng.random() < 0.75, rng.random() < 0.85
        field_read = kind.startswith("magnet") or rng.random() < 0.8
        meters = self._meters[FINE.instrument_id if rng.random() < 0.6 else COARSE.instrument_id]
        meter = meters[rng.integers(len(meters))]

        celsius = float(np.clip(21.5 + 2.5 * rng.standard_normal(), 14.0, 30.0))
        limit_k = (1.0, 2.0)[rng.integers(2)]
        noted: float | None = round(celsius + self._within(limit_k) + pickup.temperature_slip_k, 1)
        if not kind and rng.random() < 0.03:
            noted = None

        names = ("coil_a", "coil_b") if pair else ("coil",)
        parts = [name for name in names if coils_read or not pair]
        parts += ["pair"] if pair_read else []
        for name in parts:
            warm = celsius + 0.3 * float(rng.standard_normal())
            across = pickup.across_ohm
            if kind == "in_circuit_pair_only" and name != "pair":
                across = None
            of = "pair" if name == "pair" else "coil"
            ohm = _seen(pickup, name, 0.0, warm, across).real
            yield self._resistance(pickup, name, f"{of}-resistance", ohm, meter, noted, limit_k)
            if not inductance_read:
                continue
            seen = _seen(pickup, name, HERTZ, warm, across)
            henry, quality = series_reading(seen, HERTZ)
            yield self._other(pickup, name, f"{of}-inductance", henry, BRIDGE, 0.001)
            if quality_read:
                yield self._other(pickup, name, f"{of}-quality", quality, BRIDGE_Q, 0.01)
        if field_read:
            # Where on the pole the probe sits makes a few percent.
            millitesla = pickup.field_mt * math.exp(0.03 * float(rng.standard_normal()))
            yield self._other(pickup, "magnet", "pole-flux-density", millitesla, FLUX, 1.0)

    def _resistance(
        self,
        pickup: Pickup,
        component: str,
        property_id: str,
        ohm: float,
        meter: _Meter,
        noted: float | None,
        limit_k: float,
    ) -> Reading:
        # A meter of these classes changes its range at 6 kΩ.
        gain = meter.low if ohm < 6000.0 else meter.high
        shown = ohm / 1000.0 * (1.0 + gain) + self._within(meter.row.accuracy_digits * meter.step)
        return self._reading(
            pickup, component, property_id, shown, meter.row, meter.step, noted, limit_k
        )

    def _other(
        self,
        pickup: Pickup,
        component: str,
        property_id: str,
        value: float,
        row: InstrumentRow,
        step: float,
    ) -> Reading:
        off = self._within(row.accuracy_percent / 100.0 * value + row.accuracy_digits * step)
        return self._reading(pickup, component, property_id, value + off, row, step, None, 1.0)

    def _reading(
        self,
        pickup: Pickup,
        component: str,
        property_id: str,
        shown: float,
        instrument: InstrumentRow,
        step: float,
        celsius: float | None,
        limit_k: float,
    ) -> Reading:
        self._line += 1
        value = round(round(shown / step) * step, 6)
        resistance = property_id.endswith("-resistance")
        row = ReadingRow.model_validate(
            {
                "piece_id": pickup.piece_id,
                "component": component,
                "property_id": property_id,
                "value": str(value),
                "temperature": None if celsius is None else f"{celsius} °C",
                "circuit": "free" if resistance else None,
                "instrument_id": instrument.instrument_id,
                "date": _DAY,
            }
        )
        bridge = instrument in (BRIDGE, BRIDGE_Q)
        return Reading(
            row=row,
            line=self._line,
            property=self._reference.properties[property_id],
            value=value,
            qualifier="",
            category=None,
            step=step,
            temperature_c=celsius,
            temperature_half_width_k=limit_k,
            parallel_ohm=None,
            parallel_tolerance=10.0,
            test_frequency_hz=HERTZ if bridge else None,
            instrument=instrument,
            calibration="valid",
        )

    def _within(self, limit: float) -> float:
        return float(self._rng.uniform(-limit, limit))


def _seen(pickup: Pickup, name: str, hertz: float, celsius: float, across: float | None) -> complex:
    """Return the impedance between the leads of a part, with what lies over the whole pickup."""
    coils = pickup.coils
    ohms = [
        impedance_ohm(coil, hertz, celsius) if hertz else complex(direct_ohm(coil, celsius))
        for coil in coils
    ]
    if len(coils) == 1:
        seen = with_capacitance(ohms[0], coils[0].farad, hertz)
        return seen if across is None else beside(seen, across)
    mutual = mutual_ohm(*coils, pickup.mutual, pickup.shared_metal, hertz)
    if name == "pair":
        whole = sum(ohms) + 2.0 * mutual
        # Two coils' capacitances in series, and that of the lead, which is about as large as one.
        seen = with_capacitance(whole, 1.5 * coils[0].farad, hertz)
        return seen if across is None else beside(seen, across)
    at = ("coil_a", "coil_b").index(name)
    seen = through_the_junction(ohms[at], ohms[1 - at], mutual, across)
    return with_capacitance(seen, coils[at].farad, hertz)

"""Where practice and the standard part, about circuits: paths across a coil, tolerance, hum."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coilbook.core.constants import ALPHA_20_PER_K
from coilbook.core.formulas.circuit import parallel_ohm
from coilbook.core.formulas.hum import hum_left_db
from coilbook.core.formulas.pair import imbalance_percent
from coilbook.core.formulas.resonance import peak_frequency_hz, peak_height_db
from coilbook.core.units import scale
from coilbook.measures.resonance import gain_db
from coilbook.pages import text
from coilbook.pages.disputes.dispute import (
    DisputeRow,
    Item,
    Link,
    Sum,
    cited,
    family,
    lines,
    method,
    percent,
    practice,
    signed,
    with_unit,
)
from coilbook.pages.disputes.in_wire import EXAMPLE_FAMILY
from coilbook.pages.drawn import figures
from coilbook.pages.page import Book
from coilbook.records.contents import Claim
from coilbook.records.tables.models import NominalPart

#: Two readings that a path across them bends: a usual pickup, and one of thin wire, in Ω.
EXAMPLE_OHMS = (8000.0, 15000.0)
#: What a part's unit is in SI.
_SI = {"kΩ": 1e3, "MΩ": 1e6, "pF/m": 1e-12, "m": 1.0}
_TICKS_HZ = (500, 1000, 2000, 5000)


def nominal_si(part: NominalPart) -> float:
    """Return a part's nominal value in SI units."""
    assert part.nominal is not None
    return part.nominal * _SI[part.unit]


def _ohm(value: float) -> str:
    if value >= 1e6:
        return f"{value / 1e6:g}{text.unit_text('MΩ')}"
    return f"{value / 1e3:g}{text.unit_text('kΩ')}"


def _paths(book: Book) -> list[NominalPart]:
    """Return the pots and inputs that may lie across a coil, the smallest first."""
    found = [p for p in book.reference.parts.values() if p.kind in ("pot", "input")]
    return sorted(found, key=nominal_si)


def _meter_row(part: NominalPart) -> DisputeRow:
    across = nominal_si(part)
    cells = []
    for true in EXAMPLE_OHMS:
        read = parallel_ohm(true, across)
        cells += [with_unit(read / 1e3, 3, "kΩ"), percent(100.0 * (read / true - 1.0), 2)]
    return DisputeRow(part.name, tuple(cells), f"materials/parts/index.html#{part.part_id}")


def _meter_sums(small: float, large: float) -> tuple[Sum, ...]:
    """Return each example with a small and a large pot across it, and the first as a warmth."""
    true = EXAMPLE_OHMS[0]
    loss = 100.0 * (1.0 - parallel_ohm(true, small) / true)
    steps = tuple(
        Sum(
            f"{_ohm(resistance)} with {_ohm(across)} across it",
            f"{resistance:g} × {across:g} / ({resistance:g} + {across:g}) Ω",
            with_unit(parallel_ohm(resistance, across), 0, "Ω"),
        )
        for resistance in EXAMPLE_OHMS
        for across in (small, large)
    )
    return (
        *steps,
        Sum(
            f"{_ohm(small)} across {_ohm(true)} counts as much as a temperature lower by",
            f"{loss:.2f} % / ({100.0 * ALPHA_20_PER_K:g} %/K)",
            with_unit(loss / 100.0 / ALPHA_20_PER_K, 1, "K"),
        ),
    )


def _meter_figure(sizes: Sequence[float]) -> figures.Figure:
    curves: dict[str, list[float | None]] = {
        f"a pickup of {_ohm(true)}": [
            round(100.0 * (parallel_ohm(true, across) / true - 1.0), 3) for across in sizes
        ]
        for true in EXAMPLE_OHMS
    }
    return lines(
        "meter-across",
        "What a path across a pickup takes from the reading",
        "Departure of the reading from the pickup's resistance, by what lies across it. The higher "
        "the pickup's own resistance, the more it loses.",
        [_ohm(size) for size in sizes],
        curves,
        ("across the pickup", "departure, %"),
        xaxis=figures.axis_of("across the pickup", type="category"),
    )


def meter_across(book: Book) -> Item:
    """Return what a pot or an input across a pickup does to the reading of its resistance."""
    paths, parts = _paths(book), book.reference.parts
    return Item(
        "meter-across",
        practice(),
        (cited(book, "iec-60028", "temperature coefficient, for the comparison"),),
        _meter_sums(nominal_si(parts["pot-250k"]), nominal_si(parts["pot-500k"])),
        tuple(_meter_row(part) for part in paths),
        _meter_figure(list(dict.fromkeys(nominal_si(part) for part in paths))),
        (
            method("parallel_ohm", "two resistances in parallel"),
            method("take_out_parallel_ohm", "taking one out again"),
            Link("parts of the circuit", "materials/parts/index.html"),
            Link("calculators", "calculators/index.html"),
        ),
        {"first": _ohm(EXAMPLE_OHMS[0]), "second": _ohm(EXAMPLE_OHMS[1])},
    )


def _usual(book: Book, property_id: str) -> Claim:
    """Return the first claim of the example family with a usual value of a property."""
    return next(
        c
        for c in book.reference.claims
        if c.row.family_id == EXAMPLE_FAMILY
        and c.property.property_id == property_id
        and c.typical is not None
    )


def _si_of(claim: Claim, unit: str) -> float:
    assert claim.typical is not None
    assert claim.property.unit is not None
    return claim.typical * scale(claim.property.unit, unit)


#: Claims of the example family that its peak rests on.
_OF_THE_PEAK = ("pair-inductance", "pair-resistance", "self-capacitance")


@dataclass(frozen=True, slots=True)
class _Winding:
    """The example's winding on its cable."""

    henry: float
    ohm: float
    own_f: float
    cable_f: float

    @property
    def farad(self) -> float:
        return self.own_f + self.cable_f

    def peak_hz(self, load_ohm: float) -> float:
        found = peak_frequency_hz(self.henry, self.ohm, self.farad, load_ohm)
        assert found is not None
        return found

    def height_db(self, load_ohm: float) -> float:
        found = peak_height_db(self.henry, self.ohm, self.farad, load_ohm)
        assert found is not None
        return found


def _example_winding(book: Book) -> _Winding:
    claims = {name: _usual(book, name) for name in _OF_THE_PEAK}
    parts = book.reference.parts
    return _Winding(
        _si_of(claims["pair-inductance"], "henry"),
        _si_of(claims["pair-resistance"], "ohm"),
        _si_of(claims["self-capacitance"], "farad"),
        nominal_si(parts["cable"]) * nominal_si(parts["cable-length"]),
    )


def _pot_rows(winding: _Winding, part: NominalPart) -> tuple[dict[int, float], list[DisputeRow]]:
    """Return the heights of the peak by the pot's departure in percent, and a row for each."""
    nominal = nominal_si(part)
    tolerance = (part.tolerance_percent or 0.0) / 100.0
    middle = winding.height_db(nominal)
    heights, rows = {}, []
    for share in (-tolerance, 0.0, tolerance):
        load = nominal * (1.0 + share)
        height = heights[round(100.0 * share)] = winding.height_db(load)
        rows.append(
            DisputeRow(
                f"{part.name}, {percent(100.0 * share, 0) if share else 'as marked'}",
                (
                    _ohm(load),
                    with_unit(winding.peak_hz(load) / 1e3, 3, "kHz"),
                    with_unit(height, 2, "dB"),
                    f"{signed(height - middle, 2)}{text.unit_text('dB')}",
                ),
                f"materials/parts/index.html#{part.part_id}",
            )
        )
    return heights, rows


def _pot_sums(
    winding: _Winding, of_250k: Mapping[int, float], of_500k: Mapping[int, float]
) -> tuple[Sum, ...]:
    return (
        Sum(
            "capacitance of the coil and the cable",
            f"{winding.own_f * 1e12:.0f} pF + {winding.cable_f * 1e12:.0f} pF",
            f"{winding.farad * 1e12:.0f} pF",
        ),
        Sum(
            "peak with 500 kΩ, as marked",
            f"R = {winding.ohm / 1e3:g} kΩ, L = {winding.henry:g} H, "
            f"C = {winding.farad * 1e12:.0f} pF, Rp = 500 kΩ",
            with_unit(of_500k[0], 2, "dB"),
        ),
        Sum(
            "from 250 kΩ to 500 kΩ, as marked",
            f"{of_500k[0]:.2f} dB − {of_250k[0]:.2f} dB",
            with_unit(of_500k[0] - of_250k[0], 2, "dB"),
        ),
        Sum(
            "the same with one pot high and the other low",
            f"{of_500k[-20]:.2f} dB − {of_250k[20]:.2f} dB",
            with_unit(of_500k[-20] - of_250k[20], 2, "dB"),
        ),
        Sum(
            "two pots marked 500 kΩ, from end to end",
            f"{of_500k[20]:.2f} dB − {of_500k[-20]:.2f} dB",
            with_unit(of_500k[20] - of_500k[-20], 2, "dB"),
        ),
    )


def pot_tolerance(book: Book) -> Item:
    """Return what a pot's tolerance does to the peak, beside the step to the other mark."""
    winding, parts = _example_winding(book), book.reference.parts
    small, large = parts["pot-250k"], parts["pot-500k"]
    of_250k, small_rows = _pot_rows(winding, small)
    of_500k, large_rows = _pot_rows(winding, large)
    return Item(
        "pot-tolerance",
        practice(),
        (cited(book, "iec-60063", "preferred values, which the pots' values are not of"),),
        _pot_sums(winding, of_250k, of_500k),
        (*small_rows, *large_rows),
        _pot_figure(winding, nominal_si(small), nominal_si(large)),
        (
            *(family(book, EXAMPLE_FAMILY, name) for name in _OF_THE_PEAK),
            method("peak_height_db", "height of the peak"),
            Link("parts of the circuit", "materials/parts/index.html"),
        ),
        {
            "gap": with_unit(of_500k[0] - of_250k[0], 1, "dB"),
            "left": with_unit(of_500k[-20] - of_250k[20], 1, "dB"),
            "swing": with_unit(of_500k[20] - of_500k[-20], 1, "dB"),
        },
    )


def _pot_figure(winding: _Winding, small: float, large: float) -> figures.Figure:
    hertz = np.geomspace(500.0, 10000.0, 61)
    lower, upper = small * (1.0 + 20 / 100.0), large * (1.0 - 20 / 100.0)
    loads = {
        _ohm(small): small,
        _ohm(large): large,
        f"{_ohm(lower)} (250 kΩ, high)": lower,
        f"{_ohm(upper)} (500 kΩ, low)": upper,
    }
    curves: dict[str, list[float | None]] = {}
    for name, load in loads.items():
        level = gain_db(hertz, winding.henry, winding.ohm, winding.farad, load)
        curves[name] = [round(float(v), 2) for v in level]
    return lines(
        "pot-tolerance",
        "The peak under four pots",
        "Output over what the winding makes, by what the pot really is: 250 kΩ and 500 kΩ as "
        "marked, and one of each at the end of its tolerance that lies nearer to the other.",
        [round(float(f)) for f in hertz],
        curves,
        ("frequency", "level, dB"),
        xaxis=figures.axis_of(
            "frequency",
            type="log",
            range=[math.log10(500.0), 4.0],
            tickvals=list(_TICKS_HZ),
            ticktext=[f"{f / 1e3:g} kHz" for f in _TICKS_HZ],
            tickangle=0,
        ),
        yaxis=figures.axis_of("level, dB", range=[-6.0, 14.0]),
    )


def _unlike_coils(low: float, high: float) -> Iterator[tuple[float, float]]:
    """Yield pairs of coils in kΩ that together stay the same, up to the ends of a claim."""
    total, steps = low + high, 5
    for step in range(1, steps + 1):
        half = (high - low) / 2.0 * step / steps
        yield total / 2.0 - half, total / 2.0 + half


def _hum_row(a: float, b: float) -> DisputeRow:
    hum = hum_left_db(a * 1e3, b * 1e3)
    return DisputeRow(
        f"{a:.2f} kΩ + {b:.2f} kΩ",
        (
            with_unit(abs(imbalance_percent(a * 1e3, b * 1e3)), 1, "%"),
            with_unit(hum, 1, "dB"),
            f"1/{10 ** (-hum / 20.0):.0f}",
        ),
    )


def _hum_figure(pairs: Sequence[tuple[float, float]]) -> figures.Figure:
    return lines(
        "imbalance-hum",
        "Hum left against the coils' difference",
        "Resistance stands for turns here. Each halving of the difference takes 6 dB from what is "
        "left.",
        [round(abs(imbalance_percent(a * 1e3, b * 1e3)), 2) for a, b in pairs],
        {"hum left, dB": [round(hum_left_db(a * 1e3, b * 1e3), 2) for a, b in pairs]},
        ("difference over the mean, %", "hum left, dB"),
    )


def imbalance_hum(book: Book) -> Item:
    """Return how much hum unlike coils leave."""
    claim = next(
        c
        for c in book.reference.claims
        if c.row.family_id == EXAMPLE_FAMILY
        and c.property.property_id == "coil-resistance"
        and None not in (c.low, c.high)
        and c.row.evidence == "common_practice"
    )
    assert claim.low is not None
    assert claim.high is not None
    pairs = list(_unlike_coils(claim.low, claim.high))
    worst = hum_left_db(claim.low * 1e3, claim.high * 1e3)
    sums = (
        Sum(
            "hum left over what both coils would catch in phase",
            f"20 log₁₀ [({claim.high:g} − {claim.low:g}) / ({claim.high:g} + {claim.low:g})] dB",
            with_unit(worst, 1, "dB"),
        ),
        Sum(
            "as a share of the voltage",
            f"10^({text.number(worst, 1)}/20)",
            f"1/{10 ** (-worst / 20.0):.0f}",
        ),
    )
    return Item(
        "imbalance-hum",
        practice(),
        (),
        sums,
        tuple(_hum_row(a, b) for a, b in pairs),
        _hum_figure(pairs),
        (
            method("hum_left_db", "hum that two coils leave"),
            family(book, EXAMPLE_FAMILY, "coil-resistance"),
        ),
        {
            "low": f"{claim.low:g}",
            "high": f"{claim.high:g}",
            "worst": with_unit(worst, 0, "dB"),
        },
    )

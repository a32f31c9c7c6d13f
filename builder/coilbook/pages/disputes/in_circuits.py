"""Where practice and the standard part, about circuits: paths across a coil, tolerance, hum."""

from __future__ import annotations

import math

import numpy as np

from coilbook.measures.circuit import parallel_ohm
from coilbook.measures.constants import ALPHA_20_PER_K
from coilbook.measures.hum import hum_left_db
from coilbook.measures.pair import imbalance_percent
from coilbook.measures.resonance import gain_db, peak_frequency_hz, peak_height_db
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
from coilbook.units import scale

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


def meter_across(book: Book) -> Item:
    """Return what a pot or an input across a pickup does to the reading of its resistance."""
    rows = []
    curves: dict[str, list[float | None]] = {_ohm(r): [] for r in EXAMPLE_OHMS}
    sizes = []
    for part in _paths(book):
        across = nominal_si(part)
        cells = []
        for true in EXAMPLE_OHMS:
            read = parallel_ohm(true, across)
            cells += [
                with_unit(read / 1e3, 3, "kΩ"),
                percent(100.0 * (read / true - 1.0), 2),
            ]
        if across not in sizes:
            sizes.append(across)
            for true in EXAMPLE_OHMS:
                loss = 100.0 * (parallel_ohm(true, across) / true - 1.0)
                curves[_ohm(true)].append(round(loss, 3))
        rows.append(
            DisputeRow(part.name, tuple(cells), f"materials/parts/index.html#{part.part_id}")
        )
    parts = book.reference.parts
    small, large = nominal_si(parts["pot-250k"]), nominal_si(parts["pot-500k"])
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
    sums = (
        *steps,
        Sum(
            f"{_ohm(small)} across {_ohm(true)} counts as much as a temperature lower by",
            f"{loss:.2f} % / ({100.0 * ALPHA_20_PER_K:g} %/K)",
            with_unit(loss / 100.0 / ALPHA_20_PER_K, 1, "K"),
        ),
    )
    figure = lines(
        "meter-across",
        "What a path across a pickup takes from the reading",
        "Departure of the reading from the pickup's resistance, by what lies across it. The higher "
        "the pickup's own resistance, the more it loses.",
        [_ohm(size) for size in sizes],
        {f"a pickup of {name}": values for name, values in curves.items()},
        ("across the pickup", "departure, %"),
        xaxis=figures.axis_of("across the pickup", type="category"),
    )
    return Item(
        "meter-across",
        practice(),
        (cited(book, "iec-60028", "temperature coefficient, for the comparison"),),
        sums,
        tuple(rows),
        figure,
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


def pot_tolerance(book: Book) -> Item:
    """Return what a pot's tolerance does to the peak, beside the step to the other mark."""
    wanted = ("pair-inductance", "pair-resistance", "self-capacitance")
    claims = {name: _usual(book, name) for name in wanted}
    henry = _si_of(claims["pair-inductance"], "henry")
    ohm = _si_of(claims["pair-resistance"], "ohm")
    own = _si_of(claims["self-capacitance"], "farad")
    parts = book.reference.parts
    cable = nominal_si(parts["cable"]) * nominal_si(parts["cable-length"])
    farad = own + cable
    hertz = np.geomspace(500.0, 10000.0, 61)
    rows = []
    curves: dict[str, list[float | None]] = {}
    heights: dict[tuple[str, int], float] = {}
    for part_id in ("pot-250k", "pot-500k"):
        part = parts[part_id]
        nominal = nominal_si(part)
        tolerance = (part.tolerance_percent or 0.0) / 100.0
        middle = peak_height_db(henry, ohm, farad, nominal)
        assert middle is not None
        for share in (-tolerance, 0.0, tolerance):
            load = nominal * (1.0 + share)
            peak = peak_frequency_hz(henry, ohm, farad, load)
            height = peak_height_db(henry, ohm, farad, load)
            assert peak is not None
            assert height is not None
            heights[part_id, round(100.0 * share)] = height
            rows.append(
                DisputeRow(
                    f"{part.name}, {percent(100.0 * share, 0) if share else 'as marked'}",
                    (
                        _ohm(load),
                        with_unit(peak / 1e3, 3, "kHz"),
                        with_unit(height, 2, "dB"),
                        f"{signed(height - middle, 2)}{text.unit_text('dB')}",
                    ),
                    f"materials/parts/index.html#{part_id}",
                )
            )
        level = gain_db(hertz, henry, ohm, farad, nominal)
        curves[_ohm(nominal)] = [round(float(v), 2) for v in level]
    edges = (("pot-250k", 20), ("pot-500k", -20))
    lower, upper = (nominal_si(parts[i]) * (1.0 + round(sign) / 100.0) for i, sign in edges)
    load_curves = {
        f"{_ohm(lower)} (250 kΩ, high)": gain_db(hertz, henry, ohm, farad, lower),
        f"{_ohm(upper)} (500 kΩ, low)": gain_db(hertz, henry, ohm, farad, upper),
    }
    series: dict[str, list[float | None]] = {
        name: [round(float(v), 2) for v in values] for name, values in load_curves.items()
    }
    gap = heights["pot-500k", 0] - heights["pot-250k", 0]
    left = heights["pot-500k", -20] - heights["pot-250k", 20]
    swing = heights["pot-500k", 20] - heights["pot-500k", -20]
    sums = (
        Sum(
            "capacitance of the coil and the cable",
            f"{own * 1e12:.0f} pF + {cable * 1e12:.0f} pF",
            f"{farad * 1e12:.0f} pF",
        ),
        Sum(
            "peak with 500 kΩ, as marked",
            f"R = {ohm / 1e3:g} kΩ, L = {henry:g} H, C = {farad * 1e12:.0f} pF, Rp = 500 kΩ",
            with_unit(heights["pot-500k", 0], 2, "dB"),
        ),
        Sum(
            "from 250 kΩ to 500 kΩ, as marked",
            f"{heights['pot-500k', 0]:.2f} dB − {heights['pot-250k', 0]:.2f} dB",
            with_unit(gap, 2, "dB"),
        ),
        Sum(
            "the same with one pot high and the other low",
            f"{heights['pot-500k', -20]:.2f} dB − {heights['pot-250k', 20]:.2f} dB",
            with_unit(left, 2, "dB"),
        ),
        Sum(
            "two pots marked 500 kΩ, from end to end",
            f"{heights['pot-500k', 20]:.2f} dB − {heights['pot-500k', -20]:.2f} dB",
            with_unit(swing, 2, "dB"),
        ),
    )
    figure = _response(hertz, {**curves, **series})
    return Item(
        "pot-tolerance",
        practice(),
        (cited(book, "iec-60063", "preferred values, which the pots' values are not of"),),
        sums,
        tuple(rows),
        figure,
        (
            *(family(book, EXAMPLE_FAMILY, name) for name in wanted),
            method("peak_height_db", "height of the peak"),
            Link("parts of the circuit", "materials/parts/index.html"),
        ),
        {
            "gap": with_unit(gap, 1, "dB"),
            "left": with_unit(left, 1, "dB"),
            "swing": with_unit(swing, 1, "dB"),
        },
    )


def _response(
    hertz: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    curves: dict[str, list[float | None]],
) -> figures.Figure:
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
    total = claim.low + claim.high
    rows, x, y = [], [], []
    steps = 5
    for step in range(1, steps + 1):
        half = (claim.high - claim.low) / 2.0 * step / steps
        a, b = total / 2.0 - half, total / 2.0 + half
        hum = hum_left_db(a * 1e3, b * 1e3)
        imbalance = imbalance_percent(a * 1e3, b * 1e3)
        x.append(round(abs(imbalance), 2))
        y.append(round(hum, 2))
        rows.append(
            DisputeRow(
                f"{a:.2f} kΩ + {b:.2f} kΩ",
                (
                    with_unit(abs(imbalance), 1, "%"),
                    with_unit(hum, 1, "dB"),
                    f"1/{10 ** (-hum / 20.0):.0f}",
                ),
            )
        )
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
    series: dict[str, list[float | None]] = {"hum left, dB": list(y)}
    figure = lines(
        "imbalance-hum",
        "Hum left against the coils' difference",
        "Resistance stands for turns here. Each halving of the difference takes 6 dB from what is "
        "left.",
        x,
        series,
        ("difference over the mean, %", "hum left, dB"),
    )
    return Item(
        "imbalance-hum",
        practice(),
        (),
        sums,
        tuple(rows),
        figure,
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

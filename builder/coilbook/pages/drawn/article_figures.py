"""Figures of the articles whose lines and numbers are computed: none of them is typed.

A prose page asks for one by its name, as in ``<!-- figure: response -->``. Links go out from
a page one folder below the root, where all articles stand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from html import escape

import numpy as np

from coilbook.core.formulas.circuit import parallel_ohm, take_out_parallel_ohm
from coilbook.core.formulas.copper import at_temperature
from coilbook.core.formulas.rods import RodMagnet, rod_on_axis_t
from coilbook.measures.response import (
    EXAMPLE_LOADS,
    UNLOADED,
    Circuits,
    Load,
    levels_db,
    marks,
)
from coilbook.pages.text import number
from coilbook.pages.tools.calculators import START_CIRCUIT

#: Drawn this wide, so that on the narrowest phone a letter is still about 12 px high.
WIDTH = 340.0
_LEFT, _RIGHT, _TOP = 42.0, 12.0, 12.0
_PLOT_HEIGHT = 180.0
SPAN_HZ = (100.0, 20_000.0)
SPAN_DB = (-20.0, 30.0)
#: A rod of the usual diameter, 3/16 in, and a common length; the shape of its field is what is
#: shown, and that hardly depends on the length.
ROD = RodMagnet(diameter_m=0.0048, along_m=0.017)
#: The coil of the figure of conditions: its resistance at 20 °C.
SAME_COIL_OHM = 8000.0
WARM_C = 26.0
#: Controls that lie across a pickup at the jack, in ohm, and how far off each may be: by its mark
#: (the usual tolerance of pots), and read with an ordinary meter. Common practice.
ACROSS_OHM = (500e3, 250e3)
BY_ITS_MARK, BY_A_METER = 0.20, 0.01
#: Harmonics that the drawing of nodes shows, and where the pickup stands, from the bridge.
PARTIALS, NODE_AT = (1, 2, 3, 4), 0.25


def figure(
    name: str, title: str, told: str, height: float, drawn: Iterable[str], below: str
) -> str:
    """Return a drawing with its title, its description and what stands below it."""
    return (
        f'<figure class="cb-art"><svg viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" '
        f'aria-labelledby="cb-art-{name}-title cb-art-{name}-told">'
        f'<title id="cb-art-{name}-title">{escape(title)}</title>'
        f'<desc id="cb-art-{name}-told">{escape(told)}</desc>{"".join(drawn)}</svg>'
        f"<figcaption>{below}</figcaption></figure>"
    )


def start_circuit() -> Circuits:
    """Return the circuit with which the calculators begin."""
    return Circuits(*(np.array([part]) for part in START_CIRCUIT))


def x_of_hz(hertz: float) -> float:
    """Return the place of a frequency on the response's axis."""
    low, high = (math.log10(end) for end in SPAN_HZ)
    return _LEFT + (math.log10(hertz) - low) / (high - low) * (WIDTH - _LEFT - _RIGHT)


def y_of_db(level_db: float) -> float:
    """Return the place of a level on the response's axis."""
    return _TOP + (SPAN_DB[1] - level_db) / (SPAN_DB[1] - SPAN_DB[0]) * _PLOT_HEIGHT


def _path(points: Iterable[tuple[float, float]], kind: str) -> str:
    steps = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return f'<path class="{kind}" d="M{steps}"/>'


def _words(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _curve(load: Load, kind: str) -> str:
    hertz = np.geomspace(*SPAN_HZ, 141)
    levels = levels_db(start_circuit(), load, hertz)[0]
    points = [
        (x_of_hz(float(f)), y_of_db(float(level)))
        for f, level in zip(hertz, levels, strict=True)
        if SPAN_DB[0] <= level <= SPAN_DB[1]
    ]
    return _path(points, kind)


def response() -> str:
    """Draw one pickup's response with nothing across it and under the two example loads."""
    bottom = y_of_db(SPAN_DB[0])
    drawn = []
    for hertz, words in ((100, "100"), (1000, "1 k"), (10_000, "10 k")):
        x = x_of_hz(float(hertz))
        drawn += [
            f'<path class="cb-art-grid" d="M{x:.1f} {_TOP:.0f}V{bottom:.0f}"/>',
            _words(x, bottom + 15, words),
        ]
    for level in range(int(SPAN_DB[0]), int(SPAN_DB[1]) + 1, 10):
        y = y_of_db(float(level))
        drawn += [
            f'<path class="cb-art-grid" d="M{_LEFT:.0f} {y:.1f}H{WIDTH - _RIGHT:.0f}"/>',
            _words(_LEFT - 6, y + 4, number(float(level), 0), "end"),
        ]
    drawn.append(_words((_LEFT + WIDTH - _RIGHT) / 2, bottom + 31, "frequency, Hz"))
    drawn.append(_words(_LEFT + 4, _TOP + 12, "level, dB", "start"))
    drawn += [
        _curve(UNLOADED, "cb-art-dashed"),
        _curve(EXAMPLE_LOADS[0], "cb-art-line"),
        _curve(EXAMPLE_LOADS[1], "cb-art-strong"),
    ]
    henry, ohm, farad = START_CIRCUIT
    below = (
        f"A pickup of {henry:g} H, {ohm / 1e3:g} kΩ and {farad * 1e12:g} pF: dashed with nothing "
        "but its own lead, thin with 500 kΩ pots, thick with a 250 kΩ volume pot; both with a "
        "cable and an amplifier. Level is output over what the winding makes. The same circuit "
        'stands ready in the <a href="../calculators/index.html#response">calculator</a>; '
        '<a href="../methods/index.html#levels-db">how it is computed</a>.'
    )
    told = (
        "Three curves of level against frequency. All start level on the left, rise to a peak and "
        "fall. With nothing across it the peak is the highest and farthest right; under a load it "
        "is lower and farther left, and lowest with the smaller volume pot."
    )
    return figure(
        "response", "Response of one pickup under three loads", told, bottom + 38, drawn, below
    )


def changes() -> tuple[tuple[str, float, float], ...]:
    """Return what changing one thing at a time does: words, peak in Hz, its height in dB."""
    load = EXAMPLE_LOADS[0]
    henry, ohm, farad = START_CIRCUIT
    one = start_circuit()

    def turns(share: float) -> Circuits:
        return Circuits(np.array([henry * share**2]), np.array([ohm * share]), np.array([farad]))

    cases = (
        ("As it stands", one, load),
        ("Volume pot 250 kΩ for 500 kΩ", one, EXAMPLE_LOADS[1]),
        ("Half the cable", one, replace(load, cable_f=load.cable_f / 2)),
        ("Twice the cable", one, replace(load, cable_f=load.cable_f * 2)),
        ("A tenth fewer turns", turns(0.9), load),
        ("A tenth more turns", turns(1.1), load),
        ("Nothing across it but its own lead", one, UNLOADED),
    )
    found = []
    for words, circuit, under in cases:
        mark = marks(circuit, under)
        found.append((words, float(mark.peak_hz[0]), float(mark.height_db[0])))
    return tuple(found)


def changes_table() -> str:
    """Write the table of what changing one thing does to the peak."""
    rows = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td data-label="Peak, kHz">{peak / 1e3:.2f}</td>'
        f'<td data-label="Height, dB">{number(height, 1)}</td></tr>'
        for words, peak, height in changes()
    )
    return (
        '<figure class="cb-art"><table class="cb-table cb-tight"><thead><tr>'
        '<th scope="col">One thing changed</th><th scope="col">Peak, kHz</th>'
        f'<th scope="col">Height, dB</th></tr></thead><tbody>{rows}</tbody></table>'
        "<figcaption>The pickup and the 500 kΩ load of the curves above. With turns, inductance is "
        "taken to go with their square and resistance with their number; capacitance is left as it "
        'is. <a href="../methods/index.html#marks">How the peak is found</a>; '
        '<a href="../methods/index.html#scaled-inductance-h">turns and inductance</a>; '
        '<a href="../calculators/index.html#response">try others</a>.</figcaption></figure>'
    )


def field_share(distance_mm: float) -> float:
    """Return the field over a rod's face as a share of that at the face."""
    return rod_on_axis_t(1.0, ROD, distance_mm / 1e3) / rod_on_axis_t(1.0, ROD, 0.0)


def field_above_a_rod() -> str:
    """Draw how the field falls with the distance from a rod's face."""
    most_mm, height = 6.0, 150.0
    bottom = _TOP + height

    def x_of(mm: float) -> float:
        return _LEFT + mm / most_mm * (WIDTH - _LEFT - _RIGHT)

    def y_of(share: float) -> float:
        return bottom - share * height

    drawn = []
    for mm in range(int(most_mm) + 1):
        drawn += [
            f'<path class="cb-art-grid" d="M{x_of(mm):.1f} {_TOP:.0f}V{bottom:.0f}"/>',
            _words(x_of(mm), bottom + 15, f"{mm}"),
        ]
    for percent in (0, 50, 100):
        y = y_of(percent / 100)
        drawn += [
            f'<path class="cb-art-grid" d="M{_LEFT:.0f} {y:.1f}H{WIDTH - _RIGHT:.0f}"/>',
            _words(_LEFT - 6, y + 4, f"{percent} %", "end"),
        ]
    drawn.append(_words((_LEFT + WIDTH - _RIGHT) / 2, bottom + 31, "distance from the face, mm"))
    drawn.append(
        _path(
            ((x_of(mm / 10), y_of(field_share(mm / 10))) for mm in range(int(most_mm * 10) + 1)),
            "cb-art-strong",
        )
    )
    below = (
        f"A rod magnet of {ROD.diameter_m * 1e3:g} × {ROD.along_m * 1e3:g} mm alone in air: at "
        f"half a millimetre from the face {100 * field_share(0.5):.0f} % of the field is left, "
        f"at one millimetre {100 * field_share(1.0):.0f} %, at two {100 * field_share(2.0):.0f} %. "
        '<a href="../methods/index.html#rod-on-axis-t">The formula</a>; '
        '<a href="../methods/index.html#standoff-ratio">how a gap is taken out</a>.'
    )
    told = (
        "A curve that falls steeply from 100 percent at the face and flattens out: more than half "
        "of the field is lost within the first two millimetres."
    )
    return figure("field", "Field above a rod magnet by distance", told, bottom + 38, drawn, below)


def readings_of_one_coil() -> tuple[tuple[str, float], ...]:
    """Return what one coil reads under several conditions, in ohm."""
    cold, warm = SAME_COIL_OHM, at_temperature(SAME_COIL_OHM, WARM_C)
    return (
        ("free, at 20 °C", cold),
        (f"free, at {WARM_C:g} °C", warm),
        ("across 500 kΩ, at 20 °C", parallel_ohm(cold, 500e3)),
        ("across 250 kΩ, at 20 °C", parallel_ohm(cold, 250e3)),
        ("across both, at 20 °C", parallel_ohm(cold, parallel_ohm(250e3, 500e3))),
    )


def one_coil() -> str:
    """Draw what one and the same coil reads under several conditions."""
    found = readings_of_one_coil()
    low, high = 7.4, 8.4
    lane, left, right = 26.0, 158.0, 46.0

    def x_of(kohm: float) -> float:
        return left + (kohm - low) / (high - low) * (WIDTH - left - right)

    true = x_of(SAME_COIL_OHM / 1e3)
    bottom = _TOP + lane * len(found)
    drawn = [f'<path class="cb-art-dashed" d="M{true:.1f} {_TOP:.0f}V{bottom:.0f}"/>']
    for index, (words, ohm) in enumerate(found):
        y = _TOP + lane * (index + 0.5)
        x = x_of(ohm / 1e3)
        drawn += [
            _words(left - 10, y + 4, words, "end"),
            f'<path class="cb-art-line" d="M{true:.1f} {y:.1f}H{x:.1f}"/>',
            f'<circle class="cb-art-dot" cx="{x:.1f}" cy="{y:.1f}" r="4"/>',
            # On the far side of the dot from the coil's own value, so that no line crosses it.
            _words(
                x + (8 if x >= true else -8),
                y + 4,
                f"{ohm / 1e3:.2f}",
                "start" if x >= true else "end",
            ),
        ]
    told = "; ".join(f"{words}: {ohm / 1e3:.2f} kΩ" for words, ohm in found) + "."
    below = (
        "One coil, read in five ways, in kΩ. Nothing about the coil has changed. "
        '<a href="../calculators/index.html#temperature">Temperature</a> and '
        '<a href="../calculators/index.html#parallel-path">parallel path</a> to calculate; '
        'the methods: <a href="../methods/index.html#at-temperature">warmer</a>, '
        '<a href="../methods/index.html#parallel-ohm">in parallel</a>.'
    )
    return figure(
        "one-coil", "What one coil reads under five conditions", told, bottom + 10, drawn, below
    )


def left_after_correction(pot_ohm: float, off: float) -> float:
    """Return the most that a corrected reading is off if the control is off by a share, as a share.

    The reading is taken with the control as it is, and corrected by what it is said to be.
    """
    return max(
        abs(
            take_out_parallel_ohm(parallel_ohm(SAME_COIL_OHM, pot_ohm * share), pot_ohm)
            / SAME_COIL_OHM
            - 1.0
        )
        for share in (1.0 - off, 1.0 + off)
    )


def in_circuit_table() -> str:
    """Write the table of how good a corrected reading is, by what is known of the control."""
    rows = "".join(
        f'<tr><th scope="row">{pot / 1e3:.0f} kΩ, {words}</th>'
        f'<td data-label="Reads, kΩ">{parallel_ohm(SAME_COIL_OHM, pot) / 1e3:.2f}</td>'
        '<td data-label="Corrected, off by at most">'
        f"{100 * left_after_correction(pot, off):.{digits}f} %</td></tr>"
        for pot in ACROSS_OHM
        for words, off, digits in (
            (f"by its mark, ±{100 * BY_ITS_MARK:.0f} %", BY_ITS_MARK, 1),
            (f"read with a meter, ±{100 * BY_A_METER:.0f} %", BY_A_METER, 2),
        )
    )
    return (
        '<figure class="cb-art"><table class="cb-table cb-tight"><thead><tr>'
        '<th scope="col">Volume control across it</th><th scope="col">Reads, kΩ</th>'
        f'<th scope="col">Corrected, off by at most</th></tr></thead><tbody>{rows}</tbody></table>'
        f"<figcaption>A coil of {SAME_COIL_OHM / 1e3:g} kΩ, read at the jack with one volume "
        "control fully up. A better-known control leaves less to guess. "
        '<a href="../methods/index.html#take-out-parallel-ohm">How the control is taken out</a>; '
        '<a href="../calculators/index.html#parallel-path">try your own</a>.</figcaption></figure>'
    )


def partial_at(partial: int, place: float) -> float:
    """Return how far a partial swings at a place along the string, as a share of its most."""
    return abs(math.sin(partial * math.pi * place))


def nodes() -> str:
    """Draw a string's first partials over one pickup, and how much of each it picks up there."""
    left, right, lane, swing = 34.0, 250.0, 46.0, 15.0
    at = left + NODE_AT * (right - left)
    bottom = _TOP + lane * len(PARTIALS)
    drawn = [f'<path class="cb-art-dashed" d="M{at:.1f} {_TOP:.0f}V{bottom + 4:.0f}"/>']
    for index, partial in enumerate(PARTIALS):
        middle = _TOP + lane * (index + 0.5)
        steps = [step / 60 for step in range(61)]
        for side in (1.0, -1.0):
            curve = [
                (
                    left + share * (right - left),
                    middle - side * swing * math.sin(partial * math.pi * share),
                )
                for share in steps
            ]
            drawn.append(_path(curve, "cb-art-line" if side > 0 else "cb-art-dashed"))
        drawn += [
            _words(left - 8, middle + 4, str(partial), "end"),
            _words(right + 10, middle + 4, f"{100 * partial_at(partial, NODE_AT):.0f} %", "start"),
        ]
    drawn += [
        f'<rect class="cb-art-coil" x="{at - 16:.1f}" y="{bottom + 4:.0f}" '
        'width="32" height="14"/>',
        _words(at, bottom + 34, "pickup"),
        _words(left, bottom + 34, "bridge"),
        _words(right, bottom + 34, "nut"),
        _words(right + 10, _TOP - 2, "picked up", "start"),
    ]
    told = (
        f"The first {len(PARTIALS)} harmonics of a string, one below the other, over a pickup a "
        "quarter of the way from the bridge. There the second swings widest and the fourth stands "
        "still."
    )
    below = (
        "A pickup a quarter of the string's length from the bridge: share of each harmonic's swing "
        "that it has above it. The fourth has a node there and gives no signal. A sketch from the "
        "physics of a string; what a winding makes of the signal is under "
        '<a href="../methods/index.html#levels-db">response</a>.'
    )
    return figure("nodes", "Harmonics of a string over a pickup", told, bottom + 40, drawn, below)


FIGURES: Mapping[str, Callable[[], str]] = {
    "response": response,
    "what-moves-the-peak": changes_table,
    "field-above-a-rod": field_above_a_rod,
    "one-coil": one_coil,
    "in-circuit": in_circuit_table,
    "nodes": nodes,
}

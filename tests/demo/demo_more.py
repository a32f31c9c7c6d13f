"""What is looked at beyond the usual: a probe held off, polarity, and what a rewinder notes."""

from __future__ import annotations

from functools import partial

from demo_bench import meter, write_fine_mass, write_length, write_turns
from demo_physics import rod_row_mt, wire_gram
from demo_pieces import PROBE_MM
from demo_sitting import Bench

#: Shares of pieces on which somebody looked further, or held things otherwise.
_POLARITY_SHARE, _WINDER_SHARE = 0.25, 0.7
_OFF_ROD_SHARE, _OFF_BAR_SHARE, _ZERO_SHARE = 0.08, 0.015, 0.12
#: From rod to rod of a row.
_PITCH_MM = 10.4


def held(bench: Bench, flux_mt: float) -> tuple[float, dict[str, str]]:
    """Hold the probe: on the pole, or off it; and note what it shows of nothing, if it does.

    Off a bar's pole the field falls in a way that nobody works back from; these few stay bounds.
    """
    more, rod = bench.more, bench.truth.plan.make.rod_mm is not None
    seen, cells = flux_mt, {}
    if more.random() < (_OFF_ROD_SHARE if rod else _OFF_BAR_SHARE):
        gap = more.choice((1.0, 1.5, 2.0, 2.5))
        cells["standoff"] = f"{gap:.1f} mm"
        true_gap = gap + more.uniform(-0.08, 0.08)
        if rod:
            length, diameter = bench.truth.magnet_mm
            touching = rod_row_mt(length, diameter, _PITCH_MM, PROBE_MM)
            seen *= rod_row_mt(length, diameter, _PITCH_MM, PROBE_MM + true_gap) / touching
            bench.later.append(partial(_rod_sizes, bench))
        else:
            seen /= (1 + true_gap / 6) ** 2
    if more.random() < _ZERO_SHARE:
        zero = more.choice((-2, -1, 1, 2))
        seen += zero + more.uniform(-0.5, 0.5)
        cells["zero"] = more.choice((f"{zero} mT", f"{zero * 10} G"))
    return seen, cells


def _rod_sizes(bench: Bench) -> None:
    """Measure a rod's length and diameter, which a field read off it needs."""
    length, diameter = bench.truth.magnet_mm
    for edge, millimetre in (("magnet-length", length), ("magnet-width", diameter)):
        bench.quantity(
            "magnet", edge, meter("calipers", "length"), millimetre, write_length, unit="mm"
        )


def _polarity(bench: Bench) -> None:
    """Find out how two coils were wound, joined and magnetised, by compass and meter.

    As the works did it: wound alike, opposite poles up, joined at the same ends.
    """
    rewound = bench.truth.state == "rewound"
    for component, lead, pole in (("coil_a", "start", "south"), ("coil_b", "finish", "north")):
        sense = "anticlockwise" if rewound else "clockwise"
        bench.word(component, "winding-sense", sense)
        bench.word(component, "hot-lead", lead)
        bench.word(component, "pole-polarity", pole)


def _winder(bench: Bench) -> None:
    """Note what the rewinder counted and weighed."""
    make, enamel = bench.truth.plan.make, bench.more.uniform(1.1, 1.35)
    for coil in bench.truth.coils:
        bench.quantity(
            coil.component, "coil-turns", meter("winding-counter", "count"),
            coil.winding.turns, write_turns, unit="turns",
        )  # fmt: skip
        bench.quantity(
            coil.component, "wire-mass", meter("letter-scale", "mass"),
            wire_gram(make.core, coil.winding, enamel), write_fine_mass, unit="g",
        )  # fmt: skip


def more_readings(bench: Bench) -> None:
    """Take what is looked at beyond the usual, with chances of its own."""
    bench.rng, truth = bench.more, bench.truth
    for read in bench.later:
        read()
    if len(truth.coils) == 2 and bench.more.random() < _POLARITY_SHARE:
        _polarity(bench)
    if truth.state == "rewound" and bench.more.random() < _WINDER_SHARE:
        _winder(bench)

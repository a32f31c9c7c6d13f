"""Where practice and the standard part, about resistance: a room's temperature, and turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from coilbook.core.budgets.uncertainty import Contribution, Estimate, expanded
from coilbook.core.constants import ALPHA_20_PER_K
from coilbook.core.formulas.copper import temperature_factor
from coilbook.core.reduction.turns import turns_estimate, winding_half_widths, winding_of
from coilbook.pages import text, views
from coilbook.pages.disputes.dispute import (
    DisputeRow,
    Item,
    Link,
    Sum,
    bars,
    cited,
    family,
    method,
    percent,
    practice,
    with_unit,
)
from coilbook.pages.disputes.in_wire import (
    EXAMPLE_AWG,
    EXAMPLE_FAMILY,
    EXAMPLE_KOHM,
    example_bobbin,
    singles,
)
from coilbook.pages.drawn import figures
from coilbook.pages.page import Book
from coilbook.records.contents import Claim

#: A warm day against a cool one, in K.
ROOM_K = 10.0


def _steps(book: Book) -> list[tuple[str, Claim, Claim]]:
    """Return each family's neighbouring periods with a usual resistance, claim against claim."""
    found = []
    for family_id, row in book.reference.families.items():
        main = views.main_property(row)
        of: dict[str, list[Claim]] = {}
        for claim in book.reference.claims:
            mine = claim.row.family_id == family_id and claim.property.property_id == main
            usual = claim.row.period_id is not None and claim.typical is not None
            if mine and usual and claim.row.position is None:
                of.setdefault(str(claim.row.period_id), []).append(claim)
        dated = [p for p in book.reference.periods_of(family_id) if p.period_id in of]
        found += [
            (family_id, one, other)
            for a, b in pairwise(dated)
            for one in of[a.period_id]
            for other in of[b.period_id]
        ]
    return found


@dataclass(frozen=True, slots=True)
class _Step:
    """The step of a usual resistance from one period to the next, by two claims."""

    family_id: str
    name: str
    one: Claim
    other: Claim

    @property
    def percent(self) -> float:
        assert self.one.typical is not None
        assert self.other.typical is not None
        return 100.0 * (self.other.typical / self.one.typical - 1.0)


def _named_steps(book: Book) -> list[_Step]:
    """Return the steps by name; where several claims share the periods, with their ends."""
    periods, families = book.reference.periods, book.reference.families
    steps = _steps(book)
    spans = [(f, one.row.period_id, other.row.period_id) for f, one, other in steps]
    named = []
    for span_key, (family_id, one, other) in zip(spans, steps, strict=True):
        assert one.typical is not None
        assert other.typical is not None
        span = f"{periods[str(one.row.period_id)].name} to {periods[str(other.row.period_id)].name}"
        if spans.count(span_key) > 1:
            ends = (text.quantity(c, one.property) for c in (one.typical, other.typical))
            span += f" ({' to '.join(ends)})"
        named.append(_Step(family_id, f"{families[family_id].name}, {span}", one, other))
    return named


def _step_row(place: int, step: _Step, shift: float) -> DisputeRow:
    prop = step.one.property
    assert step.one.typical is not None
    assert step.other.typical is not None
    return DisputeRow(
        f"{place}. {step.name}",
        (
            text.quantity(step.one.typical, prop),
            text.quantity(step.other.typical, prop),
            percent(step.percent),
            with_unit(abs(step.percent) / 100.0 / ALPHA_20_PER_K, 0, "K"),
            "yes" if abs(step.percent) < shift else "no",
        ),
        f"families/{step.family_id}/index.html#{prop.property_id}",
    )


def _room_sums(shift: float, smaller: int, steps: int) -> tuple[Sum, ...]:
    example = 2.0 * EXAMPLE_KOHM
    return (
        Sum(
            "resistance rises by",
            f"{100.0 * ALPHA_20_PER_K:g} %/K × {ROOM_K:g} K",
            percent(shift, 2),
        ),
        Sum(
            f"a pair of {example:g} kΩ",
            f"{example:g} kΩ × {shift:.2f} %",
            with_unit(example * shift / 100.0, 2, "kΩ"),
        ),
        Sum(
            "steps between neighbouring periods that are smaller than that",
            f"{smaller} of {steps}",
            with_unit(100.0 * smaller / steps, 0, "%"),
        ),
    )


def _room_figure(steps: Sequence[_Step], shift: float) -> figures.Figure:
    return bars(
        "room-temperature",
        f"Steps between periods, beside {ROOM_K:g} K of a room",
        "Change of the usual resistance from one period to the next, by what is claimed. Between "
        f"the broken lines a room's {ROOM_K:g} K does as much.",
        [step.name for step in steps],
        [round(step.percent, 2) for step in steps],
        "change of the usual resistance, %",
        shapes=[
            {
                "type": "line",
                "yref": "paper",
                "y0": 0,
                "y1": 1,
                "x0": x,
                "x1": x,
                "line": {"color": "var:--cb-copper", "width": 2, "dash": "dash"},
            }
            for x in (-round(shift, 2), round(shift, 2))
        ],
    )


def room_temperature(book: Book) -> Item:
    """Return what a room's temperature does beside the difference between periods."""
    shift = 100.0 * (temperature_factor(20.0 + ROOM_K) - 1.0)
    steps = _named_steps(book)
    smaller = sum(abs(step.percent) < shift for step in steps)
    return Item(
        "room-temperature",
        practice(),
        (cited(book, "iec-60028", "temperature coefficient"),),
        _room_sums(shift, smaller, len(steps)),
        tuple(_step_row(place, step, shift) for place, step in enumerate(steps, start=1)),
        _room_figure(steps, shift),
        (
            method("to_20c", "bringing a reading to 20 °C"),
            family(book, EXAMPLE_FAMILY, "pair-resistance"),
            Link("calculators", "calculators/index.html"),
        ),
        {
            "kelvin": f"{ROOM_K:g}",
            "shift": percent(shift),
            "smaller": str(smaller),
            "steps": str(len(steps)),
        },
    )


def _effect_row(place: int, line: Contribution, variance: float) -> DisputeRow:
    return DisputeRow(
        f"{place}. {line.name}",
        (
            f"{line.estimate:.4g}{text.unit_text(line.unit)}",
            f"{line.standard_uncertainty:.2g}{text.unit_text(line.unit)}",
            text.number(abs(line.effect), 0),
            with_unit(100.0 * line.effect**2 / variance, 1, "%"),
        ),
    )


def _effect_sums(estimate: Estimate, by_effect: Sequence[Contribution]) -> tuple[Sum, ...]:
    widest, extent = by_effect[0], expanded(estimate.standard_uncertainty)
    return (
        Sum(
            "widest: " + widest.name,
            f"{abs(widest.sensitivity):.4g} turns per {widest.unit} × "
            f"{widest.standard_uncertainty:.3g} {widest.unit}",
            f"{text.number(abs(widest.effect), 0)} turns",
        ),
        Sum(
            "all together, squares added",
            "√("
            + " + ".join(f"{abs(c.effect):.0f}²" for c in by_effect if abs(c.effect) >= 0.5)
            + ")",
            f"{text.number(estimate.standard_uncertainty, 0)} turns",
        ),
        Sum(
            "expanded (k = 2), as a share",
            f"2 × {estimate.standard_uncertainty:.0f} / {text.number(estimate.value, 0)}",
            f"± {with_unit(100.0 * extent / estimate.value, 0, '%')}",
        ),
    )


def turns_from_resistance(book: Book) -> Item:
    """Return what makes turns from a resistance unsure, though the reading were perfect."""
    bobbin = example_bobbin(book)
    wire = next(w for w in singles(book) if w.awg == EXAMPLE_AWG)
    estimate = turns_estimate(EXAMPLE_KOHM, (), winding_of(wire, bobbin), winding_half_widths(wire))
    variance = estimate.standard_uncertainty**2
    by_effect = sorted(estimate.contributions, key=lambda c: -abs(c.effect))
    extent = expanded(estimate.standard_uncertainty)
    figure = bars(
        "turns-from-resistance",
        "What makes the turns unsure",
        f"Effect of each input on the turns of a coil of {EXAMPLE_KOHM:g} kΩ (k = 1), the reading "
        f"itself taken as perfect. Together: {text.number(estimate.value, 0)} ± "
        f"{text.number(extent, 0)} turns (k = 2).",
        [line.name for line in by_effect],
        [round(abs(line.effect), 1) for line in by_effect],
        "effect, turns",
    )
    return Item(
        "turns-from-resistance",
        practice(),
        (
            cited(book, "nema-mw-1000", f"limits of {EXAMPLE_AWG} AWG, single build"),
            cited(book, "jcgm-100", "clause 5"),
        ),
        _effect_sums(estimate, by_effect),
        tuple(_effect_row(place, line, variance) for place, line in enumerate(by_effect, start=1)),
        figure,
        (
            method("coil_turns", "turns from resistance"),
            Link("constants and assumptions", "methods/index.html#constants"),
            family(book, EXAMPLE_FAMILY, "coil-turns"),
        ),
        {
            "kohm": f"{EXAMPLE_KOHM:g}",
            "turns": text.number(estimate.value, 0),
            "extent": text.number(extent, 0),
            "share": text.number(100.0 * extent / estimate.value, 0),
            "dominant": by_effect[0].name,
        },
    )

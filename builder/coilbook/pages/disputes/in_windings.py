"""Where practice and the standard part, about resistance: a room's temperature, and turns."""

from __future__ import annotations

from itertools import pairwise

from coilbook.measures import expanded
from coilbook.measures.constants import ALPHA_20_PER_K
from coilbook.measures.copper import temperature_factor
from coilbook.measures.turns import turns_estimate, winding_half_widths, winding_of
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


def room_temperature(book: Book) -> Item:
    """Return what a room's temperature does beside the difference between periods."""
    rows: list[DisputeRow] = []
    names, values = [], []
    shift = 100.0 * (temperature_factor(20.0 + ROOM_K) - 1.0)
    periods, families = book.reference.periods, book.reference.families
    steps = _steps(book)
    spans = [(f, one.row.period_id, other.row.period_id) for f, one, other in steps]
    for span_key, (family_id, one, other) in zip(spans, steps, strict=True):
        assert one.typical is not None
        assert other.typical is not None
        change = 100.0 * (other.typical / one.typical - 1.0)
        span = f"{periods[str(one.row.period_id)].name} to {periods[str(other.row.period_id)].name}"
        prop = one.property
        if spans.count(span_key) > 1:
            ends = (text.quantity(one.typical, prop), text.quantity(other.typical, prop))
            span += f" ({ends[0]} to {ends[1]})"
        rows.append(
            DisputeRow(
                f"{len(rows) + 1}. {families[family_id].name}, {span}",
                (
                    text.quantity(one.typical, prop),
                    text.quantity(other.typical, prop),
                    percent(change),
                    with_unit(abs(change) / 100.0 / ALPHA_20_PER_K, 0, "K"),
                    "yes" if abs(change) < shift else "no",
                ),
                f"families/{family_id}/index.html#{prop.property_id}",
            )
        )
        names.append(f"{families[family_id].name}, {span}")
        values.append(round(change, 2))
    smaller = sum(abs(v) < shift for v in values)
    example = 2.0 * EXAMPLE_KOHM
    sums = (
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
            f"{smaller} of {len(values)}",
            with_unit(100.0 * smaller / len(values), 0, "%"),
        ),
    )
    figure = bars(
        "room-temperature",
        f"Steps between periods, beside {ROOM_K:g} K of a room",
        "Change of the usual resistance from one period to the next, by what is claimed. Between "
        f"the broken lines a room's {ROOM_K:g} K does as much.",
        names,
        values,
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
    return Item(
        "room-temperature",
        practice(),
        (cited(book, "iec-60028", "temperature coefficient"),),
        sums,
        tuple(rows),
        figure,
        (
            method("to_20c", "bringing a reading to 20 °C"),
            family(book, EXAMPLE_FAMILY, "pair-resistance"),
            Link("calculators", "calculators/index.html"),
        ),
        {
            "kelvin": f"{ROOM_K:g}",
            "shift": percent(shift),
            "smaller": str(smaller),
            "steps": str(len(values)),
        },
    )


def turns_from_resistance(book: Book) -> Item:
    """Return what makes turns from a resistance unsure, though the reading were perfect."""
    bobbin = example_bobbin(book)
    wire = next(w for w in singles(book) if w.awg == EXAMPLE_AWG)
    estimate = turns_estimate(EXAMPLE_KOHM, (), winding_of(wire, bobbin), winding_half_widths(wire))
    variance = estimate.standard_uncertainty**2
    lines_ = sorted(estimate.contributions, key=lambda c: -abs(c.effect))
    rows = tuple(
        DisputeRow(
            f"{place}. {line.name}",
            (
                f"{line.estimate:.4g}{text.unit_text(line.unit)}",
                f"{line.standard_uncertainty:.2g}{text.unit_text(line.unit)}",
                text.number(abs(line.effect), 0),
                with_unit(100.0 * line.effect**2 / variance, 1, "%"),
            ),
        )
        for place, line in enumerate(lines_, start=1)
    )
    extent = expanded(estimate.standard_uncertainty)
    widest = lines_[0]
    sums = (
        Sum(
            "widest: " + widest.name,
            f"{abs(widest.sensitivity):.4g} turns per {widest.unit} × "
            f"{widest.standard_uncertainty:.3g} {widest.unit}",
            f"{text.number(abs(widest.effect), 0)} turns",
        ),
        Sum(
            "all together, squares added",
            "√("
            + " + ".join(f"{abs(c.effect):.0f}²" for c in lines_ if abs(c.effect) >= 0.5)
            + ")",
            f"{text.number(estimate.standard_uncertainty, 0)} turns",
        ),
        Sum(
            "expanded (k = 2), as a share",
            f"2 × {estimate.standard_uncertainty:.0f} / {text.number(estimate.value, 0)}",
            f"± {with_unit(100.0 * extent / estimate.value, 0, '%')}",
        ),
    )
    figure = bars(
        "turns-from-resistance",
        "What makes the turns unsure",
        f"Effect of each input on the turns of a coil of {EXAMPLE_KOHM:g} kΩ (k = 1), the reading "
        f"itself taken as perfect. Together: {text.number(estimate.value, 0)} ± "
        f"{text.number(extent, 0)} turns (k = 2).",
        [line.name for line in lines_],
        [round(abs(line.effect), 1) for line in lines_],
        "effect, turns",
    )
    return Item(
        "turns-from-resistance",
        practice(),
        (
            cited(book, "nema-mw-1000", f"limits of {EXAMPLE_AWG} AWG, single build"),
            cited(book, "jcgm-100", "clause 5"),
        ),
        sums,
        rows,
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
            "dominant": widest.name,
        },
    )

"""Where practice and the standard part, about wire: formula, gauge system, grade."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.core.formulas.coil import Winding, coil_turns
from coilbook.core.formulas.window import layered_turns
from coilbook.core.formulas.wire import (
    AWG_36_DIAMETER_M,
    AWG_RATIO,
    awg_diameter_m,
    wire_resistance_ohm_per_m,
)
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
    with_unit,
)
from coilbook.pages.page import Book
from coilbook.pages.reference import parts_tables as tables
from coilbook.records.tables.models import Bobbin, OtherWire, Wire

#: The family and the gauge that the worked examples take: the trade's own.
EXAMPLE_FAMILY = "full-size-humbucker"
EXAMPLE_AWG = 42
#: A coil of the trade, in kΩ.
EXAMPLE_KOHM = 4.0


def example_bobbin(book: Book) -> Bobbin:
    """Return the bobbin of the worked examples."""
    bobbin_id = book.reference.families[EXAMPLE_FAMILY].bobbin_id
    assert bobbin_id is not None
    return book.reference.bobbins[bobbin_id]


def singles(book: Book) -> list[Wire]:
    """Return one wire a gauge, in single build, thick ones first."""
    found = [w for w in book.reference.wires.values() if w.build == "single"]
    return sorted(found, key=lambda w: w.awg)


def per_km(diameter_mm: float) -> float:
    """Return the resistance of a kilometre of copper of a diameter, Ω."""
    return 1000.0 * float(wire_resistance_ohm_per_m(diameter_mm / 1000.0))


def _turns(bobbin: Bobbin, bare_mm: float, overall_mm: float) -> float:
    winding = Winding(
        bare_diameter_m=bare_mm / 1000.0,
        overall_diameter_m=overall_mm / 1000.0,
        core_length_m=bobbin.core_length_mm / 1000.0,
        core_width_m=bobbin.core_width_mm / 1000.0,
        winding_height_m=bobbin.winding_height_mm / 1000.0,
    )
    return float(coil_turns(1000.0 * EXAMPLE_KOHM, winding))


@dataclass(frozen=True, slots=True)
class _Rounded:
    """A gauge's diameter by the formula and rounded, and what the rounding does."""

    wire: Wire
    formula_mm: float
    percent: float
    turns_by_formula: float
    turns_by_table: float


def _rounded(wire: Wire, bobbin: Bobbin) -> _Rounded:
    formula = 1000.0 * awg_diameter_m(wire.awg)
    return _Rounded(
        wire,
        formula,
        100.0 * (per_km(wire.bare_nom_mm) / per_km(formula) - 1.0),
        _turns(bobbin, formula, wire.overall_nom_mm),
        _turns(bobbin, wire.bare_nom_mm, wire.overall_nom_mm),
    )


def _formula_row(one: _Rounded) -> DisputeRow:
    wire = one.wire
    return DisputeRow(
        f"{wire.awg} AWG",
        (
            f"{one.formula_mm:.5f}",
            f"{wire.bare_nom_mm:.5f}",
            percent(100.0 * (wire.bare_nom_mm / one.formula_mm - 1.0)),
            percent(one.percent),
            text.number(one.turns_by_formula, 0),
            text.number(one.turns_by_table, 0),
        ),
        f"materials/wires/index.html#awg-{wire.awg}",
    )


def _formula_sums(example: _Rounded) -> tuple[Sum, ...]:
    formula, nominal = example.formula_mm, example.wire.bare_nom_mm
    by_formula, by_table = example.turns_by_formula, example.turns_by_table
    return (
        Sum(
            f"{EXAMPLE_AWG} AWG by formula",
            f"{1000.0 * AWG_36_DIAMETER_M:g} mm × {AWG_RATIO:g}^((36 − {EXAMPLE_AWG})/39)",
            f"{formula:.5f} mm",
        ),
        Sum(
            "nominal, rounded to tenths of a mil",
            f"{nominal / 0.0254:.1f} mil × 0.0254 mm/mil",
            f"{nominal:.5f} mm",
        ),
        Sum(
            "resistance goes with the inverse square of the diameter",
            f"({formula:.5f} / {nominal:.5f})² − 1",
            percent(example.percent, 2),
        ),
        Sum(
            f"turns of {EXAMPLE_KOHM:g} kΩ on one bobbin, nominal against formula",
            f"{text.number(by_table, 0)} / {text.number(by_formula, 0)} − 1",
            percent(100.0 * (by_table / by_formula - 1.0), 2),
        ),
    )


def formula_nominal(book: Book) -> Item:
    """Return what the rounding of nominal diameters does to resistance and to turns."""
    bobbin = example_bobbin(book)
    gauges = {wire.awg: _rounded(wire, bobbin) for wire in singles(book)}
    worst = max(gauges, key=lambda awg: abs(gauges[awg].percent))
    figure = lines(
        "formula-nominal",
        "Resistance per length: nominal against formula",
        "For each gauge, how much more or less a length of wire of the nominal diameter has than "
        f"one by the formula. Widest at {worst} AWG, {percent(gauges[worst].percent)}.",
        list(gauges),
        {"nominal against formula, %": [round(one.percent, 2) for one in gauges.values()]},
        ("AWG", "difference in Ω/m, %"),
    )
    return Item(
        "formula-nominal",
        practice(),
        (
            cited(book, "astm-b258", "formula of the gauge"),
            cited(book, "nema-mw-1000", "nominal bare diameters"),
        ),
        _formula_sums(gauges[EXAMPLE_AWG]),
        tuple(_formula_row(one) for one in gauges.values()),
        figure,
        (
            method("awg_diameter_m", "diameter by formula"),
            method("coil_turns", "turns from resistance"),
            Link("wires", "materials/wires/index.html"),
        ),
        {
            "worst": f"{worst} AWG",
            "worst_difference": percent(gauges[worst].percent),
            "kohm": f"{EXAMPLE_KOHM:g}",
            "bobbin": bobbin.name,
        },
    )


def _gauge_row(wire: Wire, other: OtherWire, gauges: tuple[Wire, ...]) -> DisputeRow:
    ratio = other.bare_nom_mm / wire.bare_nom_mm
    awg, off = tables.nearest_gauge(other.bare_nom_mm, gauges)
    return DisputeRow(
        str(wire.awg),
        (
            f"{wire.bare_nom_mm:.4f}",
            f"{other.bare_nom_mm:.4f}",
            text.number(ratio, 2),
            text.number(ratio**2, 2),
            f"{awg} AWG ({percent(off)})" if abs(off) < 6.0 else "thicker than 38 AWG",
        ),
        f"materials/wires/index.html#{other.other_wire_id}",
    )


def _gauge_sums(mine: Wire, theirs: OtherWire) -> tuple[Sum, ...]:
    ratio = theirs.bare_nom_mm / mine.bare_nom_mm
    return (
        Sum(
            f"{EXAMPLE_AWG} SWG over {EXAMPLE_AWG} AWG, diameter",
            f"{theirs.bare_nom_mm:.4f} mm / {mine.bare_nom_mm:.4f} mm",
            text.number(ratio, 3),
        ),
        Sum("resistance of the same length", f"1 / {ratio:.3f}²", f"1 / {ratio**2:.2f}"),
        Sum(
            f"{EXAMPLE_KOHM:g} kΩ of wire, wound from the wrong spool",
            f"{EXAMPLE_KOHM:g} kΩ / {ratio**2:.2f}",
            with_unit(EXAMPLE_KOHM / ratio**2, 2, "kΩ"),
        ),
    )


def gauge_systems(book: Book) -> Item:
    """Return what one gauge number means in two systems."""
    british = {round(w.size): w for w in book.reference.other_wires.values() if w.system == "swg"}
    gauges = tuple(singles(book))
    both = [(wire, british[wire.awg]) for wire in gauges if wire.awg in british]
    mine, theirs = next(pair for pair in both if pair[0].awg == EXAMPLE_AWG)
    ratio = theirs.bare_nom_mm / mine.bare_nom_mm
    twin = min(british.values(), key=lambda w: abs(w.bare_nom_mm - mine.bare_nom_mm))
    figure = lines(
        "gauge-systems",
        "One number, two diameters",
        f"Bare diameter by number. {EXAMPLE_AWG} SWG is {ratio:.2f} times as thick as "
        f"{EXAMPLE_AWG} AWG; what is {EXAMPLE_AWG} AWG lies nearest to {twin.size:g} SWG.",
        [wire.awg for wire, _ in both],
        {
            "American Wire Gauge": [wire.bare_nom_mm for wire, _ in both],
            "British standard wire gauge": [other.bare_nom_mm for _, other in both],
        },
        ("gauge number", "bare diameter, mm"),
    )
    return Item(
        "gauge-systems",
        practice(),
        (
            cited(book, "astm-b258", "AWG sizes"),
            cited(book, "bs-3737", "diameters of the standard wire gauge"),
        ),
        _gauge_sums(mine, theirs),
        tuple(_gauge_row(wire, other, gauges) for wire, other in both),
        figure,
        (
            family(book, EXAMPLE_FAMILY, "wire-gauge"),
            method("wire_resistance_ohm_per_m", "resistance of a metre"),
            Link("wires", "materials/wires/index.html#swg"),
        ),
        {"awg": str(EXAMPLE_AWG), "ratio": text.number(ratio**2, 2), "twin": f"{twin.size:g}"},
    )


def nearest_metric(book: Book, wire: Wire, build: str) -> OtherWire:
    """Return the metric wire of a grade whose copper is nearest to a gauge's nominal."""
    metric = [
        w for w in book.reference.other_wires.values() if w.system == "iec" and w.build == build
    ]
    return min(metric, key=lambda w: abs(w.bare_nom_mm / wire.bare_nom_mm - 1.0))


@dataclass(frozen=True, slots=True)
class _TwoGrades:
    """A gauge in single build beside the nearest metric wire of grade 1, and what fits."""

    wire: Wire
    metric: OtherWire
    low_mm: float
    high_mm: float
    fit: float
    metric_fit: float

    @property
    def middle_mm(self) -> float:
        return _middle(self.low_mm, self.high_mm)

    @property
    def percent(self) -> float:
        return 100.0 * (self.metric_fit / self.fit - 1.0)


def _middle(low: float, high: float) -> float:
    return (low + high) / 2.0


def _two_grades(book: Book, wire: Wire, bobbin: Bobbin) -> _TwoGrades:
    height_m, depth_m = bobbin.winding_height_mm / 1000.0, bobbin.winding_depth_mm / 1000.0

    def fit(overall_mm: float) -> float:
        return layered_turns(height_m, depth_m, overall_mm / 1000.0)

    metric = nearest_metric(book, wire, "grade-1")
    low, high = metric.overall_min_mm, metric.overall_max_mm
    assert low is not None
    assert high is not None
    return _TwoGrades(wire, metric, low, high, fit(wire.overall_nom_mm), fit(_middle(low, high)))


def _grade_row(one: _TwoGrades) -> DisputeRow:
    wire, metric = one.wire, one.metric
    return DisputeRow(
        f"{wire.awg} AWG single",
        (
            f"{wire.overall_min_mm:.3f}–{wire.overall_max_mm:.3f}",
            f"{metric.bare_nom_mm:.3f} mm",
            percent(100.0 * (metric.bare_nom_mm / wire.bare_nom_mm - 1.0)),
            f"{one.low_mm:.3f}–{one.high_mm:.3f}",
            text.number(one.fit, 0),
            text.number(one.metric_fit, 0),
            percent(one.percent),
        ),
        f"materials/wires/index.html#{metric.other_wire_id}",
    )


def _grade_sums(example: _TwoGrades, bobbin: Bobbin) -> tuple[Sum, ...]:
    window = f"{bobbin.winding_height_mm:g} mm × {bobbin.winding_depth_mm:g} mm"
    one, two = example.fit, example.metric_fit
    return (
        Sum(
            f"middle of grade 1 at {example.metric.bare_nom_mm:.3f} mm",
            f"({example.low_mm:.3f} mm + {example.high_mm:.3f} mm) / 2",
            f"{example.middle_mm:.4f} mm",
        ),
        Sum(
            f"{EXAMPLE_AWG} AWG single in the window, square lay",
            f"{window} / ({example.wire.overall_nom_mm:.3f} mm)²",
            f"{text.number(one, 0)} turns",
        ),
        Sum(
            "grade 1 in the same window",
            f"{window} / ({example.middle_mm:.4f} mm)²",
            f"{text.number(two, 0)} turns",
        ),
        Sum(
            "the difference",
            f"{text.number(two, 0)} / {text.number(one, 0)} − 1",
            percent(example.percent),
        ),
    )


def grade_1(book: Book) -> Item:
    """Return what grade 1 does to the turns that fit, beside single build."""
    bobbin = example_bobbin(book)
    gauges = {wire.awg: _two_grades(book, wire, bobbin) for wire in singles(book)}
    figure = lines(
        "grade-1",
        "Turns in one window",
        "Turns that the window takes in a square lay: single build by its nominal diameter, grade "
        "1 of the nearest metric size by the middle of its limits.",
        list(gauges),
        {
            "single build": [round(one.fit) for one in gauges.values()],
            "grade 1, nearest metric size": [round(one.metric_fit) for one in gauges.values()],
        },
        ("AWG", "turns"),
    )
    return Item(
        "grade-1",
        practice(),
        (
            cited(book, "nema-mw-1000", "single build"),
            cited(book, "iec-60317-0-1", "outer diameters of grade 1"),
        ),
        _grade_sums(gauges[EXAMPLE_AWG], bobbin),
        tuple(_grade_row(one) for one in gauges.values()),
        figure,
        (
            family(book, EXAMPLE_FAMILY, "wire-insulation"),
            method("layered_turns", "turns that a window takes"),
            Link("bobbins", "materials/bobbins/index.html"),
            Link("winding sheets", "winding/index.html"),
        ),
        {"bobbin": bobbin.name, "difference": percent(gauges[EXAMPLE_AWG].percent)},
    )

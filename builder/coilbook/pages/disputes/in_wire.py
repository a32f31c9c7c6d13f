"""Where practice and the standard part, about wire: formula, gauge system, grade."""

from __future__ import annotations

from coilbook.measures.coil import Winding, coil_turns
from coilbook.measures.window import layered_turns
from coilbook.measures.wire import (
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


def formula_nominal(book: Book) -> Item:
    """Return what the rounding of nominal diameters does to resistance and to turns."""
    bobbin = example_bobbin(book)
    rows, differences = [], {}
    for wire in singles(book):
        formula = 1000.0 * awg_diameter_m(wire.awg)
        by_formula, by_table = per_km(formula), per_km(wire.bare_nom_mm)
        difference = 100.0 * (by_table / by_formula - 1.0)
        differences[wire.awg] = difference
        turns = [_turns(bobbin, bare, wire.overall_nom_mm) for bare in (formula, wire.bare_nom_mm)]
        rows.append(
            DisputeRow(
                f"{wire.awg} AWG",
                (
                    f"{formula:.5f}",
                    f"{wire.bare_nom_mm:.5f}",
                    percent(100.0 * (wire.bare_nom_mm / formula - 1.0)),
                    percent(difference),
                    text.number(turns[0], 0),
                    text.number(turns[1], 0),
                ),
                f"materials/wires/index.html#awg-{wire.awg}",
            )
        )
    example = next(w for w in singles(book) if w.awg == EXAMPLE_AWG)
    formula = 1000.0 * awg_diameter_m(EXAMPLE_AWG)
    by_formula, by_table = per_km(formula), per_km(example.bare_nom_mm)
    worst = max(differences, key=lambda awg: abs(differences[awg]))
    by_both = [
        _turns(bobbin, bare, example.overall_nom_mm) for bare in (formula, example.bare_nom_mm)
    ]
    sums = (
        Sum(
            f"{EXAMPLE_AWG} AWG by formula",
            f"{1000.0 * AWG_36_DIAMETER_M:g} mm × {AWG_RATIO:g}^((36 − {EXAMPLE_AWG})/39)",
            f"{formula:.5f} mm",
        ),
        Sum(
            "nominal, rounded to tenths of a mil",
            f"{example.bare_nom_mm / 0.0254:.1f} mil × 0.0254 mm/mil",
            f"{example.bare_nom_mm:.5f} mm",
        ),
        Sum(
            "resistance goes with the inverse square of the diameter",
            f"({formula:.5f} / {example.bare_nom_mm:.5f})² − 1",
            percent(100.0 * (by_table / by_formula - 1.0), 2),
        ),
        Sum(
            f"turns of {EXAMPLE_KOHM:g} kΩ on one bobbin, nominal against formula",
            f"{text.number(by_both[1], 0)} / {text.number(by_both[0], 0)} − 1",
            percent(100.0 * (by_both[1] / by_both[0] - 1.0), 2),
        ),
    )
    figure = lines(
        "formula-nominal",
        "Resistance per length: nominal against formula",
        "For each gauge, how much more or less a length of wire of the nominal diameter has than "
        f"one by the formula. Widest at {worst} AWG, {percent(differences[worst])}.",
        list(differences),
        {"nominal against formula, %": [round(v, 2) for v in differences.values()]},
        ("AWG", "difference in Ω/m, %"),
    )
    return Item(
        "formula-nominal",
        practice(),
        (
            cited(book, "astm-b258", "formula of the gauge"),
            cited(book, "nema-mw-1000", "nominal bare diameters"),
        ),
        sums,
        tuple(rows),
        figure,
        (
            method("awg_diameter_m", "diameter by formula"),
            method("coil_turns", "turns from resistance"),
            Link("wires", "materials/wires/index.html"),
        ),
        {
            "worst": f"{worst} AWG",
            "worst_difference": percent(differences[worst]),
            "kohm": f"{EXAMPLE_KOHM:g}",
            "bobbin": bobbin.name,
        },
    )


def gauge_systems(book: Book) -> Item:
    """Return what one gauge number means in two systems."""
    british = {round(w.size): w for w in book.reference.other_wires.values() if w.system == "swg"}
    rows, ratios = [], {}
    for wire in singles(book):
        other = british.get(wire.awg)
        if other is None:
            continue
        ratio = other.bare_nom_mm / wire.bare_nom_mm
        ratios[wire.awg] = ratio
        awg, off = tables.nearest_gauge(other.bare_nom_mm, tuple(singles(book)))
        rows.append(
            DisputeRow(
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
        )
    mine = next(w for w in singles(book) if w.awg == EXAMPLE_AWG)
    theirs = british[EXAMPLE_AWG]
    ratio = theirs.bare_nom_mm / mine.bare_nom_mm
    twin = min(british.values(), key=lambda w: abs(w.bare_nom_mm - mine.bare_nom_mm))
    sums = (
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
    figure = lines(
        "gauge-systems",
        "One number, two diameters",
        f"Bare diameter by number. {EXAMPLE_AWG} SWG is {ratio:.2f} times as thick as "
        f"{EXAMPLE_AWG} AWG; what is {EXAMPLE_AWG} AWG lies nearest to {twin.size:g} SWG.",
        list(ratios),
        {
            "American Wire Gauge": [w.bare_nom_mm for w in singles(book) if w.awg in ratios],
            "British standard wire gauge": [british[awg].bare_nom_mm for awg in ratios],
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
        sums,
        tuple(rows),
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


def grade_1(book: Book) -> Item:
    """Return what grade 1 does to the turns that fit, beside single build."""
    bobbin = example_bobbin(book)
    height_m, depth_m = bobbin.winding_height_mm / 1000.0, bobbin.winding_depth_mm / 1000.0

    def fit(overall_mm: float) -> float:
        return layered_turns(height_m, depth_m, overall_mm / 1000.0)

    rows, fits, shown = [], {}, {}
    for wire in singles(book):
        metric = nearest_metric(book, wire, "grade-1")
        assert metric.overall_min_mm is not None
        assert metric.overall_max_mm is not None
        middle = (metric.overall_min_mm + metric.overall_max_mm) / 2.0
        fits[wire.awg] = (fit(wire.overall_nom_mm), fit(middle))
        shown[wire.awg] = (metric, middle)
        rows.append(
            DisputeRow(
                f"{wire.awg} AWG single",
                (
                    f"{wire.overall_min_mm:.3f}–{wire.overall_max_mm:.3f}",
                    f"{metric.bare_nom_mm:.3f} mm",
                    percent(100.0 * (metric.bare_nom_mm / wire.bare_nom_mm - 1.0)),
                    f"{metric.overall_min_mm:.3f}–{metric.overall_max_mm:.3f}",
                    text.number(fits[wire.awg][0], 0),
                    text.number(fits[wire.awg][1], 0),
                    percent(100.0 * (fits[wire.awg][1] / fits[wire.awg][0] - 1.0)),
                ),
                f"materials/wires/index.html#{metric.other_wire_id}",
            )
        )
    mine = next(w for w in singles(book) if w.awg == EXAMPLE_AWG)
    metric, middle = shown[EXAMPLE_AWG]
    window = f"{bobbin.winding_height_mm:g} mm × {bobbin.winding_depth_mm:g} mm"
    one, two = fits[EXAMPLE_AWG]
    sums = (
        Sum(
            f"middle of grade 1 at {metric.bare_nom_mm:.3f} mm",
            f"({metric.overall_min_mm:.3f} mm + {metric.overall_max_mm:.3f} mm) / 2",
            f"{middle:.4f} mm",
        ),
        Sum(
            f"{EXAMPLE_AWG} AWG single in the window, square lay",
            f"{window} / ({mine.overall_nom_mm:.3f} mm)²",
            f"{text.number(one, 0)} turns",
        ),
        Sum(
            "grade 1 in the same window",
            f"{window} / ({middle:.4f} mm)²",
            f"{text.number(two, 0)} turns",
        ),
        Sum(
            "the difference",
            f"{text.number(two, 0)} / {text.number(one, 0)} − 1",
            percent(100.0 * (two / one - 1.0)),
        ),
    )
    figure = lines(
        "grade-1",
        "Turns in one window",
        "Turns that the window takes in a square lay: single build by its nominal diameter, grade "
        "1 of the nearest metric size by the middle of its limits.",
        list(fits),
        {
            "single build": [round(a) for a, _ in fits.values()],
            "grade 1, nearest metric size": [round(b) for _, b in fits.values()],
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
        sums,
        tuple(rows),
        figure,
        (
            family(book, EXAMPLE_FAMILY, "wire-insulation"),
            method("layered_turns", "turns that a window takes"),
            Link("bobbins", "materials/bobbins/index.html"),
            Link("winding sheets", "winding/index.html"),
        ),
        {"bobbin": bobbin.name, "difference": percent(100.0 * (two / one - 1.0))},
    )

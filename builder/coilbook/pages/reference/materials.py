"""Wires, magnets, bobbins and dating features: the reference's tables as pages."""

from __future__ import annotations

from dataclasses import dataclass

from coilbook.core.formulas.wire import awg_diameter_m, wire_resistance_ohm_per_m
from coilbook.pages import text
from coilbook.pages.declare import OnePage, search_words
from coilbook.pages.disputes.dispute import Cited, cited
from coilbook.pages.page import Book
from coilbook.pages.reference import parts_tables as tables
from coilbook.records.tables.models import Bobbin, Magnet, Wire


@dataclass(frozen=True, slots=True)
class Build:
    """One build of a gauge."""

    wire_id: str
    build: str
    overall: str
    bare: str
    standard: str
    remark: str
    known: tables.HowKnown


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge: its diameters by formula and table, and what each makes of its resistance."""

    awg: int
    formula_mm: str
    formula_ohm_per_km: str
    nominal_mm: str
    nominal_ohm_per_km: str
    difference: str
    builds: tuple[Build, ...]


@dataclass(frozen=True, slots=True)
class MagnetLine:
    """A grade after one standard."""

    magnet_id: str
    grade: str
    material: str
    process: str
    standard: str
    value_kind: str
    br: str
    hc: str
    bh_max: str
    remark: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class BobbinLine:
    """A bobbin's dimensions."""

    bobbin_id: str
    name: str
    core: str
    height: str
    depth: str
    remark: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class WiresContext:
    """The wires page."""

    gauges: tuple[Gauge, ...]
    systems: tuple[tables.WireSystem, ...]
    insulations: tuple[tables.InsulationLine, ...]
    sizes: Cited
    classes: Cited


@dataclass(frozen=True, slots=True)
class MagnetsContext:
    """The magnets page."""

    magnets: tuple[MagnetLine, ...]


@dataclass(frozen=True, slots=True)
class BobbinsContext:
    """The bobbins page."""

    bobbins: tuple[BobbinLine, ...]


@dataclass(frozen=True, slots=True)
class MaterialsContext:
    """The way to the pages of materials."""

    wires: int
    first_gauge: int
    last_gauge: int
    other_wires: int
    insulations: int
    magnets: int
    metals: int
    parts: int
    bobbins: int
    features: int


def _evidence(book: Book, row: Magnet | Bobbin) -> text.Evidence:
    source = book.reference.sources.get(row.source_id) if row.source_id else None
    return text.evidence(row.evidence, row.source_id, row.locator, source.title if source else "")


def _three(low: float, nominal: float, high: float) -> str:
    return f"{low:.3f} / {nominal:.3f} / {high:.3f}"


def wires(book: Book) -> WiresContext:
    """Return every gauge with its builds; resistances are computed, not copied."""
    by_awg: dict[int, list[Wire]] = {}
    for wire in book.reference.wires.values():
        by_awg.setdefault(wire.awg, []).append(wire)
    gauges = []
    for awg, rows in sorted(by_awg.items()):
        formula_m = float(awg_diameter_m(awg))
        nominal_m = rows[0].bare_nom_mm / 1000
        by_formula = 1000 * float(wire_resistance_ohm_per_m(formula_m))
        by_table = 1000 * float(wire_resistance_ohm_per_m(nominal_m))
        gauges.append(
            Gauge(
                awg=awg,
                formula_mm=f"{1000 * formula_m:.5f}",
                formula_ohm_per_km=text.number(by_formula, 1),
                nominal_mm=f"{1000 * nominal_m:.4f}",
                nominal_ohm_per_km=text.number(by_table, 1),
                difference=f"{100 * (by_table / by_formula - 1):+.1f} %".replace(
                    "-", "\N{MINUS SIGN}"
                ),
                builds=tuple(
                    Build(
                        wire_id=w.wire_id,
                        build=w.build,
                        overall=_three(w.overall_min_mm, w.overall_nom_mm, w.overall_max_mm),
                        bare=_three(w.bare_min_mm, w.bare_nom_mm, w.bare_max_mm),
                        standard=w.standard,
                        remark=w.remark or "",
                        known=tables.known(book, w),
                    )
                    for w in rows
                ),
            )
        )
    return WiresContext(
        gauges=tuple(gauges),
        systems=tables.other_wires(book),
        insulations=tables.insulations(book),
        sizes=cited(book, "iso-3", "series R40"),
        classes=cited(book, "iec-60085", "thermal classes"),
    )


def magnets(book: Book) -> MagnetsContext:
    """Return every grade, each with its standard and whether the figure is typical or minimum."""
    return MagnetsContext(
        tuple(
            MagnetLine(
                magnet_id=m.magnet_id,
                grade=m.grade,
                material=m.material,
                process=m.process,
                standard=f"{m.standard} {m.edition}",
                value_kind=m.value_kind,
                br=text.number(m.br_mt, 0),
                hc=text.number(m.hc_ka_per_m, 0),
                bh_max=text.number(m.bhmax_kj_per_m3, 1),
                remark=m.remark or "",
                evidence=_evidence(book, m),
            )
            for m in book.reference.magnets.values()
        )
    )


def bobbins(book: Book) -> BobbinsContext:
    """Return every bobbin."""
    return BobbinsContext(
        tuple(
            BobbinLine(
                bobbin_id=b.bobbin_id,
                name=b.name,
                core=f"{b.core_length_mm:g} × {b.core_width_mm:g}",
                height=f"{b.winding_height_mm:g}",
                depth=f"{b.winding_depth_mm:g}",
                remark=b.remark or "",
                evidence=_evidence(book, b),
            )
            for b in book.reference.bobbins.values()
        )
    )


def index(book: Book) -> MaterialsContext:
    """Return what the materials pages hold, counted."""
    reference = book.reference
    gauges = [w.awg for w in reference.wires.values()]
    return MaterialsContext(
        wires=len(gauges),
        first_gauge=min(gauges),
        last_gauge=max(gauges),
        other_wires=len(reference.other_wires),
        insulations=len(reference.insulations),
        magnets=len(reference.magnets),
        metals=len(reference.alloys),
        parts=len(reference.parts),
        bobbins=len(reference.bobbins),
        features=len(reference.features),
    )


MATERIALS = OnePage(
    path="materials/index.html",
    template="materials.html.j2",
    section="materials",
    title="Materials",
    description="Wires, magnets, metals, parts, bobbins, and features that date a piece.",
    context=index,
)
WIRES = OnePage(
    path="materials/wires/index.html",
    template="wires.html.j2",
    section="materials",
    title="Wires",
    description="Magnet wire from 38 to 46 AWG and beside it: diameters, insulation.",
    context=wires,
    search_text=lambda book: search_words(
        "magnet wire gauge AWG SWG IEC grade half sizes diameter resistance single "
        "heavy build plain enamel formvar polyurethane insulation colour solder thermal class",
        *(f"{g} AWG" for g in sorted({w.awg for w in book.reference.wires.values()})),
    ),
)
MAGNETS = OnePage(
    path="materials/magnets/index.html",
    template="magnets.html.j2",
    section="materials",
    title="Magnets",
    description="Grades of aluminium-nickel-cobalt and ferrite, typical and minimum.",
    context=magnets,
    search_text=lambda book: search_words(
        "magnet grades remanence coercivity energy product",
        *(f"grade {m.grade}" for m in book.reference.magnets.values()),
    ),
)
BOBBINS = OnePage(
    path="materials/bobbins/index.html",
    template="bobbins.html.j2",
    section="materials",
    title="Bobbins",
    description="Core and winding window of each family's usual bobbin.",
    context=bobbins,
    search_text=lambda book: search_words(
        "bobbin core winding window", *(b.name for b in book.reference.bobbins.values())
    ),
)

"""The reference's other tables of figures: wires, insulations, metals, circuit parts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.core.formulas.wire import wire_resistance_ohm_per_m
from coilbook.measures.metals import conductivity_percent, skin_depth_m
from coilbook.pages import text
from coilbook.pages.declare import OnePage, search_words
from coilbook.pages.disputes.dispute import Cited, cited
from coilbook.pages.disputes.dispute import percent as percent_words
from coilbook.pages.page import Book
from coilbook.records.tables.cells import Evidenced
from coilbook.records.tables.models import Alloy, NominalPart, OtherWire, Wire

#: Frequencies at which a metal's skin depth is shown: where the low strings sound, and where most
#: pickups under their load have their peak.
SKIN_HZ = (1e3, 5e3)


@dataclass(frozen=True, slots=True)
class HowKnown:
    """How a row is known: its mark, and how its source was checked (empty without a source)."""

    evidence: text.Evidence
    checked: str


@dataclass(frozen=True, slots=True)
class OtherWireLine:
    """A wire of another system, with the gauge of wires.csv whose copper comes nearest."""

    row_id: str
    name: str
    build: str
    bare: str
    ohm_per_km: str
    overall: str
    nearest: str
    difference: str
    standard: str
    remark: str
    known: HowKnown


@dataclass(frozen=True, slots=True)
class WireSystem:
    """All wires of one system; ``code`` is worded by the template."""

    code: str
    lines: tuple[OtherWireLine, ...]


@dataclass(frozen=True, slots=True)
class InsulationLine:
    """An insulation in words."""

    insulation_id: str
    name: str
    kind: str
    colour: str
    thermal_class: str
    class_checked: str
    solderable: bool
    strip: str
    ageing: str
    tell: str
    remark: str
    known: HowKnown


@dataclass(frozen=True, slots=True)
class AlloyLine:
    """A metal: resistivity, conductivity beside copper, and skin depth at each frequency."""

    alloy_id: str
    name: str
    use: str
    resistivity: str
    conductivity: str
    skin_depths: tuple[str, ...]
    permeability: str
    meaning: str
    remark: str
    standard: str
    known: HowKnown


@dataclass(frozen=True, slots=True)
class PermeabilityLine:
    """A permeability in its band."""

    permeability_id: str
    name: str
    kind: str
    band: str
    standard: str
    remark: str
    known: HowKnown


@dataclass(frozen=True, slots=True)
class PartLine:
    """A part by its nominal value."""

    part_id: str
    name: str
    value: str
    tolerance: str
    between: str
    series: str
    remark: str
    known: HowKnown


@dataclass(frozen=True, slots=True)
class PartGroup:
    """Parts of one kind; ``code`` is worded by the template."""

    code: str
    lines: tuple[PartLine, ...]


@dataclass(frozen=True, slots=True)
class MetalsContext:
    """The metals page."""

    frequencies: tuple[str, ...]
    alloys: tuple[AlloyLine, ...]
    permeabilities: tuple[PermeabilityLine, ...]


@dataclass(frozen=True, slots=True)
class PartsContext:
    """The page of parts that a pickup is wired to."""

    groups: tuple[PartGroup, ...]
    series: Cited


def known(book: Book, row: Evidenced) -> HowKnown:
    """Return how a row is known, with what its source says of its own checking."""
    source = book.reference.sources.get(row.source_id) if row.source_id else None
    return HowKnown(
        text.evidence(row.evidence, row.source_id, row.locator, source.title if source else ""),
        source.checked if source else "",
    )


def band(low: float | None, typical: float | None, high: float | None, decimals: int) -> str:
    """Write a band with its usual value, each only where there is one."""
    given = [v for v in (low, typical, high) if v is not None]
    if not given:
        return ""
    digits = text.needed_decimals(given, decimals)
    words = ""
    if low is not None and high is not None:
        words = f"{text.number(low, digits)}–{text.number(high, digits)}"
    if typical is not None:
        usual = text.number(typical, digits)
        words = f"{words}, usually {usual}" if words else usual
    return words


def _mm(value: float | None) -> str:
    if value is None:
        return "–"
    return f"{value:.3f}" if round(value, 3) == round(value, 5) else f"{value:.4f}"


def nearest_gauge(bare_mm: float, wires: tuple[Wire, ...]) -> tuple[int, float]:
    """Return the gauge whose nominal copper is nearest in ratio, and how far off, in percent."""
    best = min(wires, key=lambda w: abs(math.log(bare_mm / w.bare_nom_mm)))
    return best.awg, 100.0 * (bare_mm / best.bare_nom_mm - 1.0)


def wire_name(wire: OtherWire) -> str:
    """Return a wire's size as its system writes it."""
    if wire.system == "iec":
        return f"{wire.size:.3f}{text.unit_text('mm')}"
    return f"{wire.size:g} {'AWG' if wire.system == 'awg-half' else 'SWG'}"


def _other_wire(book: Book, wire: OtherWire) -> OtherWireLine:
    gauges = tuple(book.reference.wires.values())
    awg, percent = nearest_gauge(wire.bare_nom_mm, gauges)
    inside = min(g.awg for g in gauges) < awg < max(g.awg for g in gauges) or abs(percent) < 6.0
    per_km = 1000.0 * float(wire_resistance_ohm_per_m(wire.bare_nom_mm / 1000.0))
    bare = (wire.bare_min_mm, wire.bare_nom_mm, wire.bare_max_mm)
    overall = (wire.overall_min_mm, wire.overall_nom_mm, wire.overall_max_mm)
    return OtherWireLine(
        row_id=wire.other_wire_id,
        name=wire_name(wire),
        build=wire.build,
        bare=" / ".join(map(_mm, bare)) if any((bare[0], bare[2])) else _mm(bare[1]),
        ohm_per_km=text.number(per_km, 0 if per_km >= 1000.0 else 1),
        overall=" / ".join(map(_mm, overall)) if wire.overall_max_mm else "",
        nearest=f"{awg} AWG" if inside else "",
        difference=percent_words(percent) if inside else "",
        standard=wire.standard,
        remark=wire.remark or "",
        known=known(book, wire),
    )


def other_wires(book: Book) -> tuple[WireSystem, ...]:
    """Return the wires of other systems, each beside the nearest gauge."""
    systems: dict[str, list[OtherWireLine]] = {}
    for wire in book.reference.other_wires.values():
        systems.setdefault(wire.system, []).append(_other_wire(book, wire))
    return tuple(WireSystem(code, tuple(lines)) for code, lines in systems.items())


def insulations(book: Book) -> tuple[InsulationLine, ...]:
    """Return what wire is insulated with, as one sees it."""
    return tuple(
        InsulationLine(
            insulation_id=row.insulation_id,
            name=row.name,
            kind=row.kind,
            colour=row.colour,
            thermal_class="" if row.thermal_class_c is None else str(row.thermal_class_c),
            class_checked=row.class_checked,
            solderable=row.solderable,
            strip=row.strip,
            ageing=row.ageing,
            tell=row.tell,
            remark=row.remark or "",
            known=known(book, row),
        )
        for row in book.reference.insulations.values()
    )


def _depth_mm(resistivities: list[float], hertz: float, relative: list[float]) -> str:
    depths = [
        1e3 * skin_depth_m(rho * 1e-9, hertz, mu)
        for rho in (min(resistivities), max(resistivities))
        for mu in (min(relative), max(relative))
    ]
    low, high = f"{min(depths):.2g}", f"{max(depths):.2g}"
    return low if low == high else f"{low}–{high}"


def _alloy(book: Book, row: Alloy) -> AlloyLine:
    numbers = (
        row.resistivity_low_nohm_m,
        row.resistivity_typical_nohm_m,
        row.resistivity_high_nohm_m,
    )
    given = [n for n in numbers if n is not None]
    permeable = book.reference.permeabilities.get(row.permeability_id or "")
    shares = sorted(conductivity_percent(n * 1e-9) for n in given)
    low, high = f"{shares[0]:.2g}", f"{shares[-1]:.2g}"
    # A plating is far thinner than any skin depth, so that none is shown for it.
    thick = row.resistivity_typical_nohm_m is not None
    relative = [1.0] if permeable is None else [permeable.relative_low, permeable.relative_high]
    return AlloyLine(
        alloy_id=row.alloy_id,
        name=row.name,
        use=row.use,
        resistivity=band(*numbers, 3),
        conductivity=f"{shares[0]:.0f}" if len(given) == 1 else f"{low}–{high}",
        skin_depths=tuple(_depth_mm(given, hertz, relative) if thick else "" for hertz in SKIN_HZ),
        permeability="" if permeable is None else permeable.permeability_id,
        meaning=row.meaning,
        remark=row.remark or "",
        standard=row.standard or "",
        known=known(book, row),
    )


def metals(book: Book) -> MetalsContext:
    """Return the metals with what is computed of each, and the permeabilities."""
    return MetalsContext(
        frequencies=tuple(f"{hertz / 1e3:g}{text.unit_text('kHz')}" for hertz in SKIN_HZ),
        alloys=tuple(_alloy(book, row) for row in book.reference.alloys.values()),
        permeabilities=tuple(
            PermeabilityLine(
                permeability_id=row.permeability_id,
                name=row.name,
                kind=row.kind,
                band=band(row.relative_low, row.relative_typical, row.relative_high, 2),
                standard=row.standard or "",
                remark=row.remark or "",
                known=known(book, row),
            )
            for row in book.reference.permeabilities.values()
        ),
    )


def _part(book: Book, row: NominalPart) -> PartLine:
    unit = text.unit_text(row.unit)
    value, tolerance, between = "", "", ""
    if row.nominal is not None:
        value = f"{row.nominal:g}{unit}"
    if row.tolerance_percent is not None and row.nominal is not None:
        tolerance = f"± {row.tolerance_percent:g}{text.unit_text('%')}"
        share = row.tolerance_percent / 100.0
        between = f"{row.nominal * (1 - share):g} to {row.nominal * (1 + share):g}{unit}"
    elif row.low is not None and row.high is not None:
        between = f"{row.low:g} to {row.high:g}{unit}"
    return PartLine(
        part_id=row.part_id,
        name=row.name,
        value=value,
        tolerance=tolerance,
        between=between,
        series=row.series or "",
        remark=row.remark or "",
        known=known(book, row),
    )


def parts(book: Book) -> PartsContext:
    """Return the parts that a pickup is wired to, by kind."""
    groups: dict[str, list[PartLine]] = {}
    for row in book.reference.parts.values():
        groups.setdefault(row.kind, []).append(_part(book, row))
    return PartsContext(
        groups=tuple(PartGroup(code, tuple(lines)) for code, lines in groups.items()),
        series=cited(book, "iec-60063", "series E6"),
    )


METALS = OnePage(
    path="materials/metals/index.html",
    template="metals.html.j2",
    section="materials",
    title="Metals",
    description="How metals of covers, plates and poles conduct and lead the field.",
    context=metals,
    search_text=lambda book: search_words(
        "resistivity conductivity IACS skin depth eddy currents permeability",
        *(a.name for a in book.reference.alloys.values()),
    ),
)
PARTS = OnePage(
    path="materials/parts/index.html",
    template="parts.html.j2",
    section="materials",
    title="Parts of the circuit",
    description="Pots, tone capacitors, cable and inputs: nominal values and tolerances.",
    context=parts,
    search_text="pot potentiometer volume tone capacitor cable capacitance tolerance taper "
    "nominal 250k 500k 1M 22 nF 47 nF input",
)

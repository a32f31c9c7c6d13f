"""The winding sheet: a family's coil in figures to wind by and boxes to fill in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbook.assessment.winding_targets import Departure, WindingSheet, winding_targets
from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.core.seen import ClaimRowSeen
from coilbook.pages import text, views
from coilbook.pages.declare import OnePage, PageForEach
from coilbook.pages.page import Book
from coilbook.records.contents import Reference
from coilbook.records.tables.models import Bobbin, Family, Wire

_MOST_DECIMALS = 3


@dataclass(frozen=True, slots=True)
class ExpectedLine:
    """One figure: what it is, what is expected, where it may lie, and what makes it unsure."""

    name: str
    expected: str
    between: str
    through: str


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check on the way."""

    turns: str
    share: str
    resistance: str
    between: str
    ratio: str
    mass: str
    build_up: str


@dataclass(frozen=True, slots=True)
class WarmLine:
    """The finished coil at one temperature."""

    temperature: str
    resistance: str
    pair: str


@dataclass(frozen=True, slots=True)
class DepartureLine:
    """One thing that may lie behind a departure, as data for the template's words."""

    code: str
    percent: str
    apparent: bool
    wire: str
    turns: str


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """The expected resistance against one claim."""

    what: str
    scope: str
    claim: str
    evidence: text.Evidence
    mark: str
    word: str
    probability: str


@dataclass(frozen=True, slots=True)
class InductanceLine:
    """A documented inductance at the sheet's turns."""

    what: str
    at_turns: str
    documented: str
    reference_turns: str
    evidence: text.Evidence


@dataclass(frozen=True, slots=True)
class PeerLine:
    """What the archive holds of the same resistance."""

    part: str
    held: str
    n: int


@dataclass(frozen=True, slots=True)
class WindingContext:
    """Everything on a winding sheet."""

    family_id: str
    family_name: str
    turns: str
    wire: str
    build: str
    bare: str
    overall: str
    wire_evidence: text.Evidence
    bobbin: str
    core: str
    window: str
    bobbin_evidence: text.Evidence
    bobbin_remark: str
    temperature: str
    two_coils: bool
    usual: bool
    lines: tuple[ExpectedLine, ...]
    fit: str
    fill: str
    fill_extent: str
    nested: str
    scatter: str
    checks: tuple[CheckLine, ...]
    first_turns: str
    warm: tuple[WarmLine, ...]
    departures: tuple[DepartureLine, ...]
    ohm_per_turn: str
    coil: str
    coil_between: str
    pair: str
    pair_between: str
    apart: str
    verdicts: tuple[VerdictLine, ...]
    inductances: tuple[InductanceLine, ...]
    peers: tuple[PeerLine, ...]
    command: str


@dataclass(frozen=True, slots=True)
class IndexLine:
    """One family's sheet in the list."""

    family_id: str
    name: str
    turns: str
    wire: str
    coil: str


@dataclass(frozen=True, slots=True)
class WindingIndexContext:
    """The list of winding sheets."""

    sheets: tuple[IndexLine, ...]


def has_sheet(family: Family) -> bool:
    """Whether a family's usual bobbin, wire and turns are all known."""
    return None not in (family.bobbin_id, family.wire_id, family.turns_per_coil)


def sheets_of(book: Book) -> tuple[WindingSheet, ...]:
    """Return a sheet at its usual wire and turns for every family that can have one."""
    return tuple(
        winding_targets(book.reference, family.family_id, summaries=book.summaries)
        for family in book.reference.families.values()
        if has_sheet(family)
    )


def index(book: Book) -> WindingIndexContext:
    """Return the list of sheets."""
    return WindingIndexContext(
        tuple(
            IndexLine(
                sheet.family.family_id,
                sheet.family.name,
                text.number(sheet.coil.turns, 0),
                _wire(sheet.wire),
                _plus_minus(sheet.coil.resistance_20_kohm, "kΩ"),
            )
            for sheet in sheets_of(book)
        )
    )


def context(sheet: WindingSheet, reference: Reference) -> WindingContext:
    """Return everything on one sheet."""
    coil, family, wire, bobbin = sheet.coil, sheet.family, sheet.wire, sheet.bobbin
    fit = coil.fit
    fill_extent = 100.0 * expanded(fit.ratio.standard_uncertainty)
    temperature = f"{coil.temperature_c:g}{text.unit_text('°C')}"
    turns = text.number(coil.turns, 0)
    return WindingContext(
        family_id=family.family_id,
        family_name=family.name,
        turns=turns,
        wire=f"{wire.awg} AWG",
        build=wire.build,
        bare=_limits(wire.bare_min_mm, wire.bare_nom_mm, wire.bare_max_mm),
        overall=_limits(wire.overall_min_mm, wire.overall_nom_mm, wire.overall_max_mm),
        wire_evidence=_evidence(reference, wire),
        bobbin=bobbin.name,
        core=f"{bobbin.core_length_mm:g} × {bobbin.core_width_mm:g}{text.unit_text('mm')}",
        window=f"{bobbin.winding_height_mm:g} × {bobbin.winding_depth_mm:g}{text.unit_text('mm')}",
        bobbin_evidence=_evidence(reference, bobbin),
        bobbin_remark=bobbin.remark or "",
        temperature=temperature,
        two_coils=sheet.two_coils,
        usual=sheet.usual,
        lines=_lines(sheet, temperature),
        fit=fit.fits,
        fill=text.number(100.0 * fit.ratio_square, 0),
        fill_extent=text.number(fill_extent, 0),
        nested=text.number(100.0 * fit.ratio_nested, 0),
        scatter=text.number(100.0 * fit.ratio_scatter, 0),
        checks=_checks(sheet),
        first_turns=text.number(sheet.checks[0].coil.turns, 0),
        warm=_warm(sheet),
        departures=tuple(_departure(d, reference) for d in sheet.departures),
        ohm_per_turn=text.number(coil.ohm_per_turn, 2) + text.unit_text("Ω"),
        coil=_plus_minus(coil.resistance_kohm, "kΩ"),
        coil_between=_between(coil.resistance_kohm, "kΩ"),
        pair=_plus_minus(coil.pair_kohm, "kΩ") if sheet.two_coils else "",
        pair_between=_between(coil.pair_kohm, "kΩ") if sheet.two_coils else "",
        apart=(
            text.number(expanded(coil.difference_kohm.standard_uncertainty), 2)
            + text.unit_text("kΩ")
        ),
        verdicts=_verdicts(sheet, reference),
        inductances=_inductances(sheet, reference),
        peers=_peers(sheet, reference),
        command=(
            f"coilbook winding --family {family.family_id} --turns {coil.turns:.0f} "
            f"--awg {wire.awg} --build {wire.build} --at {coil.temperature_c:g}C --html sheet.html"
        ),
    )


def _checks(sheet: WindingSheet) -> tuple[CheckLine, ...]:
    return tuple(
        CheckLine(
            turns=text.number(check.coil.turns, 0),
            share=f"{100.0 * check.share:.0f} %",
            resistance=_value(check.coil.resistance_kohm),
            between=_between(check.coil.resistance_kohm),
            ratio="1" if index == 0 else _plus_minus(check.ratio, ""),
            mass=_plus_minus(check.coil.mass_g, "g"),
            build_up=_plus_minus(check.coil.build_up_mm, "mm"),
        )
        for index, check in enumerate(sheet.checks)
    )


def _warm(sheet: WindingSheet) -> tuple[WarmLine, ...]:
    return tuple(
        WarmLine(
            f"{celsius:.0f}",
            text.number(one.value, 2),
            text.number(2.0 * one.value, 2) if sheet.two_coils else "",
        )
        for celsius, one in sheet.temperatures
    )


def _peers(sheet: WindingSheet, reference: Reference) -> tuple[PeerLine, ...]:
    return tuple(
        PeerLine(
            text.PARTS[s.key.component],
            views.summary_text(s, reference.properties[s.key.property_id]),
            s.n,
        )
        for s in sheet.peers
    )


def _lines(sheet: WindingSheet, temperature: str) -> tuple[ExpectedLine, ...]:
    coil = sheet.coil
    figures = [(f"Resistance of one coil at {temperature}", coil.resistance_kohm, "kΩ")]
    if coil.temperature_c != 20.0:
        figures.append(("Resistance of one coil at 20 °C", coil.resistance_20_kohm, "kΩ"))
    if sheet.two_coils:
        figures.append((f"Both coils in series at {temperature}", coil.pair_kohm, "kΩ"))
    figures += [
        ("Wire off the spool", coil.spool_length_m, "m"),
        ("Wire in the coil, stretched", coil.length_m, "m"),
        ("Mass of the wire with insulation", coil.mass_g, "g"),
        ("Mass of the bare copper in it", coil.copper_g, "g"),
        ("Turns of one layer, touching", coil.turns_per_layer, ""),
        ("Layers, laid evenly", coil.layers, ""),
        ("Build-up on the core", coil.build_up_mm, "mm"),
    ]
    return tuple(
        ExpectedLine(
            name,
            _plus_minus(estimate, unit),
            _between(estimate, unit),
            estimate.dominant.name if estimate.dominant else "",
        )
        for name, estimate, unit in figures
    )


def _verdicts(sheet: WindingSheet, reference: Reference) -> tuple[VerdictLine, ...]:
    lines = []
    for verdict in sheet.verdicts:
        row = verdict.claim.row
        period = reference.periods[row.period_id].name if row.period_id else "all years"
        mark, word = text.VERDICT_MARKS[verdict.word]
        lines.append(
            VerdictLine(
                what="Pair" if verdict.claim.property.component == "pair" else "One coil",
                scope=f"{period}, {row.position}" if row.position else period,
                claim=text.claim_text(verdict.claim),
                evidence=_evidence(reference, row),
                mark=mark,
                word=word,
                probability=text.probability(verdict.probability),
            )
        )
    return tuple(lines)


def _inductances(sheet: WindingSheet, reference: Reference) -> tuple[InductanceLine, ...]:
    return tuple(
        InductanceLine(
            what="Both coils" if found.claim.property.component == "pair" else "One coil",
            at_turns=text.span(
                _to(found.low), _to(found.typical), _to(found.high), found.claim.property
            ),
            documented=text.claim_text(found.claim),
            reference_turns=text.number(found.reference_turns, 0),
            evidence=_evidence(reference, found.claim.row),
        )
        for found in sheet.inductances
    )


def _to(value: float | None) -> float | None:
    """Round a scaled inductance to two digits: its claim has no more."""
    return None if value is None else round(value, 1 - math.floor(math.log10(value)))


def _departure(departure: Departure, reference: Reference) -> DepartureLine:
    wire = reference.wires[departure.wire_id] if departure.wire_id else None
    sign = "+" if departure.percent > 0 else "\N{MINUS SIGN}"
    decimals = 1 if abs(departure.percent) < 10.0 else 0
    turns = departure.turns
    return DepartureLine(
        code=departure.code,
        percent=f"{sign}{text.number(abs(departure.percent), decimals)}{text.unit_text('%')}",
        apparent=departure.apparent,
        wire=_wire(wire) if wire else "",
        turns="" if turns is None else text.number(turns, -1 if turns > 20.0 else 0),
    )


def _evidence(reference: Reference, row: Wire | Bobbin | ClaimRowSeen) -> text.Evidence:
    source = reference.sources.get(row.source_id) if row.source_id else None
    return text.evidence(row.evidence, row.source_id, row.locator, source.title if source else "")


def _wire(wire: Wire) -> str:
    return f"{wire.awg} AWG, {wire.build} build"


def _limits(low_mm: float, nominal_mm: float, high_mm: float) -> str:
    return f"{nominal_mm:.3f} ({low_mm:.3f}–{high_mm:.3f}){text.unit_text('mm')}"


def _decimals(extent: float) -> int:
    """Return the decimals that show two digits of an uncertainty (JCGM 100, 7.2.6)."""
    return min(_MOST_DECIMALS, 1 - math.floor(math.log10(extent)))


def _value(estimate: Estimate) -> str:
    return text.number(estimate.value, _decimals(expanded(estimate.standard_uncertainty)))


def _plus_minus(estimate: Estimate, unit: str) -> str:
    extent = expanded(estimate.standard_uncertainty)
    decimals = _decimals(extent)
    shown = f"{text.number(estimate.value, decimals)} ± {text.number(extent, decimals)}"
    return shown + text.unit_text(unit)


def _between(estimate: Estimate, unit: str = "") -> str:
    extent = expanded(estimate.standard_uncertainty)
    decimals = _decimals(extent)
    low, high = estimate.value - extent, estimate.value + extent
    shown = f"{text.number(low, decimals)}–{text.number(high, decimals)}"
    return shown + text.unit_text(unit)


INDEX = OnePage(
    path="winding/index.html",
    template="winding_index.html.j2",
    section="families",
    title="Winding sheets",
    description="Sheets to print and wind by, one for each family.",
    context=index,
    search_text="rewind winding sheets turns wire resistance checks to print",
)
PAGES = PageForEach(
    items=sheets_of,
    path=lambda sheet: f"winding/{sheet.family.family_id}/index.html",
    template="winding.html.j2",
    section="families",
    title=lambda sheet: f"Winding sheet: {sheet.family.name}",
    description=lambda sheet: (
        f"What a coil of {sheet.coil.turns:.0f} turns of {sheet.wire.awg} "
        "AWG should come to, with the order of checks."
    ),
    context=lambda book, sheet: context(sheet, book.reference),
    # Without the family's name: who types that looks for the family first.
    search_text=lambda sheet: (
        f"rewind winding sheet turns {sheet.coil.turns:.0f} "
        f"{sheet.wire.awg} AWG {sheet.wire.build} build"
    ),
)

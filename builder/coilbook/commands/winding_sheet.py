"""The command 'coilbook winding': what was typed, read; the sheet as data, text and one page."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from coilbook.assessment.winding_targets import WindingSheet, winding_targets
from coilbook.commands.families import taken_for
from coilbook.core.budgets.uncertainty import Estimate, expanded
from coilbook.core.judging.verdict import Verdict
from coilbook.core.units import KINDS, convert
from coilbook.core.written.spelling import did_you_mean
from coilbook.errors import CoilbookError, RecordsInvalid, UnknownId, ValueUnreadable
from coilbook.measures.expected import RunningCheck
from coilbook.pages.tools.winding_page import context
from coilbook.records import load_reference, read_value
from coilbook.records.contents import Reference
from coilbook.records.tables.models import Family, Property
from coilbook.resources import site_src_dir, templates

_GAUGE = re.compile(r"(?:awg)?[ -]?(\d{1,2})[ -]?(?:awg)?", re.IGNORECASE)
#: Where people wind; a bare number beyond is mostly one in °F.
_BENCH_C = (-10.0, 50.0)
_STYLES = ("tokens.css", "winding.css")


@dataclass(frozen=True, slots=True)
class Made:
    """A sheet and the reference that it rests on."""

    sheet: WindingSheet
    reference: Reference
    #: Which family a plain word was taken for, if one was written.
    said: str = ""


def make_sheet(
    family_id: str,
    turns: str | None = None,
    awg: str | None = None,
    build: str | None = None,
    at: str | None = None,
) -> Made:
    """Return the sheet for what was typed; what is left out is the family's usual.

    Raises :class:`UnknownId` with a near miss, :class:`ValueUnreadable` naming the option,
    :class:`~coilbook.errors.OutOfDomain` for a winding that cannot be reckoned.
    """
    loaded = load_reference()
    reference = loaded.value
    if reference is None:
        raise RecordsInvalid(loaded.problems)
    count = None if turns is None else _turns(turns, reference.properties["coil-turns"])
    celsius = 20.0 if at is None else _temperature(at)
    family, why = reference.family_called(family_id)
    said = taken_for(family_id, family, why) if family is not None and why else ""
    family_id = family.family_id if family is not None else family_id
    wire_id = None
    if family is not None and (awg is not None or build is not None):
        wire_id = _wire_id(reference, family, awg, build)
    sheet = winding_targets(reference, family_id, count, wire_id, celsius)
    return Made(sheet, reference, said)


def as_text(made: Made) -> str:
    """Return a sheet as text, worded by the template winding.txt.j2."""
    from coilbook.pages.worded import printed  # plain data need none of it

    return printed(templates(), "winding.txt.j2", **_names(made))


def as_page(made: Made) -> str:
    """Return a sheet as one HTML page that needs nothing but itself."""
    from coilbook.pages.worded import environment

    folder = site_src_dir() / "css"
    css = "\n".join((folder / name).read_text(encoding="utf-8") for name in _STYLES)
    return (
        environment(templates())
        .get_template("winding_page.html.j2")
        .render(root=None, invented=False, css=css, **_names(made))
    )


def write_page(made: Made, path: Path) -> None:
    """Write a sheet's page to a new file.

    Raises :class:`CoilbookError` if something stands there: a filled-in sheet is not overwritten.
    """
    page = as_page(made)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(page + "\n")
    except FileExistsError as error:
        raise CoilbookError(
            f"'{path}' is there already, and nothing is overwritten. Name another file, or move "
            "that one away."
        ) from error


def as_data(made: Made) -> dict[str, Any]:
    """Return a sheet as plain data; every U is the expanded uncertainty, k = 2."""
    sheet, coil = made.sheet, made.sheet.coil
    return {
        "family_id": sheet.family.family_id,
        "wire_id": sheet.wire.wire_id,
        "bobbin_id": sheet.bobbin.bobbin_id,
        "turns": coil.turns,
        "usual": sheet.usual,
        "temperature_c": coil.temperature_c,
        "expected": {name: _estimate(estimate) for name, estimate in _expected(sheet).items()},
        "fits": coil.fit.fits,
        "fill_nested": coil.fit.ratio_nested,
        "fill_scatter": coil.fit.ratio_scatter,
        "checks": [_check(check) for check in sheet.checks],
        "temperatures": [
            {"temperature_c": celsius, "resistance_kohm": one.value}
            for celsius, one in sheet.temperatures
        ],
        "departures": [
            {
                "code": d.code,
                "percent": d.percent,
                "apparent": d.apparent,
                "wire_id": d.wire_id,
                "turns": d.turns,
            }
            for d in sheet.departures
        ],
        "inductances": [
            {
                "claim_id": i.claim.row.claim_id,
                "reference_turns": i.reference_turns,
                "low_h": i.low,
                "typical_h": i.typical,
                "high_h": i.high,
            }
            for i in sheet.inductances
        ],
        "verdicts": [_verdict(verdict) for verdict in sheet.verdicts],
    }


def _expected(sheet: WindingSheet) -> dict[str, Estimate]:
    coil = sheet.coil
    return {
        "coil_resistance_kohm": coil.resistance_kohm,
        "coil_resistance_20_kohm": coil.resistance_20_kohm,
        **({"pair_resistance_kohm": coil.pair_kohm} if sheet.two_coils else {}),
        "spool_length_m": coil.spool_length_m,
        "coil_length_m": coil.length_m,
        "wire_mass_g": coil.mass_g,
        "copper_mass_g": coil.copper_g,
        "turns_per_layer": coil.turns_per_layer,
        "layers": coil.layers,
        "build_up_mm": coil.build_up_mm,
        "fill_square": coil.fit.ratio,
    }


def _check(check: RunningCheck) -> dict[str, Any]:
    return {
        "turns": check.coil.turns,
        "share": check.share,
        "resistance_kohm": _estimate(check.coil.resistance_kohm, budget=False),
        "times_first_reading": _estimate(check.ratio, budget=False),
        "wire_mass_g": _estimate(check.coil.mass_g, budget=False),
    }


def _verdict(verdict: Verdict) -> dict[str, Any]:
    claim = verdict.claim
    return {
        "claim_id": claim.row.claim_id,
        "period_id": claim.row.period_id,
        "evidence": claim.row.evidence,
        "low": claim.low,
        "typical": claim.typical,
        "high": claim.high,
        "verdict": verdict.word,
        "probability": verdict.probability,
        "reasons": [{"code": r.code, **r.data} for r in verdict.reasons],
    }


def _estimate(estimate: Estimate, *, budget: bool = True) -> dict[str, Any]:
    data: dict[str, Any] = {
        "value": estimate.value,
        "U": expanded(estimate.standard_uncertainty),
    }
    if budget:
        data["budget"] = [
            {
                "name": line.name,
                "estimate": line.estimate,
                "standard_uncertainty": line.standard_uncertainty,
                "unit": line.unit,
                "effect": line.effect,
            }
            for line in estimate.contributions
        ]
    return data


def _names(made: Made) -> dict[str, Any]:
    page = context(made.sheet, made.reference)
    return {field.name: getattr(page, field.name) for field in fields(page)}


def _turns(text: str, prop: Property) -> float:
    try:
        written = read_value(text, KINDS["count"], default_unit="turns")
    except ValueUnreadable as error:
        raise ValueUnreadable(error.code, f"--turns: {error.what}", error.todo) from error
    turns = None if written.magnitude is None else convert(written.magnitude, written.unit, "turns")
    low, high = prop.hard_low or 1.0, prop.hard_high or float("inf")
    if written.qualifier or turns is None or turns != int(turns) or not low <= turns <= high:
        raise ValueUnreadable(
            "turns-wrong",
            f"--turns: '{text}' is not a number of turns.",
            f"Write a whole number from {low:.0f} to {high:.0f}, as in 5000.",
        )
    return turns


def _temperature(text: str) -> float:
    try:
        written = read_value(text, KINDS["temperature"], default_unit="°C")
    except ValueUnreadable as error:
        raise ValueUnreadable(error.code, f"--at: {error.what}", error.todo) from error
    celsius = None if written.magnitude is None else convert(written.magnitude, written.unit, "°C")
    if written.qualifier or celsius is None or not _BENCH_C[0] <= celsius <= _BENCH_C[1]:
        raise ValueUnreadable(
            "temperature-impossible",
            f"--at: '{text}' is no temperature that a coil is read at.",
            f"Write one from {_BENCH_C[0]:.0f} to {_BENCH_C[1]:.0f} °C with its unit, as in 24C or "
            "75F.",
        )
    # 75 °F is 23.888… °C; nobody knows a coil to a thousandth.
    return round(celsius, 2)


def _wire_id(reference: Reference, family: Family, awg: str | None, build: str | None) -> str:
    usual = reference.wires.get(family.wire_id or "")
    builds = dict.fromkeys(wire.build for wire in reference.wires.values())
    if build is not None and build.lower() not in builds:
        hint = did_you_mean(build, builds) or f"It is {' or '.join(builds)}."
        raise UnknownId(f"--build: there is no build '{build}'. {hint}".strip())
    wanted_build = build.lower() if build is not None else usual.build if usual else "single"
    if awg is None:
        if usual is None:
            raise UnknownId(f"'{family.family_id}' has no usual wire. Give --awg.")
        gauge = usual.awg
    else:
        match = _GAUGE.fullmatch(awg.strip())
        gauge = int(match[1]) if match else -1
    for wire in reference.wires.values():
        if (wire.awg, wire.build) == (gauge, wanted_build):
            return wire.wire_id
    gauges = sorted({w.awg for w in reference.wires.values() if w.build == wanted_build})
    nearest = min(gauges, key=lambda g: abs(g - gauge))
    hint = f"The nearest is {nearest}. " if gauge > 0 else ""
    raise UnknownId(
        f"--awg: the reference has no wire '{awg or gauge}' in {wanted_build} build. {hint}"
        f"It has {gauges[0]} to {gauges[-1]} AWG."
    )

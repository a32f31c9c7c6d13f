"""Wires of other systems against formulas, preferred numbers, a library, and what was recalled."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from fluids.piping import BSWG_gauges, BSWG_inch, t_from_gauge

from coilbook.records.contents import Reference
from coilbook.records.tables.models import OtherWire

#: The series R40 of ISO 3, one decade (from memory).
R40 = (
    1.0, 1.06, 1.12, 1.18, 1.25, 1.32, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.12, 2.24, 2.36, 2.5,
    2.65, 2.8, 3.0, 3.15, 3.35, 3.55, 3.75, 4.0, 4.25, 4.5, 4.75, 5.0, 5.3, 5.6, 6.0, 6.3, 6.7,
    7.1, 7.5, 8.0, 8.5, 9.0, 9.5,
)  # fmt: skip
#: Half of the last digit of figures in mm, which are rounded.
ROUNDING_MM = 0.0005


def of_system(reference: Reference, system: str) -> list[OtherWire]:
    """Return the wires of one system; there are some."""
    found = [w for w in reference.other_wires.values() if w.system == system]
    assert found
    return found


def test_half_sizes_are_where_the_formula_puts_them(reference: Reference) -> None:
    """ASTM B258's formula at half gauges lies within the limits, and the nominal near it."""
    half = of_system(reference, "awg-half")
    assert {w.size for w in half} == {n + 0.5 for n in range(38, 46)}
    for wire in half:
        formula = 0.127 * 92 ** ((36 - wire.size) / 39)
        assert wire.bare_min_mm is not None
        assert wire.bare_max_mm is not None
        assert wire.bare_min_mm - ROUNDING_MM <= formula <= wire.bare_max_mm + ROUNDING_MM
        assert wire.bare_nom_mm == pytest.approx(formula, rel=0.021), wire.other_wire_id


def test_half_sizes_lie_between_their_neighbours(reference: Reference) -> None:
    """A half size is thinner than the gauge before it and thicker than the next, in each build."""
    for wire in of_system(reference, "awg-half"):
        assert wire.overall_nom_mm is not None
        thick = reference.wires[f"awg-{math.floor(wire.size)}-{wire.build}"]
        thin = reference.wires[f"awg-{math.ceil(wire.size)}-{wire.build}"]
        assert thin.bare_nom_mm < wire.bare_nom_mm < thick.bare_nom_mm, wire.other_wire_id
        assert thin.overall_nom_mm < wire.overall_nom_mm < thick.overall_nom_mm


def test_heavy_build_is_thicker_than_single(reference: Reference) -> None:
    """Build says how thick the insulation is and nothing else; grades likewise."""
    for wire in reference.other_wires.values():
        pairs = {"single": "heavy", "grade-1": "grade-2"}
        if wire.build not in pairs:
            continue
        other = reference.other_wires[
            wire.other_wire_id.removesuffix(wire.build) + pairs[wire.build]
        ]
        assert wire.bare_nom_mm == other.bare_nom_mm
        assert wire.overall_max_mm is not None
        assert other.overall_min_mm is not None
        assert other.overall_max_mm is not None
        assert wire.overall_max_mm < other.overall_max_mm
        if wire.system == "iec":
            # The grades of IEC 60317 do not overlap; the builds of NEMA MW 1000 do.
            assert other.overall_min_mm > wire.overall_max_mm


def test_metric_sizes_are_preferred_numbers(reference: Reference) -> None:
    """IEC sizes are R40 of ISO 3, to the µm, without a gap from 0.040 to 0.106 mm (from memory)."""
    sizes = sorted({w.size for w in of_system(reference, "iec")})
    # 0.0425 and 0.0475 mm are rounded up, as the standard does.
    decade = [math.floor(10 * n + 0.5) / 1000 for n in R40 if n >= 4.0] + [0.100, 0.106]
    assert sizes == pytest.approx(decade, abs=1e-9)
    for low, high in pairwise(sizes):
        assert high / low == pytest.approx(10 ** (1 / 40), rel=0.03)


def test_metric_diameters_are_those_that_were_recalled(
    reference: Reference, recalled_iec_wires: list[dict[str, str]]
) -> None:
    """Largest diameters of nine sizes and both grades, written from memory before any look-up."""
    assert len(recalled_iec_wires) == 9
    for row in recalled_iec_wires:
        for grade in ("1", "2"):
            wire = reference.other_wires[f"iec-{row['nominal_mm'].replace('.', '-')}-grade-{grade}"]
            assert wire.overall_max_mm == float(row[f"grade_{grade}_max_mm"]), wire.other_wire_id
            assert wire.bare_nom_mm == float(row["nominal_mm"])


def test_metric_insulation_grows_with_the_wire(reference: Reference) -> None:
    """A thicker wire of one grade has no thinner insulation at its thickest, to the rounding."""
    for grade in ("grade-1", "grade-2"):
        wires = sorted(
            (w for w in of_system(reference, "iec") if w.build == grade), key=lambda w: w.size
        )
        grown = [(w.overall_max_mm or 0.0) - w.bare_nom_mm for w in wires]
        for thin, thick in pairwise(grown):
            assert thick >= thin - 2 * ROUNDING_MM
        assert all(0.05 < g / w.bare_nom_mm < 0.4 for g, w in zip(grown, wires, strict=True))


def test_british_gauge_is_that_of_a_library(reference: Reference) -> None:
    """Diameters of 36 to 48 SWG as the open library fluids has them (run), to its last digit."""
    table = dict(zip(BSWG_gauges, BSWG_inch, strict=True))
    wires = of_system(reference, "swg")
    assert [w.size for w in wires] == [float(n) for n in range(36, 49)]
    for wire in wires:
        assert wire.bare_nom_mm == pytest.approx(25.4 * table[wire.size], abs=1e-6)


def test_british_gauge_goes_down_in_even_steps(reference: Reference) -> None:
    """0.8 mil a step to 39, 0.4 mil from there to 48: the gauge's own rule (from memory)."""
    mils = {w.size: w.bare_nom_mm / 0.0254 for w in of_system(reference, "swg")}
    for gauge in range(36, 48):
        step = 0.8 if gauge < 39 else 0.4
        assert mils[gauge] - mils[gauge + 1] == pytest.approx(step, abs=1e-6), gauge


def test_whole_gauges_are_near_those_of_a_library(reference: Reference) -> None:
    """The American gauge of the same library, which rounds it as well (run)."""
    for wire in reference.wires.values():
        library_mm = 1000 * t_from_gauge(wire.awg, True, "AWG")
        assert wire.bare_nom_mm == pytest.approx(library_mm, rel=0.02), wire.wire_id


def test_how_each_row_is_known(reference: Reference) -> None:
    """Every row names a place in a standard whose source says that it was cross-checked."""
    for wire in reference.other_wires.values():
        assert wire.evidence == "published"
        assert wire.source_id is not None
        source = reference.sources[wire.source_id]
        assert source.checked == "cross-checked"
        assert source.title.startswith(wire.standard.removesuffix("-0-1")), wire.other_wire_id
        assert wire.locator is not None
        assert "read through the open" in wire.locator

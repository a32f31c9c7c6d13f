"""Where practice and the standard part: every figure shown, against arithmetic done elsewhere."""

from __future__ import annotations

import csv
import json
import math
import re
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import magpylib
import numpy as np
import pytest
from fluids.piping import BSWG_gauges, BSWG_inch
from test_pages_render import templates

from coilbook.pages.disputes import disputes_page as parting
from coilbook.pages.disputes.dispute import Item
from coilbook.pages.page import Book
from coilbook.pages.reference import parts_tables as tables
from coilbook.pages.worded import environment
from coilbook.records import load_reference
from coilbook.resources import dataset_dir

TESTS = Path(__file__).parents[1]
#: Ω/m by the gauge's formula and Ω/km of the nominal diameter: computed outside the project from
#: ASTM B258 and nominal mils (36 to 40 AWG seen, 41 to 46 from memory) with IEC 60028 copper.
OHMS = {
    38: (2.1642, 2126.6),
    40: (3.4411, 3540.7),
    41: (4.3392, 4340.1),
    42: (5.4716, 5444.2),
    43: (6.8996, 7030.2),
    44: (8.7002, 8506.6),
    46: (13.834, 13804.3),
}


@pytest.fixture(scope="module")
def items() -> dict[str, Item]:
    """Return the page's items; they rest on the reference alone, so no archive is needed."""
    reference = load_reference().value
    assert reference is not None
    book = Book(reference, None, {}, None, {})  # type: ignore[arg-type]
    return dict(parting.context(book).items)


@pytest.fixture(scope="module")
def html(items: dict[str, Item]) -> str:
    """Return the page of an invented archive."""
    env = environment(templates())
    env.globals["invented"] = True
    return env.get_template("parting.html.j2").render(root="../", items=items)


def number(cell: str) -> float:
    """Read a number off a cell, its unit and its spaces aside."""
    plain = cell.replace("\N{MINUS SIGN}", "-").replace("\N{NARROW NO-BREAK SPACE}", "")
    found = re.match(r"[±+]?\s*(-?\d+(?:\.\d+)?)", plain)
    assert found, cell
    return float(found[1])


def cells(item: Item, column: int) -> dict[str, float]:
    """Return a column of an item's table by the head of each row."""
    return {row.head: number(row.cells[column]) for row in item.rows}


def rows_of(path: Path) -> list[dict[str, str]]:
    """Return the rows of a table as text."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_each_item_has_all_that_it_should(items: dict[str, Item], html: str) -> None:
    """Practice with its mark, arithmetic, a table, a plot, links, and a heading to link to."""
    assert len(items) == len(parting.ITEMS) >= 8
    for code, item in items.items():
        assert item.practice.code == "common_practice"
        assert len(item.sums) >= 2
        assert len(item.rows) >= 4
        assert len({len(row.cells) for row in item.rows}) == 1
        assert item.touches
        assert item.figure.dom_id == f"plot-{code}"
        assert len(item.figure.caption) > 60
        assert html.count(f'<h2 id="{code}">') == 1
        assert f'href="#{code}"' in html
    assert html.count("<h3>The arithmetic</h3>") == len(items)
    assert html.count("data-cb-plot") == len(items)


def test_every_section_leads_to_its_evidence(html: str) -> None:
    """Between two headings stands a link to a source or a method, and one to a claim or a table."""
    sections = html.split('<section class="cb-section">')[1:]
    for section in sections:
        assert "sources/index.html#" in section or "methods/index.html#" in section
        assert "families/" in section or "materials/" in section
        assert "evidence/index.html#common-practice" in section


def test_documented_plots_are_not_called_invented(html: str) -> None:
    """No record of an archive is in them, so an invented one's mark would be wrong."""
    assert "invented records" not in html


def test_plots_hold_what_the_tables_hold(items: dict[str, Item]) -> None:
    """A line or a bar for each row, where the plot is of the table's own rows."""
    for code in ("formula-nominal", "gauge-systems", "grade-1", "room-temperature", "grade-number"):
        (first, *_) = json.loads(items[code].figure.json)["data"]
        values = first["x"] if first["type"] == "bar" else first["y"]
        assert len(values) == len(items[code].rows), code
    drawn = json.loads(items["room-temperature"].figure.json)["data"][0]["x"]
    assert drawn == pytest.approx(list(cells(items["room-temperature"], 2).values()), abs=0.051)


def test_grades_out_of_order_are_counted_right(items: dict[str, Item]) -> None:
    """Counted anew from the outside lists of MMPA 0100 (from memory), pair by pair."""
    outside: dict[int, tuple[float, ...]] = {}
    for row in rows_of(TESTS / "reference" / "published_magnets.csv"):
        if row["process"] == "cast" and row["grade"].isdigit():
            outside[int(row["grade"])] = tuple(
                float(row[c]) for c in ("br_mt", "hc_ka_per_m", "bhmax_kj_per_m3")
            )
    # Grade 1: 7200 G, 470 Oe, 1.40 MGOe (from memory).
    outside[1] = (720.0, 470 / (4 * math.pi), 1.4 * 100 / (4 * math.pi))
    pairs = list(combinations(sorted(outside), 2))
    for place, step in enumerate(items["grade-number"].sums):
        wrong = [(a, b) for a, b in pairs if outside[a][place] > outside[b][place]]
        assert wrong  # so the number is no order of strength
        assert step.result == f"{len(wrong)} of {len(pairs)}"
        assert step.sum == "; ".join(f"{a} before {b}" for a, b in wrong)
    assert items["grade-number"].facts == {"weakest": "4", "strongest": "5"}


def test_formula_and_nominal_part_as_the_outside_table_says(items: dict[str, Item]) -> None:
    """The difference of both resistances, from figures computed outside, to the digit shown."""
    shown = cells(items["formula-nominal"], 3)
    for awg, (formula, nominal) in OHMS.items():
        outside = 100 * (nominal / 1000 / formula - 1)
        assert shown[f"{awg} AWG"] == pytest.approx(outside, abs=0.055)
    worst = max(shown, key=lambda head: abs(shown[head]))
    assert items["formula-nominal"].facts["worst"] == worst == "40 AWG"
    # 4 kΩ of nominal 42 AWG are 5034.5 turns (closed form and shapely, run outside the project).
    assert cells(items["formula-nominal"], 5)["42 AWG"] == pytest.approx(5034.5, abs=0.5001)


def test_gauge_systems_part_as_a_library_says(items: dict[str, Item]) -> None:
    """Ratios of the library fluids' British gauge to the outside table's nominal mils."""
    british = dict(zip(BSWG_gauges, BSWG_inch, strict=True))
    diameters = cells(items["gauge-systems"], 2)
    ratios = cells(items["gauge-systems"], 3)
    for row in rows_of(TESTS / "reference" / "published_wires.csv"):
        ratio = 1000 * british[float(row["awg"])] / float(row["nominal_mil"])
        assert diameters[row["awg"]] == pytest.approx(ratio, abs=0.0051)
        assert ratios[row["awg"]] == pytest.approx(ratio**2, abs=0.0051)
    assert items["gauge-systems"].facts["ratio"] == "2.56"  # (4.0 mil / 2.5 mil)²


def test_turns_in_the_window_are_the_outside_ones(items: dict[str, Item]) -> None:
    """5078 turns of 42 AWG single in 6.4 x 4.0 mm (run outside); grade 1 from its own limits."""
    single, metric = cells(items["grade-1"], 4), cells(items["grade-1"], 5)
    assert single["42 AWG single"] == 5078
    # 0.063 mm, grade 1: 0.069 to 0.076 mm (the upper limit recalled, the lower transcribed).
    assert metric["42 AWG single"] == pytest.approx(6.4 * 4.0 / 0.0725**2, abs=0.5)
    assert items["grade-1"].facts["difference"].startswith("\N{MINUS SIGN}4.1")


def kohm(text: str) -> float:
    """Read a resistance as this reference's claims write it; no part of the package is used."""
    found = re.fullmatch(r"([\d.,]+)\s*(k|kΩ|Ω)?", text.strip())
    assert found, text
    value = float(found[1].replace(",", "."))
    return value if found[2] in ("k", "kΩ") else value / 1000


def test_steps_between_periods_are_those_of_the_claims(items: dict[str, Item]) -> None:
    """Read off claims.csv and periods.csv by hand, and compared with 0.393 %/K x 10 K."""
    folder = dataset_dir() / "reference"
    families = {row["family_id"]: row for row in rows_of(folder / "families.csv")}
    claims = rows_of(folder / "claims.csv")
    outside = []
    for family_id, family in families.items():
        main = "pair-resistance" if family["coils"] == "2" else "coil-resistance"
        periods = sorted(
            (row for row in rows_of(folder / "periods.csv") if row["family_id"] == family_id),
            key=lambda row: row["first_year"],
        )
        typical = [
            [
                kohm(c["typical"])
                for c in claims
                if (c["period_id"], c["property_id"]) == (period["period_id"], main)
                and c["typical"]
                and not c["position"]
            ]
            for period in periods
        ]
        dated = [values for values in typical if values]
        outside += [100 * (b / a - 1) for one, two in pairwise(dated) for a in one for b in two]
    item = items["room-temperature"]
    assert list(cells(item, 2).values()) == pytest.approx(outside, abs=0.051)
    smaller = sum(abs(step) < 3.93 for step in outside)
    assert (item.facts["smaller"], item.facts["steps"]) == (str(smaller), str(len(outside)))
    assert number(item.sums[0].result) == pytest.approx(3.93, abs=0.005)  # IEC 60028, from memory
    assert number(item.sums[1].result) == pytest.approx(8 * 0.0393, abs=0.005)


def test_turns_are_as_unsure_as_draws_say(items: dict[str, Item]) -> None:
    """100,000 coils drawn with numpy within the stated limits, solved for the turns of 4 kΩ."""
    rng = np.random.default_rng(20)

    def limits(low: float, high: float) -> Any:
        return rng.uniform(low, high, 100_000)

    # NEMA MW 1000 limits of 42 AWG single, mm; bobbin, packing and stretch by common practice.
    middle = 0.0635
    bare = limits(middle - 0.0025, middle + 0.0025)
    overall = limits(0.066, 0.076)
    length, width, height = (limits(v - 0.2, v + 0.2) for v in (64.0, 4.8, 6.4))
    packing, stretch = limits(0.87, 1.2), limits(0.0, 0.03)
    ohm_per_mm = 1e-3 / 58 * limits(0.99, 1.01) * (1 + stretch) / (math.pi * bare**2 / 4)
    wire_mm = 4000.0 / ohm_per_mm
    grown = overall**2 * packing / height
    core = 2 * (length - width) + math.pi * width
    turns = (np.sqrt(core**2 + 4 * math.pi * grown * wire_mm) - core) / (2 * math.pi * grown)
    facts = items["turns-from-resistance"].facts
    assert number(facts["turns"]) == pytest.approx(float(np.mean(turns)), rel=0.003)
    assert number(facts["extent"]) == pytest.approx(2 * float(np.std(turns)), rel=0.02)
    # 4954 ± 217 turns without the bobbin's own limits (run outside the project).
    assert number(facts["turns"]) == pytest.approx(4954, abs=5)
    assert number(facts["extent"]) == pytest.approx(2 * 217, abs=5)
    shares = cells(items["turns-from-resistance"], 3)
    assert sum(shares.values()) == pytest.approx(100, abs=0.5)


def test_readings_across_a_pot_add_conductances(items: dict[str, Item]) -> None:
    """Conductances add (Ohm and Kirchhoff), for each pot and input by its nominal value."""
    sizes = {"100 kΩ": 100e3, "250 kΩ": 250e3, "500 kΩ": 500e3, "1 MΩ": 1e6}
    item = items["meter-across"]
    checked = 0
    for row in item.rows:
        size = next((v for name, v in sizes.items() if row.head.endswith(name)), None)
        if size is None:
            continue
        for true, place in ((8000.0, 0), (15000.0, 2)):
            read = 1 / (1 / true + 1 / size)
            assert number(row.cells[place]) == pytest.approx(read / 1e3, abs=0.0005001)
            assert number(row.cells[place + 1]) == pytest.approx(
                100 * (read / true - 1), abs=0.005001
            )
            checked += 1
    assert checked == 8
    assert {row.head for row in item.rows if row.cells[0].startswith("7.994")} == {
        "Meter or probe on a voltage range, usual"
    }  # 1/(1/8000 + 1/10 MΩ) = 7993.6 Ω


def test_peaks_under_pots_are_those_of_the_circuit(items: dict[str, Item]) -> None:
    """The divider worked with complex impedances on a fine grid, and its highest point taken."""
    item = items["pot-tolerance"]
    stated = re.search(r"R = ([\d.]+) kΩ, L = ([\d.]+) H, C = (\d+) pF", item.sums[1].sum)
    assert stated
    ohm, henry, farad = float(stated[1]) * 1e3, float(stated[2]), float(stated[3]) * 1e-12
    assert farad == pytest.approx(610e-12)  # 110 pF and 5 m of 100 pF/m
    s = 2j * math.pi * np.linspace(2500.0, 3500.0, 100_001)
    loads = {200: 0, 250: 1, 300: 2, 400: 3, 500: 4, 600: 5}
    heights = {}
    for load, place in loads.items():
        across = 1 / (1 / (load * 1e3) + s * farad)
        level = 20 * np.log10(np.abs(across / (across + ohm + s * henry)))
        top = int(np.argmax(level))
        heights[load] = float(level[top])
        row = item.rows[place]
        assert number(row.cells[0]) == load
        assert number(row.cells[1]) == pytest.approx(abs(s[top]) / (2e3 * math.pi), abs=0.00051)
        assert number(row.cells[2]) == pytest.approx(heights[load], abs=0.00501)
    for name, one, two in (("gap", 500, 250), ("left", 400, 300), ("swing", 600, 400)):
        assert number(item.facts[name]) == pytest.approx(heights[one] - heights[two], abs=0.0501)


def test_unlike_coils_leave_what_logarithms_say(items: dict[str, Item]) -> None:
    """3.5 kΩ and 4.5 kΩ leave 20 log(1/8) = -18.06 dB; 5 % leave 20 log(1/40) = -32.04 dB."""
    hum = list(cells(items["imbalance-hum"], 1).values())
    assert hum[-1] == pytest.approx(-18.06, abs=0.05)
    assert hum[0] == pytest.approx(-32.04, abs=0.05)
    assert items["imbalance-hum"].rows[-1].cells[2] == "1/8"


def test_the_field_before_the_rod_is_an_independent_librarys(items: dict[str, Item]) -> None:
    """Magpylib's rod of 4.8 x 16 mm at 1280 mT; 302.78 mT for 1 T at 1 mm (also run outside)."""
    rod = magpylib.magnet.Cylinder(polarization=(0, 0, 1.28), dimension=(4.8e-3, 16e-3))
    for head, shown in cells(items["pole-gauss"], 0).items():
        at = 8e-3 + max(number(head), 1e-6) * 1e-3
        field_mt = 1e3 * float(rod.getB((0.0, 0.0, at))[2])
        assert shown == pytest.approx(field_mt, abs=0.51)
    assert "0.3028" in items["pole-gauss"].sums[1].sum


def test_rods_in_a_row_show_less_than_one_alone(items: dict[str, Item]) -> None:
    """The third curve, rebuilt with magpylib: six rods' field over one, and the load line's J.

    J is where B = mu0 H (1/N - 1) meets the standard's curve; both are tested with the formulas.
    """
    (_, alone, row) = json.loads(items["pole-gauss"].figure.json)["data"]
    six = magpylib.Collection(
        *(
            magpylib.magnet.Cylinder(
                polarization=(0, 0, 1.0), dimension=(4.8e-3, 16e-3), position=(k * 10.4e-3, 0, 0)
            )
            for k in (-2, -1, 0, 1, 2, 3)
        )
    )
    heights = [8e-3 + max(mm, 1e-6) * 1e-3 for mm in row["x"]]
    fields = [float(six.getB((0.0, 0.0, z))[2]) for z in heights]
    kept = [shown / 1e3 / field for shown, field in zip(row["y"], fields, strict=True)]
    assert kept[:5] == pytest.approx([kept[0]] * 5, rel=5e-3)  # one J explains the whole curve
    one = [float(six[2].getB((0.0, 0.0, z))[2]) for z in heights]
    kept_alone = alone["y"][0] / 1e3 / one[0]
    assert 0.80 < kept[0] / kept_alone < 0.90
    # Near the face the row shows less; a string's height away its neighbours' fields add up.
    assert all(a > b for a, b in zip(alone["y"][:4], row["y"][:4], strict=True))
    assert row["y"][-1] > alone["y"][-1]


def test_what_a_pole_gathers_is_more_than_an_even_rod(items: dict[str, Item]) -> None:
    """Steel: 10 to 12 times (held against a grid in tests/measures); an even rod's mean is less.

    Magpylib's mean field inside an evenly magnetised rod gives the factor that is too high here.
    """
    rod = magpylib.magnet.Cylinder(magnetization=(0, 0, 1.0), dimension=(4.8e-3, 16e-3))
    radii = 2.4e-3 * np.sqrt((np.arange(40) + 0.5) / 40)  # rings of one area
    heights = (np.arange(80) + 0.5) / 80 * 16e-3 - 8e-3
    places = [(r, 0.0, z) for r in radii for z in heights]
    factor = -float(np.mean(rod.getH(places)[:, 2]))
    shown = cells(items["screw"], 1)
    for head, mu, least in (("steel, low end", 60.0, 10.0), ("steel, high end", 500.0, 11.7)):
        assert least < shown[head] < 12.1
        assert shown[head] > 1.25 * mu / (1 + factor * (mu - 1))
    even = next(s for s in items["screw"].sums if "evenly" in s.what)
    assert number(even.result) == pytest.approx(60 / (1 + factor * 59), rel=0.02)
    assert number(items["screw"].facts["times"]) == pytest.approx(1.2, abs=0.05)


def test_other_tables_show_what_is_computed_of_them() -> None:
    """The pages of metals and parts: skin depths by a handbook's rule, tolerances by hand."""
    reference = load_reference().value
    assert reference is not None
    book = Book(reference, None, {}, None, {})  # type: ignore[arg-type]
    metals = {line.alloy_id: line for line in tables.metals(book).alloys}
    # delta = 503 sqrt(rho/(mu f)) m: a handbook's rule (from memory).
    for alloy_id, low, high in (("nickel-silver", 190e-9, 320e-9), ("brass", 46e-9, 68e-9)):
        for place, hertz in enumerate((1e3, 5e3)):
            ends = [1e3 * 503.3 * math.sqrt(rho / hertz) for rho in (low, high)]
            shown = [float(v) for v in metals[alloy_id].skin_depths[place].split("–")]
            assert shown == pytest.approx(ends, rel=0.05)
    assert metals["copper"].conductivity == "100"
    assert metals["gold-plating"].skin_depths == ("", "")
    groups = {group.code: group.lines for group in tables.parts(book).groups}
    pots = {line.part_id: line.between for line in groups["pot"]}
    assert pots["pot-500k"].startswith("400 to 600")
    assert pots["pot-250k"].startswith("200 to 300")
    systems = {system.code: system.lines for system in tables.other_wires(book)}
    metric = next(w for w in systems["iec"] if w.row_id == "iec-0-063-grade-1")
    assert metric.nearest == "42 AWG"
    # 1/58 Ω mm²/m over the area of 0.063 mm (IEC 60028, from memory).
    assert number(metric.ohm_per_km) == pytest.approx(1e3 / 58 / (math.pi * 0.063**2 / 4), abs=0.5)
    thick = next(w for w in systems["swg"] if w.row_id == "swg-36")
    assert thick.nearest == ""

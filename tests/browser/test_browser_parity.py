"""The page computes what Python computes: grammar.js and formulas.js on Python's own vectors.

The values themselves are held against sources outside the project by the tests of measures and
records; here both sides of the one truth are held together, in a real Chromium.
"""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from parity_vectors import ORDINARY, SHARED, cases, texts, vectors_script

from coilbook.publish import BuildReport
from coilbook.publish.scripts.core_scripts import core_script

pytestmark = pytest.mark.browser

#: Nine significant digits.
DIGITS = 1e-9

#: Formulas that the page has from the core alone, by the name of their vectors.
PRINTED = {
    "seriesInductanceH": "coilbook.core.formulas.inductor.series_inductance_h",
    "extraLoss": "coilbook.core.formulas.inductor.extra_loss",
    "lossSurplus": "coilbook.core.formulas.inductor.loss_surplus",
    "turnsOfMass": "coilbook.core.formulas.layers.turns_of_mass",
    "massSensitivities": "coilbook.core.formulas.layers.mass_sensitivities",
    "normalisedError": "coilbook.core.formulas.pair.normalised_error",
    "conformance": "coilbook.core.judging.conformity.conformance",
    "rodOnAxisT": "coilbook.core.formulas.rods.rod_on_axis_t",
    "standoffRatio": "coilbook.core.reduction.probe.standoff_ratio",
    "standoffSensitivities": "coilbook.core.reduction.probe.standoff_sensitivities",
    "highestOverFaceT": "coilbook.core.formulas.rods.highest_over_rod_t",
    "Winding": "coilbook.core.formulas.coil.Winding",
    "RodMagnet": "coilbook.core.formulas.rods.RodMagnet",
}
#: Puts them beside those written by hand; wires and rods come as plain objects.
PUT_PRINTED = """names => {
    const core = coilbook.core, F = coilbook.formulas;
    const made = one => {
        if (one && one.along_m !== undefined) {
            return new core.RodMagnet(one.diameter_m, one.along_m);
        }
        if (!one || one.bare_diameter_m === undefined) { return one; }
        return new core.Winding(one.bare_diameter_m, one.overall_diameter_m, one.core_length_m,
            one.core_width_m, one.winding_height_m, one.packing, one.stretch);
    };
    const plain = one => one && one.items ? Object.fromEntries(one.items()) : one;
    for (const [name, full] of Object.entries(names)) {
        const printed = core[full.split(".").pop()];
        if (!/^[A-Z]/.test(name)) { F[name] = (...given) => plain(printed(...given.map(made))); }
    }
}"""

RUN_CASES = """() => {
    const F = Object.assign({}, coilbook.formulas), V = coilbook.vectors;
    const parts = (wire, bobbin) => {
        const B = coilbook.bench, w = B.wires[V.wires[wire]], b = B.bobbins[V.bobbins[bobbin]];
        return [F.windingOf(w, b), w.half_widths];
    };
    F.resistanceOfTable = (n, wire, bobbin) => F.resistanceEstimate(n, ...parts(wire, bobbin));
    F.turnsOfTable = (ohm, u, wire, bobbin) => F.turnsEstimate(ohm, u, ...parts(wire, bobbin));
    const found = V.cases.map(c => {
        try { return { value: F[c.name](...c.arguments) }; } catch (error) {
            const refused = error instanceof RangeError || error.name === "OutOfDomain";
            if (refused) { return { refused: true }; }
            throw error;
        }
    });
    // As text, which comes over much faster; JSON has no word for infinities.
    const odd = v => typeof v === "number" && !Number.isFinite(v);
    return JSON.stringify(found, (_, v) => odd(v) ? { odd: String(v) } : v);
}"""
RUN_TEXTS = """() => coilbook.vectors.texts.map(t => {
    try { return coilbook.grammar.readValue(t.text, t.kind, t.options); }
    catch (refusal) { if (!refusal.what) { throw refusal; } return refusal; }
})"""


@pytest.fixture(scope="module")
def page(long_visit: Any, tmp_path_factory: pytest.TempPathFactory, demo_site: BuildReport) -> Any:
    """Open the calculators with the vectors and the other page's formulas beside their scripts."""
    page = long_visit().go("calculators/index.html")
    page.add_script_tag(content=core_script(tuple(PRINTED.values())))
    page.evaluate(PUT_PRINTED, PRINTED)
    script = tmp_path_factory.mktemp("parity") / "vectors.js"
    script.write_text(vectors_script(), encoding="utf-8")
    page.add_script_tag(url=script.as_uri())  # tens of megabytes: not by way of the driver
    return page


@pytest.fixture(scope="module")
def outcomes(page: Any) -> list[dict[str, Any]]:
    """Return what the page makes of every case."""
    found: list[dict[str, Any]] = json.loads(
        page.evaluate(RUN_CASES),
        object_hook=lambda one: float(one["odd"]) if one.keys() == {"odd"} else one,
    )
    return found


def same(page: Any, python: Any) -> bool:
    """Whether two outcomes are the same: numbers to nine digits, everything else to the letter."""
    if isinstance(python, dict):
        return isinstance(page, dict) and all(same(page.get(k), v) for k, v in python.items())
    if isinstance(python, bool) or not isinstance(python, int | float):
        return bool(page == python)
    if not isinstance(page, int | float) or isinstance(page, bool):
        return False
    if math.isnan(python):
        return math.isnan(page)
    return math.isclose(page, python, rel_tol=DIGITS, abs_tol=0.0)


def test_the_comparison_sees_the_ninth_digit() -> None:
    """The yardstick itself: a change in the ninth digit, a missing value or word is seen."""
    assert same({"value": 1.0 + 4e-10, "more": 1}, {"value": 1.0})
    assert not same(1.0 + 4e-9, 1.0)
    assert not same(None, 0.0)
    assert not same(0.0, math.nan)
    assert not same({}, {"refused": True})


def test_every_shared_function_agrees_to_nine_digits(outcomes: list[dict[str, Any]]) -> None:
    """2,000 drawn inputs of each function, its edges, and what both refuse."""
    expected = cases()
    assert len(expected) > ORDINARY * len(SHARED)
    wrong = [
        (case["name"], case["arguments"], one, case["python"])
        for case, one in zip(expected, outcomes, strict=True)
        if not same(one, case["python"])
    ]
    assert wrong == [], f"{len(wrong)} differ, the first: {wrong[0]}"


def test_what_a_function_should_refuse_is_refused(outcomes: list[dict[str, Any]]) -> None:
    """Python refuses every input listed as such, and none of the ordinary ones or edges."""
    counted = {shared.name: len(shared.refused) for shared in SHARED}
    refused = dict.fromkeys(counted, 0)
    for case, one in zip(cases(), outcomes, strict=True):
        refused[case["name"]] += "refused" in case["python"]
        assert ("refused" in one) == ("refused" in case["python"]), case
    assert refused == counted


def test_the_page_has_no_function_that_is_not_compared(page: Any) -> None:
    """A new function of formulas*.js needs its vectors; three have theirs under another name."""
    names = set(page.evaluate("Object.keys(coilbook.formulas)"))
    elsewhere = {"windingOf", "resistanceEstimate", "turnsEstimate"}  # resistance-, turnsOfTable
    here = {"nearestFraction", "scale"}  # below; convert and the grammar's steps use the same table
    assert names - elsewhere - here == {s.name for s in SHARED if not s.name.endswith("OfTable")}


def test_every_text_is_read_or_refused_as_python_does(page: Any) -> None:
    """The grammar to the letter: value, unit, sign and step exactly, refusals word for word."""
    expected = texts()
    read = [t for t in expected if "what" not in t["python"]]
    assert len(read) > 300
    assert len(expected) - len(read) > 300
    found = page.evaluate(RUN_TEXTS)
    wrong = [
        (text["text"], text["kind"], one, text["python"])
        for text, one in zip(expected, found, strict=True)
        if one != text["python"]
    ]
    assert wrong == [], f"{len(wrong)} differ, the first: {wrong[0]}"


def test_nearest_fractions_are_nearest(page: Any) -> None:
    """Every 500th of an inch up to 3 in: the fraction is within half a part, in lowest terms."""
    for bottom in (16, 64):
        found = page.evaluate(
            """bottom => Array.from({ length: 1500 },
                (_, i) => coilbook.formulas.nearestFraction(i / 500, bottom))""",
            bottom,
        )
        for i, one in enumerate(found):
            worth = one["whole"] + one["top"] / one["bottom"]
            assert abs(worth - i / 500) <= 0.5 / bottom + 1e-12
            assert worth + one["rest"] == pytest.approx(i / 500, abs=1e-12)
            assert one["top"] < one["bottom"]
            assert math.gcd(one["top"], one["bottom"]) == 1 or one["top"] == 0
            assert bottom % one["bottom"] == 0

"""The page that checks a piece says what ``coilbook compare --json`` says, of whole pieces.

What Python says is held against sources outside the project by the tests of measures, stats and
assessment; here both sides of the one truth are held together, in a real Chromium, on pieces drawn
with their slips: values, budgets, verdicts, places, findings, periods, the lead, and every refusal.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import pytest
from parity_pieces import added_peers, pieces
from parity_said import differences, expected, python_says

from coilbook.core.observing.said import FindingCode
from coilbook.pages.tools.check_page import PARTS
from coilbook.publish import BuildReport
from coilbook.publish.scripts.check_data import LEFT_OUT, PEERS_FOLDER

pytestmark = pytest.mark.browser

#: What the calculators, beside whose scripts the engine is put, have of their own, and what
#: only the page's words need.
THERE = (
    "assets/data/bench.js",
    "assets/data/known.js",
    "assets/js/grammar.js",
    "assets/js/formulas.js",
)
#: The engine's scripts, in the order in which they are joined.
SCRIPTS = tuple(
    part for part in PARTS[: PARTS.index("assets/js/check.js") + 1] if part not in THERE
)
ADD_PEERS = """added => added.forEach(([family, key, values]) => {
    const of = coilbook.peersOf[family], there = of.values[key] || { v: [], g: [] };
    of.groups.push([[], null]);
    const both = there.v.map((v, i) => [v, there.g[i]]);
    values.forEach(v => both.push([v, of.groups.length - 1]));
    both.sort((one, other) => one[0] - other[0]);
    of.values[key] = { v: both.map(b => b[0]), g: both.map(b => b[1]) };
})"""
_SAID: list[dict[str, Any]] = []
SAY = "typed => JSON.stringify(typed.map(coilbook.check.assess))"


@pytest.fixture
def page(visit: Any, demo_site: BuildReport) -> Any:
    """Open a page with grammar and formulas, and load the engine and every family's peers there."""
    page = visit().go("calculators/index.html")
    peers = sorted((demo_site.out / PEERS_FOLDER).glob("*.js"))
    for script in (*SCRIPTS, *(path.relative_to(demo_site.out) for path in peers)):
        page.add_script_tag(path=demo_site.out / script)
    page.evaluate(
        ADD_PEERS,
        [[k.family_id, f"{k.property_id}|{k.component}", v] for k, v in added_peers().items()],
    )
    return page


@pytest.fixture
def said(request: pytest.FixtureRequest) -> Any:
    """Return what the page says of every drawn piece, asked for once."""
    if not _SAID:
        page = request.getfixturevalue("page")
        _SAID.extend(json.loads(page.evaluate(SAY, list(pieces()))))
    return _SAID


def _problems(told: dict[str, Any]) -> list[list[Any]]:
    columns = ("reading", "column", "what", "todo", "severity")
    found = [[problem[column] for column in columns] for problem in told["problems"]]
    return sorted(found, key=str)


def test_the_yardstick_sees_a_digit_a_word_and_a_gap() -> None:
    """A change in the ninth digit, in a word, in a length or a key more or less is told."""
    one = {"a": [1.0, {"b": "inside", "c": None}], "d": True}
    assert differences({**one, "reading": 3}, one) == []
    assert differences({"a": [1.0 + 4e-9, one["a"][1]], "d": True}, one) != []
    assert differences({"a": [1.0, {"b": "outside", "c": None}], "d": True}, one) != []
    assert differences({"a": [1.0], "d": True}, one) != []
    assert differences({"a": one["a"]}, one) != []
    assert differences({**one, "e": 1}, one) != []
    assert differences({**one, "d": 1}, one) != []


def test_whole_pieces_are_told_as_python_tells_them(said: Any) -> None:
    """Every number of every section to nine digits, every word, code and id to the letter."""
    wrong = []
    for typed, page, python in zip(pieces(), said, expected(), strict=True):
        told = {key: value for key, value in python.items() if key != "problems"}
        if told:
            wrong += [(typed, line) for line in differences(page, told)]
        else:
            # A family that is none: its slips are told, and nothing else.
            assert page["values"] == page["findings"] == page["turns"] == []
    assert wrong == [], f"{len(wrong)} differ, the first: {wrong[0]}"


def test_every_slip_is_told_in_pythons_words(said: Any) -> None:
    """The same problems at the same readings and columns, doubts included, and no others."""
    for typed, page, python in zip(pieces(), said, expected(), strict=True):
        mine = sorted(python["problems"], key=str)
        assert _problems(page) == mine, typed


def test_the_drawn_pieces_reach_every_part() -> None:
    """Enough of everything is among them: families, findings, leads, flags, refusals."""
    told = [python for python in expected() if "lead" in python]
    assert len({python["piece"]["family_id"] for python in told}) == 18
    values = [value for python in told for value in python["values"]]
    assert len(values) > 1500
    assert len({flag for value in values for flag in value["flags"]}) >= 8
    codes = {finding["code"] for python in told for finding in python["findings"]}
    assert set(get_args(FindingCode)) - set(LEFT_OUT["findings"]) - codes == set()
    paths = {
        (finding["property_id"], "usual" in finding["data"])
        for python in told
        for finding in python["findings"]
        if finding["code"] == "read_in_circuit"
    }
    by_losses = {("pair-loss-surplus", peers) for peers in (True, False)}
    assert paths == {("pair-resistance", False), *by_losses}
    assert {python["lead"]["word"] for python in told} == {"typical", "unusual", "cannot_tell"}
    words = {v["verdict"] for value in values for v in value["verdicts"]}
    assert words == {"inside", "outside", "too_close_to_call", "not_judged"}
    assert len({problem[2] for python in expected() for problem in python["problems"]}) > 100
    assert sum(turns["combined"] is not None for p in told for turns in p["turns"]) > 0


def test_without_peers_everything_else_is_said(visit: Any, demo_site: BuildReport) -> None:
    """Before a family's peers are loaded nothing is missing but places and what rests on them."""
    page = visit().go("calculators/index.html")
    for script in SCRIPTS:
        page.add_script_tag(path=demo_site.out / script)
    typed = {
        "family_id": "full-size-humbucker",
        "year_first": "1959",
        "year_last": "1959",
        "readings": [
            {"property_id": "pair-resistance", "component": "pair", "value": "8,12k",
             "temperature": "79 °F", "circuit": "free"},
        ],
    }  # fmt: skip
    (alone,) = json.loads(page.evaluate(SAY, [typed]))
    assert alone["peers_loaded"] is False
    assert alone["problems"] == []
    # 8.12 kΩ / (1 + 0.00393 (79 °F − 20 °C)), by hand; IEC 60028's coefficient, from memory.
    by_hand = 8.12 / (1.0 + 0.00393 * ((79.0 - 32.0) / 1.8 - 20.0))
    assert alone["values"][0]["value"] == pytest.approx(by_hand, rel=1e-9)
    assert [place["peers"] for place in alone["values"][0]["places"]] == [0]
    script = demo_site.out / PEERS_FOLDER / "full-size-humbucker.js"
    page.evaluate("coilbook.peersLoaded = family => { window.told = family; }")
    page.add_script_tag(path=script)
    assert page.evaluate("window.told") == "full-size-humbucker"
    (among,) = json.loads(page.evaluate(SAY, [typed]))
    assert among["peers_loaded"] is True
    assert among["values"][0]["places"][0]["peers"] > 8
    assert among["values"][0]["verdicts"] == alone["values"][0]["verdicts"]


def test_nothing_that_is_typed_makes_it_throw(page: Any) -> None:
    """Odd cells in every column of a reading are told of, or read, and never break the page."""
    odd = ("", " ", "\u00a0", "open", "<", "1/0", "1e999", "é", "\U0001d7d5", "9" * 70, "-", "·")
    columns = (
        "property_id", "component", "value", "qualifier", "unit", "temperature", "circuit", "date",
        "temperature_uncertainty", "parallel", "parallel_tolerance", "test_frequency", "equivalent",
        "standoff", "zero",
    )  # fmt: skip
    plain = {"property_id": "coil-resistance", "component": "coil_a", "value": "4k"}
    typed = [
        {"family_id": "full-size-humbucker", "readings": [{**plain, column: text}]}
        for column in columns
        for text in odd
    ]
    typed += [
        {"family_id": text, "position": text, "year_first": text, "year_last": text, "state": text,
         "features": [text], "readings": []}
        for text in odd
    ]  # fmt: skip
    assert len(json.loads(page.evaluate(SAY, typed))) == len(typed)


def test_a_stated_accuracy_is_shared_by_the_coils() -> None:
    """Two coils by one meter share its percent: their sum's share of it adds up linearly.

    By hand (JCGM 100, 5.2.2): 1 % of 4 kΩ and of 4.2 kΩ is 0.082 kΩ of the sum, over √3.
    """
    readings = [
        {"property_id": "coil-resistance", "component": part, "value": value, "temperature": "20 C",
         "circuit": "free", "accuracy": {"percent": "1", "digits": "0"}}
        for part, value in (("coil_a", "4.00k"), ("coil_b", "4.20k"))
    ]  # fmt: skip
    typed = {
        "family_id": "full-size-humbucker", "year_first": "", "year_last": "", "position": "",
        "state": "", "potted": "", "features": [], "readings": readings,
    }  # fmt: skip
    said = python_says(typed)
    (pair,) = [v for v in said["values"] if v["property_id"] == "pair-resistance"]
    (share,) = [line for line in pair["budget"] if line["name"] == "instrument, percent of reading"]
    assert share["effect"] == pytest.approx(0.01 * 8.2 / 3**0.5, rel=1e-12)


def test_the_script_folder_has_no_engine_script_that_is_not_loaded_here(
    demo_site: BuildReport,
) -> None:
    """Every script that adds to the engine is among those that are compared."""
    named = {Path(script).name for script in SCRIPTS}
    engine = {
        path.name
        for path in (demo_site.out / "assets" / "js").glob("*.js")
        if "coilbook.check = {" in (text := path.read_text("utf-8")) or "C = coilbook.check" in text
    }
    # The joined script of the page holds all of them.
    # What is printed of the core names no page's object; the joined script holds all of them.
    assert (engine | {"core_check.js"}) - {"check_whole.js"} == named

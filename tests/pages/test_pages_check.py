"""The page that checks a piece has words for every code, each from the one place of its wording."""

from __future__ import annotations

import json
import re
from typing import Any, get_args

import pytest

from coilbook.core.judging.verdict import ReasonCode
from coilbook.core.observing.said import ExplanationCode, FindingCode, LeadCode, NextCode
from coilbook.core.reduction.measured_piece import TroubleCode
from coilbook.core.reduction.reduced_value import Flag
from coilbook.pages.text import EVIDENCE_MARKS, rank
from coilbook.pages.tools.check_page import words
from coilbook.pages.tools.check_words import Slots
from coilbook.pages.worded import environment
from coilbook.resources import templates

CODES = {
    "reason": ReasonCode,
    "finding": FindingCode,
    "title": FindingCode,
    "kind": FindingCode,
    "explanation": ExplanationCode,
    "step": NextCode,
    "step_first": NextCode,
    "lead": LeadCode,
    "trouble": TroubleCode,
    "flag": Flag,
}


@pytest.fixture(scope="module")
def entries() -> list[Any]:
    """Render every sentence as the page has it: [kind, code, when, without, markup]."""
    env = environment(templates())
    env.globals["invented"] = True
    html = env.get_template("_check_words.html.j2").render(words=words(), root="../")
    found = re.search(r"<script[^>]*>(.*)</script>", html, re.DOTALL)
    assert found
    made: list[Any] = json.loads(found[1])
    assert made.pop() is None
    return made


@pytest.mark.parametrize("kind", CODES)
def test_every_code_has_words(entries: list[Any], kind: str) -> None:
    """Each code that assessment can give has a sentence, and no code of nobody's has one."""
    assert {entry[1] for entry in entries if entry[0] == kind} == set(get_args(CODES[kind]))
    assert all(entry[4] for entry in entries if entry[0] == kind)


def test_a_code_has_a_sentence_for_whatever_data_it_comes_with(entries: list[Any]) -> None:
    """Of a code's several sentences the last asks for nothing, or all values of one datum do."""
    last: dict[tuple[str, str], Any] = {}
    for entry in entries:
        last[entry[0], entry[1]] = entry
    asking = {key for key, entry in last.items() if entry[2] and key[0] != "option"}
    by_side = {("reason", "how_far")}  # low, then high: there is no third side
    of_finding = {("lead", "finding"), ("lead", "record")}  # one for each observation
    assert asking - by_side - of_finding == {key for key in asking if key[0] == "kind"}
    assert all(not entry[3] for key, entry in last.items() if key[0] not in ("claim", "verdict"))


def test_claims_have_a_sentence_for_each_evidence_and_lack(entries: list[Any]) -> None:
    """The one that lacks most comes first, so that the first that holds lacks what a claim does."""
    for code in EVIDENCE_MARKS:
        lacks = [len(e[3]) for e in entries if e[:2] == ["claim", code]]
        assert lacks == sorted(lacks, reverse=True)
        assert len(lacks) == 8


def test_places_are_worded_as_python_words_them(entries: list[Any]) -> None:
    """Filled in, the sentence of a place is what the piece's page says."""
    said = {e[1]: e[4] for e in entries if e[0] == "rank"}
    assert said["between"].replace("{percent}", "38").replace("{peers}", "12") == rank(37.5, 12)
    assert said["below_all"].replace("{peers}", "12") == rank(0.0, 12)
    assert said["above_all"].replace("{peers}", "12") == rank(100.0, 12)


def test_slots_stand_for_every_datum_but_those_that_are_missing() -> None:
    """A datum not given is its own slot; one that a case lacks is not there to be asked for."""
    slots = Slots({"side": "low"}, ("limit",))
    assert (slots["side"], slots["distance"]) == ("low", "{distance}")
    assert "distance" in slots
    assert "limit" not in slots

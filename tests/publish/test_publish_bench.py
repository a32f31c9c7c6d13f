"""The data script of the tool pages; what the page makes of it is in tests/browser."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from publish_bench import reference

from coilbook.core.constants import ALPHA_20_PER_K, RHO_20_OHM_M
from coilbook.publish.scripts.bench_data import bench_script, browser_pattern


@pytest.fixture(scope="module")
def data() -> Any:
    """Return what the script assigns."""
    _, _, text = bench_script(reference()).partition("\ncoilbook.bench = ")
    return json.loads(text.rstrip(";\n"))


def test_every_wire_and_bobbin_is_there_in_metres(data: Any) -> None:
    """The tables are whole, and 42 AWG's 2.5 mil (ASTM B258, from memory) is 63.5 µm."""
    known = reference()
    assert list(data["wires"]) == list(known.wires)
    assert list(data["bobbins"]) == list(known.bobbins)
    assert data["wires"]["awg-42-single"]["bare_diameter_m"] == pytest.approx(63.5e-6)
    assert data["bobbins"]["humbucker-bobbin"]["core_length_m"] == pytest.approx(64e-3)


def test_constants_are_the_formulas_own(data: Any) -> None:
    """No digit is lost on the way to the page."""
    assert data["constants"]["rho20OhmM"] == RHO_20_OHM_M
    assert data["constants"]["alpha20PerK"] == ALPHA_20_PER_K


def test_spaces_are_those_that_python_splits_at(data: Any) -> None:
    """Each listed sign parts two words, and so does no other of the first 70,000 signs."""
    listed = set(data["grammar"]["spaces"])
    splitting = {c for c in map(chr, range(70_000)) if len(f"a{c}b".split()) == 2}
    assert listed == splitting


def test_patterns_are_rewritten_for_a_browser() -> None:
    """Named groups, digits of every script, ends and edges of words; letter case as a flag."""
    source, flags, plain = browser_pattern(re.compile(r"(?P<whole>\d+)\bto\Z", re.IGNORECASE))
    assert source.startswith(r"(?<whole>\p{Nd}+)(?:(?<=[\p{L}\p{N}_])")
    assert source.endswith("to$")
    assert plain == r"(?<whole>\d+)\bto$"
    assert (flags, browser_pattern(re.compile("x"))[1]) == ("iuy", "uy")

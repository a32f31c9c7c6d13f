"""``coilbook compare``: a piece that is in no archive, by the rules of one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from small_archive import write_archive

FAMILY = ("compare", "--family", "full-size-humbucker")
GOOD = (*FAMILY, "--year", "1959", "--pair", "8.1k", "--coil-a", "4.2k", "--at", "26C")


@pytest.fixture(autouse=True)
def among_few(tmp_path: Path) -> None:
    """Stand in the folder of a small archive, whose pieces are the peers."""
    for path in write_archive(tmp_path / "small", count=3).iterdir():
        path.rename(tmp_path / path.name)


def test_it_says_what_show_says(coilbook: Any) -> None:
    """Lead, readings, values at 20 °C, periods and the next reading stand in the text."""
    result = coilbook(*GOOD, "--coil-b", "4,0 kΩ", "--inductance", "4.4H", "--gauge", "awg 42")
    assert result.exit_code == 0
    for words in (
        "A piece in no archive",
        "Readings as written",
        "8.1k · 26C · leads free",
        "7.91 ± 0.07 kΩ",  # 8.1 kΩ / (1 + 0.00393 × 6), by hand: 7.913
        "Periods, those with the least against them first",
        "it authenticates nothing and dates nothing",
        "What to read next",
        "42 AWG",
    ):
        assert words in result.stdout
    assert "in-no-archive" not in result.stdout


def test_peers_of_an_invented_archive_are_said_to_be(coilbook: Any, tmp_path: Path) -> None:
    """Where no archive is, the demo's pieces are the peers, and both streams say so."""
    (tmp_path / "coilbook.toml").unlink()
    result = coilbook(*GOOD)
    assert "taking the demo" in result.stderr
    assert "its peers say nothing of real pickups" in result.stdout


def test_json_has_the_same_sections(coilbook: Any) -> None:
    """Lead, findings, consistency and next readings, as plain data."""
    found = json.loads(coilbook(*GOOD, "--json").stdout)
    assert {"piece", "readings", "values", "lead", "findings", "consistency", "next_readings"} <= {
        *found
    }
    assert found["piece"]["year_first"] == found["piece"]["year_last"] == 1959
    (pair,) = [v for v in found["values"] if v["property_id"] == "pair-resistance"]
    assert pair["value"] == pytest.approx(8.1 / (1 + 0.00393 * 6), rel=1e-12)
    words = {c["word"] for p in found["consistency"]["periods"] for c in p["cells"]}
    assert words <= {
        "consistent",
        "not_consistent",
        "too_close_to_call",
        "not_measured",
        "no_claim",
    }


def test_one_coil_takes_the_readings_of_one(coilbook: Any) -> None:
    """Inductance and gauge of a single-coil are its coil's, and a path across is taken out."""
    found = json.loads(
        coilbook(
            "compare", "--family", "wide-bar-single-coil", "--coil", "7.68k", "--at", "20C",
            "--parallel", "500k", "--inductance", "2.5 H", "--gauge", "42", "--json",
        ).stdout
    )  # fmt: skip
    read = {(r["component"], r["property_id"]) for r in found["readings"]}
    assert read == {
        ("coil", "coil-resistance"), ("coil", "coil-inductance"), ("coil", "wire-gauge")
    }  # fmt: skip
    (coil,) = [v for v in found["values"] if v["property_id"] == "coil-resistance"]
    assert coil["value"] == pytest.approx(7.68 * 500 / (500 - 7.68))  # Ohm's law, by hand


def test_any_other_reading_can_be_given(coilbook: Any) -> None:
    """--read takes a property of the reference, with its part where there are several."""
    found = json.loads(
        coilbook(
            *FAMILY, "--read", "magnet-length=2 1/2 in", "--read", "wire-mass@coil_b = 17 g",
            "--feature", "magnet-long-bar", "--json",
        ).stdout
    )  # fmt: skip
    values = {(v["component"], v["property_id"]): v["value"] for v in found["values"]}
    assert values["magnet", "magnet-length"] == pytest.approx(63.5)
    assert values["coil_b", "wire-mass"] == pytest.approx(17.0)
    assert found["consistency"]["span"]["rests_on"] == ["magnet-long-bar"]


def test_every_mistake_is_told_in_one_run(coilbook: Any) -> None:
    """Each under its option, with near misses, no file and no line; exit 1 and nothing printed."""
    result = coilbook(
        "compare", "--family", "full-size-humbuker", "--year", "59", "--state", "untuched",
        "--pair", "8.1q", "--coil-a", "4.2m", "--inductance", "4.4 kΩ", "--at", "26X",
        "--gauge", "49", "--feature", "magnet-lng-bar", "--read", "magnet-lenth=3 mm",
        "--read", "coil-resistance=4k", "--read", "nonsense",
    )  # fmt: skip
    assert result.exit_code == 1
    told = result.stdout + result.stderr
    for words in (
        "--family: 'full-size-humbuker' is not in the reference's families. "
        "Did you mean 'full-size-humbucker'?",
        "--year: '59' cannot be read as years.",
        "--state: 'untuched' is not one of the words for state. Did you mean 'untouched'?",
        "--pair: 'q' is not a unit of resistance.",
        "--coil-a: 'm' is a unit of length, and resistance is wanted.",
        "--inductance:",
        "--at: 'X' is not a unit of temperature.",
        "--gauge: '49 AWG' is not a word for wire-gauge. Did you mean '46 AWG'?",
        "--feature: 'magnet-lng-bar' is not in the reference's features. "
        "Did you mean 'magnet-long-bar'?",
        "--read magnet-lenth: 'magnet-lenth' is no property of the reference. "
        "Did you mean 'magnet-length'?",
        "--read coil-resistance: nothing says which of the two coils was read.",
        "--read: 'nonsense' is no reading.",
    ):
        assert words in told
    assert told.count("--at:") == 1
    for nowhere in (".csv", "None", "Typical", "Unusual"):
        assert nowhere not in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "nothing was read of the piece. Give at least one reading"),
        (("--year", "1959", "--years", "57-58", "--pair", "8k"), "--years: '57-58' cannot"),
        (("--year", "1959", "--years", "1957-1958", "--pair", "8k"), "--years: a year is given"),
        (("--years", "1960-1957", "--pair", "8k"), "--years: year_first 1960 is above"),
        (("--position", "nck", "--pair", "8k"), "--position: 'nck' is not a position"),
        (("--coil", "8k"), "--coil: full-size-humbucker has two coils. Give"),
        (("--read", "coil-imbalance=3"), "--read coil-imbalance: coil-imbalance is worked out"),
    ],
)
def test_single_mistakes(coilbook: Any, arguments: tuple[str, ...], words: str) -> None:
    """One at a time, each in a sentence under its option."""
    result = coilbook(*FAMILY, *arguments)
    assert result.exit_code == 1
    assert words in result.stdout + result.stderr


def test_what_is_doubtful_is_said_and_stops_nothing(coilbook: Any) -> None:
    """Without a temperature the comparison is made, and the doubt is told."""
    result = coilbook(*FAMILY, "--pair", "8.1k")
    assert result.exit_code == 0
    assert "--at: copper changes 0.4 % with every kelvin" in result.stderr


def test_a_meters_accuracy_can_be_stated(coilbook: Any) -> None:
    """0.5 % + 2 counts of 0.1 kΩ on 8.1 kΩ, rectangular, is in U; without it only the digit is.

    By hand (JCGM 100, 4.3.7): (0.005 · 8.1 + 0.2)/√3 kΩ, before the temperature's share.
    """
    stated = json.loads(coilbook(*GOOD, "--accuracy", "0.5+2", "--json").stdout)
    (pair,) = [v for v in stated["values"] if v["property_id"] == "pair-resistance"]
    meter = (0.005 * 8.1 + 0.2) / 3**0.5 / (1 + 0.00393 * 6)
    assert pair["U"] == pytest.approx(2 * meter, rel=0.02)
    assert "no_instrument" not in pair["flags"]
    assert sum(line["effect"] ** 2 for line in pair["budget"]) ** 0.5 == pytest.approx(
        pair["standard_uncertainty"]
    )
    comma = json.loads(coilbook(*GOOD, "--accuracy", "0,5+2", "--json").stdout)
    assert comma["values"] == stated["values"]
    wrong = coilbook(*GOOD, "--accuracy", "half")
    assert wrong.exit_code == 1
    assert "--accuracy: 'half' is not a plain number." in wrong.output

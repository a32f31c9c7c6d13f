"""``coilbook check --coverage``: a short account of what the reference covers and leaves open."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

from coilbook.resources import dataset_dir

CLAIMS = dataset_dir() / "reference" / "claims.csv"


def test_coverage_is_told_after_the_check(coilbook: Any, bench: Path) -> None:
    """A clean archive exits 0 whatever is open; the numbers are those of claims.csv."""
    result = coilbook("check", bench, "--coverage")
    assert result.exit_code == 0
    first, second, *rest = result.stdout.splitlines()
    assert first == "No errors and no doubts."
    with CLAIMS.open(encoding="utf-8", newline="") as file:
        claims = list(csv.DictReader(file))
    families = {row["family_id"] for row in claims}
    assert second == f"The reference: {len(claims)} claims about {len(families)} families."
    recalled = sum(row["evidence"] == "recalled" for row in claims)
    assert f"  {recalled} recalled" in rest
    assert "  core properties without a claim: 0" in rest
    assert any("parts" in line or " part, " in line for line in rest)
    assert all(len(line) < 120 for line in rest)


def test_coverage_as_json_has_every_comparison(coilbook: Any, bench: Path) -> None:
    """With --json problems and coverage stand side by side, and every resistance is compared."""
    result = coilbook("check", bench, "--coverage", "--json")
    assert result.exit_code == 0
    data = json.loads(result.stdout)
    assert data["problems"] == []
    checks = data["coverage"]["cross_check"]
    with CLAIMS.open(encoding="utf-8", newline="") as file:
        wanted = [
            row["claim_id"]
            for row in csv.DictReader(file)
            if row["property_id"] in ("coil-resistance", "pair-resistance")
        ]
    assert [check["claim_id"] for check in checks] == wanted
    assert {check["verdict"] for check in checks} == {"agrees", "parts"}


def test_without_the_option_nothing_is_told_of_it(coilbook: Any, bench: Path) -> None:
    """A plain check says what is wrong and no more."""
    assert coilbook("check", bench).stdout == "No errors and no doubts.\n"

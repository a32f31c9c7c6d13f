"""``coilbook show``: one piece as text and as data, for its owner."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from cli_bench import change

from coilbook.resources import dataset_dir
from small_archive import write_archive


def test_show_tells_all_of_a_piece(coilbook: Any, bench: Path) -> None:
    """Readings as written, the reduced value with U, and a verdict with its reason are printed."""
    result = coilbook("show", "bench-0001", bench)
    assert result.exit_code == 0
    # 7.88 kΩ less leads of 0.3 Ω at 22 °C is 7.82 kΩ at 20 °C (IEC 60028, from memory).
    for words in ("7.88k", "Pair, resistance: 7.82 ± ", "● inside", "within 7.50 kΩ to 9.00 kΩ"):
        assert words in result.stdout, words
    assert "ticket 118" not in result.output, "a private column is not read at all"


def test_show_as_json(coilbook: Any, bench: Path) -> None:
    """--json has the reading as written, value and U as numbers, and reasons as data."""
    report = json.loads(coilbook("show", "bench-0001", bench, "--json").stdout)
    assert report["piece"]["piece_id"] == "bench-0001"
    assert [reading["value"] for reading in report["readings"]] == ["4.02k", "3.87k", "7.88k"]
    (pair,) = (v for v in report["values"] if v["property_id"] == "pair-resistance")
    assert pair["value"] == pytest.approx((7.88 - 0.0003) / (1 + 0.00393 * 2), rel=1e-9)
    # 0.5 % + 2 counts of 0.01 kΩ as half-width: U >= 2 · 0.0594 / √3 (JCGM 100 4.3.7).
    assert pair["U"] >= 2 * (0.005 * 7.88 + 0.02) / 3**0.5 / (1 + 0.00393 * 2)
    assert pair["verdicts"][0]["verdict"] == "inside"
    assert pair["verdicts"][0]["reasons"][0]["code"] == "within"
    assert "ticket 118" not in json.dumps(report)


def test_show_knows_pieces_that_are_kept_back(coilbook: Any, bench: Path) -> None:
    """A piece with publish = no is worked out like any other, and its owner is told it is so."""
    open_to_all = coilbook("show", "bench-0001", bench).stdout.splitlines()
    change(bench / "pieces.csv", ",,yes,,the owner", ",,no,,the owner")
    result = coilbook("show", "bench-0001", bench)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    note = "Kept back: publish = no, so no page and no statistic holds it."
    # Its instrument has read nothing else, and is named all the same.
    assert lines == [open_to_all[0], note, *open_to_all[1:]]
    report = json.loads(coilbook("show", "bench-0001", bench, "--json").stdout)
    assert report["piece"]["publish"] == "no"
    assert {v["verdict"] for value in report["values"] for v in value["verdicts"]} >= {"inside"}


def test_show_never_counts_a_kept_back_piece_among_peers(coilbook: Any, tmp_path: Path) -> None:
    """Beside all published pieces stands the one kept back; a published one has one peer fewer."""
    folder = write_archive(tmp_path / "many")
    rows = (folder / "pieces.csv").read_text(encoding="utf-8").splitlines()
    readings = (folder / "readings.csv").read_text(encoding="utf-8").splitlines()
    hidden = next(row for row in rows if row.startswith("tb-0002")).replace(",yes,", ",no,")
    rows.append(hidden.replace("tb-0002", "tb-5002"))
    readings += [r.replace("tb-0002", "tb-5002") for r in readings if r.startswith("tb-0002")]
    (folder / "pieces.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "readings.csv").write_text("\n".join(readings) + "\n", encoding="utf-8")

    def peers(piece_id: str) -> list[int]:
        report = json.loads(coilbook("show", piece_id, folder, "--json").stdout)
        (coil,) = (
            v
            for v in report["values"]
            if (v["component"], v["property_id"]) == ("coil_a", "coil-resistance")
        )
        return [place["peers"] for place in coil["places"]]

    # Three of the twelve humbuckers are of these years, and no piece is its own peer.
    assert peers("tb-0002") == [2]
    assert peers("tb-5002") == [3]


def test_show_words_every_piece_of_the_demo_it_meets(coilbook: Any) -> None:
    """Rewound, open, in circuit, too close to call: the demo's kinds of piece all find words."""
    rows = (dataset_dir() / "demo" / "pieces.csv").read_text(encoding="utf-8").splitlines()[1:]
    readings = (dataset_dir() / "demo" / "readings.csv").read_text(encoding="utf-8").splitlines()
    kinds = ((rows, ",rewound,"), (readings, ",open,"), (readings, ",in_circuit,"))
    for piece_id in {next(row for row in of if kind in row).split(",")[0] for of, kind in kinds}:
        result = coilbook("show", piece_id)
        assert result.exit_code == 0, piece_id
        assert "This archive is invented" in result.stdout


def test_show_suggests_a_near_miss(coilbook: Any, bench: Path) -> None:
    """An unknown piece ends with 1 and the id that was probably meant."""
    result = coilbook("show", "bench-001", bench)
    assert result.exit_code == 1
    assert result.stderr == "This archive has no piece 'bench-001'. Did you mean 'bench-0001'?\n"

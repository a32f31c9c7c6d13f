"""Data scripts and downloads: what a reader can take away, and what must never be mixed."""

from __future__ import annotations

import csv
import io
import json

import publish_bench as bench
import pytest

from coilbook.publish.downloads import DESCRIPTOR, downloads, file_prefix
from coilbook.publish.scripts.lookup_data import fold, pieces_script
from coilbook.publish.scripts.one_object import OBJECT
from coilbook.records.tables.models import FIGURE_TABLES


def columns(script: str) -> dict[str, list[object]]:
    """Return the object that a data script assigns."""
    prefix, suffix = f"{OBJECT}coilbook.pieces = ", ";\n"
    assert script.startswith(prefix)
    assert script.endswith(suffix)
    loaded: dict[str, list[object]] = json.loads(script[len(prefix) : -len(suffix)])
    return loaded


def rows(text: str) -> list[dict[str, str]]:
    """Return the rows of a CSV table."""
    return list(csv.DictReader(io.StringIO(text)))


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Désoldered COVER, re-fitted", "desoldered cover re fitted"),
        ("tb-0001", "tb 0001"),
        ("7.82 kΩ", "7 82 kω"),
        ("ﬁne Ångström_½", "fine angstrom 1 2"),
        ("  ", ""),
    ],
)
def test_folding_drops_case_accents_and_punctuation(text: str, folded: str) -> None:
    """Words are compared by letters and digits alone (Unicode NFKD, marks removed)."""
    assert fold(text) == folded


def test_the_data_script_has_one_entry_a_column_for_each_piece() -> None:
    """Each piece appears with its words, years and resistance as shown; the open one has none."""
    known = bench.reference()
    first = bench.piece(
        known, "b-1", condition="Cover désoldered", year_first="1957", year_last="1959",
        year_basis="lead", position="neck", features=next(iter(known.features)),
    )  # fmt: skip
    open_one = bench.piece(known, "b-2")
    data = columns(
        pieces_script(
            bench.archive("measured", first, open_one),
            {"b-1": bench.measured("b-1"), "b-2": bench.measured("b-2", None)},
            known,
        )
    )

    assert data.pop("kind") == "measured"
    assert {len(column) for column in data.values()} == {2}
    assert data["id"] == ["b-1", "b-2"]
    assert data["kohm"] == [8.04, None]
    assert data["kohm_text"] == ["8.04", None]
    assert data["kohm_of"] == ["pair", None]
    assert data["year_first"] == [1957, None]
    assert data["url"][0] == "pieces/b-1/index.html"
    feature = fold(next(iter(known.features.values())).name)
    for word in ("b 1", "full size humbucker", "neck", "cover desoldered", feature, "1958"):
        assert f" {word} " in f" {data['words'][0]} "


def test_an_archive_without_pieces_still_has_a_data_script() -> None:
    """The lookup page of an empty archive finds no piece rather than failing."""
    assert columns(pieces_script(bench.archive("measured"), {}, bench.reference()))["id"] == []


@pytest.mark.parametrize("kind", ["measured", "invented"])
def test_own_and_documented_rows_never_share_a_file(kind: str) -> None:
    """Every row of the archive names its kind; documented claims stand in a file of their own."""
    assert kind in ("measured", "invented")
    known = bench.reference()
    files = downloads(
        bench.archive(kind, bench.piece(known, "007")),  # type: ignore[arg-type]
        {"007": bench.measured("007")},
        known,
    )
    prefix = "invented-" if kind == "invented" else ""
    assert set(files) == {
        *(f"data/{prefix}{name}.csv" for name in ("pieces", "readings", "reduced", "claims")),
        "data/documented-claims.csv",
        *(f"data/documented-{file.replace('_', '-')}" for file in FIGURE_TABLES),
        DESCRIPTOR,
    }
    for path, text in files.items():
        if path.endswith(".csv") and "documented" not in path:
            assert text.splitlines()[0].endswith(",archive_kind")
            assert all(row["archive_kind"] == kind for row in rows(text))
    documented = rows(files["data/documented-claims.csv"])
    assert len(documented) == len(known.claims)
    assert "archive_kind" not in documented[0]
    assert file_prefix("measured") == ""


def test_readings_leave_as_written_and_reduced_values_with_their_doubts() -> None:
    """What somebody wrote stays letter for letter; the reduced value carries unit, u and flags."""
    known = bench.reference()
    files = downloads(
        bench.archive("measured", bench.piece(known, "007")), {"007": bench.measured("007")}, known
    )

    [reading] = rows(files["data/readings.csv"])
    assert (reading["piece_id"], reading["value"], reading["date"]) == (
        "007",
        "8,10 kΩ",
        "2026-02-03",
    )
    [reduced] = rows(files["data/reduced.csv"])
    assert (reduced["value"], reduced["standard_uncertainty"], reduced["unit"]) == (
        "8.037",
        "0.031",
        "kΩ",
    )
    assert reduced["flags"] == "no_instrument"
    assert "publish" not in rows(files["data/pieces.csv"])[0]
    assert "\r" not in "".join(files.values())


def test_the_descriptor_names_every_table_and_column() -> None:
    """datapackage.json lists each CSV file with its columns in order (Data Package v2)."""
    known = bench.reference()
    files = downloads(
        bench.archive("invented", bench.piece(known, "a")), {"a": bench.measured("a")}, known
    )
    package = json.loads(files[DESCRIPTOR])

    assert package["archive_kind"] == "invented"
    assert package["licenses"] == [{"name": "CC-BY-4.0"}]
    listed = {f"data/{r['path']}": r["schema"]["fields"] for r in package["resources"]}
    assert set(listed) == {path for path in files if path.endswith(".csv")}
    for path, fields in listed.items():
        assert [f["name"] for f in fields] == files[path].splitlines()[0].split(",")
        assert all(f["description"] for f in fields)

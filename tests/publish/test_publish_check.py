"""The data scripts of the page that checks a piece; tests/browser has what it makes of them."""

from __future__ import annotations

import json
import re
from typing import Any, get_args

import pytest
from publish_bench import reference

from coilbook.core.observing.peers import GroupKey
from coilbook.core.observing.said import FindingCode
from coilbook.core.reduction.piece import measure_piece
from coilbook.publish.book import open_records
from coilbook.publish.scripts.check_data import (
    LEFT_OUT,
    PEERS_FOLDER,
    check_script,
    peer_value,
    peers_scripts,
)
from coilbook.records import public_view
from coilbook.stats.groups import summarise
from small_archive import write_archive


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a small archive as it is published, with its reference and summaries."""
    opened = open_records(write_archive(tmp_path_factory.mktemp("check") / "bench"))
    archive = public_view(opened.archive)
    measured = {
        key: measure_piece(piece, opened.reference) for key, piece in archive.pieces.items()
    }
    return opened.reference, archive, summarise(archive, measured, opened.reference)


@pytest.fixture(scope="module")
def data(made: Any) -> Any:
    """Return what the script for all families assigns."""
    _, _, text = check_script(made[0], made[1]).partition("\ncoilbook.checkData = ")
    return json.loads(text.rstrip(";\n"))


def _peers(script: str) -> Any:
    found = re.search(r"^coilbook\.peersOf\[\"[a-z-]+\"\] = (.*);$", script, re.MULTILINE)
    assert found
    return json.loads(found[1])


def test_every_table_is_whole(data: Any) -> None:
    """Families, periods, properties, features and claims are all there, under their ids."""
    known = reference()
    for table in ("families", "periods", "properties", "features"):
        assert list(data[table]) == list(getattr(known, table))
    for table, name in (("wires", "wire_id"), ("bobbins", "bobbin_id"), ("magnets", "magnet_id")):
        assert [row[name] for row in data[table]] == list(getattr(known, table))
    assert [claim["claim_id"] for claim in data["claims"]] == [
        claim.row.claim_id for claim in known.claims
    ]
    assert data["kind"] == "measured"


def test_nothing_private_reaches_the_scripts(made: Any, data: Any) -> None:
    """No id of a piece, no private column and no remark of one: peers are bare numbers."""
    scripts = "".join(peers_scripts(*made).values()) + json.dumps(data)
    assert "tb-0001" not in scripts
    assert "private" not in scripts
    assert "désoldered" not in scripts


def test_each_family_has_its_peers(made: Any) -> None:
    """Every group's values are found again from the one list of its property and part."""
    known, archive, summaries = made
    scripts = peers_scripts(known, archive, summaries)
    assert set(scripts) == {f"{PEERS_FOLDER}/{family_id}.js" for family_id in known.families}
    of = _peers(scripts[f"{PEERS_FOLDER}/full-size-humbucker.js"])
    assert of["kind"] == "measured"
    checked = 0
    for summary in summaries.of_family("full-size-humbucker"):
        key: GroupKey = summary.key
        column = of["values"][f"{key.property_id}|{key.component}"]
        assert column["v"] == sorted(column["v"])
        found = [
            value
            for value, at in zip(column["v"], column["g"], strict=True)
            if key.period_id in (None, *of["groups"][at][0])
            and key.position in (None, of["groups"][at][1])
        ]
        assert found == sorted(peer_value(member.value) for member in summary.members)
        checked += 1
    assert checked > 10
    assert _peers(scripts[f"{PEERS_FOLDER}/split-bass.js"])["values"] == {}


def test_rounding_moves_no_peer_by_more_than_it_is_known() -> None:
    """Five digits: at the most 5 parts in 100,000, by the arithmetic of rounding."""
    for value in (7.8412345, 0.070451, 4999.96, 123456.7, 0.0):
        assert abs(peer_value(value) - value) <= 5e-5 * abs(value)


def test_what_is_left_out_is_told(data: Any) -> None:
    """The page can name every observation that it does not look for."""
    assert set(data["left_out"]["findings"]) <= set(get_args(FindingCode))
    assert data["left_out"] == {name: list(codes) for name, codes in LEFT_OUT.items()}

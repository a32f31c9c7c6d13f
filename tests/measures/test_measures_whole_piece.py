"""One piece as a whole: worked out when it is asked for, once, and read by pages and commands."""

from __future__ import annotations

import ast
import math
from collections.abc import Iterator
from functools import cache
from inspect import isfunction
from pathlib import Path
from typing import Any

import pytest

from coilbook.core.reduction.piece import measure_piece
from coilbook.measures import checks, magnet_of_piece, response_of_piece, whole_piece
from coilbook.measures.whole_piece import WholePiece
from coilbook.records import load_archive, load_reference
from coilbook.records.contents import Reference
from coilbook.resources import dataset_dir

PACKAGE = Path(whole_piece.__file__).resolve().parents[1]
#: Who shows single pieces: they may read what was computed, and double a standard uncertainty.
READERS = (*sorted((PACKAGE / "pages" / "piece").glob("*.py")), PACKAGE / "commands" / "show.py")


@cache
def reference() -> Reference:
    """Return the reference."""
    found = load_reference().value
    assert found is not None
    return found


@cache
def pieces() -> tuple[WholePiece, ...]:
    """Return the demo's pieces, made whole."""
    archive = load_archive(dataset_dir() / "demo", reference()).value
    assert archive is not None
    return tuple(
        WholePiece(piece, measure_piece(piece, reference()), reference())
        for piece in archive.pieces.values()
    )


def with_a_peak() -> Iterator[WholePiece]:
    """Yield some pieces whose resonance was read and whose response could be worked out."""
    found = (p for p in pieces() if ("pickup", "resonant-frequency") in p.measured.best)
    for whole, _ in zip((p for p in found if p.response.curves), range(5), strict=False):
        yield whole


def test_what_is_dear_is_worked_out_when_asked_for_and_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Making a piece whole costs nothing; what is asked for twice is computed once."""
    asked: list[str] = []
    dear = {
        "response_of_piece": response_of_piece,
        "result_checks": checks,
        "gauge_candidates": whole_piece,
        "magnet_of_piece": magnet_of_piece,
    }

    def counted(name: str) -> Any:
        real = getattr(dear[name], name)

        def call(*args: Any, **more: Any) -> Any:
            asked.append(name)
            return real(*args, **more)

        return call

    for name, module in dear.items():
        monkeypatch.setattr(module, name, counted(name))
    one = next(p for p in pieces() if len(p.measured.turns) == 2)
    whole = WholePiece(one.piece, one.measured, reference())
    assert asked == []
    for _ in range(2):
        for part in ("response", "response_levels", "read_peak", "checks", "gauges", "magnet"):
            getattr(whole, part)
    assert sorted(asked) == sorted([*dear, "gauge_candidates"])  # one for each of two coils


def test_the_table_has_the_curves_own_levels() -> None:
    """Each row of the table stands at that very frequency of every curve."""
    seen = 0
    for whole in with_a_peak():
        found = whole.response
        at = {float(hertz): i for i, hertz in enumerate(found.frequencies_hz)}
        for row in whole.response_levels:
            i = at[row.frequency_hz]
            for curve, level in zip(found.curves, row.levels, strict=True):
                assert level == (curve.level_db[i], curve.low_db[i], curve.high_db[i])
                assert level.low_db <= level.high_db
                seen += 1
    assert seen > 100


def test_the_peak_as_read_lies_on_the_curve() -> None:
    """Its level is between those of the two points of the unloaded curve beside it."""
    seen = 0
    for whole in with_a_peak():
        peak, found = whole.read_peak, whole.response
        assert peak is not None
        assert peak.level_db is not None
        hertz, level = list(found.frequencies_hz), list(found.curves[0].level_db)
        right = next(i for i, f in enumerate(hertz) if f > peak.frequency_hz)
        low, high = sorted(level[right - 1 : right + 1])
        assert low <= peak.level_db <= high
        assert peak.standard_uncertainty_hz > 0.0
        seen += 1
    assert seen == 5


def test_the_hum_is_that_of_the_imbalance() -> None:
    """20 log10 of the imbalance over 200 %, by hand; nothing where no imbalance is a number."""
    known = 0
    for whole in pieces():
        value = whole.measured.best.get(("pair", "coil-imbalance"))
        if value is None or value.value is None or value.qualifier:
            assert whole.hum is None
            continue
        assert whole.hum is not None
        by_hand = 20.0 * math.log10(value.value / 200.0) if value.value else -math.inf
        assert whole.hum.level_db == pytest.approx(by_hand)
        assert whole.hum.low_db <= whole.hum.level_db <= whole.hum.high_db
        known += 1
    assert 50 < known < len(pieces())


def test_the_shares_of_a_reading_are_all_of_its_variance() -> None:
    """The lines of a reading's budget are independent, so that their shares make one."""
    seen = 0
    for whole in pieces()[:40]:
        for value in whole.measured.values:
            shares = whole.shares(value)
            assert len(shares) == (len(value.budget) if value.standard_uncertainty else 0)
            assert [s.share for s in shares] == sorted((s.share for s in shares), reverse=True)
            if value.line and shares:
                assert sum(s.share for s in shares) == pytest.approx(1.0)
                seen += 1
    assert seen > 100


def test_every_wire_is_held_against_each_coil() -> None:
    """The candidates are all wires of the reference, of each coil whose turns are known."""
    whole = next(p for p in pieces() if len(p.measured.turns) == 2)
    assert set(whole.gauges) == {"coil_a", "coil_b"}
    for candidates in whole.gauges.values():
        assert [c.wire_id for c in candidates] == list(reference().wires)
        assert 0 < sum(c.consistent for c in candidates) < len(candidates)


def test_what_dominates_the_turns_has_the_greatest_effect() -> None:
    """No line of the turns' budget weighs more than the one that is named."""
    turns = [t for whole in pieces() for t in whole.measured.turns]
    assert len(turns) > 50
    assert all(t.dominant.effect == max(line.effect for line in t.budget) for t in turns)


#: What a piece is worked out with.
ROOMS_THAT_COMPUTE = ("coilbook.measures", "coilbook.core.formulas", "coilbook.core.reduction")


def computed_by(path: Path) -> set[str]:
    """Return the functions of measures that a module imports: what it could compute with."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(ROOMS_THAT_COMPUTE):
            module = __import__(node.module or "", fromlist=["_"])
            found |= {a.name for a in node.names if isfunction(getattr(module, a.name, None))}
    return found


@pytest.mark.parametrize("path", READERS, ids=lambda path: path.stem)
def test_who_shows_a_piece_computes_nothing_of_it(path: Path) -> None:
    """Pages and ``show`` read what measures computed; of its functions they use k = 2 alone."""
    assert computed_by(path) <= {"expanded"}


def test_a_page_that_computes_would_be_seen(tmp_path: Path) -> None:
    """The check above can fail: a function of measures that is imported is found."""
    path = tmp_path / "made_up.py"
    path.write_text("from coilbook.core.formulas.hum import HumLeft, hum_left_interval\n")
    assert computed_by(path) == {"hum_left_interval"}

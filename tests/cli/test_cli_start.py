"""What a command does before it answers: the libraries that it loads and the pieces it measures.

Times are in ``tests/benchmarks/start_bench.py``. What is asserted here is what causes them.
"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from coilbook.records import load_archive, load_reference
from coilbook.resources import dataset_dir

#: Each takes from a tenth of a second to two seconds to load.
HEAVY = {
    "jinja2", "latex2mathml", "mkdocs", "numpy", "pandas", "pint", "plotly", "pydantic", "scipy",
    "scipy.special", "scipy.stats", "segno",
}  # fmt: skip
#: Runs a command in a process of its own, then tells what it loaded and how often it measured.
RUN = """
import json, sys
from coilbook.cli import main
measured = []
if sys.argv[1] in ("show", "compare"):
    import coilbook.core.reduction.piece as reduction
    measure = reduction.measure_piece
    def counted(piece, *rest):
        measured.append(piece.row.piece_id)
        return measure(piece, *rest)
    reduction.measure_piece = counted
try:
    main(prog_name="coilbook")
except SystemExit as end:
    code = end.code
print(json.dumps([code, sorted(sys.modules), measured]), file=sys.stderr)
"""
PIECE, FAMILY = "lq-0001", "full-size-humbucker"


def run(command: str) -> tuple[int, set[str], list[str]]:
    """Return a command's exit code, the modules it loaded, and the pieces it measured in turn."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, *command.split()], capture_output=True, text=True
    )
    code, modules, measured = json.loads(done.stderr.splitlines()[-1])
    return code, set(modules), measured


@pytest.mark.parametrize(
    ("command", "code", "loads"),
    [
        ("--help", 0, set()),
        ("show --help", 0, set()),
        ("check", 2, {"pydantic"}),
        (f"show {PIECE}", 0, {"pydantic", "jinja2"}),
        (f"show {PIECE} --json", 0, {"pydantic"}),
        (f"compare --family {FAMILY} --pair 8.1k", 0, {"pydantic", "jinja2"}),
        (f"winding --family {FAMILY}", 0, {"pydantic", "jinja2"}),
        (f"winding --family {FAMILY} --json", 0, {"pydantic"}),
    ],
)
def test_a_command_loads_only_what_it_needs(command: str, code: int, loads: set[str]) -> None:
    """Help loads no heavy library, records take one, text one more; arrays and the engine none."""
    ended, modules, _ = run(command)
    assert ended == code
    assert HEAVY & modules == loads


@pytest.mark.parametrize(
    ("command", "in_no_archive"),
    [(f"show {PIECE}", 0), (f"compare --family {FAMILY} --pair 8.1k", 1)],
)
def test_only_the_pieces_of_one_family_are_measured(command: str, in_no_archive: int) -> None:
    """Each published piece of the family is measured once, and nothing of any other family."""
    reference = load_reference().value
    assert reference is not None
    archive = load_archive(dataset_dir() / "demo", reference).value
    assert archive is not None
    family = {
        name
        for name, piece in archive.pieces.items()
        if piece.row.family_id == FAMILY and piece.row.publish
    }
    assert PIECE in family
    assert len(family) < len(archive.pieces) / 2
    _, _, measured = run(command)
    assert len(measured) == len(set(measured))
    assert len(set(measured) - family) == in_no_archive
    assert family <= set(measured)

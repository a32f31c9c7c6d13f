"""How long Python's own parts take, each as a multiple of a loop of plain Python; run by hand.

    python tests/benchmarks/work_bench.py

A loop of three million squares is what this machine needs for work that nobody can shorten, so the
multiples can be held beside those of another machine. The best of several tries counts.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from coilbook.core.reduction.piece import measure_piece
from coilbook.core.reduction.reduce import reduce_reading
from coilbook.publish import build_site
from coilbook.publish.links import check_links
from coilbook.records import load_archive, load_reference, public_view
from coilbook.resources import dataset_dir
from coilbook.stats.groups import summarise
from coilbook.stats.robust import qn
from coilbook.stats.trends import trend

TRIES = 5


def plain() -> int:
    """Do the work that the others are measured by."""
    return sum(i * i for i in range(3_000_000))


def seconds(work: Callable[[], object], tries: int = TRIES) -> float:
    """Return the best time of some work, in seconds of the wall."""
    taken = []
    for _ in range(tries):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return min(taken)


def check() -> None:
    """Check the demo's records from a cold start."""
    code = "from coilbook.cli import main; main(['check'], prog_name='coilbook')"
    subprocess.run([sys.executable, "-c", code], capture_output=True)


def main() -> None:
    """Print each part's time and its multiple of the plain loop."""
    unit = seconds(plain)
    print(f"the plain loop: {unit:.3f} s")

    def tell(name: str, taken: float) -> None:
        print(f"{name}: {taken:.3f} s, {taken / unit:.2f} times the plain loop")

    demo = dataset_dir() / "demo"
    reference = load_reference().value
    assert reference is not None
    archive = load_archive(demo, reference).value
    assert archive is not None
    public = public_view(archive)
    measured = {name: measure_piece(piece, reference) for name, piece in public.pieces.items()}
    readings = [reading for piece in public.pieces.values() for reading in piece.readings]
    about = f"{len(public.pieces)} pieces, {len(readings)} readings"
    draw = np.random.default_rng(1)
    years = draw.integers(1950, 1970, 20_000).astype(float)
    many = draw.normal(8.0, 0.3, 100_000)
    tell(f"loading the demo ({about})", seconds(lambda: load_archive(demo, reference)))
    tell("reducing its readings", seconds(lambda: [reduce_reading(r) for r in readings]))
    tell("summarising its pieces", seconds(lambda: summarise(public, measured, reference)))
    tell("a trend of 20,000 values", seconds(lambda: trend(years, many[:20_000])))
    tell("the spread of 100,000 values", seconds(lambda: qn(many)))
    tell("'check' from a cold start", seconds(check))
    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "site"
        tell("building its site, once", seconds(lambda: build_site(demo, site), tries=1))
        tell("checking the links of its site", seconds(lambda: check_links(site)))


if __name__ == "__main__":
    main()

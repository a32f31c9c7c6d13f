"""How long it takes, and how much memory, to assess 100,000 pieces on two processes.

Run it by itself: ``.venv/bin/python tests/benchmarks/assess_bench.py [PIECES] [--profile]``. The
pieces are those of the blind trial. Families never meet in a statistic, so that each of the two
processes measures, summarises and assesses its own families. Making the pieces is not counted.
With ``--profile`` one process does it all, and what took longest is printed.
"""

from __future__ import annotations

import cProfile
import pstats
import resource
import sys
import time
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "trial"))
from trial_instruments import Bench
from trial_report import reference
from trial_world import pickups

from coilbook.assessment import assess
from coilbook.measures import measure_piece
from coilbook.publish.book import uncollected
from coilbook.records.types import PublicArchive, Reference
from coilbook.stats import summarise

#: The project's targets.
PIECES, SECONDS, GIGABYTES = 100_000, 60.0, 2.0
SEED = 31


@dataclass(frozen=True, slots=True)
class Spent:
    """What one process needed; ``verdicts`` and ``places`` show that the work was done.

    ``gigabytes`` is its peak, with the pieces that it was given.
    """

    pieces: int
    verdicts: int
    places: int
    measuring_s: float
    summarising_s: float
    assessing_s: float
    gigabytes: float

    @property
    def seconds(self) -> float:
        """Return the time of all three steps."""
        return self.measuring_s + self.summarising_s + self.assessing_s


def assess_all(archive: PublicArchive, held: Reference) -> Spent:
    """Measure, summarise and assess an archive; of each assessment only the counts are kept."""
    start = time.perf_counter()
    measured = {name: measure_piece(piece, held) for name, piece in archive.pieces.items()}
    after_measuring = time.perf_counter()
    summaries = summarise(archive, measured, held)
    after_summarising = time.perf_counter()
    verdicts = places = 0
    for name, piece in archive.pieces.items():
        assessment = assess(piece, measured[name], archive, held, summaries)
        verdicts += len(assessment.verdicts)
        places += len(assessment.places)
    return Spent(
        len(archive.pieces),
        verdicts,
        places,
        after_measuring - start,
        after_summarising - after_measuring,
        time.perf_counter() - after_summarising,
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0**2,
    )


def shared_out(archive: PublicArchive) -> list[PublicArchive]:
    """Return two archives with whole families each, as even as they can be."""
    by_family: dict[str, list[str]] = {}
    for name, piece in archive.pieces.items():
        by_family.setdefault(piece.row.family_id, []).append(name)
    shares: list[list[str]] = [[], []]
    for names in sorted(by_family.values(), key=len, reverse=True):
        min(shares, key=len).extend(names)
    return [
        replace(archive, pieces={name: archive.pieces[name] for name in names}) for names in shares
    ]


#: Set before the processes are forked, so that nothing has to be sent to them.
_SHARES: list[PublicArchive] = []


def _one_share(at: int) -> Spent:
    # As the build does it.
    with uncollected():
        return assess_all(_SHARES[at], reference())


def main() -> None:
    """Print the time, the memory and their ratios to the targets."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    count = numbers[0] if numbers else PIECES
    archive = Bench(reference(), SEED).archive(pickups(count, SEED))
    if "--profile" in sys.argv[1:]:
        profile = cProfile.Profile()
        profile.runcall(assess_all, archive, reference())
        pstats.Stats(profile).sort_stats("tottime").print_stats(20)
        return
    _SHARES[:] = shared_out(archive)
    start = time.perf_counter()
    with get_context("fork").Pool(2) as workers:
        spent = workers.map(_one_share, (0, 1), chunksize=1)
    seconds = time.perf_counter() - start
    gigabytes = sum(one.gigabytes for one in spent)
    for one in spent:
        print(
            f"{one.pieces:,} pieces, {one.verdicts:,} verdicts, {one.places:,} places: measured in "
            f"{one.measuring_s:.1f} s, summarised in {one.summarising_s:.1f} s, assessed in "
            f"{one.assessing_s:.1f} s, {one.gigabytes:.2f} GB at the most"
        )
    allowed = SECONDS * count / PIECES
    print(f"{count:,} pieces in {seconds:.1f} s: {seconds / allowed:.2f} of the target's time")
    print(f"{gigabytes:.2f} GB in both: {gigabytes / GIGABYTES:.2f} of the target")


if __name__ == "__main__":
    main()

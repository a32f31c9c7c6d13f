"""How long it takes, and how much memory, to assess 100,000 pieces on two processes.

Run it by itself: ``.venv/bin/python tests/benchmarks/assess_bench.py [PIECES] [--profile]``. The
pieces are those of the blind trial. Each of two processes makes half of them, which is not counted,
then goes the build's way with them (``publish/book.py``): it measures its half, hands the other
process what its pieces bring to the groups, summarises the whole archive, and assesses its half
against it. With ``--profile`` one process does it all, and what took longest is printed.

Memory is what both processes hold together, pages that they share counted once (the proportional
set size that Linux tells; elsewhere none is told), pieces and libraries included.
"""

from __future__ import annotations

import contextlib
import cProfile
import gc
import pstats
import sys
import time
from collections import deque
from dataclasses import dataclass, replace
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Barrier
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "trial"))
from trial_instruments import Bench
from trial_report import reference
from trial_world import pickups

from coilbook.core.reduction.piece import measure_piece
from coilbook.publish.book import AssessedPieces, MeasuredPieces, uncollected, used_up
from coilbook.records.contents import PublicArchive, Reference
from coilbook.stats.groups import Gathered, gather, summaries_of

#: The project's targets.
PIECES, SECONDS, GIGABYTES = 100_000, 60.0, 2.0
SEED = 31
#: How often the memory is looked at while they work.
LOOK_S = 0.2


@dataclass(frozen=True, slots=True)
class Spent:
    """What one process needed; ``verdicts`` and ``places`` show that the work was done.

    ``processor_s`` is the time of its processor: on a machine that does nothing else it is the sum
    of the others.
    """

    pieces: int
    verdicts: int
    places: int
    measuring_s: float
    summarising_s: float
    assessing_s: float
    processor_s: float


def made(count: int, share: int, held: Reference) -> PublicArchive:
    """Return one process's pieces: a share's ids are its own."""
    drawn = pickups(count, SEED + share)
    named = (replace(pickup, piece_id=f"{pickup.piece_id}-{share}") for pickup in drawn)
    return Bench(held, SEED + share).archive(named)


def assess_all(
    archive: PublicArchive, held: Reference, share: int = 0, other: Connection | None = None
) -> Spent:
    """Measure, summarise and assess an archive, as the build does; only counts are kept.

    ``other`` is the way to the process that has the rest of the archive, if it is shared out.
    """
    processor, start = time.process_time(), time.perf_counter()
    measured = MeasuredPieces(archive.pieces, lambda piece: measure_piece(piece, held))
    gathered = deque(gather(p.row, measured[name], held) for name, p in archive.pieces.items())
    after_measuring = time.perf_counter()
    if other is not None:
        _exchange(gathered, share, other)
    summaries = summaries_of(archive.settings.kind, used_up(gathered), held)
    after_summarising = time.perf_counter()
    assessed = AssessedPieces(archive.pieces, measured, archive, held, summaries)
    verdicts = places = 0
    for assessment in assessed.values():
        verdicts += len(assessment.verdicts)
        places += len(assessment.places)
    return Spent(
        len(archive.pieces),
        verdicts,
        places,
        after_measuring - start,
        after_summarising - after_measuring,
        time.perf_counter() - after_summarising,
        time.process_time() - processor,
    )


def _exchange(mine: deque[Gathered], share: int, other: Connection) -> None:
    """Take in what the other process's pieces bring, so that both have all in the same order."""
    if share == 0:
        other.send(mine)
        mine.extend(other.recv())
    else:
        theirs: deque[Gathered] = other.recv()
        other.send(mine)
        mine.extendleft(reversed(theirs))


def _one_share(
    count: int, share: int, ready: Barrier, other: Connection, answer: Connection
) -> None:
    held = reference()
    archive = made(count, share, held)
    gc.collect()
    ready.wait()
    with uncollected():
        answer.send(assess_all(archive, held, share, other))


def held_gb(pids: list[int]) -> float:
    """Return what processes hold together in memory now; 0 where the system does not tell."""
    kilobytes = 0
    for pid in pids:
        # Gone where a process has ended meanwhile, and where the system has no such file.
        with contextlib.suppress(OSError):
            lines = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="utf-8").splitlines()
            kilobytes += sum(int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return kilobytes * 1024.0 / 1e9


def shared_out(count: int) -> tuple[list[Spent], float, float]:
    """Return what two processes spent on half of the pieces each, the seconds, the peak in GB."""
    context = get_context("spawn")
    ready = context.Barrier(3)
    ends = context.Pipe()
    answers = [context.Pipe(duplex=False) for _ in ends]
    halves = (count - count // 2, count // 2)
    workers = [
        context.Process(target=_one_share, args=(halves[at], at, ready, ends[at], answers[at][1]))
        for at in range(2)
    ]
    for worker in workers:
        worker.start()
    ready.wait()
    start, peak = time.perf_counter(), 0.0
    pids = [worker.pid for worker in workers if worker.pid is not None]
    while not all(answer.poll() for answer, _ in answers):
        peak = max(peak, held_gb(pids))
        time.sleep(LOOK_S)
    seconds = time.perf_counter() - start
    spent = [answer.recv() for answer, _ in answers]
    for worker in workers:
        worker.join()
    return spent, seconds, peak


def main() -> None:
    """Print the time, the memory and their ratios to the targets."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    count = numbers[0] if numbers else PIECES
    if "--profile" in sys.argv[1:]:
        archive = made(count, 0, reference())
        profile = cProfile.Profile()
        profile.runcall(assess_all, archive, reference())
        pstats.Stats(profile).sort_stats("tottime").print_stats(20)
        return
    spent, seconds, gigabytes = shared_out(count)
    for one in spent:
        print(
            f"{one.pieces:,} pieces, {one.verdicts:,} verdicts, {one.places:,} places: measured in "
            f"{one.measuring_s:.1f} s, summarised in {one.summarising_s:.1f} s, assessed in "
            f"{one.assessing_s:.1f} s; {one.processor_s:.1f} s of a processor, "
            f"{1e3 * one.processor_s / one.pieces:.2f} ms a piece"
        )
    allowed = SECONDS * count / PIECES
    print(f"{count:,} pieces in {seconds:.1f} s: {seconds / allowed:.2f} of the target's time")
    told = f"{gigabytes:.2f} GB in both: {gigabytes / GIGABYTES:.2f} of the target"
    print(told if gigabytes else "This system does not tell how much memory they held.")


if __name__ == "__main__":
    main()

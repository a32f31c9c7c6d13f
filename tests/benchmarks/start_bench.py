"""How much work a command is before it answers: CPU seconds on the demo, beside a bare interpreter.

Run it by itself: ``.venv/bin/python tests/benchmarks/start_bench.py [RUNS]``. Seconds are those of
user and system together, the best of so many runs, five if left out. Another machine's seconds are
others: the ratio to ``python -c pass`` is what to compare.
"""

from __future__ import annotations

import resource
import subprocess
import sys

#: What a bench asks at the bench, and the CPU seconds that each is meant to stay within.
COMMANDS: tuple[tuple[str, float], ...] = (
    ("--help", 0.15),
    ("check", 0.6),
    ("show lq-0001", 0.9),
    ("show lq-0001 --json", 0.9),
    ("compare --family full-size-humbucker --pair 8.1k", 0.9),
    ("winding --family full-size-humbucker", 0.6),
)
RUN = "from coilbook.cli import main; main(prog_name='coilbook')"


def seconds(*arguments: str) -> float:
    """Return the CPU time of one run of this interpreter."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    # 2 stands for doubtful records, which the demo has.
    if done.returncode not in (0, 2):
        raise SystemExit(f"{arguments} ended with {done.returncode}: {done.stderr}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Print each command's best time, its ratio to a bare interpreter, and what is meant."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    bare = min(seconds("-c", "pass") for _ in range(runs))
    print(f"{'bare interpreter':52}{bare:7.3f} s")
    for command, meant in COMMANDS:
        best = min(seconds("-c", RUN, *command.split()) for _ in range(runs))
        print(f"{command:52}{best:7.3f} s{best / bare:7.1f} times   meant: {meant:g} s")


if __name__ == "__main__":
    main()

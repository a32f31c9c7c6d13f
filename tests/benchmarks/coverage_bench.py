"""How often the stated 95 % intervals hold the truth, printed for several seeds.

Run it by itself: ``.venv/bin/python tests/benchmarks/coverage_bench.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "measures"))
from coverage_study import Coverage, coverage, peak_coverage


def told(name: str, found: Coverage) -> str:
    """Return one line of the report."""
    low, high = found.interval
    return (
        f"  {name:<16} {100 * found.share:.2f} % of {found.stated:,} intervals "
        f"held the truth (95 %: {100 * low:.2f} to {100 * high:.2f})"
    )


def main() -> None:
    """Print the coverage of 20,000 coils with errors apart and shared, and of 20,000 peaks."""
    for shared, named in ((False, "errors of each reading apart"), (True, "errors shared")):
        for seed in (1, 2, 3):
            print(f"{named}, seed {seed}: 10,000 pickups, 20,000 coils")
            for name, found in coverage(10_000, 4_000, seed, shared).items():
                print(told(name, found))
    print("peak frequency from resistance, inductance and capacitance, seed 1")
    print(told("peak frequency", peak_coverage(20_000, 1)))


if __name__ == "__main__":
    main()

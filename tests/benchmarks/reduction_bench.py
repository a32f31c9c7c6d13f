"""A million resistance readings reduced with their uncertainty, beside plain numpy.

Run it by itself: ``.venv/bin/python tests/benchmarks/reduction_bench.py``. The plain evaluation is
the textbook's formulas for value and first-order uncertainty typed once in numpy, with no check of
any input.
"""

from __future__ import annotations

import os

# One core, whatever numpy was built with; it has to be set before numpy is there.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import statistics  # noqa: E402
import time  # noqa: E402
from collections.abc import Callable  # noqa: E402

import numpy as np  # noqa: E402

from coilbook.measures.columns import ResistanceColumns, reduce_columns  # noqa: E402

READINGS, RUNS = 1_000_000, 7
Numbers = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def columns(rows: int = READINGS, seed: int = 3) -> ResistanceColumns:
    """Return invented readings: a third of them in circuit."""
    rng = np.random.default_rng(seed)
    read = rng.uniform(2e3, 12e3, rows)
    conductance = np.where(rng.random(rows) < 1 / 3, 1.0 / rng.uniform(2e5, 5e5, rows), 0.0)
    return ResistanceColumns(
        reading_ohm=read,
        half_width_ohm=0.005 * read + 20.0,
        temperature_c=rng.uniform(12.0, 32.0, rows),
        temperature_half_width_k=rng.uniform(0.5, 3.0, rows),
        path_s=conductance,
        path_tolerance=np.where(conductance > 0.0, 0.2, 0.0),
        meter_s=np.zeros(rows),
        lead_ohm=np.zeros(rows),
    )


def plain_value(c: ResistanceColumns) -> Numbers:
    """Return the resistance at 20 °C and out of circuit."""
    out = c.reading_ohm / (1.0 - c.reading_ohm * c.path_s)
    return np.asarray(out / (1.0 + 0.00393 * (c.temperature_c - 20.0)))


def plain(c: ResistanceColumns) -> tuple[Numbers, Numbers]:
    """Return the same with its standard uncertainty, each derivative worked by hand."""
    q = 1.0 / (1.0 - c.reading_ohm * c.path_s)
    k = 1.0 + 0.00393 * (c.temperature_c - 20.0)
    r = c.reading_ohm * q / k
    u = np.sqrt(
        (
            (q**2 / k * c.half_width_ohm) ** 2
            + (q**2 / k * c.reading_ohm**2 * c.path_s * c.path_tolerance) ** 2
            + (r / k * 0.00393 * c.temperature_half_width_k) ** 2
            + (r / k * (c.temperature_c - 20.0) * 0.00393 * 0.01) ** 2
        )
        / 3.0
    )
    return r, u


def seconds(call: Callable[[], object], runs: int = RUNS) -> float:
    """Return the median time of a call, after one that is not counted."""
    call()
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        call()
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def main() -> None:
    """Print readings per second and the ratios."""
    made = columns()
    ours = seconds(lambda: reduce_columns(made))
    both = seconds(lambda: plain(made))
    value = seconds(lambda: plain_value(made))
    print(f"{READINGS:,} readings with uncertainty: {ours:.3f} s, {READINGS / ours:,.0f} a second")
    print(f"plain numpy, value and uncertainty:  {both:.3f} s; ours costs {ours / both:.2f} times")
    print(f"plain numpy, value alone:  {value:.3f} s; ours costs {ours / value:.2f} times")


if __name__ == "__main__":
    main()

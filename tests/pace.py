"""How fast this machine is, so that a limit in seconds means the same on each."""

from __future__ import annotations

import time

#: What the loop below is taken to need on the machine that the limits were set on, in seconds. It
#: was not timed there: the demo's build took a third of what it takes where the loop needs 0.3 s.
_USUAL_SECONDS = 0.1


def allowed(seconds: float) -> float:
    """Return a limit for this machine: more than ``seconds`` where it is slower than the usual one.

    A loop of plain Python is timed, the best of five. A faster machine gets no shorter limit.
    """
    taken = []
    for _ in range(5):
        begun = time.perf_counter()
        sum(i * i for i in range(3_000_000))
        taken.append(time.perf_counter() - begun)
    return seconds * max(1.0, min(taken) / _USUAL_SECONDS)

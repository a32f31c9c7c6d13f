"""What makes a piece of work take long, counted: calls, and memory held at once.

A time depends on the machine and on what else it does; these do not.
"""

from __future__ import annotations

import sys
import tracemalloc
from collections.abc import Callable
from types import FrameType
from typing import TypeVar

Made = TypeVar("Made")


def calls_of(work: Callable[[], Made]) -> tuple[Made, int]:
    """Return what some work gives, and how many functions were called for it, C's included.

    The work is done once before it is counted, so that what is read or compiled once is not in it.
    """
    work()
    count = 0

    def note(frame: FrameType, event: str, argument: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        made = work()
    finally:
        sys.setprofile(before)
    return made, count


def peak_bytes_of(work: Callable[[], Made]) -> tuple[Made, int]:
    """Return what some work gives, and the most memory that it held at once."""
    tracemalloc.start()
    try:
        made = work()
        return made, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()

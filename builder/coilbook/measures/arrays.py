"""The arrays that this room works with."""

from __future__ import annotations

from typing import Any

import numpy as np

from coilbook.core.constants import require_not_negative, require_positive

FloatArray = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def each_positive(**values: Any) -> None:
    """Raise :class:`OutOfDomain`, naming the argument, unless each number is above 0 and finite."""
    require_positive(**values)


def each_not_negative(**values: Any) -> None:
    """Raise :class:`OutOfDomain`, naming the argument, unless each is 0 or more and finite."""
    require_not_negative(**values)

"""The arrays that this room works with."""

from __future__ import annotations

import numpy as np

FloatArray = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

"""Read-only arrays for the frozen instrument."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def fixed(values: ArrayLike) -> Array:
    """A float copy that nobody can write to."""
    array = np.array(values, dtype=float)
    array.setflags(write=False)
    return array

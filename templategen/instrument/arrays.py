"""Read-only arrays for the frozen instrument, and plain numbers out of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from templategen.geometry.arrays import Array

__all__ = ["Array", "Pair", "fixed", "known", "pairs"]

Pair = tuple[float, float]


def fixed(values: ArrayLike) -> Array:
    """A float copy that nobody can write to."""
    array = np.array(values, dtype=float)
    array.setflags(write=False)
    return array


def pairs(points: Array) -> tuple[Pair, ...]:
    """Plan points (n, 2) as plain numbers."""
    return tuple((x, y) for x, y in points.tolist())


def known(values: Array) -> list[float | None]:
    """Plain numbers, None where an array holds NaN."""
    return [None if value != value else value for value in values.tolist()]

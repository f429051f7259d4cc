"""Where along the strings a saddle of one piece can hold each of them: inside its faces, and no steps between them.

Terms
-----
witness  where a string last touches the saddle
land     the stretch of the top, one string's own, that holds it at one place across the thickness
ramp     the stretch that leads from one land to the next, turned in plan
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from templategen.instrument.arrays import Array

FROM_FACE = 0.3  # mm that a witness stays inside a face (design rule of this project)
LAND, LAND_SHARE = 2.4, 0.5  # mm along the saddle, and at most this share of the room to the next string
STEEPEST_DEG = 35.0  # that a ramp turns in plan: a flat file still shapes its inner corner
_SWEEPS = 400


@dataclass(frozen=True)
class HeldPlaces:
    """across: where the strings can be held, (strings,), as near to what is wanted as may be. steep: which ramps are as
    steep as they may be, (strings − 1,)."""

    across: Array
    steep: Array


def straightest(y: Array, x: Array) -> float:
    """The slope dx/dy of the line that all points (strings,) lie nearest to, the farthest counted.

    The narrowest strip along x that holds all points lies along one side of their hull (Chebyshev's line), so the
    slopes of all pairs are tried.
    """
    slopes = [(x[b] - x[a]) / (y[b] - y[a]) for a, b in combinations(range(len(y)), 2) if y[a] != y[b]]
    return float(min(slopes, key=lambda slope: (float(np.ptp(x - slope * y)), abs(slope))))


def lands(along: Array) -> Array:
    """The width of every string's land, (strings,)."""
    gaps = np.abs(np.diff(along))
    nearest = np.minimum(np.append(gaps, np.inf), np.insert(gaps, 0, np.inf))
    return np.asarray(np.minimum(LAND, LAND_SHARE * nearest))


def held(along: Array, wanted: Array, thickness: float) -> HeldPlaces:
    """along, wanted: places of the witnesses along and across the saddle, (strings,), from its back face.

    Every string by itself goes to the nearest place inside the faces; neighbours that then differ by more than a ramp
    can lead give way to each other evenly, until none does.
    """
    low, high = min(FROM_FACE, thickness / 2), max(thickness - FROM_FACE, thickness / 2)
    at = np.clip(wanted, low, high)
    widths = lands(along)
    ramps = np.abs(np.diff(along)) - (widths[1:] + widths[:-1]) / 2
    most = np.maximum(ramps, 0.0) * math.tan(math.radians(STEEPEST_DEG))
    for _ in range(_SWEEPS):
        worst = 0.0
        for n, limit in enumerate(most.tolist()):
            step = float(at[n + 1] - at[n])
            over = abs(step) - limit
            if over > 0:
                at[n] += math.copysign(over / 2, step)
                at[n + 1] -= math.copysign(over / 2, step)
                worst = max(worst, over)
        if worst < 1e-9:
            break
    return HeldPlaces(at, np.asarray(np.abs(np.diff(at)) > most - 1e-6))


def between(values: Sequence[float]) -> float:
    """The middle of what they span."""
    return (min(values) + max(values)) / 2

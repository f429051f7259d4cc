"""Circles, chords and arcs. mm; terms: ``geometry/__init__.py``."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Point = tuple[float, float]
Point3 = tuple[float, float, float]
Span = tuple[float, float]
"""From and to."""


def arc_drop(radius: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
    """How far an arc lies below its crown at a distance y from the middle: R − √(R² − y²), 0 for a flat.

    Written as y²/(R + √(R² − y²)) so that large radii lose no digits (the circular segment's height, any handbook).
    """
    r, across = np.asarray(radius, dtype=float), np.asarray(y, dtype=float)
    with np.errstate(invalid="ignore"):
        root = np.where(np.isinf(r), np.inf, np.sqrt(r * r - across * across))
    return np.asarray(across * across / (r + root))


def sagitta(radius: float, chord: float) -> float:
    """Height of an arc over its chord, s = r − √(r² − c²/4) (circular segment, any handbook)."""
    return float(arc_drop(radius, chord / 2))


def radius_of(chord: float, height: float) -> float:
    """Radius from chord and height, r = s/2 + c²/(8s) (circular segment, any handbook); signed as the height."""
    return height / 2 + chord * chord / (8 * height)


def circle_of_bulge(start: Point, end: Point, bulge: float) -> tuple[Point, float]:
    """Centre and radius of the arc of a bulge.

    bulge = tan(θ/4), so the radius is chord·(1 + b²)/(4·|b|) and the centre lies chord·(1 − b²)/(4·b) to the left of
    the chord's middle (any handbook of circular segments: chord = 2r·sin(θ/2), sagitta = b·chord/2).
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    radius = math.hypot(dx, dy) * (1 + bulge * bulge) / (4 * abs(bulge))
    shift = (1 - bulge * bulge) / (4 * bulge)
    return ((start[0] + end[0]) / 2 - dy * shift, (start[1] + end[1]) / 2 + dx * shift), radius


def arc_bulge(start: Point, end: Point, radius: float, upward: bool = True) -> float:
    """Bulge of an arc of the given radius that rises above (or hangs below) its chord; 0 for an infinite radius."""
    if math.isinf(radius):
        return 0.0
    chord = math.hypot(end[0] - start[0], end[1] - start[1])
    bulge = math.tan(math.asin(min(chord / (2 * radius), 1.0)) / 2)
    rightward = end[0] >= start[0]
    return -bulge if rightward == upward else bulge


def bulge_through(start: Point, end: Point, rise: float) -> float:
    """The bulge of an arc whose height over the chord is ``rise``; positive bulges to the right of start→end."""
    return 2 * rise / math.hypot(end[0] - start[0], end[1] - start[1])

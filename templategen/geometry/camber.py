"""The finished top of the nut: always one arc, fitted to the slots.

The arc is held as height, slope and curvature at x = 0 of the nut frame, which stays sound down to a straight line
(curvature 0). A point at x has the height t over z₀ that solves (κ/2)(x² + t²) + t·cos θ − x·sin θ = 0, θ = atan m: the
circle through (0, z₀) with slope m and curvature κ.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from templategen.geometry.arrays import Array
from templategen.geometry.leastsquares import least_squares
from templategen.geometry.programs import least_excess, nearest

STEPS = 30
SETTLED = 1e-13  # of parameters of like size
FIRM = 1e-8  # of the same: what a step costs that changes no string's height
FLATTEST = 30_000.0  # radius beyond which an arc over a nut is a line: it rises by less than 0.01 mm over 45 mm


@dataclass(frozen=True)
class Camber:
    """One arc over the nut. z0: height at x = 0; slope: dz/dx there; curvature: 1/mm, positive for a crown upward."""

    z0: float
    slope: float
    curvature: float

    def z(self, x: ArrayLike) -> Array:
        at = np.asarray(x, dtype=float)
        turn = math.atan(self.slope)
        half, c = self.curvature / 2, self.curvature / 2 * at * at - at * math.sin(turn)
        root = np.sqrt(np.maximum(math.cos(turn) ** 2 - 4 * half * c, 0.0))
        return np.asarray(self.z0 - 2 * c / (math.cos(turn) + root))

    def gradient(self, x: Array) -> Array:
        """dz/d(z0, slope, curvature) at every x, (n, 3), by implicit differentiation of the module's equation."""
        rise = self.z(x) - self.z0
        cos, sin = math.cos(math.atan(self.slope)), math.sin(math.atan(self.slope))
        steep = self.curvature * rise + cos
        by_slope = (rise * sin + x * cos) / steep / (1 + self.slope**2)
        return np.stack([np.ones_like(x), by_slope, -(x * x + rise * rise) / 2 / steep], -1)

    @property
    def straight(self) -> bool:
        return self.curvature == 0

    @property
    def radius(self) -> float:
        return math.inf if self.straight else 1 / abs(self.curvature)

    def slope_at(self, x: float) -> float:
        """dz/dx."""
        if self.straight:
            return self.slope
        cx, cz = self.centre
        return (cx - x) / (float(self.z(x)) - cz)

    @property
    def centre(self) -> tuple[float, float]:
        """Centre of the circle (x, z); only for an arc."""
        turn = math.atan(self.slope)
        return math.sin(turn) / self.curvature, self.z0 - math.cos(turn) / self.curvature

    def raised(self, by: float) -> Camber:
        """The same arc lifted."""
        return Camber(self.z0 + by, self.slope, self.curvature)


def fit_camber(x: Array, want: Array, low: Array, high: Array, weight: Array, start_curvature: float) -> Camber:
    """The arc nearest to the wanted heights that stays between the lowest and highest allowed.

    x, want, low, high, weight: shape (strings,), mm and 1/mm. Minimises Σ(weight·(z − want))². A start curvature of 0
    (a flat board) makes it a straight line, and so does an arc that comes out flatter than FLATTEST. Where no arc keeps
    every limit, the largest excess is first made as small as it can be, and the fit is then the nearest among the arcs
    with that excess; the caller reports it.
    """
    size = [1.0, 0.1, 0.01] if start_curvature else [1.0, 0.1]  # bring height, slope and curvature to like size
    family = _Family(x, np.array(size))
    start = np.array([float(want.max()), 0.0, start_curvature][: len(size)]) / family.size
    best = family.arc(
        least_squares(lambda p: (weight * (family.z(p) - want), family.gradient(p) * weight[:, None]), start)
    )
    if np.any(best.z(x) < low) or np.any(best.z(x) > high):
        best = family.arc(_within_limits(family, start, want, low, high, weight))
    if 0 < abs(best.curvature) < 1 / FLATTEST:
        return fit_camber(x, want, low, high, weight, 0.0)
    return best


@dataclass(frozen=True)
class _Family:
    """Arcs, or straight lines where ``size`` has two places, by parameters of like size."""

    x: Array
    size: Array

    def arc(self, p: Array) -> Camber:
        z0, slope, *curvature = p * self.size
        return Camber(float(z0), float(slope), float(curvature[0]) if curvature else 0.0)

    def z(self, p: Array) -> Array:
        return self.arc(p).z(self.x)

    def gradient(self, p: Array) -> Array:
        return np.asarray(self.arc(p).gradient(self.x)[:, : len(self.size)] * self.size)


def _within_limits(family: _Family, p: Array, want: Array, low: Array, high: Array, weight: Array) -> Array:
    """The nearest arc that keeps the limits, or where none does, that passes them by the least excess.

    Heights are nearly linear in the parameters: a few programs of limits that are linear about the last arc settle it.
    """
    inside = _settled(p, lambda at: _step_inside(family, at, want, low, high, weight, 0.0))
    if inside is not None:
        return inside
    first = _settled(p, lambda at: _step_least(family, at, low, high))
    assert first is not None
    excess = max(float(np.maximum(low - family.z(first), family.z(first) - high).max()), 0.0)
    nearer = _settled(first, lambda at: _step_inside(family, at, want, low, high, weight, excess))
    return first if nearer is None else nearer


def _settled(p: Array, step: Callable[[Array], Array | None]) -> Array | None:
    for _ in range(STEPS):
        by = step(p)
        if by is None:
            return None
        p = p + by
        if np.all(np.abs(by) < SETTLED):
            break
    return p


def _room(family: _Family, p: Array, low: Array, high: Array) -> tuple[Array, Array]:
    """Limits of a step from p, as rows and what they must come to at least."""
    z, slope = family.z(p), family.gradient(p)
    return np.concatenate([slope, -slope]), np.concatenate([low - z, z - high])


def _step_inside(
    family: _Family, p: Array, want: Array, low: Array, high: Array, weight: Array, excess: float
) -> Array | None:
    rows, least = _room(family, p, low, high)
    missed = weight * (want - family.z(p))
    short = FIRM * np.eye(len(p))  # fewer strings than parameters leave a direction open: no step along it
    design = np.concatenate([family.gradient(p) * weight[:, None], short])
    return nearest(design, np.concatenate([missed, np.zeros(len(p))]), rows, least - excess)


def _step_least(family: _Family, p: Array, low: Array, high: Array) -> Array:
    return least_excess(*_room(family, p, low, high))[0]

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

from templategen.instrument.arrays import Array

FLATTEST = 30_000.0  # radius beyond which an arc over a nut is a line: it rises by less than 0.01 mm over 45 mm


@dataclass(frozen=True)
class TopArc:
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

    @property
    def centre(self) -> tuple[float, float]:
        """Centre of the circle (x, z); only for an arc."""
        turn = math.atan(self.slope)
        return math.sin(turn) / self.curvature, self.z0 - math.cos(turn) / self.curvature

    def raised(self, by: float) -> TopArc:
        """The same arc lifted."""
        return TopArc(self.z0 + by, self.slope, self.curvature)


def fit_top(x: Array, want: Array, low: Array, high: Array, weight: Array, start_curvature: float) -> TopArc:
    """The arc nearest to the wanted heights that stays between the lowest and highest allowed.

    x, want, low, high, weight: shape (strings,), mm and 1/mm. Minimises Σ(weight·(z − want))². A start curvature of 0
    (a flat board) makes it a straight line, and so does an arc that comes out flatter than FLATTEST. Where no arc keeps
    every limit, the largest excess is first made as small as it can be, and the fit is then the nearest among the arcs
    with that excess; the caller reports it.
    """
    size = [1.0, 0.1, 0.01] if start_curvature else [1.0, 0.1]  # bring height, slope and curvature to like size
    family = _Family(x, np.array(size))
    start = np.array([float(want.max()), 0.0, start_curvature][: len(size)]) / family.size
    best = family.arc(_least_squares(family, start, want, weight))
    if np.any(best.z(x) < low) or np.any(best.z(x) > high):
        best = family.arc(_within_limits(family, start, want, low, high, weight))
    if 0 < abs(best.curvature) < 1 / FLATTEST:
        return fit_top(x, want, low, high, weight, 0.0)
    return best


@dataclass(frozen=True)
class _Family:
    """Arcs, or straight lines where ``size`` has two places, by parameters of like size."""

    x: Array
    size: Array

    def arc(self, p: Array) -> TopArc:
        z0, slope, *curvature = p * self.size
        return TopArc(float(z0), float(slope), float(curvature[0]) if curvature else 0.0)

    def z(self, p: Array) -> Array:
        return self.arc(p).z(self.x)

    def gradient(self, p: Array) -> Array:
        return np.asarray(self.arc(p).gradient(self.x)[:, : len(self.size)] * self.size)


def _least_squares(family: _Family, p: Array, want: Array, weight: Array) -> Array:
    """Gauss–Newton; heights are nearly linear in the parameters, so it settles in a few steps."""
    for _ in range(50):
        residual = weight * (family.z(p) - want)
        step = np.linalg.lstsq(family.gradient(p) * weight[:, None], -residual, rcond=None)[0]
        p = p + step
        if np.all(np.abs(step) < 1e-14):
            break
    return p


def _within_limits(family: _Family, p: Array, want: Array, low: Array, high: Array, weight: Array) -> Array:
    """Two programs of smooth constraints: the least excess, then the nearest arc with no more than it."""
    from scipy.optimize import minimize

    def solved(start: Array, goal: Callable[[Array], float], slope: Callable[[Array], Array], slack: Array) -> Array:
        """slack: how far limits may be passed, as a row over the unknowns (the excess may be one) and a constant."""
        count = len(family.size)
        wide = np.broadcast_to(slack[:-1], (len(low), len(start)))

        def room(q: Array) -> Array:
            z, more = family.z(q[:count]), slack[:-1] @ q + slack[-1]
            return np.concatenate([z - low + more, high - z + more])

        def room_slope(q: Array) -> Array:
            rise = np.zeros((len(low), len(q)))
            rise[:, :count] = family.gradient(q[:count])
            return np.concatenate([rise + wide, wide - rise])

        limits = {"type": "ineq", "fun": room, "jac": room_slope}
        found = minimize(
            goal, start, jac=slope, method="SLSQP", constraints=[limits], options={"ftol": 1e-16, "maxiter": 200}
        )
        return np.asarray(found.x)

    only_excess = np.append(np.zeros(len(p)), 1.0)
    worst = float(np.maximum(low - family.z(p), family.z(p) - high).max())
    first = solved(np.append(p, worst), lambda q: float(q[-1]), lambda q: only_excess, np.append(only_excess, 0.0))
    excess = max(float(np.maximum(low - family.z(first[:-1]), family.z(first[:-1]) - high).max()), 0.0)

    def missed(q: Array) -> Array:
        return np.asarray(weight * (family.z(q) - want))

    return solved(
        first[:-1],
        lambda q: float((missed(q) ** 2).sum()),
        lambda q: 2 * (family.gradient(q) * weight[:, None]).T @ missed(q),
        np.append(np.zeros(len(p)), excess),
    )

"""The finished top of the nut: always one arc, fitted to the slots.

The arc is held as height, slope and curvature at x = 0 of the nut frame, which stays sound down to a straight line
(curvature 0). A point at x has the height t over z₀ that solves (κ/2)(x² + t²) + t·cos θ − x·sin θ = 0, θ = atan m: the
circle through (0, z₀) with slope m and curvature κ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from templategen.instrument.arrays import Array


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
    (a flat board) makes it a straight line. Where no arc keeps every limit, the largest excess is made as small as it
    can be; the caller reports it.
    """
    line = start_curvature == 0

    def arc(p: Array) -> TopArc:
        return TopArc(float(p[0]), float(p[1]), 0.0 if line else float(p[2]))

    params = np.array([float(want.mean()), 0.0] if line else [float(want.max()), 0.0, start_curvature])
    for _ in range(50):
        residual = weight * (arc(params).z(x) - want)
        step = np.linalg.lstsq(_slopes(arc, params, x) * weight[:, None], -residual, rcond=None)[0]
        params = params + step
        if np.all(np.abs(step) < 1e-13):
            break
    z = arc(params).z(x)
    if np.all(z >= low - 1e-12) and np.all(z <= high + 1e-12):
        return arc(params)
    return arc(_within_limits(arc, params, x, want, low, high, weight))


def _slopes(arc: object, params: Array, x: Array) -> Array:
    """Central differences of the heights over the parameters, (strings, parameters)."""
    columns = []
    for i in range(len(params)):
        step = np.zeros(len(params))
        step[i] = 1e-6
        columns.append((arc(params + step).z(x) - arc(params - step).z(x)) / 2e-6)  # type: ignore[operator]
    return np.stack(columns, -1)


def _within_limits(arc: object, start: Array, x: Array, want: Array, low: Array, high: Array, weight: Array) -> Array:
    """The limited fit, by sequential quadratic programming over the arc's parameters and one excess ≥ 0."""
    from scipy.optimize import minimize

    size = np.array([1.0, 0.1, 0.01][: len(start)])  # bring height, slope and curvature to like size

    def z(q: Array) -> Array:
        return np.asarray(arc(q[:-1] * size).z(x))  # type: ignore[operator]

    worst = float(np.maximum(low - z(np.append(start / size, 0)), z(np.append(start / size, 0)) - high).max())
    result = minimize(
        lambda q: float(((weight * (z(q) - want)) ** 2).sum() + 1e4 * q[-1]),
        np.append(start / size, max(worst, 0.0)),
        method="SLSQP",
        constraints=[
            {"type": "ineq", "fun": lambda q: z(q) - low + q[-1]},
            {"type": "ineq", "fun": lambda q: high - z(q) + q[-1]},
            {"type": "ineq", "fun": lambda q: q[-1:]},
        ],
        options={"ftol": 1e-14, "maxiter": 500},
    )
    return np.asarray(result.x[:-1] * size)

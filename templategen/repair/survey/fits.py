"""Least squares with what it leaves uncertain.

Where the uncertainties of the readings are known they are the weights, and the covariance follows from them; readings
that scatter more than they say widen it by the ratio of Birge, χ²/ν where that is more than 1. Where they are not known
the residuals' own standard deviation s takes their place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from templategen.geometry.leastsquares import least_squares
from templategen.instrument.arrays import Array, fixed

FLOOR = 1e-12  # of the square of a point's distance from a circle's centre over the radius: nearer is the centre


@dataclass(frozen=True)
class LinearFit:
    """A fit of n readings by p parameters.

    design: slopes of the fitted values over the parameters, (n, p). values: parameters, (p,). fitted, residuals: (n,).
    u: of the readings, (n,), or None where it was not known.
    """

    design: Array
    values: Array
    fitted: Array
    residuals: Array
    u: Array | None

    @property
    def dof(self) -> int:
        """ν = n − p."""
        return len(self.residuals) - len(self.values)

    @cached_property
    def weighted(self) -> Array:
        """Residuals over the readings' u, or as they are; (n,)."""
        return fixed(self.residuals if self.u is None else self.residuals / self.u)

    @property
    def sum_of_squares(self) -> float:
        """Of the weighted residuals: χ² where u is known."""
        return float(self.weighted @ self.weighted)

    @property
    def s(self) -> float:
        """Standard deviation of the weighted residuals, √(Σ/ν); 0 where nothing is left over."""
        return float(np.sqrt(self.sum_of_squares / self.dof)) if self.dof > 0 else 0.0

    @cached_property
    def _inverse(self) -> Array:
        """(XᵀWX)⁻¹ by way of the singular values; parameters that nothing decides stay at infinity."""
        x = self.design if self.u is None else self.design / self.u[:, None]
        scale = np.linalg.norm(x, axis=0)
        scale[scale == 0] = 1.0
        _, sizes, rows = np.linalg.svd(x / scale, full_matrices=False)
        with np.errstate(divide="ignore"):
            spread = rows.T / sizes
        return np.asarray((spread @ spread.T) / np.outer(scale, scale))

    @cached_property
    def covariance(self) -> Array:
        """Of the parameters, (p, p)."""
        widened = self.s**2 if self.u is None else max(1.0, self.s**2)
        return fixed(self._inverse * widened)

    def u_of(self, row: ArrayLike) -> float:
        """u of a linear combination of the parameters, (p,)."""
        at = np.asarray(row, dtype=float)
        return float(np.sqrt(at @ self.covariance @ at))

    @cached_property
    def leverage(self) -> Array:
        """How much each reading decides its own fitted value, 0 to 1; (n,)."""
        x = self.design if self.u is None else self.design / self.u[:, None]
        q, _ = np.linalg.qr(x)
        return fixed((q**2).sum(1))


def linear(design: ArrayLike, readings: ArrayLike, u: ArrayLike | None = None) -> LinearFit:
    """Weighted linear least squares: readings (n,) by the columns of design (n, p), u (n,) of the readings."""
    x, y = np.asarray(design, dtype=float), np.asarray(readings, dtype=float)
    known = None if u is None else np.broadcast_to(np.asarray(u, dtype=float), y.shape)
    weight = 1.0 if known is None else 1.0 / known
    scale = np.linalg.norm(x, axis=0)
    values = np.linalg.lstsq((x / scale) * np.atleast_1d(weight)[:, None], y * weight, rcond=None)[0] / scale
    fitted = x @ values
    return LinearFit(fixed(x), fixed(values), fixed(fitted), fixed(y - fitted), None if known is None else fixed(known))


def saturating(
    x: ArrayLike, readings: ArrayLike, u: ArrayLike | None = None, offset: bool = True, rate: float | None = None
) -> LinearFit:
    """readings = L·(1 − e^(−b·x)) + o: frets by a constant ratio, its step free. Parameters (L, b), or (L, b, o).

    rate: b to start from; the best of many, the others linear, if None.
    """
    at, y = np.asarray(x, dtype=float), np.asarray(readings, dtype=float)
    known = np.ones_like(y) if u is None else np.broadcast_to(np.asarray(u, dtype=float), y.shape)

    def columns(rate: float) -> Array:
        grown = 1 - np.exp(-rate * at)
        return np.stack([grown, np.ones_like(at)], 1) if offset else grown[:, None]

    if rate is None:
        rates = np.geomspace(1e-3, 1e1, 161) / np.abs(at).max()
        rate = float(min(rates, key=lambda r: linear(columns(r), y, known).sum_of_squares))
    begun = linear(columns(rate), y, known).values
    start = np.array([begun[0], rate, *begun[1:]])

    def fitted(p: Array) -> Array:
        return np.asarray(columns(p[1]) @ p[[0, *range(2, len(p))]])

    def slopes(p: Array) -> Array:
        across = columns(p[1])
        return np.column_stack([across[:, 0], p[0] * at * np.exp(-p[1] * at), *across.T[1:]])

    found = least_squares(lambda p: ((fitted(p) - y) / known, slopes(p) / known[:, None]), start)
    return LinearFit(
        fixed(slopes(found)),
        fixed(found),
        fixed(fitted(found)),
        fixed(y - fitted(found)),
        None if u is None else fixed(known),
    )


@dataclass(frozen=True)
class FittedCircle:
    """A circle through points. curvature: 1/radius, + where the arc is hollow toward +z below, as a board's is.

    u: of the curvature. centre: (y, z); infinite where the points lie on a line. distances: of the points, + outside.
    """

    curvature: float
    u: float
    centre: tuple[float, float]
    distances: Array

    @property
    def radius(self) -> float:
        return 1 / self.curvature if self.curvature else float("inf")


def circle(points: ArrayLike, u: float | None = None) -> FittedCircle:
    """The circle with the least sum of squared distances to points (n, 2): the geometric fit, which unlike the
    algebraic ones is not biased on short arcs (Gander, Golub, Strebel, BIT 34, 1994).

    Found as the curvature κ, and the height and the slope of the arc at the points' middle, so that a flat board is no
    limit: a point p stands 2A/(1 + √(1 + 2κA)) off the circle, A = κ/2·|p − q|² + n·(p − q), q the arc's point there
    and n its normal. u: of the points' distances; their own scatter where None.
    """
    at = np.asarray(points, dtype=float)
    middle = at.mean(0)
    here = at - middle

    def distances(p: Array) -> tuple[Array, Array]:
        """And their slopes: with s = √(1 + 2κA), κ/2·D² + D = A gives s·dD = dA − D²/2·dκ."""
        curvature, height, slope = p
        normal, along = np.array([np.sin(slope), np.cos(slope)]), np.array([np.cos(slope), -np.sin(slope)])
        away = here - np.array([0.0, height])
        square = (away**2).sum(1)
        a = curvature / 2 * square + away @ normal
        root = np.sqrt(np.maximum(1 + 2 * curvature * a, FLOOR))
        off = 2 * a / (1 + root)
        by = np.stack([(square - off**2) / 2, -curvature * away[:, 1] - normal[1], away @ along], 1)
        return off, by / root[:, None]

    best = least_squares(distances, _start(here))
    off, by = distances(best)
    fit = LinearFit(
        fixed(by),
        fixed(best),
        fixed(np.zeros(len(at))),
        fixed(off),
        None if u is None else fixed(np.full(len(at), u)),
    )
    curvature, height, slope = (float(v) for v in best)
    normal = np.array([np.sin(slope), np.cos(slope)])
    centre = (np.inf, np.inf)
    if curvature != 0:
        y, z = middle + np.array([0.0, height]) - normal / curvature
        centre = (float(y), float(z))
    return FittedCircle(curvature, float(np.sqrt(fit.covariance[0, 0])), centre, fit.residuals)


def _start(here: Array) -> Array:
    """κ, height and slope by the algebraic circle through points about their middle."""
    y, z = here.T
    d, e, f = np.linalg.lstsq(np.stack([y, z, np.ones_like(y)], 1), -(y**2 + z**2), rcond=None)[0]
    centre = np.array([-d, -e]) / 2
    radius = np.sqrt(max(float(centre @ centre) - f, 1e-12))
    side = -1.0 if centre[1] > 0 else 1.0  # the arc's point nearest the middle lies above its centre, or below
    height = centre[1] + side * np.sqrt(max(radius**2 - centre[0] ** 2, 0.0))
    normal = (np.array([0.0, height]) - centre) / radius * side
    return np.array([side / radius, height, np.arctan2(normal[0], normal[1])])

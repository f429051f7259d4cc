"""Is it more than chance? Outliers, patterns in residuals, and whether another parameter is worth having."""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

from templategen.instrument.arrays import Array, fixed
from templategen.repair.survey.chances import chi_square_tail, fisher_tail, student_over
from templategen.repair.survey.fits import LinearFit, linear

ALPHA = 0.05
MOST_SHARE = 5  # at most one reading in five is an outlier


@dataclass(frozen=True)
class Outliers:
    """Rosner's test. order: rows as they were taken out, one after another; statistic, critical: of each step.

    count: how many of them are outliers: up to the last step whose statistic is over its critical value.
    """

    order: tuple[int, ...]
    statistic: Array
    critical: Array

    @property
    def count(self) -> int:
        over = np.flatnonzero(self.statistic > self.critical)
        return int(over[-1]) + 1 if len(over) else 0

    @property
    def rows(self) -> tuple[int, ...]:
        return self.order[: self.count]


def outliers(design: ArrayLike, readings: ArrayLike, u: ArrayLike | None = None, most: int | None = None) -> Outliers:
    """The generalised extreme-studentised-deviate test (B. Rosner, Technometrics 25, 1983), α = 0.05.

    Of a mean (one column of ones) R is max|x − x̄|/s and λ = (n − i)·t/√((n − i − 1 + t²)(n − i + 1)), t the 1 −
    α/(2(n − i + 1)) quantile of Student's distribution. In a fit of p parameters the residuals are studentised by
    their leverage, r/(s·√(1 − h)), whose critical value is t·√ν/√(ν − 1 + t²), ν = n − p (R. D. Cook, S. Weisberg,
    *Residuals and Influence in Regression*, 1982, 2.2.2); times √(ν/n) both are Rosner's where the fit is a mean.
    most: steps; a fifth of the readings if None.
    """
    x, y = np.asarray(design, dtype=float), np.asarray(readings, dtype=float)
    known = None if u is None else np.broadcast_to(np.asarray(u, dtype=float), y.shape)
    left = np.arange(len(y))
    order, statistic, critical = [], [], []
    for _ in range(len(y) // MOST_SHARE if most is None else most):
        n, dof = len(left), len(left) - x.shape[1]
        if dof < 2:
            break
        fit = linear(x[left], y[left], None if known is None else known[left])
        spread = fit.s * np.sqrt(np.maximum(1 - fit.leverage, 1e-9))
        if fit.s <= 1e-12 * max(float(np.abs(fit.fitted).max(initial=0.0)), 1.0):
            break
        size = np.abs(fit.weighted) / spread
        worst = int(size.argmax())
        t = student_over(ALPHA / (2 * n), dof - 1)
        scale = np.sqrt(dof / n)
        statistic.append(float(size[worst]) * scale)
        critical.append(t * np.sqrt(dof) / np.sqrt(dof - 1 + t * t) * scale)
        order.append(int(left[worst]))
        left = np.delete(left, worst)
    return Outliers(tuple(order), fixed(statistic), fixed(critical))


def runs_chance(residuals: ArrayLike) -> float:
    """How likely so few runs of one sign, or fewer, are by chance (A. Wald, J. Wolfowitz, *Ann. Math. Stat.* 11,
    1940): counted exactly. 1 where the signs are all alike or there are none."""
    signs: NDArray[np.float64] = np.sign(np.asarray(residuals, dtype=float))
    signs = signs[signs != 0]
    up, down = int((signs > 0).sum()), int((signs < 0).sum())
    if not up or not down:
        return 1.0
    runs = 1 + int((signs[1:] != signs[:-1]).sum())
    ways = 0
    for count in range(2, runs + 1):
        half = count // 2
        if count % 2:
            ways += comb(up - 1, half) * comb(down - 1, half - 1) + comb(up - 1, half - 1) * comb(down - 1, half)
        else:
            ways += 2 * comb(up - 1, half - 1) * comb(down - 1, half - 1)
    return ways / comb(up + down, up)


def better_chance(plain: LinearFit, richer: LinearFit, least_variance: float = 0.0) -> float:
    """How likely chance alone makes ``richer`` as much better as it is, by the F test: the gain of each further
    parameter over the variance that is left. least_variance: that variance is taken as this at least. 1 where nothing
    is left to judge by."""
    more = plain.dof - richer.dof
    if richer.dof < 1 or more < 1:
        return 1.0
    gain = max(plain.sum_of_squares - richer.sum_of_squares, 0.0) / more
    left = max(richer.sum_of_squares / richer.dof, least_variance)
    if left <= 0:
        return 0.0 if gain > 0 else 1.0
    return fisher_tail(gain / left, more, richer.dof)


def misfit_chance(fit: LinearFit) -> float:
    """How likely readings of their stated uncertainties scatter as much as these, by χ². 1 where none are left over."""
    return chi_square_tail(fit.sum_of_squares, fit.dof) if fit.dof > 0 and fit.u is not None else 1.0

"""Least squares of smooth residuals, from a start near by; for problems of a few parameters, which need no more."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from templategen.geometry.arrays import Array

SETTLED = 1e-15  # of the parameters: as far as floats go
STEPS = 200


def least_squares(model: Callable[[Array], tuple[Array, Array]], start: Array) -> Array:
    """The parameters (p,) with the least sum of squared residuals.

    model: from parameters to residuals (n,) and their slopes (n, p). Gauss–Newton steps; where one makes it worse it is
    shortened after Levenberg and Marquardt (D. W. Marquardt, *J. SIAM* 11, 1963), each parameter measured by the length
    of its column. Ends where no step makes it better any more.
    """
    at = np.asarray(start, dtype=float)
    residuals, slopes = model(at)
    damping = 0.0
    for _ in range(STEPS):
        sizes = np.linalg.norm(slopes, axis=0)
        sizes[sizes == 0] = 1.0
        matrix, wanted = slopes / sizes, -residuals
        if damping:
            matrix = np.concatenate([matrix, np.sqrt(damping) * np.eye(len(at))])
            wanted = np.concatenate([wanted, np.zeros(len(at))])
        step = np.linalg.lstsq(matrix, wanted, rcond=None)[0]
        if np.linalg.norm(step) <= SETTLED * np.linalg.norm(at * sizes) or damping > 1 / SETTLED:
            break
        trial = at + step / sizes
        there, grown = model(trial)
        if there @ there < residuals @ residuals:
            at, residuals, slopes, damping = trial, there, grown, damping / 10
        else:
            damping = max(10 * damping, 1e-4)
    return at

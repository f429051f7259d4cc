"""Programs: the best of what limits allow.

Of two to four unknowns they are solved exactly, by trying every set of limits that can hold; of more by HiGHS.

The best point of a convex program is the best on some set of limits that are just met, no more of them than there are
unknowns (Karush–Kuhn–Tucker; J. Nocedal, S. J. Wright, *Numerical Optimization*, 16.1 and 13.1). With so few unknowns
all sets are tried at once, and the one is taken whose point keeps every other limit too and whose multipliers push the
right way.
"""

from __future__ import annotations

from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

from templategen.geometry.arrays import Array

SLACK = 1e-12  # of the greatest limit, or of 1 mm: what rounding leaves
SINGULAR = 1e-12


def nearest(design: Array, wanted: Array, rows: Array, least: Array) -> Array | None:
    """The p (k,) with the least |design·p − wanted|² of those with rows·p ≥ least; None where nothing keeps all limits.

    design: (n, k) of full rank. rows, least: (m, k), (m,).
    """
    across, sizes = np.linalg.qr(design)
    free = across.T @ wanted  # the best where nothing limits it, in unknowns of which the sum of squares is one of each
    over = np.linalg.solve(sizes.T, rows.T).T
    slack = _slack(least)
    best: tuple[float, Array] | None = None
    for size in range(design.shape[1] + 1):
        held = _sets(len(rows), size)
        pushes, held = _solved(over[held] @ np.swapaxes(over[held], 1, 2), (least - over @ free)[held], held)
        points = free + np.einsum("sij,si->sj", over[held], pushes)
        kept = np.all(points @ over.T >= least - slack, axis=1)
        for at in np.flatnonzero(kept):
            missed = float(((points[at] - free) ** 2).sum())
            if best is None or missed < best[0]:
                best = missed, points[at]
            if np.all(pushes[at] >= 0):
                break
        else:
            continue
        break
    return None if best is None else np.linalg.solve(sizes, best[1])


def least_excess(rows: Array, least: Array) -> tuple[Array, float]:
    """(p, e): the least e for which some p (k,) has rows·p ≥ least − e, and the shortest such p of those at a corner.

    rows: (m, k), m > k.
    """
    over, sizes, turns = np.linalg.svd(rows, full_matrices=False)
    firm = sizes > SINGULAR * sizes[0]
    wide = np.concatenate([over[:, firm], np.ones((len(rows), 1))], axis=1)
    slack = _slack(least)
    held = _sets(len(rows), wide.shape[1])
    found, _ = _solved(wide[held], least[held], held)
    kept = found[np.all(found @ wide.T >= least - slack, axis=1)]
    corner = kept[kept[:, -1].argmin()]
    return turns[firm].T @ (corner[:-1] / sizes[firm]), float(corner[-1])


def least_cost(
    cost: Array,
    rows: Array,
    least: ArrayLike,
    most: ArrayLike,
    bound: ArrayLike = np.inf,
    whole: bool = False,
    **options: float | str,
) -> Array | None:
    """The x (n,) with the least cost·x of those with least ≤ rows·x ≤ most and 0 ≤ x ≤ bound; None where none is found.

    rows: (m, n). whole: of whole numbers only. options: of the solver (HiGHS), such as a limit to its search.
    """
    import highspy
    from highspy._core import _Highs  # the solver itself: the class around it says its name on the terminal

    count, width = rows.shape
    program = highspy.HighsLp()
    program.num_row_, program.num_col_ = count, width
    program.col_cost_ = np.asarray(cost, dtype=float)
    program.col_lower_, program.col_upper_ = np.zeros(width), np.broadcast_to(bound, width).astype(float)
    program.row_lower_, program.row_upper_ = (np.broadcast_to(end, count).astype(float) for end in (least, most))
    row, column = np.nonzero(rows)
    matrix = program.a_matrix_
    matrix.num_row_, matrix.num_col_ = count, width
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.searchsorted(row, np.arange(count + 1)).astype(np.int32)
    matrix.index_, matrix.value_ = column.astype(np.int32), rows[row, column].astype(float)
    if whole:
        program.integrality_ = [highspy.HighsVarType.kInteger] * width
    solver = _Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    for name, value in options.items():
        solver.setOptionValue(name, value)
    solver.passModel(program)
    solver.run()
    found = solver.getSolution()
    return np.array(found.col_value) if found.value_valid else None


def _slack(least: Array) -> float:
    return SLACK * max(1.0, float(np.abs(least).max()))


def _sets(of: int, size: int) -> NDArray[np.intp]:
    """All sets of ``size`` of so many limits, (sets, size)."""
    return np.array(list(combinations(range(of), size)), dtype=np.intp).reshape(comb(of, size), size)


def _solved(matrices: Array, right: Array, sets: NDArray[np.intp]) -> tuple[Array, NDArray[np.intp]]:
    """Solutions of the systems that have one, and their sets: the others meet in no single point."""
    if not matrices.shape[1]:
        return right, sets
    regular = np.linalg.cond(matrices) < 1 / SINGULAR
    found = np.linalg.solve(matrices[regular], right[regular][:, :, None])[:, :, 0]
    return found, sets[regular]

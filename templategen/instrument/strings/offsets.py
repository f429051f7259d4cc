"""Where nut and saddle should stand so that the fretted notes come out right.

Least squares over the frets 1 to k: the offsets that minimise the root of the mean square error in cents. The open
string is in tune by definition, so moving the nut shifts all frets alike, and moving the saddle shifts the high frets
more. Offsets are those of ``intonation``: saddle positive away from the nut, nut positive toward the bridge.

The search stays within a quarter of the way to the nearest crown. No instrument comes near that; a string line that is
far off can, and the result says so (``at_limit``).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from templategen.instrument.arrays import Array
from templategen.instrument.strings.fretting import Cents, FrettedString, fretting_cents

SADDLE_MARGIN = 1.5
"""mm an adjustable saddle should move beyond the offsets of the set, for other gauges and actions (common practice, no
source)."""


@dataclass(frozen=True)
class Fit:
    """Offsets of one string and what they leave. ``cents`` has all frets; ``rms_cents`` only those fitted.

    ``at_limit``: the search ended at its limit, so heights want correcting before offsets.
    """

    saddle_offset: float
    nut_offset: float
    rms_cents: float
    cents: Cents
    at_limit: bool = False


@dataclass(frozen=True)
class StraightSaddle:
    """One straight saddle under all strings: offset = intercept + slope·y, y the saddle point's place in plan."""

    intercept: float
    slope: float
    rms_cents: float
    fits: tuple[Fit, ...]


@dataclass(frozen=True)
class SaddleRange:
    """How far an adjustable saddle should move, as offsets from the nominal scale; ``margin`` is included."""

    nearest: float
    farthest: float
    margin: float

    @property
    def travel(self) -> float:
        return self.farthest - self.nearest


def best_offsets(
    string: FrettedString, fit_to_fret: int = 12, saddle: float | None = None, nut: float | None = None
) -> Fit:
    """The offsets that minimise the rms error over frets 1 to ``fit_to_fret``.

    saddle, nut: an offset in mm to hold, or None to find it. With both held this only evaluates. Where the frets do not
    decide (one fret, two unknowns) the smallest offsets that serve are taken; with no fret to fit they are 0.
    Raises ValueError where a held offset puts the saddle or the nut past a crown.
    """
    used = _used(string, fit_to_fret)
    held = np.array([0.0 if saddle is None else saddle, 0.0 if nut is None else nut])
    free = np.array([saddle is None, nut is None])

    def residuals(found: Array) -> Array:
        offsets = np.tile(held, (len(found), 1))
        offsets[:, free] = found
        return fretting_cents(string, offsets[:, 0], offsets[:, 1]).total[:, used]

    best = held.copy()
    limited = False
    if used.any():
        best[free], limited = _least_squares(residuals, np.array(_limits([string], [used]))[free])
    return _fit(string, used, float(best[0]), float(best[1]), limited)


def best_straight_saddle(
    strings: Sequence[FrettedString],
    saddle_y: ArrayLike,
    fit_to_fret: int = 12,
    nut: Sequence[float] | None = None,
) -> StraightSaddle:
    """The straight saddle line, slanted as it needs to be, that minimises the rms error over all strings and frets.

    saddle_y: where each string crosses the nominal saddle, mm, shape (strings,); along a slanted nominal line (multi-
    scale) the result is still a straight line, since both are linear in y. nut: offsets to hold, or None to find each
    string's own together with the line.
    """
    y = np.asarray(saddle_y, dtype=float)
    scale = float(np.abs(y).max(initial=0.0)) or 1.0
    used = [_used(string, fit_to_fret) for string in strings]
    count = len(strings)

    def offsets(found: Array) -> tuple[Array, Array]:
        saddles = found[:, :1] + found[:, 1:2] * (y / scale)
        nuts = found[:, 2:] if nut is None else np.broadcast_to(np.asarray(nut, dtype=float), (len(found), count))
        return saddles, nuts

    def residuals(found: Array) -> Array:
        saddles, nuts = offsets(found)
        return np.concatenate(
            [fretting_cents(string, saddles[:, i], nuts[:, i]).total[:, used[i]] for i, string in enumerate(strings)],
            axis=1,
        )

    best, limited = np.zeros(2 + (count if nut is None else 0)), False
    if any(u.any() for u in used):
        saddle_limit, nut_limit = _limits(strings, used)
        limits = np.array([saddle_limit / 2, saddle_limit / 2] + [nut_limit] * (best.size - 2))
        best, limited = _least_squares(residuals, limits)
    saddles, nuts = offsets(best[np.newaxis])
    fits = tuple(
        _fit(string, used[i], float(saddles[0, i]), float(nuts[0, i]), limited) for i, string in enumerate(strings)
    )
    errors = [fit.cents.total[u] for fit, u in zip(fits, used, strict=True)]
    return StraightSaddle(float(best[0]), float(best[1] / scale), _rms(np.concatenate(errors)), fits)


def saddle_range(saddle_offsets: Sequence[float], margin: float = SADDLE_MARGIN) -> SaddleRange:
    """The range for a set of strings: from the least to the greatest offset, and ``margin`` beyond both."""
    return SaddleRange(min(saddle_offsets) - margin, max(saddle_offsets) + margin, margin)


def _used(string: FrettedString, fit_to_fret: int) -> NDArray[np.bool_]:
    return string.playable & (np.arange(1, string.crown_x.size + 1) <= fit_to_fret)


def _fit(string: FrettedString, used: NDArray[np.bool_], saddle: float, nut: float, limited: bool) -> Fit:
    cents = fretting_cents(string, saddle, nut)
    return Fit(saddle, nut, _rms(cents.total[used]), cents, limited)


def _rms(errors: Array) -> float:
    return float(np.sqrt(np.mean(errors**2))) if errors.size else 0.0


def _limits(strings: Sequence[FrettedString], used: Sequence[NDArray[np.bool_]]) -> tuple[float, float]:
    """How far the search may move saddle and nut: a quarter of the way to the nearest crown of any string."""
    crowns = [string.crown_x[string.playable] for string, u in zip(strings, used, strict=True) if u.any()]
    ends = [string.saddle_x for string, u in zip(strings, used, strict=True) if u.any()]
    saddle = min(end - float(x.max()) for end, x in zip(ends, crowns, strict=True))
    return saddle / 4, min(float(x.min()) for x in crowns) / 4


def _least_squares(residuals: Callable[[Array], Array], limits: Array) -> tuple[Array, bool]:
    """(the parameters within ±limits that minimise the sum of squares, whether one of them stands at its limit).

    residuals takes parameters of shape (trials, parameters) to (trials, residuals). Gauss–Newton settles what is
    smooth and inside, in about five calls; scipy's bounded solver has the rest.
    """
    best = _gauss_newton(residuals, limits) if limits.size else np.zeros(0)
    if best is None:
        from scipy.optimize import least_squares

        best = least_squares(
            lambda at: residuals(at[np.newaxis])[0],
            np.zeros(limits.size),
            bounds=(-limits, limits),
            jac="3-point",
            xtol=1e-12,
            ftol=1e-12,
            gtol=1e-12,
        ).x
    return best, bool(np.any(np.abs(best) > 0.999 * limits))


def _gauss_newton(residuals: Callable[[Array], Array], limits: Array) -> Array | None:
    """Gauss–Newton with central differences, from 0; a step that makes it worse is halved.

    One call of ``residuals`` gives the value and all the slopes. Where they leave a direction open the shortest step is
    taken. None where it leaves the limits or does not settle.
    """
    count = limits.size
    nudge = 1e-3
    around = nudge * np.concatenate([np.zeros((1, count)), np.eye(count), -np.eye(count)])
    at = here = step = np.zeros(count)
    cost = np.inf
    for _ in range(20):
        values = residuals(at + around)
        now = float(values[0] @ values[0])
        worse = now > cost * (1 + 1e-9) + 1e-18
        if worse:
            step = step / 2
        else:
            here, cost = at, now
            slopes = (values[1 : count + 1] - values[count + 1 :]) / (2 * nudge)
            step = np.linalg.lstsq(slopes.T, -values[0], rcond=1e-7)[0]
        at = here + step
        if np.any(np.abs(at) > limits):
            return None
        if np.abs(step).max() < 1e-6:
            return None if worse else at
    return None

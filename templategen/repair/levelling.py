"""Levelling: which crowns to file and by how much, along every line that was measured.

profile   heights of the crowns as found, per fret and line, each line up to a straight line of its own
level     the straight line, less the fall-away asked for, that crowns are filed down to
filing    one plan: what it takes off every crown, and what that leaves

Four plans, side by side:

touch_all          one level under all crowns, as high as it can be: maximise Σ level with level ≤ z. It is the edge of
                   the crowns' lower convex hull that is over their mean station (linear programming duality)
leave_low          the same level higher by δ: crowns up to δ under it are left alone
replace            touch_all with up to m frets replaced instead: a mixed-integer programme small enough to try every
                   choice, which is needed since the best m to replace need not hold the best m − 1
every_note_clears  the least filed in all with which a pull of the headroom asked for clears from every fretted place,
                   the strings' ends held (``repair.clearing``)

Nothing here knows a survey file; arrays are (frets, lines), NaN where nothing was measured.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from dataclasses import replace as replace_fields
from functools import cached_property
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from templategen.instrument.arrays import Array, fixed

LEAST_FILED = 0.0005
"""mm: less is none, the least that is printed."""
CHUNK = 20_000  # choices tried at a time
MOST_CHOICES = 500_000
"""Where there are more, on boards with very many frets, fewer of them are replaced."""


@dataclass(frozen=True)
class CrownProfile:
    """Crowns as found, neck straight and strings off.

    lines: names of the lines. frets: their numbers, (frets,). x: stations from the nut in plan, rising; z: heights;
    fall: how far the level is to have dropped by there; pm: expanded uncertainty of z; height: crown over the wood, and
    width: across it, both as found; sounding: from the crown to the saddle. All but the first two (frets, lines).
    """

    lines: tuple[str, ...]
    frets: Array
    x: Array
    z: Array
    fall: Array
    pm: Array
    height: Array
    width: Array
    sounding: Array

    @cached_property
    def raised(self) -> Array:
        """Heights with the fall-away added, so that the level is straight; (frets, lines)."""
        return fixed(self.z + self.fall)

    @cached_property
    def crown_radius(self) -> Array:
        """ρ = (w²/4 + h²)/(2h), the circle over a crown's width and height; (frets, lines)."""
        return fixed((self.width**2 / 4 + self.height**2) / (2 * self.height))


@dataclass(frozen=True)
class Filing:
    """One plan. replaced: fret numbers. a, b: of the straight level a + b·x on every line, (lines,), NaN where the plan
    has none. removed: NaN where replaced or not measured, (frets, lines)."""

    plan: str
    profile: CrownProfile
    replaced: tuple[int, ...]
    a: Array
    b: Array
    removed: Array

    @property
    def most(self) -> float:
        """Most that is taken off one crown."""
        return float(np.nanmax(self.removed, initial=0.0))

    @property
    def total(self) -> float:
        return float(np.nansum(self.removed))

    @property
    def filed(self) -> int:
        """How many crowns are filed, each line counted."""
        return int((np.nan_to_num(self.removed) > LEAST_FILED).sum())

    @cached_property
    def worth_filing(self) -> NDArray[np.bool_]:
        """Whether a crown is to be filed by more than its reading's own ±; (frets, lines)."""
        return np.nan_to_num(self.removed) > np.maximum(self.profile.pm, LEAST_FILED)

    @cached_property
    def level(self) -> Array:
        """What is filed down to, NaN where the plan has no straight level; (frets, lines)."""
        return fixed(self.a + self.b * self.profile.x - self.profile.fall)

    def without(self, replaced: tuple[int, ...]) -> Filing:
        """The same with these frets replaced: nothing is filed off them."""
        if replaced == self.replaced:
            return self
        new = np.isin(self.profile.frets, replaced)
        return replace_fields(self, replaced=replaced, removed=fixed(np.where(new[:, None], np.nan, self.removed)))

    @cached_property
    def crown_left(self) -> Array:
        """Height found less what is filed, NaN where not measured or replaced; (frets, lines)."""
        return fixed(self.profile.height - self.removed)

    @property
    def least_crown_left(self) -> float | None:
        return float(np.nanmin(self.crown_left)) if np.isfinite(self.crown_left).any() else None

    @cached_property
    def flat(self) -> Array:
        """Width of the flat to crown again, 2·√(2ρt − t²), t the depth filed (a circle's chord); (frets, lines)."""
        t = np.minimum(self.removed, self.profile.crown_radius)
        return fixed(2 * np.sqrt(2 * self.profile.crown_radius * t - t * t))

    @cached_property
    def cents(self) -> Array:
        """How sharp the note is until the crown is round again: the string leaves the flat's edge on the saddle's side,
        1200·log₂(L/(L − flat/2)); (frets, lines)."""
        length = self.profile.sounding
        return fixed(1200 * np.log2(length / (length - self.flat / 2)))


# ------------------------------------------------------------------------------------------------------- the plans


def touch_all(p: CrownProfile, replaced: Iterable[int] = (), plan: str = "touch_all", left_low: float = 0.0) -> Filing:
    """The highest level that no crown lies under by more than ``left_low``, without the replaced frets."""
    out = tuple(sorted(replaced))
    kept = ~np.isin(p.frets, out)
    lines = [highest_line(*_measured(p, n, kept)) for n in range(len(p.lines))]
    a, b = np.array(lines).T
    a = a + left_low
    removed = np.maximum(p.raised - (a + b * p.x), 0.0)
    # a crown that the level touches is not filed, whatever the last digit says
    removed[removed < 1e-12] = 0.0
    removed[~kept] = np.nan
    return Filing(plan, p, out, fixed(a), fixed(b), fixed(removed))


def leave_low(p: CrownProfile, low: float) -> Filing:
    return touch_all(p, plan="leave_low", left_low=low)


def replace(p: CrownProfile, count: int) -> Filing:
    """touch_all with the ``count`` frets replaced whose absence leaves the least to file."""
    return touch_all(p, _costliest(p, count), plan="replace")


def replacements(p: CrownProfile, up_to: int) -> tuple[Filing, ...]:
    """One plan each with 1, 2 … frets replaced, as long as each further one is of use."""
    found: list[Filing] = []
    least = touch_all(p).total
    for count in range(1, min(up_to, len(p.frets) - 1) + 1):
        if comb(len(p.frets), count) > MOST_CHOICES:
            break
        made = replace(p, count)
        if made.total > least - LEAST_FILED:
            break
        found.append(made)
        least = made.total
    return tuple(found)


def highest_line(x: Array, z: Array) -> tuple[float, float]:
    """a, b of the straight line a + b·x under all points that is highest over their mean x; NaN without a point.

    The lower convex hull by Andrew's monotone chain (1979); its edge over the mean is the line. x rises.
    """
    if len(x) == 0:
        return np.nan, np.nan
    hull: list[int] = []
    for n in range(len(x)):
        while len(hull) > 1 and _below(x, z, hull[-2], n, hull[-1]):
            hull.pop()
        hull.append(n)
    if len(hull) == 1:
        return float(z[0]), 0.0
    right = min(max(int(np.searchsorted(x[hull], x.mean())), 1), len(hull) - 1)
    i, j = hull[right - 1], hull[right]
    b = (z[j] - z[i]) / (x[j] - x[i])
    return float(z[i] - b * x[i]), float(b)


def _below(x: Array, z: Array, i: int, j: int, k: int) -> bool:
    """Whether the line from i to j passes under k, or through it."""
    return bool((z[k] - z[i]) * (x[j] - x[i]) >= (z[j] - z[i]) * (x[k] - x[i]))


def _measured(p: CrownProfile, line: int, kept: NDArray[np.bool_]) -> tuple[Array, Array]:
    there = kept & np.isfinite(p.raised[:, line])
    return p.x[there, line], p.raised[there, line]


def _costliest(p: CrownProfile, count: int) -> tuple[int, ...]:
    """The ``count`` frets without which the least is filed of the rest, every choice of them tried.

    A level is the straight line through two crowns that stay, with no crown that stays under it; so the lines through
    all pairs are drawn once, each with the crowns that it leaves under it, and a choice is judged by which are gone.
    """
    choices = np.array(list(combinations(range(len(p.frets)), count)))
    filed = np.concatenate([_filed(p, part, count) for part in np.array_split(choices, len(choices) // CHUNK + 1)])
    best = choices[int(np.argmin(np.round(filed, 9)))]  # the first of equals
    return tuple(int(n) for n in p.frets[best])


def _filed(p: CrownProfile, choices: NDArray[np.int_], count: int) -> Array:
    """What touch_all files without each choice of frets, (choices,)."""
    stays = np.ones((len(choices), len(p.frets)))
    stays[np.arange(len(choices))[:, None], choices] = 0.0
    total = np.zeros(len(choices))
    for line in range(len(p.lines)):
        there = np.isfinite(p.raised[:, line])
        x, z, kept = p.x[there, line], p.raised[there, line], stays[:, there]
        i, j = np.triu_indices(len(x), 1)
        b = (z[j] - z[i]) / (x[j] - x[i])
        a = z[i] - b * x[i]
        under = z < a[:, None] + b[:, None] * x - 1e-12
        few = under.sum(1) <= count
        i, j, a, b, under = i[few], j[few], a[few], b[few], under[few]
        bare = (kept @ under.T == 0) & (kept[:, i] > 0) & (kept[:, j] > 0)
        level = np.where(bare, kept.sum(1)[:, None] * a + (kept @ x)[:, None] * b, -np.inf)
        highest = level.max(1, initial=-np.inf)
        total += np.where(np.isfinite(highest), kept @ z - highest, 0.0)
    return total

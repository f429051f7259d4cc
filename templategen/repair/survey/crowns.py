"""Crowns along lines, neck straight: how high each stands over the others, how much of it is left.

profile   z = −gap under a straightedge, or what rocker readings add up to; either up to a straight line, since what
          the straightedge lies on is the crowns themselves
rocker    three crowns, fret n in the middle. One end held down on its crown, the other stands up by a gap: then crown
          n stands gap·d_held/(d_held + d_free) over the straight line of its neighbours, d the distances from it to
          them. A low crown shows as a gap under the middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.repair.survey.rules import fractions
from templategen.repair.survey.tools import K, Reading, by_feelers, graduated, of_reads, on_calipers, rectangular
from templategen.spec.survey.models import CrownReadings, LineRead, Rocker, Survey
from templategen.spec.survey.values import ByFret, Reads


@dataclass(frozen=True)
class CrownsFound:
    """Arrays (frets, lines), NaN where nothing was read.

    lines: "bass", "treble", "centre" or string numbers. frets: their numbers, (frets,). z: heights, each line up to a
    straight line of its own; z_u of them. height: crown over the wood; width: across it. new_height: of a crown
    without wear; named: whether that is the wire's, else the highest that was read.
    """

    lines: tuple[LineRead, ...]
    frets: Array
    z: Array
    z_u: Array
    height: Array
    height_u: Array
    width: Array
    new_height: float | None
    named: bool

    @property
    def z_pm(self) -> Array:
        return fixed(K * self.z_u)

    @cached_property
    def wear(self) -> Array:
        """New height less what is left, 0 at least."""
        if self.new_height is None:
            return fixed(np.full(self.height.shape, np.nan))
        return fixed(np.maximum(self.new_height - self.height, 0.0))

    @property
    def names(self) -> tuple[str, ...]:
        """As the levelling plans name lines: a string by its number."""
        return tuple(map(str, self.lines))

    @property
    def profiled(self) -> bool:
        return bool(np.isfinite(self.z).any())


def crowns_found(survey: Survey, new_height: float | None = None) -> CrownsFound | None:
    """new_height: of the wire's crown, if a spec names it; else the highest that was read. None where nothing was."""
    crowns, last = survey.crowns, survey.scale.fret_count
    if crowns is None or not any((crowns.under_straightedge, crowns.rocker, crowns.height, crowns.width)):
        return None
    frets = np.arange(1, last + 1)
    z, u = _profile(survey, crowns, last)
    calipers = survey.tools.calipers
    height, height_u = _over_lines(crowns.height, crowns, last, lambda reads: on_calipers(reads, calipers))
    width, _ = _over_lines(crowns.width, crowns, last, lambda reads: on_calipers(reads, calipers))
    highest = float(np.nanmax(height)) if np.isfinite(height).any() else None
    return CrownsFound(
        crowns.lines, fixed(frets), fixed(z), fixed(u), fixed(height), fixed(height_u), fixed(width),
        highest if new_height is None else new_height, new_height is not None,
    )  # fmt: skip


def _profile(survey: Survey, crowns: CrownReadings, last: int) -> tuple[Array, Array]:
    feelers = survey.tools.feelers
    if crowns.rocker is not None:
        return _rocked(survey, crowns.rocker, crowns, last)
    z, u = _over_lines(crowns.under_straightedge, crowns, last, lambda reads: by_feelers(reads, feelers))
    return -z, u


def _over_lines(
    readings: ByFret[tuple[Reads, ...]] | None, crowns: CrownReadings, last: int, read: object
) -> tuple[Array, Array]:
    """Values and their u by fret and line; one reading for all lines stands on each."""
    values, u = (np.full((last, len(crowns.lines)), np.nan) for _ in range(2))
    for fret, lines in readings.by_number(last).items() if readings is not None else ():
        for line in range(len(crowns.lines)):
            reads = lines[line if len(lines) > 1 else 0]
            if reads:
                found: Reading = read(reads)  # type: ignore[operator]
                values[fret - 1, line], u[fret - 1, line] = found.value, found.u
    return values, u


# ------------------------------------------------------------------------------------------------------------ rocker


def _rocked(survey: Survey, rocker: ByFret[Rocker], crowns: CrownReadings, last: int) -> tuple[Array, Array]:
    """Heights over the straight line of the outermost crowns that a rocker lay on, line by line."""
    z, u = (np.full((last, len(crowns.lines)), np.nan) for _ in range(2))
    at = fractions(survey.scale, np.arange(0.0, last + 1))
    by_fret = rocker.by_number(last)
    if not by_fret:
        return z, u
    for line in range(len(crowns.lines)):
        for run in _runs([n for n, each in by_fret.items() if _read(each, line)]):
            proud = [_proud(at[n - 1 : n + 2], by_fret[n], line, survey.tools.feelers.step) for n in run]
            rows = slice(run[0] - 2, run[-1] + 1)
            z[rows, line], u[rows, line] = added_up(at[run[0] - 1 : run[-1] + 2], proud)
    return z, u


def _read(rocker: Rocker, line: int) -> bool:
    return any(side is not None and side[line] for side in (rocker.gap, rocker.low))


def _runs(frets: list[int]) -> list[list[int]]:
    """Frets in runs without a gap: the longest alone, since between two runs nothing ties their heights together."""
    runs: list[list[int]] = []
    for fret in frets:
        if runs and runs[-1][-1] == fret - 1:
            runs[-1].append(fret)
        else:
            runs.append([fret])
    return sorted(runs, key=len)[-1:]


def _proud(at: Array, rocker: Rocker, line: int, step: float) -> Reading:
    """How far the middle of three crowns, at ``at``, stands over its neighbours' line; − is low."""
    gap = rocker.gap[line] if rocker.gap is not None else ()
    low = rocker.low[line] if rocker.low is not None else ()
    toward = {"nut": at[1] - at[0], "bridge": at[2] - at[1]}
    free = toward[rocker.free or "bridge"]
    share = float(1 - free / (at[2] - at[0]))
    if gap and max(gap) > 0:
        read = of_reads(gap, graduated(step), step / 2)
        return Reading(read.value * share, read.u * share, read.count)
    if low and max(low) > 0:
        read = of_reads(low, graduated(step), step / 2)
        return Reading(-read.value, read.u, read.count)
    return Reading(0.0, rectangular(step))  # neither rocks nor shows light: within a step either way


def added_up(at: Array, proud: list[Reading]) -> tuple[Array, Array]:
    """Heights of crowns at ``at`` and their u, the first and the last at 0, from how far each of the others stands over
    the straight line of its neighbours: the equations z_n − (share of both neighbours) = proud, solved together."""
    count = len(at)
    system = np.eye(count)
    for row in range(1, count - 1):
        before = (at[row + 1] - at[row]) / (at[row + 1] - at[row - 1])
        system[row, row - 1], system[row, row + 1] = -before, before - 1
    back = np.linalg.inv(system)[:, 1:-1]
    values = np.array([each.value for each in proud])
    u = np.array([each.u for each in proud])
    return np.asarray(back @ values), np.asarray(np.sqrt((back**2) @ (u**2)))

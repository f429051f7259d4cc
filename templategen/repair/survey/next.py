"""What to measure next: the one reading that would make a number surer, from its covariance.

A reading x of uncertainty u adds xᵀx/u² to the information about a fit's parameters, so what it would leave is known
before it is taken (Sherman–Morrison; any text on least squares).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templategen.instrument.arrays import Array
from templategen.repair.survey.board import USUAL_WIDTH, RoundFound, by_rise
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.frets import FretLine
from templategen.repair.survey.rules import fractions
from templategen.repair.survey.tools import K, graduated
from templategen.spec.survey.models import Rise

CHORD = 40.0  # mm: what calipers span across a board
LEAST_U = 1e-9  # 1/mm, of a board read as flat
WORTH = 0.9  # a reading that leaves more of an uncertainty than this is not worth taking


@dataclass(frozen=True)
class NextReading:
    """what: "shift", "scale", "round", or "round_first" where one end alone was read. where: the fret to read at, or
    "rule". now, then: the ± before and after. line: of frets."""

    what: str
    where: str
    now: float
    then: float
    line: str = "centre"


def next_readings(found: AsFound) -> tuple[NextReading, ...]:
    """At most one for each number whose ± hides something."""
    steps: list[NextReading] = []
    if found.frets is not None:
        for line in found.frets.lines:
            steps += _of_line(line, found)
    if found.board is not None and found.board.round is not None:
        steps += _of_round(found.board.round, found)
    return tuple(steps)


def _of_line(line: FretLine, found: AsFound) -> Iterator[NextReading]:
    """A nut that may or may not stand in its place asks for the fret that tells most about it; a scale whose ± is the
    rule's asks for a better rule."""
    if line.scale.u and line.u_rule**2 > line.scale.u**2 / 2:
        better = math.sqrt(max(line.scale.u**2 - line.u_rule**2, 0.0))
        yield NextReading("scale", "rule", line.scale.pm, K * better, line.line)
    if line.shift is None or len(line.fit.values) < 2 or abs(line.shift.value) > line.shift.pm:
        return
    covariance = line.fit.covariance
    # where readings scatter more than they say, so will this one
    u = graduated(found.survey.tools.rule.graduation) * max(1.0, line.fit.s)
    numbers = np.arange(1.0, line.law.fret_count + 1)
    rows = np.stack([fractions(line.law, numbers, line.rule.step), np.ones_like(numbers)], 1)
    carried = rows @ covariance
    left = covariance[1, 1] - carried[:, 1] ** 2 / (u * u + (carried * rows).sum(1))
    best = int(left.argmin())
    now = K * math.sqrt(covariance[1, 1])
    then = K * math.sqrt(max(float(left[best]), 0.0))
    if then < WORTH * now:
        yield NextReading("shift", str(best + 1), now, then, line.line)


def _of_round(found: RoundFound, survey: AsFound) -> Iterator[NextReading]:
    """A shape that cannot be told asks for a rise over a chord where that leaves least open between the two ends: how
    far their edges may lie apart at one crown line, Δκ·w²/8."""
    if found.shape != "cannot tell":
        return
    law = survey.survey.scale
    shares = fractions(law, np.arange(0.0, law.fret_count + 1))
    at = np.array([station.share for station in found.stations]) / shares[-1]
    u = np.maximum([station.round.u for station in found.stations], LEAST_U)
    rise = by_rise(Rise(chord=CHORD, height=(CHORD**2 * found.all.curvature / 8,)), survey.survey.tools.calipers).u
    apart = [_apart(np.append(at, share / shares[-1]), np.append(u, rise)) for share in shares]
    best = int(np.argmin(apart))
    now = _apart(at, u) if len(set(at)) > 1 else math.inf
    edge = K * USUAL_WIDTH**2 / 8
    where = "nut" if best == 0 else "last" if best == law.fret_count else str(best)
    if apart[best] < WORTH * now:
        yield NextReading("round" if math.isfinite(now) else "round_first", where, edge * now, edge * apart[best])


def _apart(at: Array, u: Array) -> float:
    """u of the difference between the curvatures at both ends, which readings at these places leave."""
    rows = np.stack([1 - at, at], 1) / u[:, None]
    information = rows.T @ rows
    if np.linalg.cond(information) > 1e14:
        return math.inf
    covariance = np.linalg.inv(information)
    return math.sqrt(covariance[0, 0] + covariance[1, 1] - 2 * covariance[0, 1])

"""What to measure next: the one reading that would make a number surer, from its covariance.

A reading x of uncertainty u adds xᵀx/u² to the information about a fit's parameters, so what it would leave is known
before it is taken (Sherman–Morrison; any text on least squares).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templategen.repair.survey.board import SAME_EDGE, USUAL_WIDTH, RoundFound
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.frets import FretLine
from templategen.repair.survey.rules import fractions
from templategen.repair.survey.tools import K, graduated

WORTH = 0.9  # a reading that leaves more of an uncertainty than this is not worth taking


@dataclass(frozen=True)
class NextReading:
    """what: "shift", "scale" or "round". where: the fret to read at, or "rule". now, then: the ± before and after."""

    what: str
    where: str
    now: float
    then: float


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
        yield NextReading("scale", "rule", line.scale.pm, K * better)
    if line.shift is None or len(line.fit.values) < 2 or abs(line.shift.value) > line.shift.pm:
        return
    covariance = line.fit.covariance
    u = graduated(found.survey.tools.rule.graduation)
    numbers = np.arange(1.0, line.law.fret_count + 1)
    rows = np.stack([fractions(line.law, numbers, line.rule.step), np.ones_like(numbers)], 1)
    carried = rows @ covariance
    left = covariance[1, 1] - carried[:, 1] ** 2 / (u * u + (carried * rows).sum(1))
    best = int(left.argmin())
    now = K * math.sqrt(covariance[1, 1])
    then = K * math.sqrt(max(float(left[best]), 0.0))
    if then < WORTH * now:
        yield NextReading("shift", str(best + 1), now, then)


def _of_round(found: RoundFound, survey: AsFound) -> Iterator[NextReading]:
    """A shape that cannot be told asks for a rise over a chord at the end that is known least."""
    if found.shape != "cannot tell":
        return
    ends = {0: found.at_nut, survey.survey.scale.fret_count: found.at_last}
    read = {station.fret for station in found.stations}
    at = max(ends, key=lambda fret: min((abs(fret - each) for each in read), default=0))
    edge = USUAL_WIDTH**2 / 8
    known = ends[at]
    yield NextReading(
        "round", "last" if at else "nut", K * edge * (known.u if known is not None else found.all.u), SAME_EDGE / 2
    )

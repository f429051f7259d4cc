"""The neck's bow, from gaps under a straightedge.

Between the two places it rests on, the neck is taken as a parabola: gap = 4·r·t·(1 − t), t from the one to the other,
r the deepest gap. A neck that is bent otherwise leaves gaps that this does not explain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templategen.instrument.arrays import Array
from templategen.repair.survey.fits import linear
from templategen.repair.survey.frets import FretsFound
from templategen.repair.survey.rules import fractions
from templategen.repair.survey.significance import ALPHA, misfit_chance
from templategen.repair.survey.tools import Reading, by_feelers
from templategen.spec.survey.models import Survey
from templategen.spec.survey.values import number_of

LEAST_GAPS = 3  # two do not tell a neck bent otherwise from crowns that are not level
STRAYING = 0.05
"""mm off the parabola that crowns which are not quite level do not explain (common practice, no source)."""


@dataclass(frozen=True)
class GapFound:
    """One gap. fitted: what the parabola has there."""

    fret: int
    read: Reading
    fitted: float

    @property
    def off(self) -> float:
        return self.read.value - self.fitted


@dataclass(frozen=True)
class ReliefFound:
    """depth: deepest gap between the places held; at: the fret nearest to it. start, end: those places, as shares of
    the scale. s_shaped: the gaps do not lie on one parabola."""

    depth: Reading
    at: int
    start: float
    end: float
    gaps: tuple[GapFound, ...]
    s_shaped: bool

    def over(self, start: float, end: float) -> Reading:
        """The same bow told between other places (shares of the scale): a parabola's depth goes as its length
        squared."""
        times = ((end - start) / (self.end - self.start)) ** 2
        return Reading(self.depth.value * times, self.depth.u * times, self.depth.count)


def relief_found(survey: Survey, frets: FretsFound | None) -> ReliefFound | None:
    """None where it was not read."""
    relief, last = survey.relief, survey.scale.fret_count
    if relief is None or not relief.gap.items:
        return None
    shares = fractions(survey.scale, np.arange(0.0, last + 1))
    start, end = (_share(at, shares, last, frets) for at in relief.held)
    read = {fret: by_feelers(reads, survey.tools.feelers) for fret, reads in relief.gap.by_number(last).items()}
    t = (shares[list(read)] - start) / (end - start)
    fit = linear((4 * t * (1 - t))[:, None], [each.value for each in read.values()], [each.u for each in read.values()])
    gaps = tuple(
        GapFound(fret, each, float(fitted)) for (fret, each), fitted in zip(read.items(), fit.fitted, strict=True)
    )
    middle = int(np.abs(shares - (start + end) / 2).argmin())
    bent = len(gaps) >= LEAST_GAPS and max(abs(gap.off) for gap in gaps) > STRAYING and misfit_chance(fit) < ALPHA
    depth = Reading(float(fit.values[0]), math.sqrt(fit.covariance[0, 0]), sum(each.count for each in read.values()))
    return ReliefFound(depth, middle, start, end, gaps, bent)


def _share(at: int | float | str, shares: Array, last: int, frets: FretsFound | None) -> float:
    """Where a place lies, as a share of the scale; a distance by the scale as found."""
    if isinstance(at, float):
        assert frets is not None
        return at / frets.lines[0].scale.value
    return float(shares[number_of(str(at), last)])

"""The board's round and outline.

Everything is fitted as curvature κ = 1/R, whose readings are nearly Gaussian; R itself is not, and has no limit on a
flat board. Gauges say that κ lies between two of them; a rise s over a chord w is κ = 8s/(w² + 4s²) exactly; depths
across give the circle nearest to them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import mean
from typing import Literal

import numpy as np

from templategen.instrument.arrays import Array
from templategen.repair.survey.fits import LinearFit, circle, linear
from templategen.repair.survey.rules import fractions
from templategen.repair.survey.significance import ALPHA, better_chance
from templategen.repair.survey.tools import K, Reading, by_feelers, on_calipers, rectangular
from templategen.spec.survey.models import Calipers, Gauges, ReadProfile, Rise, Survey
from templategen.spec.survey.values import ByFret, Reads

RoundShape = Literal["cylinder", "cone", "cannot tell"]
LEAST_STATIONS = 3
SAME_EDGE = 0.1
"""mm: two rounds whose edges lie no farther apart, at the same crown line, are one (design rule of this project: what
a board is sanded and measured to)."""
EXACT = 1e-9  # 1/mm: a flat board read as flat agrees with a flat one
USUAL_WIDTH = 50.0  # mm, where no width was read: half way between nut and body of most boards


@dataclass(frozen=True)
class Round:
    """A radius with the ends of its interval, k = 2; infinite where the board may be flat there. curvature: 1/R."""

    curvature: float
    u: float

    @property
    def radius(self) -> float:
        return _radius(self.curvature)

    @property
    def low(self) -> float:
        return _radius(self.curvature + K * self.u)

    @property
    def high(self) -> float:
        return _radius(self.curvature - K * self.u)

    def within(self, radius: float) -> bool:
        """Whether a radius lies in the interval."""
        return abs((0.0 if math.isinf(radius) else 1 / radius) - self.curvature) <= K * self.u + EXACT


def _radius(curvature: float) -> float:
    return 1 / curvature if curvature > 1e-9 else math.inf


@dataclass(frozen=True)
class RadiusStation:
    """One place where the round was read. fret: 0 is the nut; share: of the scale; how: "gauge", "rise", "depths"."""

    fret: int
    share: float
    how: str
    round: Round


@dataclass(frozen=True)
class RoundFound:
    """The board's round. stations: in the order of the board. all: one radius for all stations; at_nut, at_last: a
    radius linear between them. The shape says which of the two holds."""

    stations: tuple[RadiusStation, ...]
    shape: RoundShape
    all: Round
    at_nut: Round | None
    at_last: Round | None

    @property
    def conical(self) -> bool:
        return self.shape == "cone"


@dataclass(frozen=True)
class BoardFound:
    """width, thickness, by fret, 0 the nut; slot_depth, slot_width, wear_depth likewise."""

    round: RoundFound | None
    width: dict[int, Reading]
    thickness: dict[int, Reading]
    slot_depth: dict[int, Reading]
    slot_width: dict[int, Reading]
    wear_depth: dict[int, Reading]


def board_found(survey: Survey) -> BoardFound | None:
    """None where nothing of the board was read."""
    board, tools, last = survey.board, survey.tools, survey.scale.fret_count
    if board is None:
        return None

    def by_calipers(readings: ByFret[Reads] | None) -> dict[int, Reading]:
        return {n: on_calipers(reads, tools.calipers) for n, reads in _by_number(readings, last).items()}

    def feelers(readings: ByFret[Reads] | None) -> dict[int, Reading]:
        return {n: by_feelers(reads, tools.feelers) for n, reads in _by_number(readings, last).items()}

    return BoardFound(
        round_found(survey),
        by_calipers(board.width),
        by_calipers(board.thickness_at_edge),
        by_calipers(board.slot_depth),
        feelers(board.slot_width),
        feelers(board.wear_depth),
    )


def _by_number(readings: ByFret[Reads] | None, last: int) -> dict[int, Reads]:
    return readings.by_number(last) if readings is not None else {}


# ---------------------------------------------------------------------------------------------------------- stations


def by_gauge(reads: Reads, gauges: Gauges) -> Round:
    """The gauge that shows no light: as near to it as half way to its neighbours. Two: the board lies between them."""
    low, high = min(reads), max(reads)
    if math.isinf(low):
        return Round(0.0, 0.0)
    if low == high:
        low, high = low - gauges.step / 2, high + gauges.step / 2
    sharp, flat = 1 / low, 0.0 if math.isinf(high) else 1 / high
    return Round((sharp + flat) / 2, rectangular((sharp - flat) / 2))


def by_rise(rise: Rise, calipers: Calipers) -> Round:
    """κ = 8s/(w² + 4s²) (circular segment, any handbook), with both readings' u through its slopes."""
    height = on_calipers(rise.height, calipers)
    chord = on_calipers((rise.chord,), calipers)
    s, w = height.value, chord.value
    below = w * w + 4 * s * s
    by_height, by_chord = 8 * (w * w - 4 * s * s) / below**2, -16 * s * w / below**2
    return Round(8 * s / below, math.hypot(by_height * height.u, by_chord * chord.u))


def by_depths(points: ReadProfile, calipers: Calipers) -> Round:
    """Depths down from a straight bar: the circle nearest to them, its height and tilt free."""
    u = on_calipers((0.0,), calipers).u
    found = circle([(y, -z) for y, z in points], u)
    return Round(found.curvature, found.u)


def _stations(survey: Survey) -> Iterator[RadiusStation]:
    board, tools, last = survey.board, survey.tools, survey.scale.fret_count
    assert board is not None
    shares = fractions(survey.scale, np.arange(0.0, last + 1))
    for fret, reads in _by_number(board.radius, last).items():
        yield RadiusStation(fret, float(shares[fret]), "gauge", by_gauge(reads, tools.gauges))
    for fret, rise in board.rise.by_number(last).items() if board.rise is not None else ():
        if isinstance(rise, Rise):
            yield RadiusStation(fret, float(shares[fret]), "rise", by_rise(rise, tools.calipers))
        else:
            yield RadiusStation(fret, float(shares[fret]), "depths", by_depths(rise, tools.calipers))


# ------------------------------------------------------------------------------------------------------------- shape


def round_found(survey: Survey) -> RoundFound | None:
    """One curvature for all stations, or a radius that grows in a line along the board: a cone only where the F test
    says so at 5 %, a cylinder where no cone that would matter is left possible, and else that it cannot be told."""
    stations = tuple(sorted(_stations(survey), key=lambda each: each.fret)) if survey.board is not None else ()
    if not stations:
        return None
    curvature = np.array([each.round.curvature for each in stations])
    u = np.maximum([each.round.u for each in stations], 1e-9)
    share = np.array([each.share for each in stations])
    one = linear(np.ones((len(share), 1)), curvature, u)
    common = _common(stations, u)
    everywhere = Round(float(one.values[0]), max(math.sqrt(one.covariance[0, 0]), common))
    if len(set(share)) < LEAST_STATIONS:
        return RoundFound(stations, "cannot tell", everywhere, None, None)
    last = float(fractions(survey.scale, np.array([float(survey.scale.fret_count)]))[0])
    cone = _cone(curvature, u, share / last)
    ends = [
        Round(float(v), max(float(s), common))
        for v, s in zip(cone.values, np.sqrt(np.diag(cone.covariance)), strict=True)
    ]
    shape: RoundShape = "cannot tell"
    if better_chance(one, cone, least_variance=1.0) < ALPHA:
        shape = "cone"
    elif _edges_apart(survey, cone, common) <= SAME_EDGE:
        shape = "cylinder"
    return RoundFound(stations, shape, everywhere, ends[0], ends[1])


def _common(stations: tuple[RadiusStation, ...], u: Array) -> float:
    """u that all gauges share and that does not average out: a round that lies between two gauges at one station lies
    between them at every other, at the same place. Of the finest gauge, by the gauges' weight among the readings."""
    gauges = np.array([each.how == "gauge" for each in stations])
    if not gauges.any():
        return 0.0
    weight = 1 / u**2
    return float(u[gauges].min() * weight[gauges].sum() / weight.sum())


def _cone(curvature: Array, u: Array, at: Array) -> LinearFit:
    """κ along a radius that is linear from the nut (at 0) to the last fret (1), by Gauss–Newton from a straight line
    in κ; that line itself where the board is nearly flat at an end. Parameters: κ at either end."""
    straight = linear(np.stack([1 - at, at], 1), curvature, u)
    ends = straight.values
    if ends.min() <= 2 * math.sqrt(straight.covariance.diagonal().max()):
        return straight
    fit = straight
    for _ in range(20):
        radius = (1 - at) / ends[0] + at / ends[1]
        fitted = 1 / radius
        slopes = np.stack([fitted**2 * (1 - at) / ends[0] ** 2, fitted**2 * at / ends[1] ** 2], 1)
        fit = linear(slopes, curvature - fitted + slopes @ ends, u)
        moved, ends = np.abs(fit.values - ends).max(), fit.values
        if moved < 1e-12 or ends.min() <= 0:
            break
    return fit if ends.min() > 0 else straight


def _edges_apart(survey: Survey, cone: LinearFit, common: float) -> float:
    """How far the edges of the flattest and the roundest end that are left possible lie apart at one crown line, mm:
    Δκ·w²/8."""
    u = max(cone.u_of([-1.0, 1.0]), math.sqrt(2) * common)
    apart = abs(float(cone.values[1] - cone.values[0])) + K * u
    widths = _by_number(survey.board.width if survey.board else None, survey.scale.fret_count)
    width = mean(mean(reads) for reads in widths.values()) if widths else USUAL_WIDTH
    return apart * width**2 / 8

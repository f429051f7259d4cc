"""Numbers of the gauges: where they are for, what is notched, and the arc that the strings form."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templategen.errors import Problem
from templategen.geometry import Span, bulge_through, circle_of_bulge, radius_of, sagitta
from templategen.geometry.camber import fit_camber
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.built import Built

CLEAR_OF_STRING = 1.0  # each side of a string, and above it
CLEAR_OF_CROWN = 1.0
LEAST_TOOTH = 1.5  # narrower teeth between notches are left out
BEFORE_SADDLE = 12.0  # how far in front of the saddle the strings' arc is taken, unless the spec says where
PAST_STRING = 6.0  # a gauge for the strings' arc runs on past the outer ones
ROUNDEST = 0.95  # of its radius that the arc of a gauge may reach to one side: beyond, its ends stand upright
LEAST_RISE = 0.1  # mm: an arc that is lower than this over its chord shows nothing (common practice, no source)
MOST_OFF = 0.25  # of its rise: strings farther off an arc do not form it (design rule of this project)
STEEPEST = 0.3  # height of the middle strings over the outer ones, as a share of the chord, that is fitted
LEAST_START = 1e-3  # mm of rise, and 1/mm of curvature, that the fit begins with at least
STRAIGHT = 20_000.0  # mm: an arc of a larger radius is a straight line to any gauge


@dataclass(frozen=True)
class Station:
    """A place on the neck that a gauge is for. name: as engraved; radius, width: of the board there."""

    name: str
    x: float
    radius: float
    width: float


def stations(i: Built) -> tuple[Station, ...]:
    """Nut, fifth fret, octave and last fret on a cone, as far as there are such frets; the octave (or the middle fret)
    alone on a cylinder, whose radius is the same everywhere; none on a flat board."""
    plan = i.plan
    if i.board.law.flat:
        return ()
    octave = np.flatnonzero(np.abs(plan.cents - 1200) < 0.5)
    rows = [int(np.flatnonzero(plan.numbers == 5)[0])] if 5 in plan.numbers else []
    rows += [int(octave[0]) if len(octave) else (len(plan.numbers) - 1) // 2]
    rows += [len(plan.numbers) - 1]
    if not i.board.law.conical:
        rows = [rows[-2]]
    found = {0.0: "nut"} if i.board.law.conical else {}
    for row in rows:
        found.setdefault(float(plan.centre_x[row]), f"fret {plan.numbers[row]:.0f}")
    return tuple(
        Station(name, x, float(i.board.radius(x)), float(plan.taper.width(x))) for x, name in sorted(found.items())
    )


@dataclass(frozen=True)
class StringNotches:
    """What a gauge that stands on the board between the strings must clear at one station.

    spans: (from y, to y), rising, outermost ones running out past the board's edge. top: height of their roofs over
    the board's crown line.
    """

    spans: tuple[Span, ...]
    top: float


def string_notches(i: Built, station: Station) -> StringNotches:
    """Notches for the strings at a station; the outer ones take the gauge's corners with them. A string that runs
    beside the board needs none."""
    y = i.plan.string_at(station.x)
    half = i.plan.gauges / 2 + CLEAR_OF_STRING
    spans = [(float(a), float(b)) for a, b in zip(y - half, y + half, strict=True)]
    low, high, edge = min(spans), max(spans), station.width / 2
    out = edge + 1.0
    edges = [(-out, low[1]), (high[0], out)]
    under = i.line.z(station.x) + float(i.strung.sag(station.x))
    return StringNotches(
        spans=merged([each for each in (*spans, *edges) if each[1] > -edge and each[0] < edge]),
        top=float((under + i.plan.gauges).max()) + CLEAR_OF_STRING,
    )


def merged(spans: list[Span], least: float = LEAST_TOOTH) -> tuple[Span, ...]:
    """Spans as few as can be: those that overlap, or leave less than ``least`` between them, become one."""
    found: list[Span] = []
    for low, high in sorted(spans):
        if found and low - found[-1][1] < least:
            found[-1] = found[-1][0], max(found[-1][1], high)
        else:
            found.append((low, high))
    return tuple(found)


@dataclass(frozen=True)
class StringArc:
    """The arc that the open strings form at x: of their undersides, or over the board, where there is no room for a
    gauge below them, of their tops.

    y, z: of those, (strings,), z over the lowest of them. start, end: the arc's ends at the outer strings,
    (y, z), y rising; rise: its height over that chord. radius: infinite where the strings lie in a line. worst:
    largest distance in z between a string and the arc.
    """

    x: float
    tops: bool
    y: Array
    z: Array
    start: tuple[float, float]
    end: tuple[float, float]
    rise: float
    radius: float
    worst: float

    @property
    def centre(self) -> tuple[float, float]:
        """(y, z); only of an arc."""
        return circle_of_bulge(self.end, self.start, bulge_through(self.end, self.start, self.rise))[0]

    @property
    def too_round(self) -> bool:
        """Whether it is so narrow that a gauge for it could not run on past the outer strings."""
        if math.isinf(self.radius):
            return False
        middle, _ = self.centre
        farthest = max(middle - self.start[0], self.end[0] - middle) + PAST_STRING
        return farthest >= ROUNDEST * self.radius

    @property
    def shows(self) -> bool:
        """Whether a gauge of this arc would tell anything of the strings."""
        return abs(self.rise) >= LEAST_RISE and self.worst <= MOST_OFF * abs(self.rise)


def string_arc(i: Built, x: float | None = None) -> StringArc:
    """The arc at x (plan frame), by default where the spec wants it, or else a little in front of the saddle.

    Fitted by least squares of the strings' distances in z (``fit_camber``). Strings that stand as high as a semicircle,
    for which no gauge is made, have the arc over their outer ones and their middle.
    """
    at = _arc_place(i) if x is None else x
    tops = at < i.plan.end_x
    y, z = i.plan.string_at(at), i.line.z(at) + (i.plan.gauges if tops else 0.0)
    order = np.argsort(y)
    y, z = y[order], z[order] - z.min()
    chord = float(y[-1] - y[0])
    middle = float(np.interp((y[0] + y[-1]) / 2, y, z) - (z[0] + z[-1]) / 2)
    if abs(middle) > STEEPEST * chord:
        radius = abs(radius_of(math.hypot(chord, float(z[-1] - z[0])), middle))
        ends, rise, worst = z[[0, -1]], middle, 0.0
    else:
        start = 1 / radius_of(chord, middle) if abs(middle) > LEAST_START else LEAST_START
        anything = np.full(len(y), 1e3)
        fit = fit_camber(y, z, z - anything, z + anything, np.ones(len(y)), start)
        ends, worst = fit.z(y[[0, -1]]), float(np.abs(fit.z(y) - z).max())
        radius, rise = (fit.radius, fit.curvature) if fit.radius <= STRAIGHT else (math.inf, 0.0)
        if rise:
            rise = math.copysign(sagitta(radius, math.hypot(chord, float(ends[1] - ends[0]))), rise)
    return StringArc(
        x=at,
        tops=tops,
        y=fixed(y),
        z=fixed(z),
        start=(float(y[0]), float(ends[0])),
        end=(float(y[-1]), float(ends[1])),
        rise=rise,
        radius=radius,
        worst=worst,
    )


def _arc_place(i: Built) -> float:
    asked = i.spec.radius_gauge
    if asked is not None and asked.string_arc_at is not None:
        return asked.string_arc_at
    return float(i.saddle.x.min()) - BEFORE_SADDLE


def gauge_problems(i: Built) -> list[Problem]:
    """A place for the strings' arc where not every string runs between its nut and its saddle."""
    nut, saddle = float(i.line.witness_x.max()), float(i.saddle.x.min())
    at = _arc_place(i)
    if nut < at < saddle:
        return []
    low, high = math.floor(nut * 10 + 1) / 10, math.ceil(saddle * 10 - 1) / 10
    return [
        Problem(
            ("radius_gauge", "string_arc_at"),
            f"must lie where every string runs between nut and saddle, from {low:.1f} to {high:.1f} mm; leave it out "
            f"for {BEFORE_SADDLE:g} mm in front of the saddle",
        )
    ]


@dataclass(frozen=True)
class Straightedge:
    """A straightedge that stands on the wood between the frets, along the centreline.

    start, end: its ends; notches: (from x, to x) over the frets; depth: of the notches; numbers: the frets' places
    and numbers, for the engraving.
    """

    start: float
    end: float
    notches: tuple[Span, ...]
    depth: float
    numbers: tuple[tuple[float, int], ...]


def straightedge(i: Built) -> Straightedge:
    """Notches stand over each fret's crown with room on both sides; a slanted crown is wider along the centreline by
    1/cos of its slant."""
    plan, wire = i.plan, i.spec.fret_wire
    lean = plan.treble_ends - plan.bass_ends
    half = wire.crown_width / 2 * np.hypot(lean[:, 0], lean[:, 1]) / np.abs(lean[:, 1]) + CLEAR_OF_CROWN
    spans = [(float(x - h), float(x + h)) for x, h in zip(plan.centre_x, half, strict=True)]
    start = plan.nut_x + 0.5
    crown = wire.crown_height
    if i.strung.zero_crown_height is not None:
        crown = max(crown, i.strung.zero_crown_height)
    whole = merged([(start - LEAST_TOOTH, start), *spans])
    notches = tuple((max(low, start), high) for low, high in whole if high > start)
    end = max(plan.end_x, notches[-1][1] + 2.0)
    return Straightedge(
        start=start,
        end=end,
        notches=notches,
        depth=crown + CLEAR_OF_CROWN,
        numbers=tuple((float(x), int(n)) for x, n in zip(plan.centre_x, plan.numbers, strict=True)),
    )

"""The saddle's top as ways of one round section: lands and ramps. Saddle frame throughout.

The top is what a round of one radius leaves that is led along a line of straight stretches: a land for each string,
square to the faces, which touches the string exactly at its witness, and ramps between the lands. Neighbouring
stretches have one radius and meet in the plane that halves their turn, so that no step stands between them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from templategen.drawing.model import Box, Outline
from templategen.geometry import Point3, arc_bulge
from templategen.geometry.camber import Camber
from templategen.instrument.arrays import Array
from templategen.instrument.saddle.piece import SaddlePiece

PAST = 4.0  # how far the outer lands run past the ends


@dataclass(frozen=True)
class Stretch:
    """One straight way of the round's middle. string: whose land it is, counted from 0, or None of a ramp."""

    start: Point3
    end: Point3
    string: int | None

    @property
    def way(self) -> Array:
        run = np.subtract(self.end, self.start)
        return np.asarray(run / np.linalg.norm(run))


def stretches(piece: SaddlePiece) -> tuple[Stretch, ...]:
    """From −x to +x, each beginning where the last ended."""
    order = np.argsort(piece.along)
    ends = []
    for n in order.tolist():
        slope = piece.top.slope_at(float(piece.along[n]))
        along = np.array([1.0, 0.0, slope]) / math.hypot(1.0, slope)
        up = np.cross(along, piece.ways[n])
        middle = np.array([piece.along[n], piece.across[n], piece.height[n]]) - piece.radius * up / np.linalg.norm(up)
        before = after = float(piece.lands[n]) / 2
        if n == order[0]:
            before = float(piece.along[n]) - piece.low + PAST
        if n == order[-1]:
            after = piece.high - float(piece.along[n]) + PAST
        ends.append((_place(middle - before * along), _place(middle + after * along), n))
    found = [Stretch(*ends[0])]
    for (_, last, _), (start, end, n) in pairwise(ends):
        found += [Stretch(last, start, None), Stretch(start, end, n)]
    return tuple(found)


def mitres(ways: tuple[Stretch, ...]) -> tuple[tuple[Point3, Array], ...]:
    """Where neighbouring stretches meet: a point, and the unit normal toward +x of the plane between them."""
    found = []
    for a, b in pairwise(ways):
        normal = a.way + b.way
        found.append((b.start, np.asarray(normal / np.linalg.norm(normal))))
    return tuple(found)


def top_z(piece: SaddlePiece, x: Array, y: Array) -> Array:
    """The top over places of one shape: on each round where its own stretch is."""
    ways = stretches(piece)
    between = mitres(ways)
    found = np.full(np.broadcast(x, y).shape, np.nan)
    for n, stretch in enumerate(ways):
        z = _over(stretch, piece.radius, x, y)
        at = np.stack(np.broadcast_arrays(x, y, z), -1)
        inside = ~np.isnan(z)
        if n > 0:
            inside &= (at - between[n - 1][0]) @ between[n - 1][1] >= -1e-9
        if n < len(between):
            inside &= (at - between[n][0]) @ between[n][1] <= 1e-9
        found = np.where(inside, z, found)
    return found


def _over(stretch: Stretch, radius: float, x: Array, y: Array) -> Array:
    """Upper height of the round about one stretch: |p − (p·d)d| = r solved for z."""
    d = stretch.way
    px, py = x - stretch.start[0], y - stretch.start[1]
    a = 1 - d[2] ** 2
    flat = px * d[0] + py * d[1]
    b = -flat * d[2]
    c = px * px + py * py - flat * flat - radius * radius
    with np.errstate(invalid="ignore"):
        return np.asarray(stretch.start[2] + (-b + np.sqrt(b * b - a * c)) / a)


def plan_outline(piece: SaddlePiece) -> Outline:
    """Seen from above, counterclockwise from the −x back corner."""
    box = Box(piece.low, 0.0, piece.high, piece.thickness)
    if not piece.round_ends:
        return Outline.rectangle(box)
    half = piece.thickness / 2
    x0, x1 = box.x0 + half, box.x1 - half
    return Outline(((x0, 0.0), (x1, 0.0), (x1, box.y1), (x0, box.y1)), (0.0, 1.0, 0.0, 1.0))


def cut_top(piece: SaddlePiece) -> Camber:
    """The one arc nearest to the strings' heights, lifted until none of them lies above it."""
    lift = max(0.0, float((piece.height - piece.top.z(piece.along)).max()))
    return piece.top.raised(lift)


def front_outline(piece: SaddlePiece) -> Outline:
    """Seen from the bridge's end, counterclockwise from the −x lower corner: underside, end, top arc, end."""
    x0, x1, top = piece.low, piece.high, cut_top(piece)
    low0, low1 = (float(piece.seat_z(x)) for x in (x0, x1))
    right, left = ((x, float(top.z(x))) for x in (x1, x0))
    return Outline(
        ((x0, low0), (x1, low1), right, left),
        (
            arc_bulge((x0, low0), (x1, low1), piece.seat_radius),
            0.0,
            arc_bulge(right, left, top.radius, upward=top.curvature > 0),
            0.0,
        ),
    )


def _place(point: Array) -> Point3:
    x, y, z = point.tolist()
    return x, y, z

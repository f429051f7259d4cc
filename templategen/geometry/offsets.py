"""Outlines of lines and arcs moved by a cutter's half width, exactly: lines stay lines and arcs stay arcs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templategen.errors import OurBug
from templategen.geometry.circles import Point, circle_of_bulge

_Way = tuple[Point, float, float]
"""A supporting line (unit normal to the right of the way, 0, distance) or circle (centre, radius, 0)."""

_TOUCHING = 1e-7  # mm by which a line may miss the circle that it touches


def counterclockwise(corners: Sequence[Point]) -> tuple[Point, ...]:
    """The polygon in that sense, its first corner kept."""
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True))
    return tuple(corners) if area > 0 else (corners[0], *reversed(corners[1:]))


def offset_contour(
    points: Sequence[Point], bulges: Sequence[float], by: float
) -> tuple[tuple[Point, ...], tuple[float, ...]]:
    """Points and bulges of a counterclockwise contour moved outward by ``by`` mm, inward where negative.

    Corners are sharp: neighbouring stretches are prolonged or shortened until they meet. An arc keeps its centre; its
    radius grows where it bulges outward and shrinks where it is hollow. Raises OurBug where an arc would vanish or
    neighbours no longer meet.
    """
    count = len(points)
    ways = [_moved(points[n], points[(n + 1) % count], bulges[n], by) for n in range(count)]
    found = [_meeting(ways[n - 1], ways[n], points[n], by) for n in range(count)]
    turned = tuple(_bulge(found[n], found[(n + 1) % count], ways[n][1], bulges[n]) for n in range(count))
    return tuple(found), turned


def _moved(start: Point, end: Point, bulge: float, by: float) -> _Way:
    if bulge:
        centre, old = circle_of_bulge(start, end, bulge)
        radius = old + math.copysign(by, bulge * by)
        if not radius > 0:
            raise OurBug(f"an arc of {old:g} mm cannot be moved by {by:g} mm")
        return centre, radius, 0.0
    (x0, y0), (x1, y1) = start, end
    length = math.hypot(x1 - x0, y1 - y0)
    normal = ((y1 - y0) / length, -(x1 - x0) / length)
    return normal, 0.0, normal[0] * x0 + normal[1] * y0 + by


def _meeting(before: _Way, after: _Way, corner: Point, by: float) -> Point:
    """Where two moved stretches meet, nearest to the corner they met at."""
    if before[1] == 0 and after[1] == 0:
        (a, b), (c, d) = before[0], after[0]
        cross = a * d - b * c
        if abs(cross) < 1e-12:  # one runs straight on into the other
            return corner[0] + a * by, corner[1] + b * by
        return (before[2] * d - after[2] * b) / cross, (a * after[2] - c * before[2]) / cross
    if before[1] == 0:
        found = _line_circle(before, after)
    elif after[1] == 0:
        found = _line_circle(after, before)
    else:
        found = _circles(before, after, corner)
    return min(found, key=lambda p: math.dist(p, corner))


def _line_circle(line: _Way, circle: _Way) -> tuple[Point, ...]:
    (a, b), _, distance = line
    (x, y), radius, _ = circle
    off = distance - (a * x + b * y)
    if abs(off) > radius + _TOUCHING:
        raise OurBug("moved outlines no longer meet")
    reach = math.sqrt(max(radius * radius - off * off, 0.0))
    foot = (x + a * off, y + b * off)
    return (foot[0] - b * reach, foot[1] + a * reach), (foot[0] + b * reach, foot[1] - a * reach)


def _circles(one: _Way, other: _Way, corner: Point) -> tuple[Point, ...]:
    (x0, y0), r0, _ = one
    (x1, y1), r1, _ = other
    apart = math.hypot(x1 - x0, y1 - y0)
    if apart < 1e-9:  # arcs of one circle
        turn = math.atan2(corner[1] - y0, corner[0] - x0)
        return ((x0 + r0 * math.cos(turn), y0 + r0 * math.sin(turn)),)
    # the line through both meetings (the circles' radical axis)
    along = (apart * apart + r0 * r0 - r1 * r1) / (2 * apart)
    normal = ((x1 - x0) / apart, (y1 - y0) / apart)
    return _line_circle((normal, 0.0, normal[0] * x0 + normal[1] * y0 + along), one)


def _bulge(start: Point, end: Point, radius: float, before: float) -> float:
    """tan(θ/4) of the moved arc: a short one (under half a circle) stays short."""
    if radius == 0:
        return 0.0
    half = math.asin(min(math.dist(start, end) / (2 * radius), 1.0))
    if abs(before) > 1:
        half = math.pi - half
    return math.copysign(math.tan(half / 2), before)

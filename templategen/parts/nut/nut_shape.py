"""The nut's shape at each stage, as profiles that the drawing and the solids share. Nut frame throughout.

Terms
-----
blank     finished outline + top_allowance + stock; not yet slotted, its top level from front to back
slotted   finished outline + top_allowance; slots above their floors by filing_allowance, or pilots
finished  as computed
datum     the flat underside that blank and slotted nut keep while a curved or slanted seat is left to the bench
ledge     over the board, the underside of what reaches over it and the upper side of what does not: SHELF_LIFT above
          the wood, following its arc
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import Literal

import numpy as np

from templategen.drawing.model import Box, Outline, Point
from templategen.geometry import arc_bulge
from templategen.geometry.camber import Camber
from templategen.instrument.nut.blank import PLACES, raised
from templategen.instrument.nut.nut import SHELF_LIFT, Nut

Stage = Literal["blank", "slotted", "finished"]
STAGES: tuple[Stage, ...] = ("blank", "slotted", "finished")
INNER_RADIUS = 0.5  # of the steps' inner corners: what a 1 mm cutter leaves


@dataclass(frozen=True)
class Slot:
    """One slot as cut: the point of its floor where the string leaves it, its direction, its width or its vee.

    start: (x, y, z) of the floor's lowest line at the front; direction: unit vector toward the tuners, falling.
    vee_deg: None for a round floor of full width, or the included angle of a pilot groove.
    """

    start: tuple[float, float, float]
    direction: tuple[float, float, float]
    width: float
    length: float
    vee_deg: float | None = None

    @property
    def end(self) -> tuple[float, float, float]:
        """Where the floor's lowest line leaves the back."""
        x, y, z = (s + d * self.length for s, d in zip(self.start, self.direction, strict=True))
        return x, y, z


def top_of(nut: Nut, stage: Stage) -> Camber:
    """The top over y = 0, above the seat."""
    return nut.blank.top if stage == "blank" else raised(nut.top, nut.top_allowance if stage == "slotted" else 0.0)


def fall_deg(nut: Nut, stage: Stage) -> float:
    """How the top falls toward the tuners: a blank's is level, so that it can be clamped."""
    return 0.0 if stage == "blank" else nut.top_fall_deg


def ledge_radius(nut: Nut) -> float:
    """Radius of the ledge: the board's where it is flattest under it, so that the ledge touches the wood nowhere."""
    corners = [(nut.end_x(end, -nut.reach), y) for end in (0, 1) for y in (-nut.reach, 0.0)]
    return max(float(nut.board.radius(nut.plan_point(x, y)[0])) for x, y in corners)


def ledge_z(nut: Nut) -> float:
    """Height of the ledge over the centreline."""
    return nut.seat_depth + SHELF_LIFT


def slots_of(nut: Nut, stage: Stage) -> tuple[Slot, ...]:
    """The slots of the slotted or the finished nut; a blank has none."""
    if stage == "blank":
        return ()
    starts, _ = nut.slotted_lines if stage == "slotted" else nut.floor_lines
    found = []
    for i, (x, y, z) in enumerate(starts.tolist()):
        # by its angles, not by the line's ends: these carry the last digits of the string line
        turn, fall = math.radians(nut.direction_deg[i]), math.radians(nut.back_angle_deg[i])
        direction = (math.sin(turn) * math.cos(fall), math.cos(turn) * math.cos(fall), -math.sin(fall))
        length = (nut.thickness + float(nut.forward[i])) / (math.cos(turn) * math.cos(fall))
        width, vee = float(nut.width[i]), None
        if stage == "slotted" and not nut.full_width[i]:
            width, vee = nut.pilots[i].width, nut.pilots[i].angle_deg
        found.append(Slot((x, 0.0 + y, round(z, PLACES)), direction, width, length, vee))
    return tuple(found)


# ---------------------------------------------------------------------------------------------------- plan outline


def plan_outline(nut: Nut, stage: Stage) -> Outline:
    """Above the ledge, counterclockwise from the −x front corner; a compensated front edge steps between strings."""
    if stage == "blank":
        return _blank_outline(nut)
    lands = _lands(nut)
    left, right = ((nut.end_x(end, y), y) for end, y in ((0, lands[0].y), (1, lands[-1].y)))
    back = tuple((float(nut.back_ends[end]), nut.thickness) for end in (1, 0))
    return _outline([(left, 0.0), *_between(lands), (right, 0.0), *((corner, 0.0) for corner in back)])


def _blank_outline(nut: Nut) -> Outline:
    (x0, y0, _), (x1, y1, _) = nut.blank.low, nut.blank.high
    if nut.blank.form == "bar":
        return Outline.rectangle(Box(x0, y0, x1, y1))
    return body_outline(nut, -y0, nut.stock_sides, nut.stock_ends)


def set_back(nut: Nut, over: float) -> tuple[Outline, ...]:
    """What lies above the ledge between the foremost line and the front edge, land by land; ``over`` mm longer forward
    and past the ends.
    """
    lands, foremost = _lands(nut), 0.0 - nut.reach
    found = []
    for together, run in groupby(range(len(lands)), key=lambda n: lands[n].y > foremost):
        if not together:
            continue
        rows = list(run)
        first, last = rows[0], rows[-1]
        path = _between(lands[first : last + 1])
        if first > 0:
            path = [*_corner(lands[first].left, foremost, lands[first].y), *path]
        else:
            past = min(nut.end_x(0, y) for y in (lands[0].y, foremost - over)) - over
            path = [((past, lands[0].y), 0.0), *path]
        if last < len(lands) - 1:
            path = [*path, *_corner(lands[last].right, lands[last].y, foremost)]
        else:
            past = max(nut.end_x(1, y) for y in (lands[-1].y, foremost - over)) + over
            path = [*path, ((past, lands[-1].y), 0.0)]
        (x0, _), (x1, _) = path[0][0], path[-1][0]
        found.append(_outline([*path, ((x1, foremost - over), 0.0), ((x0, foremost - over), 0.0)]))
    return tuple(found)


def body_outline(nut: Nut, front: float, back: float = 0.0, ends: float = 0.0) -> Outline:
    """From ``front`` mm before y = 0 to ``back`` mm behind the back face, with ``ends`` mm more at each end."""
    y0, y1 = 0.0 - front, nut.thickness + back
    corners = ((0, y0), (1, y0), (1, y1), (0, y1))
    return Outline.polygon(tuple((nut.end_x(end, y) + (ends if end else -ends), y) for end, y in corners))


def walls(nut: Nut) -> tuple[float, ...]:
    """x of the steps of the front edge."""
    return tuple(land.right for land in _lands(nut)[:-1])


@dataclass(frozen=True)
class _Land:
    """A stretch of the front edge at one y, between two walls."""

    y: float
    left: float
    right: float


_Path = list[tuple[Point, float]]  # points, and the bulge of the stretch that leaves each


def _lands(nut: Nut) -> list[_Land]:
    """The front edge from −x to +x; walls stand midway between strings whose edges differ."""
    order = np.argsort(nut.along)
    x, y = nut.along[order], 0.0 - nut.forward[order]
    lands = [_Land(float(y[0]), -math.inf, math.inf)]
    for i in range(1, len(x)):
        if y[i] != y[i - 1]:
            wall = float(x[i] + x[i - 1]) / 2
            lands[-1] = replace(lands[-1], right=wall)
            lands.append(_Land(float(y[i]), wall, math.inf))
    return lands


def _between(lands: list[_Land]) -> _Path:
    """The corners at the walls between neighbouring lands."""
    return [corner for a, b in pairwise(lands) for corner in _corner(a.right, a.y, b.y)]


def _corner(wall: float, before: float, after: float) -> _Path:
    """A step, run from −x to +x; its inner corner, on the edge that is farther back, is rounded.

    A step h lower than the corner's radius r keeps the radius and loses the straight wall: the arc is tangent to the
    edge farther back and ends on the outer corner, √(2·r·h − h²) away (circle geometry).
    """
    step, r = round(abs(after - before), 9), INNER_RADIUS
    reach = r if step >= r else math.sqrt(2 * r * step - step * step)
    bulge = -math.tan((math.pi / 2 if step >= r else math.acos(1 - step / r)) / 4)
    if after < before:
        path: _Path = [((wall - reach, before), bulge), ((wall, before - min(step, r)), 0.0)]
        return [*path, ((wall, after), 0.0)] if step > r else path
    path = [((wall, after - min(step, r)), bulge), ((wall + reach, after), 0.0)]
    return [((wall, before), 0.0), *path] if step > r else path


@dataclass(frozen=True)
class Corner:
    """The inner corner of a step, where it would be if it were sharp, and the area that its rounding leaves in."""

    x: float
    y: float
    area: float


def inner_corners(nut: Nut) -> tuple[Corner, ...]:
    """Of every step of the front edge: between the edge farther back, the wall and the rounding (circle geometry)."""
    found = []
    for a, b in pairwise(_lands(nut)):
        step, r = min(abs(a.y - b.y), INNER_RADIUS), INNER_RADIUS
        reach = math.sqrt(2 * r * step - step * step)
        under = (reach * (r - step) + r * r * math.asin(reach / r)) / 2
        found.append(Corner(a.right, max(a.y, b.y), r * reach - under))
    return tuple(found)


def _outline(path: _Path) -> Outline:
    return Outline(tuple(point for point, _ in path), tuple(bulge for _, bulge in path))


# --------------------------------------------------------------------------------------------------- front outline


def front_outline(nut: Nut, stage: Stage) -> Outline:
    """The closed front outline over y = 0, counterclockwise: underside, end, top arc, end; finished ends are eased."""
    top = top_of(nut, stage)
    x0, x1 = (float(v) for v in nut.front_ends)
    if stage == "blank":
        x0, x1 = (nut.blank.low[0], nut.blank.high[0])
    low0 = low1 = nut.datum_z
    under = 0.0
    if stage == "finished":
        low0, low1 = (float(nut.seat_height(x, 0.0)) for x in (x0, x1))
        under = under_bulge((x0, low0), (x1, low1), nut.seat_radius, nut)
    points, bulges = [(x0, low0), (x1, low1)], [under, 0.0]
    if stage == "finished" and nut.rounding > 0:
        right, left = (_eased_corner(top, x, nut.rounding) for x in (x1, x0))
        shoulder = top_bulge(top, right[1], left[1])
        points += [right[0], right[1], left[1], left[0]]
        bulges += [right[2], shoulder, left[2], 0.0]
    else:
        right_top, left_top = (x1, float(top.z(x1))), (x0, float(top.z(x0)))
        points += [right_top, left_top]
        bulges += [top_bulge(top, right_top, left_top), 0.0]
    return Outline(tuple(points), tuple(bulges))


def top_bulge(top: Camber, right: Point, left: Point) -> float:
    """Bulge of the top between two of its points, run from right to left."""
    return arc_bulge(right, left, top.radius, upward=top.curvature > 0)


def under_bulge(left: Point, right: Point, radius: float, nut: Nut) -> float:
    """Bulge of an arc that is ``radius`` square to the centreline, as it shows in the front view.

    On a slanted nut the view sees an ellipse; the circle of radius R/cos² of the slant that stands for it is less than
    0.001 mm off (fourth order: x⁴·sin²·cos⁴/(8R³)).
    """
    return arc_bulge(left, right, radius / math.cos(math.radians(nut.turn_deg)) ** 2)


def _eased_corner(top: Camber, x: float, r: float) -> tuple[Point, Point, float]:
    """An end's upright at ``x`` rounded into the top: where the arc leaves the upright and the top, and its bulge.

    The arc's centre stands r inside the upright and r below the top: ρ ∓ r from the top's centre (touching circles).
    """
    inward = -1.0 if x > 0 else 1.0
    middle = x + inward * r
    if top.straight:
        cos = math.cos(math.atan(top.slope))
        z = float(top.z(middle)) - r / cos
        touch = (middle - r * math.sin(math.atan(top.slope)), z + r * cos)
    else:
        cx, cz = top.centre
        crown = 1.0 if top.curvature > 0 else -1.0
        distance = top.radius - crown * r
        z = cz + crown * math.sqrt(distance**2 - (middle - cx) ** 2)
        share = top.radius / distance
        touch = (cx + (middle - cx) * share, cz + (z - cz) * share)
    turn = abs(math.atan2(touch[1] - z, -inward * (touch[0] - middle)))
    return (x, z), touch, math.tan(turn / 4)


def slot_outline(nut: Nut, slot: Slot) -> Outline:
    """A finished slot square to itself, closed along the top over y = 0.

    A round floor between upright walls, or the floor's arc alone where the top lies lower than its springing. Taken
    where the slot passes y = 0, the outline's own plane: a moved front edge lies before or behind it.
    """
    x, z = _at_front(slot)
    r, top = slot.width / 2, top_of(nut, "finished")
    left, right = (_floor_end(top, x, z, r, side) for side in (-1.0, 1.0))
    points = (left[0], *right, *left[:0:-1])
    over = top_bulge(top, right[-1], left[-1])
    bulges = [_floor_bulge(x, r, left, right), *(0.0 for _ in points[1:])]
    bulges[len(right)] = over
    return Outline(points, tuple(bulges))


def _at_front(slot: Slot) -> Point:
    """x and z of the floor's lowest line where it passes y = 0."""
    (x, y, z), (across, back, down) = slot.start, slot.direction
    return x - across / back * y, z - down / back * y


def notched_outline(nut: Nut, kerf: float = 0.0, narrowest: float = 0.0) -> Outline:
    """The finished front outline with its slots as notches: one closed contour, half a ``kerf`` outside the finished
    edge everywhere. Slots no wider than ``narrowest`` are left out."""
    whole, top = front_outline(nut, "finished").offset(kerf / 2), _outside(top_of(nut, "finished"), kerf / 2)
    first = 3 if nut.rounding > 0 else 2  # where the top begins, at its right
    points, bulges = list(whole.points[:first]), list(whole.bulges[:first])
    last = whole.points[first]
    for slot in sorted(slots_of(nut, "finished"), key=lambda slot: -_at_front(slot)[0]):
        if slot.width <= narrowest:
            continue
        x, z = _at_front(slot)
        r = (slot.width - kerf) / 2
        left, right = (_floor_end(top, x, z + kerf / 2, r, side) for side in (-1.0, 1.0))
        points += [last, *right[::-1], *left[:-1]]
        bulges += [top_bulge(top, last, right[-1]), *(0.0 for _ in right[1:]), -_floor_bulge(x, r, left, right)]
        bulges += [0.0 for _ in left[1:]]
        last = left[-1]
    points += [last, *whole.points[first + 1 :]]
    bulges += [top_bulge(top, last, whole.points[first + 1]), *whole.bulges[first + 1 :]]
    return Outline(tuple(points), tuple(bulges))


def _outside(top: Camber, by: float) -> Camber:
    """The top moved up square to itself: the circle keeps its centre."""
    if by == 0:
        return top
    if top.straight:
        return top.raised(by * math.hypot(1.0, top.slope))
    crown = math.copysign(1.0, top.curvature)
    (x, z), radius = top.centre, top.radius + crown * by
    rise = math.sqrt(radius * radius - x * x)
    return Camber(z + crown * rise, crown * x / rise, crown / radius)


def _floor_bulge(x: float, r: float, left: list[Point], right: list[Point]) -> float:
    """Bulge of a floor's arc from left to right, by its ends' distances from the middle."""
    turn = math.asin(min(abs(left[0][0] - x) / r, 1.0)) + math.asin(min(abs(right[0][0] - x) / r, 1.0))
    return math.tan(turn / 4)


def _floor_end(top: Camber, x: float, z: float, r: float, side: float) -> list[Point]:
    """One side of a slot from its floor up: the springing and the wall's top, or where the floor meets the top."""
    wall = x + side * r
    if float(top.z(wall)) > z + r:
        return [(wall, z + r), (wall, float(top.z(wall)))]
    low, high = 0.0, r
    for _ in range(60):
        u = (low + high) / 2
        low, high = (u, high) if z + r - math.sqrt(r * r - u * u) < float(top.z(x + side * u)) else (low, u)
    return [(x + side * low, float(top.z(x + side * low)))]

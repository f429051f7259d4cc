"""The nut's shape at each stage, as profiles that the drawing and the solids share. Nut frame throughout.

Terms
-----
blank     finished outline + top_allowance + stock; not yet slotted, its top level from front to back
slotted   finished outline + top_allowance; slots above their floors by filing_allowance, or pilots
finished  as computed
datum     the flat underside that blank and slotted nut keep while a curved or slanted seat is left to the bench
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from templategen.drawing.model import Outline, Point
from templategen.instrument.nut import SHELF_LIFT, Nut
from templategen.instrument.nuttop import TopArc

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


def top_of(nut: Nut, stage: Stage) -> TopArc:
    """The top at the front edge, above the seat."""
    return nut.top if stage == "finished" else nut.top.raised(nut.top_allowance)


def fall_deg(nut: Nut, stage: Stage) -> float:
    """How the top falls toward the tuners: a blank's is level, so that it can be clamped."""
    return 0.0 if stage == "blank" else nut.top_fall_deg


def seat_z(nut: Nut, x: float, y: float = 0.0) -> float:
    """Height of the finished seat: 0 at the front edge's middle, lower at curved ends, slanted by its angle."""
    curved = 0.0 if math.isinf(nut.seat_radius) else math.sqrt(nut.seat_radius**2 - x * x) - nut.seat_radius
    return curved - y * math.tan(math.radians(nut.seat_angle_deg))


def datum_z(nut: Nut) -> float:
    """Height of the flat datum: the lowest point of the finished seat."""
    corners = [(x, y) for x in nut.overall for y in (0.0, nut.thickness)]
    return min(0.0, *(seat_z(nut, x, y) for x, y in corners))


def slots_of(nut: Nut, stage: Stage) -> tuple[Slot, ...]:
    """The slots of the slotted or the finished nut; a blank has none."""
    if stage == "blank":
        return ()
    found = []
    for i in range(len(nut.along)):
        turn, fall = math.radians(nut.direction_deg[i]), math.radians(nut.back_angle_deg[i])
        direction = (
            math.sin(turn) * math.cos(fall),
            math.cos(turn) * math.cos(fall),
            -math.sin(fall),
        )
        shift = float(nut.shift[i])
        x = float(nut.along[i]) - shift * math.tan(turn)
        length = (nut.thickness + shift) / (math.cos(turn) * math.cos(fall))
        z, width, vee = float(nut.floor[i]), float(nut.width[i]), None
        if stage == "slotted":
            z += nut.filing_allowance
            if not nut.full_width[i]:
                pilot = nut.pilots[i]
                z = float(nut.floor[i] + nut.depth[i]) + nut.top_allowance - pilot.depth
                width, vee = pilot.width, pilot.angle_deg
        found.append(Slot((x, -shift, z), direction, width, length, vee))
    return tuple(found)


# ---------------------------------------------------------------------------------------------------- plan outline


def plan_outline(nut: Nut, stage: Stage) -> Outline:
    """Seen from above, counterclockwise from the −x front corner; a compensated front edge steps between strings."""
    (f0, f1), (b0, b1) = nut.front_ends, nut.back_ends
    thick = nut.thickness
    if stage == "blank":
        s, e = nut.stock_sides, nut.stock_ends
        front = -float(nut.shift.max()) - s
        lean0, lean1 = (b0 - f0) / thick, (b1 - f1) / thick
        return Outline.polygon(
            (
                (f0 + lean0 * front - e, front),
                (f1 + lean1 * front + e, front),
                (b1 + lean1 * s + e, thick + s),
                (b0 + lean0 * s - e, thick + s),
            )
        )
    points, bulges = _stepped_front(nut, f0 + _lean(nut, 0), f1 + _lean(nut, 1))
    points += [(float(b1), thick), (float(b0), thick)]
    return Outline(tuple(points), (*bulges, 0.0, 0.0))


def _lean(nut: Nut, end: int) -> float:
    """How far an end moves in x where its string's front edge is moved forward: the end follows the board's edge."""
    lean = (nut.back_ends[end] - nut.front_ends[end]) / nut.thickness
    string = int(np.argmin(nut.along)) if end == 0 else int(np.argmax(nut.along))
    return float(-nut.shift[string] * lean)


def _stepped_front(nut: Nut, x0: float, x1: float) -> tuple[list[Point], list[float]]:
    """The front edge from −x to +x, stepping midway between strings; inner corners are rounded.

    A step lower than the corner's radius r keeps the radius and loses the straight wall: the arc is tangent to the
    deeper edge and ends on the outer corner, d = √(2·r·h − h²) away (circle geometry).
    """
    order = np.argsort(nut.along)
    x, y = nut.along[order], -nut.shift[order]
    points: list[Point] = [(float(x0), float(y[0]))]
    bulges: list[float] = []
    for i in range(len(x) - 1):
        if y[i] == y[i + 1]:
            continue
        wall, before, after = float(x[i] + x[i + 1]) / 2, float(y[i]), float(y[i + 1])
        step = abs(after - before)
        r = INNER_RADIUS
        reach = r if step >= r else math.sqrt(2 * r * step - step * step)
        angle = math.pi / 2 if step >= r else math.acos(1 - step / r)
        bulge = -math.tan(angle / 4)
        if after < before:  # the deeper (farther back) edge comes first: its inner corner is here
            points.append((wall - reach, before))
            bulges += [0.0, bulge]
            points.append((wall, before - min(step, r)))
            if step > r:
                bulges.append(0.0)
                points.append((wall, after))
        else:
            points.append((wall, before))
            bulges.append(0.0)
            if step > r:
                points.append((wall, after - r))
                bulges.append(0.0)
            bulges.append(bulge)
            points.append((wall + reach, after))
    points.append((float(x1), float(y[-1])))
    bulges += [0.0, 0.0]
    return points, bulges


# --------------------------------------------------------------------------------------------------- front outline


def arc_bulge(start: Point, end: Point, radius: float, upward: bool = True) -> float:
    """Bulge of an arc of the given radius that rises above (or hangs below) its chord; 0 for an infinite radius."""
    if math.isinf(radius):
        return 0.0
    chord = math.hypot(end[0] - start[0], end[1] - start[1])
    bulge = math.tan(math.asin(min(chord / (2 * radius), 1.0)) / 2)
    rightward = end[0] >= start[0]
    return -bulge if rightward == upward else bulge


def front_outline(nut: Nut, stage: Stage) -> Outline:
    """The closed front outline, counterclockwise: underside, end, top arc, end."""
    top = top_of(nut, stage)
    x0, x1 = (float(v) for v in nut.front_ends)
    if stage == "blank":
        x0, x1 = x0 - nut.stock_ends, x1 + nut.stock_ends
    flat = stage != "finished" or math.isinf(nut.seat_radius)
    low0 = low1 = datum_z(nut) if stage != "finished" else 0.0
    if not flat:
        low0, low1 = seat_z(nut, x0), seat_z(nut, x1)
    corners = ((x0, low0), (x1, low1), (x1, float(top.z(x1))), (x0, float(top.z(x0))))
    under = 0.0 if flat else arc_bulge(corners[0], corners[1], nut.seat_radius)
    over = arc_bulge(corners[2], corners[3], top.radius, upward=top.curvature > 0)
    return Outline(corners, (under, 0.0, over, 0.0))


def slot_outline(nut: Nut, slot: Slot, stage: Stage) -> Outline:
    """A slot as seen from the front, closed along the top: round floor (or vee) between upright walls."""
    top = top_of(nut, stage)
    x, _, z = slot.start
    left, right = x - slot.width / 2, x + slot.width / 2
    ends = (right, float(top.z(right))), (left, float(top.z(left)))
    over = arc_bulge(ends[0], ends[1], top.radius, upward=top.curvature > 0)
    if slot.vee_deg is not None:
        return Outline(((x, z), ends[0], ends[1]), (0.0, over, 0.0))
    spring = z + slot.width / 2
    return Outline(((left, spring), (right, spring), *ends), (1.0, 0.0, over, 0.0))


def shelf_underside(nut: Nut) -> float:
    """Height of a compensation shelf's underside above the seat."""
    return nut.seat_depth + SHELF_LIFT

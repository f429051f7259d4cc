"""What eases the finished nut: tools that round its back edge and its ends with true cylinders and a true torus.

Terms
-----
top     a true cylinder (or a plane) falling toward the tuners
give    a rounding that touched top and face exactly would leave edges that no two programs find in the same place. Its
        circle therefore reaches this share of its radius past both and meets them at a small angle, about 8° for 1/100:
        0.005 mm for R 0.5
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from templategen.drawing.model import Point, arc_of_bulge
from templategen.instrument.nut.nut import Nut
from templategen.solids import make
from templategen.solids.shape import Contour, Frame, Solid, Vector, add, cross, scaled, unit

Give = tuple[float, float]
"""Of the back edge, and of the ends."""
GIVES: tuple[Give, ...] = (
    (1 / 100, 1 / 100),
    (1 / 100, 1 / 90),
    (1 / 80, 1 / 90),
    (1 / 120, 1 / 100),
    (1 / 60, 1 / 70),
)
"""The first that the kernel can cut; on a board with parallel sides it cannot where both are the same."""
_STATIONS = 9  # along an edge, where the rounding's place is tried


@dataclass(frozen=True)
class Top:
    """The finished top as it is built: its section square to the fall, in x and h = z·cos(fall) + y·sin(fall).

    left, right: ends of the section; bulge: of the way from left to right, 0 for a plane.
    """

    left: Point
    right: Point
    bulge: float
    fall: float

    def depth(self, point: Vector) -> float:
        """How far a point lies below the surface, square to it."""
        x, y, z = point
        h = z * math.cos(self.fall) + y * math.sin(self.fall)
        if self.bulge == 0:
            (x0, h0), (x1, h1) = self.left, self.right
            return ((h1 - h0) * (x - x0) - (x1 - x0) * (h - h0)) / math.dist(self.left, self.right)
        circle = arc_of_bulge(self.left, self.right, self.bulge)
        inside = circle.radius - math.dist(circle.centre, (x, h))
        return inside if self.bulge < 0 else -inside


def easing(nut: Nut, top: Top, give: Give, over: float) -> tuple[Solid, ...]:
    """Tools for the back edge and both ends of the finished nut; ``over``: how far they stand off it, mm."""
    back, ends = give
    return (_back(nut, top, back, over), *(_end(nut, top, end, ends, over) for end in (0, 1)))


def taken(nut: Nut, top: Top, give: Give) -> float:
    """What the tools take off, mm³, from section times length; what both an end and the back lose is counted twice.

    Half a section: the triangle of the circle's centre, where the circle leaves a face, and the corner, less the
    circle's sector in it; the centre lies d inside both faces, whose normals turn by n.
    """
    r, ends = nut.rounding, (0, 1)

    def section(turn: float, give: float) -> float:
        d = r * (1 - give)
        leaves = math.acos(d / r)
        return d * (d * math.tan(turn / 2) - r * math.sin(leaves)) - r * r * (turn / 2 - leaves)

    spans = [math.dist(*(_on_top(top, nut.end_x(end, y), y) for y in (-nut.reach, nut.thickness))) for end in ends]
    turns = [_turned(top, nut.end_x(end, 0.0), 1.0 if end else -1.0) for end in ends]
    back = float(nut.back_ends[1] - nut.back_ends[0]), math.pi / 2 - top.fall
    return back[0] * section(back[1], give[0]) + sum(
        length * section(turn, give[1]) for length, turn in zip(spans, turns, strict=True)
    )


def _turned(top: Top, x: float, way: float) -> float:
    """How far the top's normal at an end turns from that of the end's face, radians."""
    near = _on_top(top, x, 0.0)[2] - _on_top(top, x - way, 0.0)[2]
    return math.pi / 2 + math.atan(near)


def _back(nut: Nut, top: Top, give: float, over: float) -> Solid:
    """Along the back edge: a torus about a line square to the back face, or a cylinder under a straight top.

    Its tube's centres lie on the circle through three points as far inside back face and top as the radius, less the
    give; between them the top, whose section there is an ellipse, leaves that depth by less than the give.
    """
    r = nut.rounding
    x0, x1 = (nut.end_x(end, nut.thickness) for end in (0, 1))
    y, deep = nut.thickness - r * (1 - give), r * (1 - give)

    def centre(x: float) -> Vector:
        return _sunk(top, lambda z: (x, y, z), deep)

    (left, _, z0), (middle, _, zm), (right, _, z1) = centre(x0), centre((x0 + x1) / 2), centre(x1)
    normal = math.pi / 2 - top.fall
    rise = zm - (z0 + z1) / 2
    if top.bulge == 0 or rise == 0:
        along = unit((x1 - x0, 0.0, z1 - z0))
        start = add((left, 0.0, z0), scaled(along, -over))
        frame = Frame(start, (0.0, 1.0, 0.0), (-along[2], 0.0, along[0]))
        return make.prism(_corner((y, 0.0), r, normal, over), scaled(along, x1 - x0 + 2 * over), frame)
    (cx, cz), radius = _circle((left, z0), (middle, zm), (right, z1))
    way = 1.0 if rise > 0 else -1.0  # outward is up on a crown, down on a hollow
    corner = _corner((y, radius), r, normal, over) if way > 0 else _mirrored(_corner((y, -radius), r, normal, over))
    reach = math.asin(min((max(cx - left, right - cx) + over) / radius, 0.9))
    frame = Frame((cx, 0.0, cz), (0.0, 1.0, 0.0), (-math.sin(reach), 0.0, way * math.cos(reach)))
    return make.ring(corner, (cx, 0.0, cz), (0.0, way, 0.0), 2 * reach, frame)


def _end(nut: Nut, top: Top, end: int, give: float, over: float) -> Solid:
    """Along an end: a cylinder parallel to the end's face and to the chord of its upper edge, as deep as it can lie
    and still reach out of the top everywhere."""
    r = nut.rounding
    deep = r * (1 - give)
    way = 1.0 if end else -1.0
    near, far = (_on_top(top, nut.end_x(end, y), y) for y in (-nut.reach, nut.thickness))
    length = math.dist(near, far)
    along = unit(tuple(b - a for a, b in zip(near, far, strict=True)))  # type: ignore[arg-type]
    out = unit((way * along[1], -way * along[0], 0.0))
    up = cross(out, along) if cross(out, along)[2] > 0 else cross(along, out)

    def at(v: float, share: float) -> Vector:
        return add(add(near, scaled(along, share * length)), add(scaled(out, -deep), scaled(up, v)))

    def least(v: float) -> float:
        return max(top.depth(at(v, n / (_STATIONS - 1))) for n in range(_STATIONS))

    v = _solved(least, deep)
    slope = (top.depth(at(v, 0.5)) - top.depth(add(at(v, 0.5), scaled(out, r)))) / r  # how fast the top comes nearer
    normal = math.pi / 2 - math.asin(max(min(slope, 0.9), -0.9))
    frame = Frame(add(near, scaled(along, -over)), out, up)
    return make.prism(_corner((-deep, v), r, normal, over), scaled(along, length + 2 * over), frame)


def _corner(centre: Point, r: float, normal: float, over: float) -> Contour:
    """What lies outside a circle between the directions 0 and ``normal`` (radians), out to ``over``."""
    (u, v), (cos, sin) = centre, (math.cos(normal), math.sin(normal))
    wall, crest = (u + r, v), (u + r * cos, v + r * sin)
    far, high = u + r + over, v + r + over
    bulge = -math.tan(normal / 4)
    return Contour((crest, wall, (far, v), (far, high), (crest[0], high)), (bulge, 0.0, 0.0, 0.0, 0.0))


def _mirrored(contour: Contour) -> Contour:
    return Contour(tuple((u, -v) for u, v in contour.points), tuple(-bulge for bulge in contour.bulges))


def _on_top(top: Top, x: float, y: float) -> Vector:
    return _sunk(top, lambda z: (x, y, z), 0.0)


def _sunk(top: Top, at: Callable[[float], Vector], deep: float) -> Vector:
    """The point of an upright line that lies ``deep`` below the top."""
    return at(_solved(lambda z: top.depth(at(z)), deep))


def _solved(depth: Callable[[float], float], want: float) -> float:
    """Where a depth that grows downward, nearly as fast as its argument falls, is as wanted."""
    z = 0.0
    for _ in range(60):
        step = depth(z) - want
        z += step
        if abs(step) < 1e-12:
            break
    return z


def _circle(a: Point, b: Point, c: Point) -> tuple[Point, float]:
    """Centre and radius of the circle through three points."""
    (ax, ay), (bx, by), (cx, cy) = a, b, c
    bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
    twice = 2 * (bx * cy - by * cx)
    u = (cy * (bx * bx + by * by) - by * (cx * cx + cy * cy)) / twice
    v = (bx * (cx * cx + cy * cy) - cx * (bx * bx + by * by)) / twice
    return (ax + u, ay + v), math.hypot(u, v)

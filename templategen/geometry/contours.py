"""Whether a contour of lines and arcs is simple. mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templategen.geometry.circles import Point, circle_of_bulge

TOUCH = 1e-7  # mm: nearer than this is the same point


@dataclass(frozen=True, slots=True)
class _Piece:
    """One stretch of a contour; an arc has a radius, a centre, the angle it begins at and its signed sweep."""

    start: Point
    end: Point
    radius: float = 0.0
    centre: Point = (0.0, 0.0)
    begin: float = 0.0
    sweep: float = 0.0

    def share(self, p: Point) -> float:
        """How far along the stretch a point of its line or circle lies: 0 at its start, 1 at its end."""
        if not self.radius:
            dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
            return ((p[0] - self.start[0]) * dx + (p[1] - self.start[1]) * dy) / (dx * dx + dy * dy)
        turn = math.atan2(p[1] - self.centre[1], p[0] - self.centre[0]) - self.begin
        share = math.copysign(1.0, self.sweep) * turn % math.tau / abs(self.sweep)
        return share if share < (1 + math.tau / abs(self.sweep)) / 2 else share - math.tau / abs(self.sweep)

    def holds(self, p: Point) -> bool:
        """Whether a point of its line or circle lies on the stretch, its ends included."""
        return 0 <= self.share(p) <= 1 or _near(p, self.start) or _near(p, self.end)

    def box(self) -> tuple[float, float, float, float]:
        if not self.radius:
            xs, ys = zip(self.start, self.end, strict=True)
            return min(xs), min(ys), max(xs), max(ys)
        (x, y), r = self.centre, self.radius
        return x - r, y - r, x + r, y + r


def self_contact(points: Sequence[Point], bulges: Sequence[float]) -> Point | None:
    """A place where a contour touches or crosses itself, or stands still; None where it is simple.

    Exact for lines and arcs: every two stretches are met as lines and circles (any handbook of analytic geometry), and
    neighbours may share their common corner alone. Nearer than ``TOUCH`` counts as touching.
    """
    count = len(points)
    pieces = []
    for n, bulge in enumerate(bulges):
        start, end = points[n], points[(n + 1) % count]
        if not all(map(math.isfinite, (*start, *end, bulge))) or _near(start, end):
            return start
        pieces.append(_piece(start, end, bulge))
    boxes = [piece.box() for piece in pieces]
    for i in range(count):
        for j in range(i + 1, count):
            if not _boxes_meet(boxes[i], boxes[j]):
                continue
            shared = [points[j]] if j == i + 1 else []
            shared += [points[i]] if (j + 1) % count == i else []
            for place in _meetings(pieces[i], pieces[j]):
                if not any(_near(place, corner) for corner in shared):
                    return place
    return None


def _piece(start: Point, end: Point, bulge: float) -> _Piece:
    if bulge == 0:
        return _Piece(start, end)
    centre, radius = circle_of_bulge(start, end, bulge)
    begin = math.atan2(start[1] - centre[1], start[0] - centre[0])
    return _Piece(start, end, radius, centre, begin, 4 * math.atan(bulge))


def _near(a: Point, b: Point) -> bool:
    return abs(a[0] - b[0]) < TOUCH and abs(a[1] - b[1]) < TOUCH


def _boxes_meet(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] <= b[2] + TOUCH and b[0] <= a[2] + TOUCH and a[1] <= b[3] + TOUCH and b[1] <= a[3] + TOUCH


def _meetings(a: _Piece, b: _Piece) -> Iterator[Point]:
    """Points that two stretches have in common; of stretches that run on one line or circle, ends and middles that
    lie on the other."""
    places = _on_one(a, b)
    if places is None:
        if a.radius and b.radius:
            places = _circles(a, b)
        elif a.radius or b.radius:
            places = _line_circle(*((b, a) if a.radius else (a, b)))
        else:
            places = _lines(a, b)
    yield from (place for place in places if a.holds(place) and b.holds(place))


def _on_one(a: _Piece, b: _Piece) -> list[Point] | None:
    """Candidates where both run on one line or one circle, None where they do not."""
    if bool(a.radius) != bool(b.radius):
        return None
    if a.radius:
        if abs(a.radius - b.radius) > TOUCH or math.dist(a.centre, b.centre) > TOUCH:
            return None
    else:
        dx, dy = a.end[0] - a.start[0], a.end[1] - a.start[1]
        length = math.hypot(dx, dy)
        if any(abs(dx * (p[1] - a.start[1]) - dy * (p[0] - a.start[0])) > TOUCH * length for p in (b.start, b.end)):
            return None
    return [*(p for piece in (a, b) for p in (piece.start, piece.end)), _middle(a), _middle(b)]


def _middle(piece: _Piece) -> Point:
    if not piece.radius:
        return (piece.start[0] + piece.end[0]) / 2, (piece.start[1] + piece.end[1]) / 2
    turn = piece.begin + piece.sweep / 2
    return piece.centre[0] + piece.radius * math.cos(turn), piece.centre[1] + piece.radius * math.sin(turn)


def _lines(a: _Piece, b: _Piece) -> list[Point]:
    dx, dy = a.end[0] - a.start[0], a.end[1] - a.start[1]
    ex, ey = b.end[0] - b.start[0], b.end[1] - b.start[1]
    cross = dx * ey - dy * ex
    if cross == 0:
        return []
    share = ((b.start[0] - a.start[0]) * ey - (b.start[1] - a.start[1]) * ex) / cross
    return [(a.start[0] + share * dx, a.start[1] + share * dy)]


def _line_circle(line: _Piece, circle: _Piece) -> list[Point]:
    dx, dy = line.end[0] - line.start[0], line.end[1] - line.start[1]
    length = math.hypot(dx, dy)
    dx, dy = dx / length, dy / length
    px, py = circle.centre[0] - line.start[0], circle.centre[1] - line.start[1]
    along, off = px * dx + py * dy, px * dy - py * dx
    if abs(off) > circle.radius + TOUCH:
        return []
    reach = math.sqrt(max(circle.radius**2 - off * off, 0.0))
    return [(line.start[0] + s * dx, line.start[1] + s * dy) for s in {along - reach, along + reach}]


def _circles(a: _Piece, b: _Piece) -> list[Point]:
    """The two circles' common points, on their radical axis."""
    dx, dy = b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]
    apart = math.hypot(dx, dy)
    if apart == 0 or apart > a.radius + b.radius + TOUCH or apart < abs(a.radius - b.radius) - TOUCH:
        return []
    along = (apart * apart + a.radius**2 - b.radius**2) / (2 * apart)
    reach = math.sqrt(max(a.radius**2 - along * along, 0.0))
    dx, dy = dx / apart, dy / apart
    foot = a.centre[0] + along * dx, a.centre[1] + along * dy
    return [(foot[0] - s * dy, foot[1] + s * dx) for s in {-reach, reach}]

"""The shapes of a drawing, and the geometry of arcs given by their bulge.

Lengths are mm of the drawing, but for lettering, which is given in paper mm. Every shape is frozen; what is cleverer
than moving one belongs to the part that wants it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from templategen.geometry import Point as Point
from templategen.geometry import circle_of_bulge, offset_contour

Anchor = Literal["left", "middle", "right"]
TextLevel = Literal["baseline", "middle", "top"]


def point(pair: Iterable[float]) -> Point:
    """Plain floats from any pair of numbers, such as an array's row."""
    x, y = pair
    return float(x), float(y)


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0

    def grown(self, by: float) -> Box:
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def joined(self, other: Box) -> Box:
        return Box(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))

    def holds(self, other: Box, slack: float = 1e-9) -> bool:
        return (
            self.x0 - slack <= other.x0
            and self.y0 - slack <= other.y0
            and self.x1 + slack >= other.x1
            and self.y1 + slack >= other.y1
        )


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line from ``start`` to ``end``."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc, counterclockwise from ``start_deg`` to ``end_deg`` (end > start, span below 360)."""

    centre: Point
    radius: float
    start_deg: float
    end_deg: float

    def at(self, angle_deg: float) -> Point:
        turn = math.radians(angle_deg)
        return self.centre[0] + self.radius * math.cos(turn), self.centre[1] + self.radius * math.sin(turn)


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point
    radius: float


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed contour of lines and arcs.

    points: the corners in order, the last joined to the first; bulges: one per corner for the stretch that leaves it,
    tan(quarter of the arc's angle), positive counterclockwise, 0 for a straight line (the DXF convention).
    """

    points: tuple[Point, ...]
    bulges: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.points) != len(self.bulges):
            raise ValueError("an outline needs one bulge per corner")

    @classmethod
    def polygon(cls, points: Iterable[Point]) -> Outline:
        corners = tuple(points)
        return cls(corners, (0.0,) * len(corners))

    @classmethod
    def rectangle(cls, box: Box) -> Outline:
        return cls.polygon(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)))

    def pieces(self) -> tuple[Line | Arc, ...]:
        """The outline as single lines and arcs, in order (an arc of negative bulge runs the other way round)."""
        return tuple(self.piece(i) for i in range(len(self.points)))

    def offset(self, by: float) -> Outline:
        """A counterclockwise outline moved outward by ``by`` mm, exactly; see ``geometry.offset_contour``."""
        return self if by == 0 else Outline(*offset_contour(self.points, self.bulges, by))

    def piece(self, i: int) -> Line | Arc:
        """The stretch that leaves corner ``i``."""
        start, end = self.points[i], self.points[(i + 1) % len(self.points)]
        return _piece(start, end, self.bulges[i])


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open path of lines and arcs, flat or in space: the stroke of a letter, a ruler's ticks, a cutter's way.

    points: in order. bulges: one per stretch between two points (see ``Outline``), or none where all are straight.
    heights: z of every point for formats that have it (DXF), others draw the path as seen from above; or none for a
    flat one. Arcs run level: a path with bulges has one height.
    """

    points: tuple[Point, ...]
    bulges: tuple[float, ...] = ()
    heights: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise ValueError("a polyline needs two points")
        if self.bulges and len(self.bulges) != len(self.points) - 1:
            raise ValueError("a polyline needs one bulge per stretch, or none")
        if self.heights and len(self.heights) != len(self.points):
            raise ValueError("a polyline needs one height per point, or none")
        if any(self.bulges) and len(set(self.heights)) > 1:
            raise ValueError("arcs of a polyline run level")

    @classmethod
    def in_space(cls, points: Iterable[Sequence[float]]) -> Polyline:
        """Straight stretches from (x, y, z) to (x, y, z)."""
        corners = [(float(x), float(y), float(z)) for x, y, z in points]
        return cls(tuple((x, y) for x, y, _ in corners), (), tuple(z for _, _, z in corners))

    @property
    def is_level(self) -> bool:
        return len(set(self.heights)) <= 1

    def pieces(self) -> tuple[Line | Arc, ...]:
        """The path seen from above as single lines and arcs, in order (an arc of negative bulge runs backward)."""
        bulges = self.bulges or (0.0,) * (len(self.points) - 1)
        return tuple(_piece(a, b, bulge) for (a, b), bulge in zip(pairwise(self.points), bulges, strict=True))


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering. ``height`` is the capital height in PAPER mm; ``angle_deg`` counterclockwise."""

    at: Point
    text: str
    height: float = 2.5
    angle_deg: float = 0.0
    anchor: Anchor = "left"
    level: TextLevel = "baseline"
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Dimension:
    """A linear dimension between two measured points (ISO 129-1).

    start, end: the measured points. angle_deg: direction measured along, 0 for horizontal, 90 for vertical.
    line_at: a point that the dimension line passes through. text: what is printed, or None for the measured length
    with ``places`` decimals. text_at: where along the dimension line the text sits.
    """

    start: Point
    end: Point
    line_at: Point
    angle_deg: float = 0.0
    text: str | None = None
    places: int = 2
    text_at: Literal["middle", "end"] = "middle"

    @property
    def length(self) -> float:
        turn = math.radians(self.angle_deg)
        return abs((self.end[0] - self.start[0]) * math.cos(turn) + (self.end[1] - self.start[1]) * math.sin(turn))

    @property
    def label(self) -> str:
        return f"{self.length:.{self.places}f}" if self.text is None else self.text


Shape = Line | Polyline | Arc | Circle | Outline | Text | Dimension


# ------------------------------------------------------------------------------------------------------- geometry


def arc_of_bulge(start: Point, end: Point, bulge: float) -> Arc:
    """The arc of a bulge, always given counterclockwise."""
    centre, radius = circle_of_bulge(start, end, bulge)
    first = start if bulge > 0 else end
    start_deg = math.degrees(math.atan2(first[1] - centre[1], first[0] - centre[0]))
    span = math.degrees(4 * math.atan(abs(bulge)))
    return Arc(centre, radius, start_deg, start_deg + span)


def _piece(start: Point, end: Point, bulge: float) -> Line | Arc:
    return arc_of_bulge(start, end, bulge) if bulge else Line(start, end)


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape shifted by (dx, dy)."""

    def shift(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    match shape:
        case Line(start, end):
            return Line(shift(start), shift(end))
        case Polyline(points, bulges, heights):
            return Polyline(tuple(shift(p) for p in points), bulges, heights)
        case Arc(centre, radius, a, b):
            return Arc(shift(centre), radius, a, b)
        case Circle(centre, radius):
            return Circle(shift(centre), radius)
        case Outline(points, bulges):
            return Outline(tuple(shift(p) for p in points), bulges)
        case Text():
            return Text(
                shift(shape.at), shape.text, shape.height, shape.angle_deg, shape.anchor, shape.level, shape.bold
            )
        case Dimension():
            return Dimension(
                shift(shape.start),
                shift(shape.end),
                shift(shape.line_at),
                shape.angle_deg,
                shape.text,
                shape.places,
                shape.text_at,
            )

"""A small 2D model that knows no trade: layers of lines, arcs, circles, closed outlines, text and dimensions.

Terms
-----
drawing   a name, a title and layers; geometry in mm, x to the right, y up, true size
scale     paper mm per mm drawn (ISO 5455: 1 is true size, 5 is five times enlarged). Geometry is never multiplied by
          it: lettering, pen widths and dashes are given in PAPER mm and the writers divide, so that a file read back
          always holds true sizes
layer     a name and a pen; meaning is carried by the layer, line weight and dash, never by colour alone
cut       a drawing that holds only what a machine is to cut or engrave

Every shape is frozen. ``transformed`` and ``bounds`` are the only operations; anything cleverer belongs to the part
that wants it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["left", "middle", "right"]
Level = Literal["baseline", "middle", "top"]


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

    def overlaps(self, other: Box) -> bool:
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

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
class Line3:
    """A straight line in space for formats that have heights (DXF); others draw it as seen from above."""

    start: tuple[float, float, float]
    end: tuple[float, float, float]

    @property
    def flat(self) -> Line:
        return Line(self.start[:2], self.end[:2])


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

    def piece(self, i: int) -> Line | Arc:
        """The stretch that leaves corner ``i``."""
        start, end = self.points[i], self.points[(i + 1) % len(self.points)]
        return arc_of_bulge(start, end, self.bulges[i]) if self.bulges[i] else Line(start, end)


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering. ``height`` is the capital height in PAPER mm; ``angle_deg`` counterclockwise."""

    at: Point
    text: str
    height: float = 2.5
    angle_deg: float = 0.0
    anchor: Anchor = "left"
    level: Level = "baseline"
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


Shape = Line | Line3 | Arc | Circle | Outline | Text | Dimension


@dataclass(frozen=True, slots=True)
class Pen:
    """Line width and dashes (on, off, on, off …) in PAPER mm, after ISO 128; a quiet colour as #rrggbb.

    filled: circles and outlines are filled with the colour, where a format can.
    """

    width: float = 0.35
    dash: tuple[float, ...] = ()
    colour: str = "#000000"
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Layer:
    """A named group of shapes drawn with one pen."""

    name: str
    pen: Pen
    shapes: tuple[Shape, ...]


@dataclass(frozen=True)
class Drawing:
    """What the writers replay.

    whole: boxes that a page edge must not cut and that must lie whole on at least one tile (fret slots).
    joints: along x, distances worth checking with a steel rule across assembled tiles, as (label, from, to) in mm.
    asides: boxes of words and tables beside what is drawn; where that is tiled, they go to a page of their own.
    notes: lines for the pages' margins and for the start of text formats (what kerf was taken off, say).
    cautions: printed beside the drawing on every page.
    to_decide: what somebody must decide before the drawing is used; printed beside it.
    """

    name: str
    title: str
    layers: tuple[Layer, ...]
    kind: Literal["drawing", "cut"] = "drawing"
    scale: float = 1.0
    whole: tuple[Box, ...] = ()
    joints: tuple[tuple[str, Point, Point], ...] = ()
    asides: tuple[Box, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    to_decide: tuple[str, ...] = ()

    def layer(self, name: str) -> Layer:
        for layer in self.layers:
            if layer.name == name:
                return layer
        raise KeyError(name)

    def bounds(self) -> Box:
        """The box around all shapes, lettering included at its estimated width."""
        boxes = [shape_bounds(shape, self.scale) for layer in self.layers for shape in layer.shapes]
        if not boxes:
            return Box(0, 0, 0, 0)
        whole = boxes[0]
        for box in boxes[1:]:
            whole = whole.joined(box)
        return whole


@dataclass
class Sketch:
    """Collects shapes on layers and gives a Drawing; layers come out in the order of ``pens``."""

    pens: dict[str, Pen]
    shapes: dict[str, list[Shape]] = field(default_factory=dict)

    def add(self, layer: str, *shapes: Shape) -> None:
        if layer not in self.pens:
            raise KeyError(f"no pen for layer {layer}")
        self.shapes.setdefault(layer, []).extend(shapes)

    def layers(self) -> tuple[Layer, ...]:
        return tuple(
            Layer(name, pen, tuple(self.shapes[name])) for name, pen in self.pens.items() if self.shapes.get(name)
        )


# ------------------------------------------------------------------------------------------------------- geometry


def arc_of_bulge(start: Point, end: Point, bulge: float) -> Arc:
    """The arc of a bulge, always given counterclockwise.

    bulge = tan(θ/4), so the radius is chord·(1 + b²)/(4·|b|) and the centre lies chord·(1 − b²)/(4·b) to the left of
    the chord's middle (any handbook of circular segments: chord = 2r·sin(θ/2), sagitta = b·chord/2).
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
    shift = (1 - bulge * bulge) / (4 * bulge)
    centre = ((start[0] + end[0]) / 2 - dy * shift, (start[1] + end[1]) / 2 + dx * shift)
    first = start if bulge > 0 else end
    start_deg = math.degrees(math.atan2(first[1] - centre[1], first[0] - centre[0]))
    span = math.degrees(4 * math.atan(abs(bulge)))
    return Arc(centre, radius, start_deg, start_deg + span)


def arc_bulge(start: Point, end: Point, radius: float, upward: bool = True) -> float:
    """Bulge of an arc of the given radius that rises above (or hangs below) its chord; 0 for an infinite radius."""
    if math.isinf(radius):
        return 0.0
    chord = math.hypot(end[0] - start[0], end[1] - start[1])
    bulge = math.tan(math.asin(min(chord / (2 * radius), 1.0)) / 2)
    rightward = end[0] >= start[0]
    return -bulge if rightward == upward else bulge


def bulge_through(start: Point, end: Point, rise: float) -> float:
    """The bulge of an arc whose height over the chord is ``rise``; positive bulges to the right of start→end."""
    return 2 * rise / math.hypot(end[0] - start[0], end[1] - start[1])


def arc_bounds(arc: Arc) -> Box:
    points = [arc.at(arc.start_deg), arc.at(arc.end_deg)]
    quarter = math.ceil(arc.start_deg / 90) * 90
    while quarter <= arc.end_deg:
        points.append(arc.at(quarter))
        quarter += 90
    return _around(points)


def shape_bounds(shape: Shape, scale: float = 1.0) -> Box:
    """The box around one shape, in drawn mm; text at its estimated width over ``scale``."""
    match shape:
        case Line(start, end):
            return _around([start, end])
        case Line3():
            return shape_bounds(shape.flat)
        case Arc():
            return arc_bounds(shape)
        case Circle((x, y), radius):
            return Box(x - radius, y - radius, x + radius, y + radius)
        case Outline():
            boxes = [shape_bounds(piece) for piece in shape.pieces()]
            whole = boxes[0]
            for box in boxes[1:]:
                whole = whole.joined(box)
            return whole
        case Text():
            return _around(text_corners(shape, scale))
        case Dimension():
            from templategen.drawing.dimension import exploded

            boxes = [shape_bounds(piece, scale) for piece in exploded(shape, scale)]
            whole = boxes[0]
            for box in boxes[1:]:
                whole = whole.joined(box)
            return whole


def text_corners(text: Text, scale: float = 1.0) -> list[Point]:
    """The four corners of a line of lettering as drawn, descenders included."""
    from templategen.drawing.lettering import text_width

    height = text.height / scale
    width = text_width(text.text, text.height, text.bold) / scale
    left = {"left": 0.0, "middle": -width / 2, "right": -width}[text.anchor]
    bottom = {"baseline": 0.0, "middle": -height / 2, "top": -height}[text.level]
    turn = math.radians(text.angle_deg)
    corners = []
    for u, v in ((left, bottom - 0.3 * height), (left + width, bottom - 0.3 * height)):
        corners.append((u, v))
    corners += [(left + width, bottom + height), (left, bottom + height)]
    return [
        (
            text.at[0] + u * math.cos(turn) - v * math.sin(turn),
            text.at[1] + u * math.sin(turn) + v * math.cos(turn),
        )
        for u, v in corners
    ]


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape shifted by (dx, dy)."""

    def shift(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    match shape:
        case Line(start, end):
            return Line(shift(start), shift(end))
        case Line3((x0, y0, z0), (x1, y1, z1)):
            return Line3((x0 + dx, y0 + dy, z0), (x1 + dx, y1 + dy, z1))
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


def _around(points: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))

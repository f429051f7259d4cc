"""How much room shapes take, lettering included at its estimated width."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import reduce

from templategen.drawing.dimension import exploded
from templategen.drawing.lettering import text_width
from templategen.drawing.shapes import Arc, Box, Circle, Dimension, Line, Outline, Point, Polyline, Shape, Text


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
        case Polyline(points, bulges):
            return _joined(shape_bounds(piece) for piece in shape.pieces()) if any(bulges) else _around(points)
        case Arc():
            return arc_bounds(shape)
        case Circle((x, y), radius):
            return Box(x - radius, y - radius, x + radius, y + radius)
        case Outline(points, bulges):
            return _joined(shape_bounds(piece) for piece in shape.pieces()) if any(bulges) else _around(points)
        case Text():
            return _around(text_corners(shape, scale))
        case Dimension():
            return _joined(shape_bounds(piece, scale) for piece in exploded(shape, scale))


def text_corners(text: Text, scale: float = 1.0) -> list[Point]:
    """The four corners of a line of lettering as drawn, descenders included."""
    height = text.height / scale
    width = text_width(text.text, text.height, text.bold) / scale
    left = {"left": 0.0, "middle": -width / 2, "right": -width}[text.anchor]
    bottom = {"baseline": 0.0, "middle": -height / 2, "top": -height}[text.level]
    right, low, high = left + width, bottom - 0.3 * height, bottom + height
    spots = ((left, low), (right, low), (right, high), (left, high))
    x, y = text.at
    if not text.angle_deg:
        return [(x + u, y + v) for u, v in spots]
    turn = math.radians(text.angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    return [(x + u * cos - v * sin, y + u * sin + v * cos) for u, v in spots]


def _around(points: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _joined(boxes: Iterable[Box]) -> Box:
    """The box around at least one box."""
    return reduce(Box.joined, boxes)

"""A dimension as plain lines, filled arrowheads and text (ISO 129-1), for writers whose format has none of its own."""

from __future__ import annotations

import math

from templategen.drawing.lettering import text_width
from templategen.drawing.shapes import Dimension, Line, Outline, Point, Text

ARROW_LENGTH = 2.5  # paper mm
ARROW_WIDTH = 0.8
GAP = 0.6  # from the measured point to the extension line
OVERRUN = 1.2  # extension line past the dimension line
TEXT_HEIGHT = 2.5
TEXT_LIFT = 0.8


def exploded(dimension: Dimension, scale: float = 1.0) -> tuple[Line | Outline | Text, ...]:
    """Extension lines, dimension line, arrowheads (the outlines, to be filled) and text, last; paper mm over ``scale``.

    The text stands over the line, readable from below or from the right. What does not fit between the extension
    lines goes outside: first the arrows, and where the text alone is too long, the text instead. ``text_at="end"``
    puts the text behind the line's end, on its level.
    """
    turn = math.radians(reading_deg(dimension.angle_deg))
    along, across = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))

    def split(point: Point) -> tuple[float, float]:
        return (
            point[0] * along[0] + point[1] * along[1],
            point[0] * across[0] + point[1] * across[1],
        )

    def place(u: float, v: float) -> Point:
        return u * along[0] + v * across[0], u * along[1] + v * across[1]

    (u0, v0), (u1, v1), (_, level) = split(dimension.start), split(dimension.end), split(dimension.line_at)
    if u1 < u0:
        (u0, v0), (u1, v1) = (u1, v1), (u0, v0)
    arrow, wide = ARROW_LENGTH / scale, ARROW_WIDTH / scale
    space = 0.8 / scale
    width = text_width(dimension.label, TEXT_HEIGHT) / scale
    room = u1 - u0
    between = dimension.text_at == "middle" and room >= width + 2 * space
    inside = room >= (width if between else 0) + 2 * arrow + space

    shapes: list[Line | Outline | Text] = []
    for u, v in ((u0, v0), (u1, v1)):
        if abs(level - v) > GAP / scale:
            side = math.copysign(1.0, level - v)
            shapes.append(Line(place(u, v + side * GAP / scale), place(u, level + side * OVERRUN / scale)))
    point_in = 1.0 if inside else -1.0
    for u, way in ((u0, point_in), (u1, -point_in)):
        shapes.append(
            Outline.polygon(
                (place(u, level), place(u + way * arrow, level + wide / 2), place(u + way * arrow, level - wide / 2))
            )
        )
    first, last = (u0, u1) if inside else (u0 - 2 * arrow, u1 + 2 * arrow)
    if between:
        text_u, base = (u0 + u1 - width) / 2, level + TEXT_LIFT / scale
    elif dimension.text_at == "middle":
        text_u, base = last + space, level + TEXT_LIFT / scale
        last = text_u + width
    else:
        text_u, base = last + space, level - TEXT_HEIGHT / scale / 2
    shapes.append(Line(place(first, level), place(last, level)))
    shapes.append(Text(place(text_u, base), dimension.label, TEXT_HEIGHT, reading_deg(dimension.angle_deg)))
    return tuple(shapes)


def reading_deg(angle_deg: float) -> float:
    """The same direction turned so that lettering along it reads from below or from the right: above -90, up to 90."""
    turned = (angle_deg + 90) % 180 - 90
    return 90.0 if turned == -90 else turned

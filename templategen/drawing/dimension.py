"""A dimension as plain lines, filled arrowheads and text (ISO 129-1), for writers whose format has none of its own."""

from __future__ import annotations

import math

from templategen.drawing.lettering import text_width
from templategen.drawing.model import Dimension, Line, Outline, Point, Text

ARROW_LENGTH = 2.5  # paper mm
ARROW_WIDTH = 0.8
GAP = 0.6  # from the measured point to the extension line
OVERRUN = 1.2  # extension line past the dimension line
TEXT_HEIGHT = 2.5
TEXT_LIFT = 0.8


def exploded(dimension: Dimension, scale: float = 1.0) -> tuple[Line | Outline | Text, ...]:
    """Extension lines, dimension line, arrowheads and text; all sizes are paper mm over ``scale``.

    Where the text does not fit between the arrows, the arrows stand outside and the text beyond the end.
    """
    turn = math.radians(dimension.angle_deg)
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
    lift = TEXT_LIFT / scale
    width = text_width(dimension.label, TEXT_HEIGHT) / scale
    shapes: list[Line | Outline | Text] = []
    for u, v in ((u0, v0), (u1, v1)):
        side = math.copysign(1.0, level - v) if level != v else 0.0
        if side:
            shapes.append(Line(place(u, v + side * GAP / scale), place(u, level + side * OVERRUN / scale)))
    room = u1 - u0
    inside = room >= 2 * arrow + 1.0 / scale
    point_in = 1.0 if inside else -1.0
    for u, way in ((u0, point_in), (u1, -point_in)):
        shapes.append(
            Outline.polygon(
                (place(u, level), place(u + way * arrow, level + wide / 2), place(u + way * arrow, level - wide / 2))
            )
        )
    first, last = (u0, u1) if inside else (u0 - 2 * arrow, u1 + 2 * arrow)
    text_inside = inside and room >= width + 2 * arrow and dimension.text_at == "middle"
    if text_inside:
        text_u = (u0 + u1) / 2 - width / 2
    else:
        text_u = last + 0.8 / scale
        if dimension.text_at == "middle":
            last = text_u + width
    shapes.append(Line(place(first, level), place(last, level)))
    base = level + lift if (text_inside or dimension.text_at == "middle") else level - TEXT_HEIGHT / scale / 2
    shapes.append(Text(place(text_u, base), dimension.label, TEXT_HEIGHT, dimension.angle_deg))
    return tuple(shapes)

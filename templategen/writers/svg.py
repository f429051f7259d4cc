"""A drawing as SVG.

Width and height in mm are the drawing's size times its scale; the view box is in true mm with its corner at 0, 0, so
one user unit is one mm drawn. y is flipped in the numbers. Presentation attributes only, one group a layer.
"""

from __future__ import annotations

import math
from typing import Any
from xml.etree import ElementTree

from templategen.drawing.alone import with_cautions
from templategen.drawing.dimension import exploded
from templategen.drawing.lettering import text_width, type_size
from templategen.drawing.model import (
    Arc,
    Box,
    Circle,
    Dimension,
    Drawing,
    Layer,
    Line,
    Outline,
    Point,
    Polyline,
    Shape,
    Text,
)
from templategen.drawing.strokes import stroked
from templategen.writers.plain import clean, number, one_line

FONT_FAMILY = "Helvetica, Arial, Liberation Sans, sans-serif"
XML_HEAD = "<?xml version='1.0' encoding='utf-8'?>"
MARGIN = 5.0  # paper mm around a drawing
CUT_MARGIN = 1.0


def encode(drawing: Drawing) -> bytes:
    """The drawing as an SVG file; the same drawing gives the same bytes.

    What is to decide and cautions are lettered under a drawing. A cut drawing is written without text elements: its
    lettering becomes lines.
    """
    import svgwrite

    drawing = stroked(with_cautions(drawing))
    box = _picture_box(drawing)
    root: Any = svgwrite.Drawing(
        size=(f"{number(box.width * drawing.scale)}mm", f"{number(box.height * drawing.scale)}mm"),
        viewBox=f"0 0 {number(box.width)} {number(box.height)}",
        debug=False,
    )
    said = (*drawing.notes, *(f"To decide: {line}" for line in drawing.to_decide), *drawing.cautions)
    root.set_desc(title=one_line(drawing.title), desc="\n".join(one_line(line) for line in said) or None)
    replay = _Replay(root, box, drawing.scale)
    for layer in drawing.layers:
        root.add(replay.group(layer))
    tree = root.get_xml()
    ElementTree.indent(tree, " ")
    return f"{XML_HEAD}\n{ElementTree.tostring(tree, encoding='unicode')}\n".encode()


def _picture_box(drawing: Drawing) -> Box:
    """What the picture shows, out to whole mm: the numbers in the file are the drawing's own, less a whole number.

    Rounded first: an edge that lies on a whole mm but for the last digit of a sum stays on it on every machine.
    """
    box = drawing.bounds().grown((CUT_MARGIN if drawing.kind == "cut" else MARGIN) / drawing.scale)
    return Box(*(math.floor(clean(v)) for v in (box.x0, box.y0)), *(math.ceil(clean(v)) for v in (box.x1, box.y1)))


class _Replay:
    """Layers of one drawing as SVG groups; ``box`` is the part of the drawing that the picture shows."""

    def __init__(self, root: Any, box: Box, scale: float) -> None:
        self.root, self.box, self.scale = root, box, scale

    def group(self, layer: Layer) -> Any:
        pen = layer.pen
        group = self.root.g(
            id=layer.name, fill=pen.colour if pen.filled else "none", stroke=pen.colour,
            stroke_width=number(pen.width / self.scale), stroke_linecap="butt", stroke_linejoin="round",
        )  # fmt: skip
        if pen.dash:
            group["stroke-dasharray"] = " ".join(number(part / self.scale) for part in pen.dash)
        for shape in layer.shapes:
            for element in self.elements(shape, pen.colour):
                group.add(element)
        return group

    def elements(self, shape: Shape, colour: str) -> list[Any]:
        root = self.root
        match shape:
            case Line(start, end):
                (x1, y1), (x2, y2) = self.at(start), self.at(end)
                return [root.line((x1, y1), (x2, y2))]
            case Polyline(points):
                return [root.path(d=" ".join([f"M {self.pair(points[0])}", *self.along(shape)]))]
            case Arc():
                return [root.path(d=f"M {self.pair(shape.at(shape.start_deg))} {self.arc_to(shape)}")]
            case Circle(centre, radius):
                return [root.circle(self.at(centre), number(radius))]
            case Outline():
                return [root.path(d=self.contour(shape))]
            case Text():
                return [self.text(shape, colour)]
            case Dimension():
                found: list[Any] = []
                for part in exploded(shape, self.scale):
                    (element,) = self.elements(part, colour)
                    if isinstance(part, Outline):
                        element["fill"], element["stroke"] = colour, "none"
                    elif isinstance(part, Line):
                        element["stroke-dasharray"] = "none"
                    found.append(element)
                return found

    def text(self, text: Text, colour: str) -> Any:
        drop = {"baseline": 0.0, "middle": 0.5, "top": 1.0}[text.level] * text.height / self.scale
        turn = math.radians(text.angle_deg)
        x, y = self.at((text.at[0] + drop * math.sin(turn), text.at[1] - drop * math.cos(turn)))
        element = self.root.text(
            one_line(text.text), insert=(x, y), fill=colour, stroke="none", font_family=FONT_FAMILY,
            font_size=number(type_size(text.height) / self.scale),
            text_anchor={"left": "start", "middle": "middle", "right": "end"}[text.anchor],
        )  # fmt: skip
        # A viewer without the typeface takes another: the width that the sheet was laid out with holds all the same.
        if width := text_width(text.text, text.height, text.bold):
            element["textLength"], element["lengthAdjust"] = number(width / self.scale, 3), "spacingAndGlyphs"
        if text.bold:
            element["font-weight"] = "bold"
        if text.angle_deg % 360:
            element["transform"] = f"rotate({number(-text.angle_deg)} {x} {y})"
        return element

    def contour(self, outline: Outline) -> str:
        path = self.along(outline)
        if not outline.bulges[-1]:
            path.pop()  # Z draws it
        return " ".join([f"M {self.pair(outline.points[0])}", *path, "Z"])

    def along(self, path: Outline | Polyline) -> list[str]:
        """A step for each stretch, from the pen's place at the first point."""
        bulges = path.bulges or (0.0,) * (len(path.points) - 1)
        ends = (*path.points[1:], path.points[0])
        steps = []
        for piece, bulge, end in zip(path.pieces(), bulges, ends, strict=False):
            if isinstance(piece, Arc):
                steps.append(self.arc_to(piece, end, clockwise=bulge < 0))
            else:
                steps.append(f"L {self.pair(end)}")
        return steps

    def arc_to(self, arc: Arc, end: Point | None = None, clockwise: bool = False) -> str:
        """The arc from the pen's place to ``end``; a counterclockwise arc is one, seen with y down, of sweep 0."""
        large = 1 if arc.end_deg - arc.start_deg > 180 else 0
        radius = number(arc.radius)
        return f"A {radius} {radius} 0 {large} {int(clockwise)} {self.pair(end or arc.at(arc.end_deg))}"

    def at(self, point: Point) -> tuple[str, str]:
        return number(point[0] - self.box.x0), number(self.box.y1 - point[1])

    def pair(self, point: Point) -> str:
        return " ".join(self.at(point))

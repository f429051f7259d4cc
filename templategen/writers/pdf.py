"""Pages as PDF.

Boxes are exact in units of 1/72 in (ISO 32000-1, 8.3.2); the viewer is asked for no scaling. A drawing is one form,
placed on every page that shows a window of it and clipped there. Arcs are Bezier curves of at most 90 degrees, which
stray from the circle by 2.7e-4 of the radius, so they are split until that is under 1e-4 mm.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from itertools import groupby, pairwise
from typing import Any

from templategen.drawing.dimension import exploded
from templategen.drawing.lettering import runs, text_width, type_size
from templategen.drawing.model import Arc, Box, Circle, Dimension, Drawing, Line, Outline, Point, Polyline, Shape, Text
from templategen.drawing.paper.sizes import Page, Placement
from templategen.drawing.strokes import stroked
from templategen.units import inches
from templategen.writers.plain import one_line

POINTS = 72 * inches(1.0)  # per mm (ISO 32000-1, 8.3.2.3: a unit is 1/72 in)
ARC_ERROR = 1e-4  # paper mm


def encode(pages: Sequence[Page], title: str) -> bytes:
    """The pages as one PDF file; the same pages give the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas: Any = Canvas(stream, invariant=1, pageCompression=1, lang="en")
    canvas.setTitle(one_line(title))
    canvas.setAuthor("")
    canvas.setCreator("templategen")
    canvas.setProducer("templategen")
    canvas.setSubject("")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("Duplex", "Simplex")
    forms: dict[int, str] = {}
    for page in pages:
        for placement in page.placements:
            if id(placement.drawing) not in forms:
                forms[id(placement.drawing)] = _form(canvas, placement.drawing, len(forms))
    for page in pages:
        size = page.width * POINTS, page.height * POINTS
        canvas.setPageSize(size)
        canvas.setCropBox((0, 0, *size))
        canvas.setTrimBox((0, 0, *size))
        canvas.scale(*page.stretch)
        for placement in page.placements:
            _place(canvas, placement, forms[id(placement.drawing)])
        _Replay(canvas, 1.0).drawing(page.furniture)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _form(canvas: Any, drawing: Drawing, number: int) -> str:
    """The drawing as a form in points of paper, at its own scale."""
    name = f"drawing{number}"
    drawing = stroked(drawing)
    box = drawing.bounds().grown(5 / drawing.scale)
    k = drawing.scale * POINTS
    canvas.beginForm(name, box.x0 * k, box.y0 * k, box.x1 * k, box.y1 * k)
    _Replay(canvas, drawing.scale).drawing(drawing)
    canvas.endForm()
    return name


def as_form(canvas: Any, drawing: Drawing) -> None:
    """The drawing on a canvas at its own scale, its origin at the canvas's."""
    _Replay(canvas, drawing.scale).drawing(stroked(drawing))


def _place(canvas: Any, placement: Placement, form: str) -> None:
    box: Box = placement.box
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(box.x0 * POINTS, box.y0 * POINTS, box.width * POINTS, box.height * POINTS)
    canvas.clipPath(frame, stroke=0, fill=0)
    origin = placement.on_page((0.0, 0.0))
    canvas.translate(origin[0] * POINTS, origin[1] * POINTS)
    reduction = placement.scale / placement.drawing.scale
    if reduction != 1:
        canvas.scale(reduction, reduction)
    canvas.doForm(form)
    canvas.restoreState()


class _Replay:
    """Shapes of a drawing on a canvas; ``scale`` is paper mm per mm drawn."""

    def __init__(self, canvas: Any, scale: float) -> None:
        self.canvas, self.scale = canvas, scale
        self.k = scale * POINTS

    def drawing(self, drawing: Drawing) -> None:
        for layer in drawing.layers:
            self.canvas.saveState()
            self.canvas.setStrokeColor(layer.pen.colour)
            self.canvas.setFillColor(layer.pen.colour)
            self.canvas.setLineWidth(layer.pen.width * POINTS)
            self.canvas.setLineJoin(1)
            dash = [part * POINTS for part in layer.pen.dash]
            self.canvas.setDash(dash)
            for straight, run in groupby(layer.shapes, lambda shape: isinstance(shape, Line)):
                if straight:
                    lines = [shape for shape in run if isinstance(shape, Line)]
                    self.canvas.lines([(*self.at(line.start), *self.at(line.end)) for line in lines])
                    continue
                for shape in run:
                    solid = bool(dash) and isinstance(shape, Dimension)
                    if solid:
                        self.canvas.setDash([])
                    self.shape(shape, layer.pen.filled)
                    if solid:
                        self.canvas.setDash(dash)
            self.canvas.restoreState()

    def shape(self, shape: Shape, fill: bool = False) -> None:
        match shape:
            case Line(start, end):
                self.canvas.line(*self.at(start), *self.at(end))
            case Polyline():
                self.canvas.drawPath(self.along(shape))
            case Arc():
                path = self.canvas.beginPath()
                path.moveTo(*self.at(shape.at(shape.start_deg)))
                self.arc_to(path, shape)
                self.canvas.drawPath(path)
            case Circle(centre, radius):
                path = self.canvas.beginPath()
                ring = Arc(centre, radius, 0.0, 360.0)
                path.moveTo(*self.at(ring.at(0.0)))
                self.arc_to(path, ring)
                path.close()
                self.canvas.drawPath(path, fill=int(fill))
            case Outline():
                self.canvas.drawPath(self.contour(shape), stroke=int(not fill), fill=int(fill))
            case Text():
                self.text(shape)
            case Dimension():
                for part in exploded(shape, self.scale):
                    self.shape(part, fill=isinstance(part, Outline))

    def contour(self, outline: Outline) -> Any:
        path = self.along(outline)
        path.close()
        return path

    def along(self, shape: Outline | Polyline) -> Any:
        path = self.canvas.beginPath()
        path.moveTo(*self.at(shape.points[0]))
        for i, piece in enumerate(shape.pieces()):
            if isinstance(piece, Arc):
                self.arc_to(path, piece, backward=shape.bulges[i] < 0)
            else:
                path.lineTo(*self.at(piece.end))
        return path

    def arc_to(self, path: Any, arc: Arc, backward: bool = False) -> None:
        """Bezier pieces from the pen's place along ``arc``.

        A piece of angle t with handles of 4/3·tan(t/4)·r strays outward by about 2/27·sin^6(t/4)/cos^2(t/4)·r
        (Goldapp, "Approximation of circular arcs by cubic polynomials", CAGD 8, 1991).
        """
        span = math.radians(arc.end_deg - arc.start_deg)
        radius = arc.radius * self.scale
        count = max(1, math.ceil(span / (math.pi / 2) - 1e-9))
        while _stray(span / count) * radius > ARC_ERROR:
            count += 1
        turns = [math.radians(arc.start_deg) + span * i / count for i in range(count + 1)]
        if backward:
            turns.reverse()
        handle = 4 / 3 * math.tan((turns[1] - turns[0]) / 4) * arc.radius
        for a, b in pairwise(turns):
            start, end = arc.at(math.degrees(a)), arc.at(math.degrees(b))
            first = start[0] - handle * math.sin(a), start[1] + handle * math.cos(a)
            second = end[0] + handle * math.sin(b), end[1] - handle * math.cos(b)
            path.curveTo(*self.at(first), *self.at(second), *self.at(end))

    def text(self, text: Text) -> None:
        words = one_line(text.text)
        width = text_width(words, text.height, text.bold)
        left = {"left": 0.0, "middle": -width / 2, "right": -width}[text.anchor]
        drop = {"baseline": 0.0, "middle": -0.5, "top": -1.0}[text.level] * text.height
        x, y = self.at(text.at)
        turned = text.angle_deg % 360
        if turned:
            self.canvas.saveState()
            self.canvas.translate(x, y)
            self.canvas.rotate(text.angle_deg)
            x, y = 0.0, 0.0
        line = self.canvas.beginText(x + left * POINTS, y + drop * POINTS)
        for font, part in runs(words, text.bold):
            line.setFont(font, type_size(text.height, font) * POINTS)
            line.textOut(part)
        self.canvas.drawText(line)
        if turned:
            self.canvas.restoreState()

    def at(self, point: Point) -> tuple[float, float]:
        return point[0] * self.k, point[1] * self.k


def _stray(angle: float) -> float:
    """How far a Bezier piece of ``angle`` (radians) is off a circle of radius 1."""
    return 2 / 27 * math.sin(angle / 4) ** 6 / math.cos(angle / 4) ** 2

"""Finding labels that lie over lines or over other labels."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from templategen.drawing.dimension import exploded
from templategen.drawing.model import (
    Arc,
    Box,
    Circle,
    Dimension,
    Drawing,
    Line,
    Outline,
    Point,
    Polyline,
    Text,
    shape_bounds,
    text_corners,
)

_SLACK = 0.15  # paper mm that a letter's box is smaller than its face's metrics
_HANGING = set("gjpqyQ,;()[]{}|/$@ç_")
_ARC_STEP_DEG = 3.0


@dataclass(frozen=True)
class Overlap:
    """One text that touches another text or a line; ``layer`` is the other's."""

    text: str
    other: str
    layer: str
    at: Point


@dataclass(frozen=True)
class _Label:
    text: Text
    corners: tuple[Point, ...]
    box: Box
    layer: str


@dataclass(frozen=True)
class _Stroke:
    line: Line
    box: Box
    layer: str
    owner: int
    what: str


def lie_over(a: Box, b: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1


def overlaps(drawing: Drawing) -> list[Overlap]:
    """Every text of ``drawing`` that overlaps another text or is crossed by a line; empty means that none does.

    A text is the box from its base line (or descender, where it has one) to its capital height. A dimension counts as
    its lines and its text. Arcs are followed in chords of 3 degrees.
    """
    labels, lines = _parts(drawing)
    found = []
    for i, label in enumerate(labels):
        for other in labels[i + 1 :]:
            if lie_over(label.box, other.box) and not _apart(label.corners, other.corners):
                found.append(Overlap(label.text.text, f"text {other.text.text!r}", other.layer, label.text.at))
        told = set()
        for stroke in lines:
            if stroke.owner in told or not _near(label.box, stroke.box):
                continue
            if not _apart(label.corners, (stroke.line.start, stroke.line.end)):
                told.add(stroke.owner)
                found.append(Overlap(label.text.text, stroke.what, stroke.layer, label.text.at))
    return found


def _parts(drawing: Drawing) -> tuple[list[_Label], list[_Stroke]]:
    labels: list[_Label] = []
    lines: list[_Stroke] = []
    owner = 0
    for layer in drawing.layers:
        for shape in layer.shapes:
            owner += 1
            what = type(shape).__name__.lower()
            for part in exploded(shape, drawing.scale) if isinstance(shape, Dimension) else (shape,):
                if isinstance(part, Text):
                    if part.text.strip():
                        corners = _letter_box(part, drawing.scale)
                        labels.append(_Label(part, corners, _around(corners), layer.name))
                else:
                    for line in _straight(part):
                        lines.append(_Stroke(line, shape_bounds(line), layer.name, owner, what))
    return labels, lines


def _letter_box(text: Text, scale: float) -> tuple[Point, ...]:
    """The corners of the letters' box, a little smaller than the metrics say."""
    a, b, c, d = text_corners(replace(text, at=(0.0, 0.0), angle_deg=0.0), scale)
    height = text.height / scale
    foot = a[1] if _HANGING & set(text.text) else a[1] + 0.3 * height
    slack = _SLACK / scale
    turn = math.radians(text.angle_deg)
    return tuple(
        (
            text.at[0] + x * math.cos(turn) - y * math.sin(turn),
            text.at[1] + x * math.sin(turn) + y * math.cos(turn),
        )
        for x, y in (
            (a[0] + slack, foot + slack), (b[0] - slack, foot + slack),
            (c[0] - slack, c[1] - slack), (d[0] + slack, d[1] - slack),
        )
    )  # fmt: skip


def _straight(shape: object) -> Iterator[Line]:
    match shape:
        case Line():
            yield shape
        case Arc():
            steps = max(1, math.ceil((shape.end_deg - shape.start_deg) / _ARC_STEP_DEG))
            points = [
                shape.at(shape.start_deg + (shape.end_deg - shape.start_deg) * i / steps) for i in range(steps + 1)
            ]
            yield from (Line(a, b) for a, b in pairwise(points))
        case Circle(centre, radius):
            yield from _straight(Arc(centre, radius, 0.0, 360.0))
        case Outline() | Polyline():
            for piece in shape.pieces():
                yield from _straight(piece)


def _apart(one: tuple[Point, ...], other: tuple[Point, ...]) -> bool:
    """Whether a line separates two convex shapes (separating axes: the normals of their sides).

    Both are boxes or single lines, whose sides come in pairs of opposite normals, so each is tried one way.
    """
    for corners in (one, other):
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True):
            nx, ny = y0 - y1, x1 - x0
            if nx == ny == 0:
                continue
            if max(x * nx + y * ny for x, y in one) <= min(x * nx + y * ny for x, y in other):
                return True
    return False


def _near(a: Box, b: Box) -> bool:
    """Boxes that touch; a level or upright line has a box with no area."""
    return a.x0 <= b.x1 and b.x0 <= a.x1 and a.y0 <= b.y1 and b.y0 <= a.y1


def _around(points: tuple[Point, ...]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))

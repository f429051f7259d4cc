"""Stock in two views with the origin and the axes of its STEP file: for setup sheets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from templategen.drawing.layout import HEADING_HEIGHT, TEXT_HEIGHT
from templategen.drawing.model import Box, Circle, Dimension, Drawing, Line, Point, Shape, Sketch, Text
from templategen.drawing.shapes import TextLevel, moved
from templategen.parts.common.layers import sketch

SCALES = (5.0, 3.0, 2.0, 1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 10)
WIDEST, TALLEST = 156.0, 60.0  # mm of paper for the views without their lettering
ARROW, HEAD, RING = 9.0, 1.8, 1.2  # of an axis and the origin, paper mm
BESIDE, BELOW = 32.0, 22.0  # what a view's dimensions take, paper mm
TOP = ARROW + 2.0  # of the upright axis over the origin, paper mm
TALL = 14.0  # of a view, paper mm, for an upright dimension's figures beside its middle
NARROW, FIGURES = 75.0, 11.0  # of a view whose heading reaches over those figures, and what they take; paper mm
THIN = 6.0  # of a view too thin for an axis' letter inside, paper mm


@dataclass(frozen=True)
class View:
    """One view in its own coordinates, in which the STEP's origin is (0, 0); mm.

    stock: its box. shapes: drawn in full lines; thin: what it becomes. right, up: the axes as letters, a minus before
    the one that points down. top: where Z0 of the programs is, None where there is none to be seen.
    """

    title: str
    stock: Box
    shapes: tuple[Shape, ...]
    thin: tuple[Shape, ...]
    right: str
    up: str
    top: float | None = None


def scale_for(views: tuple[View, ...]) -> float:
    """The largest scale at which the views fit, beside each other or below."""
    return next((scale for scale in SCALES if _beside(views, scale) or _below(views, scale)), SCALES[-1])


def _beside(views: tuple[View, ...], scale: float) -> bool:
    wide = sum(view.stock.width for view in views) * scale + BESIDE * (len(views) - 1)
    return wide <= WIDEST and max(view.stock.height for view in views) * scale <= TALLEST


def _below(views: tuple[View, ...], scale: float) -> bool:
    tall = sum(view.stock.height for view in views) * scale + BELOW * (len(views) - 1)
    return max(view.stock.width for view in views) * scale <= WIDEST and tall <= TALLEST


def scale_text(scale: float) -> str:
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def drawn(name: str, title: str, views: tuple[View, ...]) -> Drawing:
    """The views at one scale that fits a page, beside each other where there is room."""
    scale = scale_for(views)
    s = sketch()
    x = y = 0.0
    beside = _beside(views, scale)
    for view in views:
        low = _view(s, view, (x - view.stock.x0, y), scale)
        if beside:
            x += view.stock.width + BESIDE / scale
        else:
            y = low
    return Drawing(name, title, s.layers(), scale=scale)


def _view(s: Sketch, view: View, at: Point, scale: float) -> float:
    """Draws a view, its origin at x and its heading's top at y of ``at``; returns where the next may begin below it."""
    paper = 1 / scale
    box, (right, above) = view.stock, at
    figures = FIGURES if box.width * scale < NARROW and box.height * scale < TALL else 2.5
    top = HEADING_HEIGHT + 2.5 + max(TOP, box.y1 * scale + figures)
    lift = above - top * paper
    s.add("TEXT", Text((box.x0 + right, above - HEADING_HEIGHT * paper), view.title, HEADING_HEIGHT, bold=True))
    s.add("OUTLINE", *(moved(shape, right, lift) for shape in view.shapes))
    s.add("SLOT_PATH", *(moved(shape, right, lift) for shape in view.thin))
    s.add("DIMENSION", *(moved(d, right, lift) for d in _dimensions(box, paper)))
    _axes(s, view, (right, lift), paper)
    if view.top is not None:
        z = view.top + lift
        s.add("DIMENSION", Line((box.x1 + right + 2 * paper, z), (box.x1 + right + 14 * paper, z)))
        s.add("TEXT", Text((box.x1 + right + 15 * paper, z), "Z0", TEXT_HEIGHT, level="middle", bold=True))
    return box.y0 + lift - BELOW * paper


def _dimensions(box: Box, paper: float) -> list[Dimension]:
    """Over all, and from the lower left corner to the origin where it is inside."""
    beside: Literal["middle", "end"] = "middle" if box.height / paper >= TALL else "end"
    found = [
        Dimension((box.x0, box.y0), (box.x1, box.y0), (0.0, box.y0 - 14 * paper)),
        Dimension((box.x1, box.y0), (box.x1, box.y1), (box.x1 + 9 * paper, 0.0), 90.0, text_at=beside),
    ]
    if box.x0 < -1e-6 and box.x1 > 1e-6:
        found.append(Dimension((box.x0, box.y0), (0.0, box.y0), (0.0, box.y0 - 7 * paper)))
    if box.y0 < -1e-6 and box.y1 > 1e-6:
        beside = "middle" if -box.y0 / paper >= TALL else "end"
        found.append(Dimension((box.x0, box.y0), (box.x0, 0.0), (box.x0 - 9 * paper, 0.0), 90.0, text_at=beside))
    return found


def _axes(s: Sketch, view: View, at: Point, paper: float) -> None:
    x, y = at
    long, head, ring = ARROW * paper, HEAD * paper, RING * paper
    down = view.up.startswith("-")
    for letter, (ux, uy) in ((view.right, (1.0, 0.0)), (view.up.lstrip("-"), (0.0, -1.0 if down else 1.0))):
        tip = x + long * ux, y + long * uy
        s.add("NUT_FRONT", Line(at, tip))
        for side in (-0.45, 0.45):
            s.add("NUT_FRONT", Line(tip, (tip[0] - head * (ux + side * uy), tip[1] - head * (uy + side * ux))))
        edge = view.stock.y1 / paper
        if ux:
            where = (tip[0] - 2.5 * paper, tip[1] + (2.4 + (edge if 0 < edge < THIN else 0.0)) * paper)
        else:
            where = (tip[0] + 1.5 * paper, tip[1] if down else y + _clear_of(edge) * paper)
        level: TextLevel = "baseline" if ux or down else "top"
        s.add("TEXT", Text(where, letter, HEADING_HEIGHT, 0.0, "left", level, bold=True))
    s.add("NUT_FRONT", Circle(at, ring))


def _clear_of(edge: float) -> float:
    """Height of an upright axis' letter's top over the origin, beside the arrow's tip and off the stock's edge; paper
    mm."""
    room = HEADING_HEIGHT + 1.0
    if not ARROW - room - 0.5 < edge < ARROW + 0.5:
        return ARROW
    return edge - 0.8 if edge >= room + 2.0 else edge + room + 0.8

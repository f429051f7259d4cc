"""A small 2D model that knows no trade: layers of lines, arcs, circles, outlines, open paths, text and dimensions.

Terms
-----
drawing   a name, a title and layers; geometry in mm, x to the right, y up, true size
scale     paper mm per mm drawn (ISO 5455: 1 is true size, 5 is five times enlarged). Geometry is never multiplied by
          it: lettering, pen widths and dashes are given in PAPER mm and the writers divide, so that a file read back
          always holds true sizes
layer     a name and a pen; meaning is carried by the layer, line weight and dash, never by colour alone
cut       a drawing that holds only what a machine is to cut or engrave

The shapes live in ``shapes`` and what room they take in ``bounds``; this is the door to both.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, reduce
from typing import Literal

from templategen.drawing.bounds import arc_bounds, shape_bounds, text_corners
from templategen.drawing.shapes import (
    Anchor,
    Arc,
    Box,
    Circle,
    Dimension,
    Line,
    Outline,
    Point,
    Polyline,
    Shape,
    Text,
    arc_of_bulge,
    moved,
    point,
)
from templategen.geometry import self_contact
from templategen.units import Unit

__all__ = [
    "Anchor",
    "Arc",
    "Box",
    "Circle",
    "Dimension",
    "Drawing",
    "Layer",
    "Line",
    "Outline",
    "Pen",
    "Point",
    "Polyline",
    "Shape",
    "Sketch",
    "Text",
    "arc_bounds",
    "arc_of_bulge",
    "crossed",
    "moved",
    "point",
    "shape_bounds",
    "text_corners",
]


@dataclass(frozen=True, slots=True)
class Pen:
    """Line width and dashes (on, off, on, off …) in PAPER mm, after ISO 128; a quiet colour as #rrggbb.

    filled: circles and outlines are filled with the colour, where a format can.
    """

    width: float = 0.35
    dash: tuple[float, ...] = ()
    colour: str = "#000000"
    filled: bool = False


@dataclass(frozen=True)
class Layer:
    """A named group of shapes drawn with one pen."""

    name: str
    pen: Pen
    shapes: tuple[Shape, ...]

    def bounds(self, scale: float) -> Box | None:
        """The box around the shapes, lettering at its estimated width over ``scale``; None around none.

        Reckoned once for a layer, however many drawings it is part of.
        """
        if scale not in self._bounds:
            boxes = [shape_bounds(shape, scale) for shape in self.shapes]
            self._bounds[scale] = reduce(Box.joined, boxes) if boxes else None
        return self._bounds[scale]

    @cached_property
    def _bounds(self) -> dict[float, Box | None]:
        return {}


@dataclass(frozen=True)
class Drawing:
    """What the writers replay.

    whole: boxes that a page edge must not cut and that must lie whole on at least one tile (fret slots).
    joints: along x, distances worth checking with a steel rule across assembled tiles, as (label, from, to) in mm.
    asides: boxes of words and tables beside what is drawn; where that is tiled, they go where the tiles leave room.
    titles: boxes of what every page says in its own band; left out on paper.
    unit: the one that comes first where the paper's words say a length.
    about: a word or two on every page, such as whose hand it is for. sides: what lies above and below, on every tile.
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
    titles: tuple[Box, ...] = ()
    about: str = ""
    unit: Unit = "mm"
    sides: tuple[str, str] | None = None
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
        return self._bounds

    @cached_property
    def _bounds(self) -> Box:
        boxes = [box for layer in self.layers if (box := layer.bounds(self.scale)) is not None]
        return reduce(Box.joined, boxes) if boxes else Box(0, 0, 0, 0)


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


def crossed(drawing: Drawing) -> Point | None:
    """Where a closed contour of the drawing touches or crosses itself; None where all are simple."""
    for layer in drawing.layers:
        for shape in layer.shapes:
            if isinstance(shape, Outline):
                place = self_contact(shape.points, shape.bulges)
                if place is not None:
                    return place
    return None

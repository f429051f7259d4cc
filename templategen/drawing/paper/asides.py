"""Words and tables that stand beside a drawing, taken off it and laid on pages of their own.

A strip half a metre long is tiled in one row; with a table under it, it would take two or three.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from templategen.drawing.model import Box, Drawing, Point, Shape, Sketch, moved, shape_bounds
from templategen.drawing.paper import furniture as kit
from templategen.drawing.paper.furniture import Paragraph

SLACK = 0.5  # that a shape may reach past its aside's box, mm


def untitled(drawing: Drawing) -> Drawing:
    """The drawing without what every page says in its own band."""
    rest, _ = parted(replace(drawing, asides=drawing.titles))
    return replace(rest, asides=drawing.asides, titles=())


def parted(drawing: Drawing) -> tuple[Drawing, tuple[Drawing, ...]]:
    """The drawing without its asides, and each aside as a drawing of the shapes that lie in its box."""
    rest = drawing
    asides = []
    for box in drawing.asides:

        def inside(shape: Shape, box: Box = box) -> bool:
            return box.holds(shape_bounds(shape, drawing.scale), SLACK)

        asides.append(_picked(rest, inside))
        rest = _picked(rest, lambda shape: not inside(shape))
    return replace(rest, asides=()), tuple(aside for aside in asides if aside.layers)


def set_apart(name: str, title: str, words: Sequence[Paragraph], width: float, height: float) -> list[Drawing]:
    """Each paragraph as an aside, no wider than ``width``; in several where it is higher than ``height`` mm."""
    column = min(width, kit.WORDS_WIDEST)
    deep = max(1, int(height // kit.LINE))
    found = []
    for paragraph in words:
        lines = kit.set_words([paragraph], column)
        for first in range(0, len(lines), deep):
            sketch = Sketch(kit.PENS)
            for row, line in enumerate(lines[first : first + deep]):
                kit.draw_words(sketch, line, 0.0, -row * kit.LINE)
            found.append(Drawing(name, title, sketch.layers()))
    return found


def together(items: Sequence[tuple[Drawing, Point]]) -> Drawing:
    """Asides, each with the place of its lower left corner, as one drawing."""
    layers = []
    for drawing, at in items:
        box = drawing.bounds()
        for layer in drawing.layers:
            shapes = (moved(shape, at[0] - box.x0, at[1] - box.y0) for shape in layer.shapes)
            layers.append(replace(layer, shapes=tuple(shapes)))
    return replace(items[0][0], layers=tuple(layers))


def _picked(drawing: Drawing, wanted: Callable[[Shape], bool]) -> Drawing:
    layers = []
    for layer in drawing.layers:
        if shapes := tuple(shape for shape in layer.shapes if wanted(shape)):
            layers.append(replace(layer, shapes=shapes))
    return replace(drawing, layers=tuple(layers))

"""Words and tables that stand beside a drawing, taken off it and laid on pages of their own.

A strip half a metre long is tiled in one row; with a table under it, it would take two or three.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from templategen.drawing.model import Box, Drawing, Shape, Sketch, moved, shape_bounds
from templategen.drawing.paper import furniture as kit
from templategen.drawing.paper.furniture import Paragraph

GAP = 8.0  # between two asides on a page, mm
SLACK = 0.5  # that a shape may reach past its aside's box, mm


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


def shelved(asides: Iterable[Drawing], width: float, height: float) -> Iterator[Drawing]:
    """The asides in rows from the top left, as many in a drawing as ``width`` by ``height`` mm hold.

    One that is low and narrow enough stands under an earlier one of its row.
    """
    page: list[Drawing] = []
    columns: list[Box] = []  # of the row: the last aside of each column, as placed
    x = y = deepest = 0.0
    for aside in asides:
        box = aside.bounds()
        over = next((c for c in columns if box.width <= c.width and y + deepest + c.y0 >= GAP + box.height), None)
        if page and over is not None:
            at, top = over.x0, -over.y0 + GAP
            columns[columns.index(over)] = Box(at, -top - box.height, over.x1, -top)
            page.append(_moved(aside, at - box.x0, -top - box.y1))
            continue
        if page and x + box.width > width:
            x, y, deepest, columns = 0.0, y + deepest + GAP, 0.0, []
        if page and y + box.height > height:
            yield _together(page)
            page, columns = [], []
            x = y = deepest = 0.0
        page.append(_moved(aside, x - box.x0, -y - box.y1))
        columns.append(Box(x, -y - box.height, x + box.width, -y))
        x += box.width + GAP
        deepest = max(deepest, box.height)
    if page:
        yield _together(page)


def set_in_columns(name: str, title: str, words: Sequence[Paragraph], width: float, height: float) -> list[Drawing]:
    """Paragraphs as asides: columns no wider than ``width`` and no higher than ``height`` mm, a line between two."""
    column = min(width, kit.WORDS_WIDEST)
    lines: list[kit.TypeLine] = []
    for paragraph in words:
        lines += [*([()] if lines else []), *kit.set_words([paragraph], column)]
    deep = max(1, int(height // kit.LINE))
    found = []
    for first in range(0, len(lines), deep):
        sketch = Sketch(kit.PENS)
        for row, line in enumerate(lines[first : first + deep]):
            kit.draw_words(sketch, line, 0.0, -row * kit.LINE)
        found.append(Drawing(name, title, sketch.layers()))
    return found


def _moved(drawing: Drawing, dx: float, dy: float) -> Drawing:
    layers = tuple(
        replace(layer, shapes=tuple(moved(shape, dx, dy) for shape in layer.shapes)) for layer in drawing.layers
    )
    return replace(drawing, layers=layers)


def _together(drawings: list[Drawing]) -> Drawing:
    return replace(drawings[0], layers=tuple(layer for drawing in drawings for layer in drawing.layers))


def _picked(drawing: Drawing, wanted: Callable[[Shape], bool]) -> Drawing:
    layers = []
    for layer in drawing.layers:
        if shapes := tuple(shape for shape in layer.shapes if wanted(shape)):
            layers.append(replace(layer, shapes=shapes))
    return replace(drawing, layers=tuple(layers))

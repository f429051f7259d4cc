"""A drawing as it goes into a file of its own, where no page beside it says what is open and what can hurt."""

from __future__ import annotations

from dataclasses import replace

from templategen.drawing.layout import TEXT_HEIGHT
from templategen.drawing.lettering import LINE_PITCH, wrapped
from templategen.drawing.model import Drawing, Layer, Pen, Text

LAYER = "TEXT"
WIDEST, NARROWEST = 180.0, 110.0  # of the lines, paper mm
DROP = 6.0  # under the drawing, paper mm: a wider face in a reader still leaves a gap


def with_cautions(drawing: Drawing) -> Drawing:
    """A drawing for people with what is to decide and its cautions lettered under it; a cut drawing, or one that has
    neither, as it is."""
    said = (*(f"To decide: {line}" for line in drawing.to_decide), *drawing.cautions)
    if drawing.kind == "cut" or not said:
        return drawing
    box, scale = drawing.bounds(), drawing.scale
    width = min(max(box.width * scale, NARROWEST), WIDEST)
    base = box.y0 - (DROP + TEXT_HEIGHT) / scale
    shapes = []
    for paragraph in said:
        for line in wrapped(paragraph, TEXT_HEIGHT, width):
            shapes.append(Text((box.x0, base), line, TEXT_HEIGHT))
            base -= LINE_PITCH * TEXT_HEIGHT / scale
    layers = list(drawing.layers)
    for n, layer in enumerate(layers):
        if layer.name == LAYER:
            layers[n] = replace(layer, shapes=(*layer.shapes, *shapes))
            break
    else:
        layers.append(Layer(LAYER, Pen(0.18), tuple(shapes)))
    return replace(drawing, layers=tuple(layers))

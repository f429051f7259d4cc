"""What the parts' drawings share: the title block's wording, and text blocks placed by their box."""

from __future__ import annotations

from templategen.drawing.layout import TITLE_HEIGHT, Laid, title_block
from templategen.drawing.lettering import wrapped
from templategen.drawing.model import Point, Sketch
from templategen.instrument.model import Instrument

TITLE_WIDTH = 150.0  # paper mm


def titled(instrument: Instrument, what: str, at: Point, *more: str, scale: float = 1.0) -> Laid:
    """A title block with its top left corner at ``at``: the instrument, what is drawn, and how to trace it."""
    title = wrapped(instrument.spec.title, TITLE_HEIGHT, TITLE_WIDTH, bold=True)
    return title_block((*title, what, *more, instrument.trace), at, scale, title_rows=len(title))


def put(sketch: Sketch, laid: Laid, layer: str = "TEXT") -> Laid:
    """Add laid-out shapes to a layer and hand their box back."""
    sketch.add(layer, *laid.shapes)
    return laid


def bass_is_left(instrument: Instrument) -> bool:
    """On a front view of the nut, +x is the treble side of a right-handed instrument."""
    return instrument.side > 0

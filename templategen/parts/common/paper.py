"""The shop's paper, what its printer makes of 100 mm, and documents of several sheets."""

from __future__ import annotations

from collections.abc import Sequence

from templategen.drawing.model import Drawing, moved
from templategen.drawing.paper.sizes import PAPERS, PaperSize
from templategen.instrument.model import Instrument
from templategen.parts.common.layers import sketch
from templategen.parts.common.sheetwork import put, titled
from templategen.spec.models import Paper, Shop

BETWEEN = 10.0  # paper mm, of leaves that stand under each other


def paper_of(shop: Shop) -> PaperSize:
    """The shop's paper, named or its own."""
    return PaperSize(shop.paper.width, shop.paper.height) if isinstance(shop.paper, Paper) else PAPERS[shop.paper]


def measured_of(shop: Shop) -> tuple[float, float]:
    """What the printed 100 mm rulers measure, across and along; 100 where nobody has measured."""
    measured = shop.ruler_measured
    return (measured.across, measured.along) if measured else (100.0, 100.0)


def stacked(i: Instrument, what: str, drawings: Sequence[Drawing]) -> Drawing:
    """Leaves as one drawing, for formats without pages: a title block and the drawings, true size, under it."""
    s = sketch()
    low = put(s, titled(i, what, (0.0, 0.0))).box.y0 - BETWEEN
    for drawing in drawings:
        box = drawing.bounds()
        for layer in drawing.layers:
            s.add(layer.name, *(moved(shape, -box.x0, low - box.y1) for shape in layer.shapes))
        low -= box.height + BETWEEN
    first = drawings[0]
    return Drawing(first.name, first.title, s.layers(), notes=first.notes, cautions=first.cautions)

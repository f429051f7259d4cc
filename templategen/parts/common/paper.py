"""The shop's paper, what its printer makes of 100 mm, and documents of several sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from templategen.drawing.model import Drawing, moved
from templategen.drawing.paper.sizes import PAPERS, PaperSize
from templategen.instrument.model import Instrument
from templategen.parts.common.layers import sketch
from templategen.parts.common.sheetwork import put, titled
from templategen.spec.models import Paper, Shop

BETWEEN = 10.0  # paper mm, of leaves that stand under each other
PAGE_HEIGHT = 185.0  # paper mm: what an office page has room for over its band


def paper_of(shop: Shop) -> PaperSize:
    """The shop's paper, named or its own."""
    return PaperSize(shop.paper.width, shop.paper.height) if isinstance(shop.paper, Paper) else PAPERS[shop.paper]


def measured_of(shop: Shop) -> tuple[float, float]:
    """What the printed 100 mm rulers measure, across and along; 100 where nobody has measured."""
    measured = shop.ruler_measured
    return (measured.across, measured.along) if measured else (100.0, 100.0)


def flowed(blocks: Sequence[Drawing], height: float = PAGE_HEIGHT) -> tuple[Drawing, ...]:
    """Blocks of a document on leaves, as many under each other as ``height`` holds; a block is never cut."""
    leaves: list[list[Drawing]] = []
    left = 0.0
    for block in blocks:
        need = block.bounds().height
        if not leaves or need > left:
            leaves.append([])
            left = height
        leaves[-1].append(block)
        left -= need + BETWEEN
    return tuple(_under_each_other(leaf) for leaf in leaves)


def stacked(i: Instrument, what: str, drawings: Sequence[Drawing]) -> Drawing:
    """Leaves as one drawing, for formats without pages: a title block and the drawings, true size, under it."""
    s = sketch()
    put(s, titled(i, what, (0.0, 0.0)))
    head = Drawing(drawings[0].name, drawings[0].title, s.layers())
    return replace(_under_each_other([head, *drawings]), notes=drawings[0].notes, cautions=drawings[0].cautions)


def _under_each_other(drawings: Sequence[Drawing]) -> Drawing:
    """The drawings, left edges at 0, as one with the first one's name and words."""
    s, low = sketch(), 0.0
    for drawing in drawings:
        box = drawing.bounds()
        for layer in drawing.layers:
            s.add(layer.name, *(moved(shape, -box.x0, low - box.y1) for shape in layer.shapes))
        low -= box.height + BETWEEN
    return replace(drawings[0], layers=s.layers())

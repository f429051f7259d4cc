"""The radius block: profile, solid and drawing; block frame (x across, z up from the flat back, y along)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from templategen.drawing.model import Outline
from templategen.instrument.block import Block
from templategen.instrument.model import Instrument
from templategen.parts.nut_shape import arc_bulge
from templategen.parts.product import Body, Product, Sheet
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

NAME = "radius-block"
EASE = 1.0  # bevel on the back's long edges


def make(instrument: Instrument) -> tuple[Product, ...]:
    block = instrument.block
    if block is None:
        return ()
    return (
        Sheet("radius-block-cut", draw_cut(instrument, block), ("dxf", "svg")),
        Sheet(NAME, draw(instrument, block), ("dxf", "svg", "pdf")),
        Body(NAME, lambda: solid(instrument, block), ("step", "stl")),
    )


def profile(block: Block) -> Outline:
    """The closed section, counterclockwise from the back: back, side, concave arc, side. The arc is true."""
    half = block.width / 2
    corners = ((-half, 0.0), (half, 0.0), (half, block.height), (-half, block.height))
    return Outline(corners, (0.0, 0.0, arc_bulge(corners[2], corners[3], block.radius, upward=False), 0.0))


def solid(i: Instrument, block: Block) -> Solid:
    """The block as one valid solid with a true cylinder for its face."""
    from templategen.solids import make as solids
    from templategen.solids.shape import Frame

    name = f"{i.spec.title} | radius block {mm_text(block.radius)} | mm"
    frame = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return solids.prism(profile(block), (0.0, block.length, 0.0), frame, name)

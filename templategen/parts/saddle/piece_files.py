"""The saddle of one piece as files: a bar, the finished solid, its front outline to cut. Saddle frame, true sizes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from templategen.drawing.model import Sketch
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.parts.common import cautions, cut
from templategen.parts.common.named import product_name
from templategen.parts.common.product import Body, Product
from templategen.parts.saddle import piece_shape as shape
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

DATUM = (
    "Datum: x = 0 where the board's centreline meets the slot's front wall, y = 0 on the back face, toward the nut "
    "positive, z = 0 on the slot's floor; upright as the saddle stands in its slot."
)


def files(i: Instrument) -> Iterator[Product]:
    """Nothing where the spec has no saddle to be made."""
    piece = i.saddle_piece
    if piece is None:
        return
    yield Body("saddle-blank", lambda: _solid(i, piece, "blank"), ("step",))
    yield Body("saddle-finished", lambda: _solid(i, piece, "finished"), ("step",))
    yield from _cut_sheets(i, piece)


def _solid(i: Instrument, piece: SaddlePiece, stage: str) -> Solid:
    from templategen.parts.saddle import piece_solid

    build = piece_solid.blank if stage == "blank" else piece_solid.finished
    return build(piece, product_name(i.spec.title, "saddle", stage))


def _cut_sheets(i: Instrument, piece: SaddlePiece) -> Iterator[Product]:
    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", shape.front_outline(piece).offset(kerf / 2))
        return s

    high = float((shape.cut_top(piece).z(piece.along) - piece.height).max())
    notes = (
        f"No allowances. Material: {mm_text(piece.thickness)} mm thick, its front face up.",
        "Depth: all cuts go through, square to it.",
        f"The top is one arc, at most {mm_text(high, 3)} mm over a string's height; round it and set each string's "
        "place across the thickness by the drawing, or mill saddle-finished.step.",
        DATUM,
        f"Job: {i.spec.title}; {i.trace}.",
    )
    title = f"{i.spec.title}: saddle, front outline"
    warned = cautions.lines(cautions.NUT_DUST, cautions.ROUTING)
    yield from cut.sheets("saddle-cut", title, sketched, i.shop, notes, warned=warned)

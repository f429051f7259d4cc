"""The saddle of one piece as files: a bar, the finished solid, its front outline to cut. Saddle frame, true sizes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from templategen.drawing.model import Sketch
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.parts.common import cautions, cut
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.common.named import product_name
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.saddle import piece_shape as shape
from templategen.parts.saddle.piece_drawing import NAME, draw
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

DATUM = (
    "x = 0 where the board's centreline meets the slot's front wall, y = 0 on the back face, toward the nut positive, "
    "z = 0 on the slot's floor; upright as the saddle stands in its slot"
)
MATERIAL = "bone or the like"
WARNED = cautions.lines(cautions.NUT_DUST, cautions.ROUTING)


def files(i: Instrument) -> Iterator[Product]:
    """Nothing where the spec has no saddle to be made."""
    piece = i.saddle_piece
    if piece is None:
        return
    yield Sheet(NAME, lambda: draw(i, piece), ("dxf", "svg", "pdf"))
    for stage in ("blank", "finished"):
        yield Body(
            f"saddle-{stage}", partial(_solid, i, piece, stage), ("step",), _about_solid(i, piece, stage), WARNED
        )
    yield from _cut_sheets(i, piece)


def _solid(i: Instrument, piece: SaddlePiece, stage: str) -> Solid:
    from templategen.parts.saddle import piece_solid

    build = piece_solid.blank if stage == "blank" else piece_solid.finished
    return build(piece, product_name(i.spec.title, "saddle", stage))


def _about_solid(i: Instrument, piece: SaddlePiece, stage: str) -> About:
    (x0, y0, z0), (x1, y1, z1) = piece.blank
    blank = stage == "blank"
    return About(
        part=f"saddle, {stage}",
        job=f"{i.spec.title}; {i.trace}",
        material=MATERIAL,
        thickness=y1 - y0 if blank else piece.thickness,
        side="top up, front toward +y",
        depth="a plain bar" if blank else "as modelled",
        allowances=f"top +{mm_text(piece.top_allowance)}, sides +{mm_text(piece.stock_sides)}, each end "
        f"+{mm_text(piece.stock_ends)} mm; over all {mm_text(x1 - x0)} x {mm_text(y1 - y0)} x {mm_text(z1 - z0)} mm"
        if blank
        else "none",
        datum=DATUM,
        order="fit it to its slot before the top is shaped: heights count from the slot's floor",
        size="with allowances" if blank else "finished",
    )


def _cut_sheets(i: Instrument, piece: SaddlePiece) -> Iterator[Product]:
    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", shape.front_outline(piece).offset(kerf / 2))
        return s

    high = float((shape.cut_top(piece).z(piece.along) - piece.height).max())
    about = About(
        part="saddle, front outline",
        job=f"{i.spec.title}; {i.trace}",
        material=MATERIAL,
        thickness=piece.thickness,
        side="its front face up, seen from the bridge's end",
        depth=f"{THROUGH}, square to the face",
        allowances=f"none; the top is one arc, at most {mm_text(high, 3)} mm over a string's height",
        datum=DATUM,
        order=f"{CUT_ORDER}; then round the top, each string's place across the thickness by the drawing",
    )
    title = f"{i.spec.title}: saddle, front outline"
    yield from cut.sheets("saddle-cut", title, sketched, i.shop, about, warned=WARNED)

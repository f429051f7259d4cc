"""The saddle's setup sheet; saddle frame."""

from __future__ import annotations

import math

from templategen.drawing.model import Box, Line, Outline
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.parts.common import cautions
from templategen.parts.machining.sheet import SetupSheet, size_text
from templategen.parts.machining.views import View
from templategen.parts.saddle import piece_shape as shape
from templategen.tables import machining
from templategen.units import both_units

JAWS = 1.0  # mm between the lowest land and a jaw


_box = Outline.rectangle


def sheet(i: Instrument, piece: SaddlePiece) -> SetupSheet:
    (x0, y0, z0), (x1, y1, z1) = piece.blank
    front, plan = Box(x0, z0, x1, z1), Box(x0, y0, x1, y1)
    deep = z1 - float(piece.height.min()) + piece.thickness + JAWS
    seat = "flat" if math.isinf(piece.seat_radius) else f"R {both_units(piece.seat_radius)}"
    top = "straight" if piece.top.straight else f"R {both_units(piece.top.radius)}"
    under = f", {both_units(-z0)} over the bar's underside" if z0 < -1e-6 else ", the bar's underside"
    lands = tuple(
        Line((float(x) - float(w) / 2, float(y)), (float(x) + float(w) / 2, float(y)))
        for x, y, w in zip(piece.along, piece.across, piece.lands, strict=True)
    )
    return SetupSheet(
        part="saddle",
        title="Setup: saddle",
        stock=(
            ("stock: along, through, upright", size_text((x1 - x0, y1 - y0, z1 - z0))),
            ("material", "as agreed: bone ...; write it below"),
            ("underside", seat),
            ("round across the top", f"R {both_units(piece.radius)}"),
            ("top, in the front view's plane", top),
        ),
        held="In a machine vice by its front and back faces, the underside on a parallel, the front face (toward the "
        f"nut) toward +y. Jaws end at least {both_units(deep)} below the bar's top.",
        origin="As in the saddle's STEP files: x along the saddle, 0 where the board's centreline meets the slot's "
        f"front wall, {both_units(-x0)} from the bar's -x end; y through it, 0 on the finished back face, "
        f"{both_units(-y0)} from the bar's; z up, 0 on the slot's floor{under}.",
        views=(
            (
                View("Seen from the bridge's end", front, (_box(front),), (shape.front_outline(piece),), "x", "z"),
                View("Seen from above", plan, (_box(plan),), (shape.plan_outline(piece), *lands), "x", "y"),
            ),
        ),
        operations=machining.saddle_operations(piece),
        measured=(machining.saddle_sizes(piece), machining.saddle_lands(i, piece)),
        warned=(cautions.MILLING, cautions.NUT_DUST),
    )

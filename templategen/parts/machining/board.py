"""The fingerboard's setup sheet; plan frame."""

from __future__ import annotations

import numpy as np

from templategen.drawing.model import Box, Line, Outline, point
from templategen.geometry import arc_bulge, arc_drop
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.machining.sheet import SetupSheet, size_text
from templategen.parts.machining.views import View
from templategen.tables import machining
from templategen.units import both_units

WASTE = 1.0  # mm of a blank outside the cut


def sheet(i: Instrument) -> SetupSheet:
    box, thick = _blank(i), i.board.thickness
    side = "treble" if i.side > 0 else "bass"
    return SetupSheet(
        part="fingerboard",
        title="Setup: fingerboard",
        stock=(
            ("stock, at least", size_text((box.width, box.height, thick))),
            ("material", "as agreed: write it below"),
            *_radius(i),
        ),
        held="Flat on a board that may be cut into, by double-sided tape or vacuum over its whole length, or by screws "
        "in the waste outside the outline; nothing within reach of a cutter that runs past the edges.",
        origin="As in fingerboard.step: 0 where the centreline crosses the front edge of the nut, fret 0; x toward the "
        f"bridge, y toward the {side} side, z up, 0 on the crown line: Z0 of the programs is the stock's top. The "
        f"blank's corners lie at x {box.x0:.1f}, y {box.y0:.1f} and x {box.x1:.1f}, y {box.y1:.1f} mm.",
        views=((_plan(i, box),), (_end(i, box),)),
        operations=machining.board_operations(i),
        measured=(machining.board_sizes(i),),
        warned=(cautions.MILLING, cautions.WOOD_DUST),
    )


def _radius(i: Instrument) -> tuple[tuple[str, str], ...]:
    law = i.board.law
    if law.flat:
        return (("top", "flat"),)
    if not law.conical:
        return (("radius", both_units(law.at_nut)),)
    last = float(law.radius(float(i.plan.centre_x[-1])))
    return (("radius at the nut", both_units(law.at_nut)), ("at the last fret", both_units(last)))


def _blank(i: Instrument) -> Box:
    """What the outline's cutter stays inside of; without one the board's own box."""
    tool = i.milling.outline if i.milling else None
    over = tool.diameter + WASTE if tool else 0.0
    (x0, y0), (x1, y1) = i.board_outline.min(0).tolist(), i.board_outline.max(0).tolist()
    return Box(x0 - over, y0 - over, x1 + over, y1 + over)


def _plan(i: Instrument, box: Box) -> View:
    slots = tuple(Line(fret.slot_bass_end, fret.slot_treble_end) for fret in i.frets)
    board = Outline.polygon(tuple(point(corner) for corner in i.board_outline))
    return View("Seen from above", box, (Outline.rectangle(box),), (board, *slots), "x", "y")


def _end(i: Instrument, box: Box) -> View:
    """Over the last fret's width, where the arc is highest."""
    thick, law = i.board.thickness, i.board.law
    half = float(np.abs(i.board_outline[:, 1]).max())
    radius = float(law.radius(i.plan.end_x))
    drop = 0.0 if law.flat else float(arc_drop(radius, half))
    corners = ((-half, -thick), (half, -thick), (half, -drop), (-half, -drop))
    over = arc_bulge(corners[2], corners[3], radius)
    stock = Box(box.y0, -thick, box.y1, 0.0)
    board = Outline(corners, (0.0, 0.0, over, 0.0))
    return View(
        "Seen from the bridge, at its wide end", stock, (Outline.rectangle(stock),), (board,), "y", "z", top=0.0
    )

"""True-scale marks to stick on a nut blank: slot centres along the front edge, and the walls of wide slots."""

from __future__ import annotations

import math

from templategen.drawing.layout import ruler, spread
from templategen.drawing.lettering import LINE_PITCH, text_width, wrapped
from templategen.drawing.model import Box, Drawing, Line, Outline, Sketch, Text
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import bass_is_left, put, titled
from templategen.parts.common.work import Work

NAME = "nut-spacing-strip"
COPIES = 3
HEIGHT, GAP = 14.0, 10.0
LETTERING = 2.5
WIDTH = 120.0  # of the lines that tell its use
USE = (
    "Lower edge on the nut's front edge, ends on the finished ends. A line is a slot's centre; where it stops short, "
    "the two short lines are the slot's walls."
)
WALLS = 5.0  # length of the walls' marks
WITH_WALLS = 0.75  # slots that are narrower are a line: their walls would run into it in print


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (Sheet(NAME, lambda: draw(instrument), ("svg", "pdf")),)


def draw(i: Instrument) -> Drawing:
    """Three copies of the strip with a ruler to check the print, and the title under them."""
    s = sketch()
    x0 = float(i.nut.front_ends[0])
    for copy in range(COPIES):
        _strip(s, i, -copy * (HEIGHT + GAP))
    under = -(COPIES - 1) * (HEIGHT + GAP) - 14.0
    s.add("CHECK_RULER", *ruler((x0, under), "across"))
    foot = under - 12.0
    for line in wrapped(USE, LETTERING, WIDTH):
        s.add("TEXT", Text((x0, foot - LETTERING), line, LETTERING))
        foot -= LINE_PITCH * LETTERING
    put(s, titled(i, "nut spacing strip, true size 1:1", (x0, foot - 3.0)))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: nut spacing strip",
        layers=s.layers(),
        cautions=cautions.lines(cautions.NUT_FILING, cautions.NUT_DUST),
    )


def _strip(s: Sketch, i: Instrument, low: float) -> None:
    nut, high = i.nut, low + HEIGHT
    x0, x1 = (float(v) for v in nut.front_ends)
    left, right = ("bass", "treble") if bass_is_left(i) else ("treble", "bass")
    s.add("OUTLINE", Outline.rectangle(Box(x0, low, x1, high)))
    s.add("TEXT", Text((x0 - 2.0, low + HEIGHT / 2), left, LETTERING, anchor="right", level="middle"))
    s.add("TEXT", Text((x1 + 2.0, low + HEIGHT / 2), right, LETTERING, level="middle"))
    places = [float(x) for x in nut.along]
    pitch = text_width(str(len(places)), LETTERING) + 1.2
    for n, (x, at) in enumerate(zip(places, spread(places, pitch), strict=True)):
        foot, half = low, float(nut.width[n]) / 2 / math.cos(math.radians(nut.direction_deg[n]))
        if nut.width[n] >= WITH_WALLS:
            foot = low + WALLS
            walls = (x - half, x + half)
            s.add("NUT_SLOT", *(Line((wall, low), (wall, foot)) for wall in walls))
        s.add("NUT_SLOT", Line((x, foot), (x, high)))
        s.add("DIMENSION", Line((x, high + 0.4), (at, high + 2.4)))
        s.add("TEXT", Text((at, high + 3.2), str(n + 1), LETTERING, anchor="middle"))

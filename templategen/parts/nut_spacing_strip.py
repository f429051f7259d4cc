"""True-scale marks to stick on a nut blank: slot centres and walls along the front edge."""

from __future__ import annotations

from templategen.drawing.layout import ruler
from templategen.drawing.model import Box, Drawing, Line, Outline, Text
from templategen.instrument.model import Instrument
from templategen.parts import cautions
from templategen.parts.layers import sketch
from templategen.parts.product import Product, Sheet
from templategen.parts.sheetwork import put, titled

NAME = "nut-spacing-strip"
COPIES = 3
HEIGHT, GAP = 14.0, 8.0


def make(instrument: Instrument) -> tuple[Product, ...]:
    return (Sheet(NAME, draw(instrument), ("svg", "pdf")),)


def draw(i: Instrument) -> Drawing:
    """Three copies of the strip with a ruler to check the print, and the title beside them."""
    s = sketch()
    nut = i.nut
    x0, x1 = (float(v) for v in nut.front_ends)
    ends = ("bass", "treble") if i.side > 0 else ("treble", "bass")
    for copy in range(COPIES):
        low = -copy * (HEIGHT + GAP)
        s.add("OUTLINE", Outline.rectangle(Box(x0, low, x1, low + HEIGHT)))
        s.add("TEXT", Text((x0 - 2.0, low + HEIGHT / 2), ends[0], 2.5, anchor="right", level="middle"))
        s.add("TEXT", Text((x1 + 2.0, low + HEIGHT / 2), ends[1], 2.5, level="middle"))
        for n, (x, width) in enumerate(zip(nut.along, nut.width, strict=True)):
            s.add("STRING", Line((float(x), low), (float(x), low + HEIGHT)))
            for side in (-0.5, 0.5):
                wall = float(x + side * width)
                s.add("NUT_SLOT", Line((wall, low), (wall, low + 6.0)))
            s.add("TEXT", Text((float(x), low + HEIGHT + 1.5), str(n + 1), 2.5, anchor="middle"))
    under = -(COPIES - 1) * (HEIGHT + GAP) - 14.0
    s.add("CHECK_RULER", *ruler((x0, under), "across"))
    put(s, titled(i, "nut spacing strip, true size 1:1", (x0, under - 12.0)))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: nut spacing strip",
        layers=s.layers(),
        notes=("Lower edge on the front edge of the nut; long lines are slot centres, short lines slot walls.",),
        cautions=cautions.lines(cautions.NUT_FILING, cautions.NUT_DUST),
    )

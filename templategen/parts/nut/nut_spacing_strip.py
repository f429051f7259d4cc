"""True-scale marks to stick on a nut blank: slot centres along the front edge, and the walls of wide slots."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templategen.drawing.layout import ruler
from templategen.drawing.lettering import LINE_PITCH, text_width, wrapped
from templategen.drawing.model import Drawing, Line, Outline, Point, Sketch, Text
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import bass_is_left, hand, put, titled
from templategen.parts.common.work import Work
from templategen.parts.nut import nut_shape

NAME = "nut-spacing-strip"
COPIES = 3
LINES, PITCH, GAP = 11.0, 3.6, 11.0  # mm: slots, a line of lettering, between strips
LETTERING = 2.5
WIDTH = 120.0  # of the lines that tell its use
ON_STRIP = "cut out, stick on the blank, this foot on its front edge"
USE = (
    "Lower edge on the nut's front edge, ends on the finished ends; lines run as the slots are cut. A line is a slot's "
    "centre; where it stops short, the two short lines are the slot's walls."
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
    strip = shape(i)
    for copy in range(COPIES):
        _strip(s, i, -copy * (strip.tall + GAP), strip)
    under = -(COPIES - 1) * (strip.tall + GAP) - 14.0
    s.add("CHECK_RULER", *ruler((x0, under), "across"))
    foot = under - 12.0
    for line in wrapped(USE, LETTERING, WIDTH):
        s.add("TEXT", Text((x0, foot - LETTERING), line, LETTERING))
        foot -= LINE_PITCH * LETTERING
    title = put(s, titled(i, "nut spacing strip, true size 1:1", (x0, foot - 3.0)))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: nut spacing strip",
        layers=s.layers(),
        titles=(title.box.grown(0.5),),
        about=hand(i),
        unit=i.spec.units,
        cautions=cautions.lines(cautions.NUT_FILING, cautions.NUT_DUST),
    )


def slopes(i: Instrument) -> list[float]:
    """How far each slot goes along the nut for 1 mm toward the tuners: as it is cut."""
    return [
        (end[0] - start[0]) / (end[1] - start[1])
        for start, end in ((slot.start, slot.end) for slot in nut_shape.slots_of(i.nut, "finished"))
    ]


@dataclass(frozen=True)
class SpacingStrip:
    """One strip, its lower edge from ``x0`` to ``x1`` at height 0; ``first`` and ``last`` are its ends' slopes. rows:
    the one that each slot's number stands in. words: what it says itself."""

    x0: float
    x1: float
    first: float
    last: float
    rows: tuple[int, ...]
    words: tuple[str, ...]

    @property
    def tall(self) -> float:
        return LINES + (max(self.rows) + 1) * PITCH + 2.0 + len(self.words) * PITCH + 0.5

    def ends(self, y: float) -> Point:
        return self.x0 + self.first * y, self.x1 + self.last * y


def shape(i: Instrument) -> SpacingStrip:
    """Ends run like the slots; a number that would touch another stands a row higher."""
    nut, slope = i.nut, slopes(i)
    x0, x1 = sorted(float(v) for v in nut.front_ends)
    first, last = (slope[0], slope[-1]) if nut.along[0] < nut.along[-1] else (slope[-1], slope[0])
    middle = (first + last) / 2
    first, last = min(first, middle), max(last, middle)  # never narrower above, where slots run together
    tops = [float(x) + k * LINES for x, k in zip(nut.along, slope, strict=True)]
    rows = tuple(_rows(tops, text_width(str(len(tops)), LETTERING) + 0.8))
    bare = SpacingStrip(x0, x1, first, last, rows, ("",) * 5)
    left, right = bare.ends(bare.tall)
    words = wrapped(ON_STRIP, LETTERING, min(x1 - x0, right - left) - 3.0)
    return SpacingStrip(x0, x1, first, last, rows, tuple(words))


def _rows(places: Sequence[float], apart: float) -> Iterator[int]:
    """For each place the lowest row in which nothing before it stands nearer than ``apart``."""
    taken: list[list[float]] = []
    for x in places:
        row = next((n for n, others in enumerate(taken) if all(abs(x - other) > apart for other in others)), len(taken))
        taken += [[]] if row == len(taken) else []
        taken[row].append(x)
        yield row


def _strip(s: Sketch, i: Instrument, low: float, strip: SpacingStrip) -> None:
    """One strip, its lower edge the front edge; lines and ends as slanted as the slots."""
    nut, tall = i.nut, strip.tall
    upper = strip.ends(tall)
    corners = (strip.x0, low), (strip.x1, low), (upper[1], low + tall), (upper[0], low + tall)
    s.add("OUTLINE", Outline.polygon(corners))
    left, right = ("bass", "treble") if bass_is_left(i) else ("treble", "bass")
    middle = low + LINES / 2
    beside = min(strip.x0, upper[0]) - 2.0, max(strip.x1, upper[1]) + 2.0
    s.add("TEXT", Text((beside[0], middle), left, LETTERING, anchor="right", level="middle"))
    s.add("TEXT", Text((beside[1], middle), right, LETTERING, level="middle"))
    foot_at = (strip.x0 + strip.x1) / 2, low - 1.5
    s.add("TEXT", Text(foot_at, "front edge here", LETTERING, anchor="middle", level="top", bold=True))
    for n, (along, k) in enumerate(zip(nut.along, slopes(i), strict=True)):
        x, foot, top = float(along), 0.0, float(along) + k * LINES
        half = float(nut.width[n]) / 2 / math.cos(math.radians(nut.direction_deg[n]))
        if nut.width[n] >= WITH_WALLS:
            foot = WALLS
            for wall in (x - half, x + half):
                s.add("NUT_SLOT", Line((wall, low), (wall + k * foot, low + foot)))
        s.add("NUT_SLOT", Line((x + k * foot, low + foot), (top, low + LINES)))
        base = low + LINES + 1.0 + strip.rows[n] * PITCH
        s.add("TEXT", Text((top, base), str(n + 1), LETTERING, anchor="middle"))
    for n, line in enumerate(strip.words):
        y = tall - 0.5 - (n + 1) * PITCH + 0.6
        s.add("TEXT", Text((sum(strip.ends(y)) / 2, low + y), line, LETTERING, anchor="middle"))

"""Strips to lay along the board, true size, with what is filed off under each fret; mirrored for the other side.

One strip for each side, read by somebody who stands there: of a right-handed instrument the bass side has the nut on
one's left, the treble side on one's right. Each in mm and in thousandths of an inch. Marks are where the frets meet
that edge of the board, along the edge from the nut's front edge.
"""

from __future__ import annotations

import numpy as np

from templategen.drawing.layout import TEXT_HEIGHT, ruler, spread
from templategen.drawing.model import Box, Drawing, Line, Outline, Point, Sketch, Text
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import words
from templategen.parts.common.layers import sketch
from templategen.parts.common.sheetwork import hand, put, titled
from templategen.repair.levelling import Filing
from templategen.repair.remedy import Remedy
from templategen.units import inch_text, mm_text

NAME = "levelling-strip"
TICK, NUMBERS, AMOUNT = 4.0, 5.0, 9.0  # paper mm, from the marked edge inward
LEAD, TAIL = 24.0, 8.0
GAP = 9.0  # between strips
PITCH = 3.6  # between two columns of lettering
WIDTH = 150.0
LEAVE, UNREAD = "–", "·"
USE = (
    "Marked edge against the board's edge on the side where you stand, the nut's mark at the nut's front edge; check "
    "the last mark against the last fret before anything is filed. Under each fret what is taken off its crown, a row "
    "for each measured line, the first nearest to the board. A dash: leave. new: a new fret. A point: not measured."
)


def draw(i: Instrument, remedy: Remedy) -> Drawing:
    """Both sides' strips in both units, and how they are used."""
    assert remedy.chosen is not None
    f, s = remedy.as_done[remedy.chosen], sketch()
    whole: list[Box] = []
    low = 0.0
    for side in ("bass", "treble"):
        for unit in ("mm", "thou"):
            low = _strip(s, i, f, side, unit, low, whole, _nearest_first(i, remedy, side)) - GAP
    box = Drawing(NAME, NAME, s.layers()).bounds()
    said = put(s, words((USE,), (box.x0, low), WIDTH))
    s.add("CHECK_RULER", *ruler((box.x0, said.box.y0 - 12.0), "across"))
    title = put(s, titled(i, "levelling strips, true size 1:1", (box.x0, said.box.y0 - 24.0)))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: levelling strips",
        layers=s.layers(),
        whole=tuple(whole),
        asides=(said.box.grown(0.5),),
        titles=(title.box.grown(0.5),),
        about=hand(i),
        unit=i.spec.units,
        cautions=cautions.lines(cautions.CROWNS),
    )


def along_edge(i: Instrument, side: str) -> Array:
    """Where the frets meet one edge of the board, along it from the nut's front edge; (frets,)."""
    plan = i.plan
    ends, start = (plan.bass_ends, plan.nut_bass_end) if side == "bass" else (plan.treble_ends, plan.nut_treble_end)
    return np.asarray(np.hypot(*(ends[plan.numbers > 0] - start).T))


def _nearest_first(i: Instrument, remedy: Remedy, side: str) -> list[int]:
    assert remedy.crowns is not None
    toward_treble = i.side * remedy.crowns.places[1].mean(0)
    return [int(n) for n in np.argsort(toward_treble if side == "bass" else -toward_treble, kind="stable")]


def amounts(f: Filing, line: int, unit: str) -> list[str]:
    """What stands under every fret for one line."""
    found = []
    for row, fret in enumerate(f.profile.frets):
        if int(fret) in f.replaced:
            found.append("new")
        elif not np.isfinite(f.profile.z[row, line]):
            found.append(UNREAD)
        elif not f.worth_filing[row, line]:
            found.append(LEAVE)
        else:
            off = float(f.removed[row, line])
            found.append(mm_text(off) if unit == "mm" else inch_text(1000 * off, 1))
    return found


def _strip(
    s: Sketch, i: Instrument, f: Filing, side: str, unit: str, top: float, whole: list[Box], lines: list[int]
) -> float:
    """One strip, its marked edge uppermost at ``top``; its lower edge."""
    way = i.side if side == "bass" else -i.side
    places = along_edge(i, side)
    low = top - TICK - NUMBERS - AMOUNT * len(lines) - 2.0
    length = LEAD + float(places[-1]) + TAIL
    nut = LEAD if way > 0 else length - LEAD
    s.add("OUTLINE", Outline.rectangle(Box(0.0, low, length, top)))
    s.add("NUT_FRONT", Line((nut, top), (nut, top - TICK - NUMBERS)))
    marks = [nut + way * float(x) for x in places]
    at = spread(marks, PITCH)
    for x in marks:
        s.add("SLOT_CENTRE", Line((x, top), (x, top - TICK + 0.8)))
    edge = nut - way * 1.5
    anchor = "right" if way > 0 else "left"
    _words(s, (edge, top - TICK - NUMBERS + 1.2), f"{side}, {unit}", anchor)
    for x, fret in zip(at, f.profile.frets, strict=True):
        s.add("TEXT", Text((x, top - TICK - NUMBERS + 1.2), f"{fret:.0f}", TEXT_HEIGHT, anchor="middle"))
    for row, line in enumerate(lines):
        middle = top - TICK - NUMBERS - AMOUNT * (row + 0.5)
        _words(s, (edge, middle - TEXT_HEIGHT / 2), f"line {f.profile.lines[line]}", anchor)
        for x, text in zip(at, amounts(f, line, unit), strict=True):
            turned = 0.0 if text in (LEAVE, UNREAD) else 90.0
            s.add("TEXT", Text((x, middle), text, TEXT_HEIGHT, turned, "middle", "middle"))
    for x in at:
        whole.append(Box(x - PITCH / 2, low, x + PITCH / 2, top))
    return low


def _words(s: Sketch, at: Point, text: str, anchor: str) -> None:
    s.add("TEXT", Text(at, text, TEXT_HEIGHT, anchor="right" if anchor == "right" else "left"))

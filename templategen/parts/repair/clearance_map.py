"""The map of headroom: strings beside each other, places under each other, a number in every cell.

A bar under each number is as long as the number says, so the map can be read from afar and on any printer. The least
of the open strings and the least of the fretted notes have a double frame; what is under the headroom asked for, or
lies on a crown, a single one; all of these are bold.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from templategen.drawing.layout import HEADING_HEIGHT, TEXT_HEIGHT
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Line, Outline, Point, Sketch, Text
from templategen.instrument.arrays import Array
from templategen.instrument.setup.clearance import Clearance, Note
from templategen.units import inch_text, mm_text

ROW = 5.2  # paper mm
CELL = 12.3
HEAD = 2 * ROW
SIDE = 8.2  # of the places' names
BAR_AT, BAR_INSET = 0.6, 0.7
BASE = 1.7  # of lettering over a cell's lower edge
FIGURE_END = 7.3
CROWN_AT = 8.1


@dataclass(frozen=True)
class Map:
    """One setting's map. names: of the strings. asked: headroom, (strings,), None where nobody asked. in_inches: in
    thousandths of an inch. named: whether the places are named beside it. rows: of the places shown, counted from 0.
    Bars are of one scale on all maps, ``full`` mm a cell."""

    title: str
    clearance: Clearance
    names: tuple[str, ...]
    asked: Array | None
    full: float
    in_inches: bool = False
    named: bool = True
    rows: range | None = None

    @property
    def side(self) -> float:
        return SIDE if self.named else 0.0

    @property
    def width(self) -> float:
        return max(self.side + CELL * len(self.names), text_width(self.title, HEADING_HEIGHT, True))


def draw(s: Sketch, m: Map, at: Point) -> Box:
    """The map with its top left corner at ``at``; its box."""
    x, top = at
    s.add("TEXT", Text((x, top - HEADING_HEIGHT), m.title, HEADING_HEIGHT, bold=True))
    top -= 2 * ROW
    left = x + m.side
    unit = "thou" if m.in_inches else "mm"
    if m.named:
        s.add("TEXT", _side(left, top - HEAD + BASE, "fret"))
    for column, name in enumerate(m.names):
        middle = left + (column + 0.5) * CELL
        s.add("TEXT", Text((middle, top - ROW + BASE), name, TEXT_HEIGHT, anchor="middle", bold=True))
        foot = top - HEAD + BASE
        start = left + column * CELL
        s.add(
            "TEXT",
            Text((start + FIGURE_END, foot), unit, TEXT_HEIGHT, anchor="right"),
        )
        s.add("DIMENSION", Text((start + CROWN_AT, foot), "at", TEXT_HEIGHT))
    top -= HEAD
    rows = shown(m.clearance) if m.rows is None else m.rows
    worst = _worst(m.clearance)
    cells = {(note.string, note.fretted): note for note in m.clearance.notes}
    for n, row in enumerate(rows):
        number = int(m.clearance.numbers[row])
        low = top - (n + 1) * ROW
        if m.named:
            s.add("TEXT", _side(left, low + BASE, "open" if number == 0 else str(number)))
        for column in range(len(m.names)):
            _cell(s, m, cells[column + 1, number], (left + column * CELL, low), worst)
    bottom, right = top - len(rows) * ROW, left + CELL * len(m.names)
    for n in range(len(rows) + 1):
        s.add("DIMENSION", Line((left, top - n * ROW), (right, top - n * ROW)))
    for column in range(len(m.names) + 1):
        edge = left + column * CELL
        s.add("DIMENSION", Line((edge, top), (edge, bottom)))
    return Box(x, bottom, x + m.width, at[1])


def shown(c: Clearance) -> range:
    """Rows of the places that have crowns beyond them."""
    return range(int(np.isfinite(c.headroom).any(1).sum()))


def figure_of(mm: float) -> str:
    """Four signs at most: ``0.74``, ``-.66``, ``-1.3``, ``12.4``."""
    if -1 < mm < 9.995:
        text = mm_text(mm)
        return text.replace("-0.", "-.")
    return mm_text(mm, 1)


def _side(left: float, base: float, text: str) -> Text:
    return Text((left - 1.0, base), text, TEXT_HEIGHT, anchor="right")


def _worst(c: Clearance) -> tuple[Note, ...]:
    """The least of the open strings and the least of the fretted notes."""
    fretted = c.worst_fretted
    return (c.worst_open,) if fretted is None else (c.worst_open, fretted)


def _cell(s: Sketch, m: Map, note: Note, at: Point, worst: tuple[Note, ...]) -> None:
    x, low = at
    if note.headroom is None:
        return
    asked = None if m.asked is None or note.fretted == 0 else float(m.asked[note.string - 1])
    short = note.headroom < (0.0 if asked is None else asked - 5e-4)
    figure = inch_text(1000 * note.headroom, 0) if m.in_inches else figure_of(note.headroom)
    s.add(
        "TEXT",
        Text((x + FIGURE_END, low + BASE), figure, TEXT_HEIGHT, anchor="right", bold=short or note in worst),
    )
    s.add("DIMENSION", Text((x + CROWN_AT, low + BASE), str(note.touches), TEXT_HEIGHT))
    long = min(max(note.headroom / m.full, 0.0), 1.0) * (CELL - 2 * BAR_INSET)
    if long > 0:
        s.add("NUT_FRONT", Line((x + BAR_INSET, low + BAR_AT), (x + BAR_INSET + long, low + BAR_AT)))
    if note in worst:
        for inset in (0.0, 0.35):
            s.add("OUTLINE", Outline.rectangle(Box(x - inset, low - inset, x + CELL + inset, low + ROW + inset)))
    elif short:
        s.add("OUTLINE", Outline.rectangle(Box(x, low, x + CELL, low + ROW)))

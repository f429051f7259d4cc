"""The worst note drawn: one string from its finger to the saddle over the crowns, heights larger than lengths.

Thin full: the string at rest. Dashed: how near to the board it comes when it is pulled aside by its headroom. The crown
that it then touches is ringed.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from templategen.drawing.layout import HEADING_HEIGHT, TEXT_HEIGHT, spread
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Circle, Line, Point, Sketch, Text
from templategen.instrument.arrays import Array
from templategen.instrument.setup.clearance import Note, Setting
from templategen.parts.repair.exaggerated import Scales

WIDTH = 150.0  # paper mm, at most
HEIGHT = 42.0  # of the heights shown, at most
RING = 1.1
FOOT = 3.0  # from the lowest crown down to the ticks' feet
NUMBERS = 4.5  # from there to the frets' numbers


@dataclass(frozen=True)
class GapProfile:
    """One note of one setting, titled."""

    title: str
    setting: Setting
    note: Note

    @property
    def away(self) -> bool:
        return self.note.headroom == self.note.headroom_away


def draw(s: Sketch, p: GapProfile, at: Point) -> Box:
    """The picture with its top left corner at ``at``; its box."""
    one, string = p.setting, p.note.string - 1
    x, z = one.x[:, string], one.z[:, string]
    x_saddle, z_saddle = float(one.saddle_x[string]), float(one.saddle_z[string])
    row = p.note.fretted
    corners = _swing(p, row, string)
    heights = [*z[np.isfinite(z)].tolist(), *(height for _, height in corners)]
    low, high = min(heights), max(heights)
    scales = Scales.fitting(x_saddle - float(x[0]), high - low, WIDTH, HEIGHT)
    along, up = scales.along, scales.up
    left, top = at
    s.add("TEXT", Text((left, top - HEADING_HEIGHT), p.title, HEADING_HEIGHT, bold=True))
    s.add("TEXT", Text((left, top - HEADING_HEIGHT - 5.0), scales.words, TEXT_HEIGHT))
    foot = top - HEADING_HEIGHT - 10.0 - (high - low) * up - FOOT

    def place(x_at: float, z_at: float) -> Point:
        return left + 4.0 + (x_at - float(x[0])) * along, foot + FOOT + (z_at - low) * up

    _crowns(s, one.numbers, [place(a, b) for a, b in zip(x, z, strict=True)], foot)
    rest = place(float(x[row]), float(z[row])), place(x_saddle, z_saddle)
    s.add("STRING", Line(*rest))
    s.add("OUTLINE", Line(rest[1], (rest[1][0], foot)))
    s.add("TEXT", Text((rest[1][0], foot - NUMBERS), "saddle", TEXT_HEIGHT, anchor="right"))
    # a string that lies on a crown is drawn as it lies: it has no pull
    points = [place(*point) for point in corners] if p.note.headroom and p.note.headroom > 0 else []
    s.add("CENTRELINE", *(Line(a, b) for a, b in pairwise(points)))
    touched = place(float(x[p.note.touches or 0]), float(z[p.note.touches or 0]))
    s.add("OUTLINE", Circle(touched, RING))
    right = max(rest[1][0], left + text_width(p.title, HEADING_HEIGHT, True))
    return Box(left, foot - NUMBERS - 1.0, right, top)


def _swing(p: GapProfile, row: int, string: int) -> list[Point]:
    """Corners of the nearest that the string comes to the board, pulled by its headroom; x and z."""
    one = p.setting
    start, end = float(one.x[row, string]), float(one.saddle_x[string])
    z0, z1 = float(one.z[row, string]), float(one.saddle_z[string])
    length, pluck = end - start, float(one.plucked[row, string])
    corner = pluck if p.away else length - pluck
    resting = z0 + (z1 - z0) * corner / length
    assert p.note.headroom is not None
    return [(start, z0), (start + corner, resting - p.note.headroom), (end, z1)]


def _crowns(s: Sketch, numbers: Array, places: list[Point], foot: float) -> None:
    """A tick up to each crown and the number under it, as many as there is room for."""
    s.add("OUTLINE", *(Line((x, foot), (x, y)) for x, y in places))
    s.add("DIMENSION", Line((places[0][0], foot), (places[-1][0], foot)))
    s.add("TEXT", Text((places[0][0], foot - NUMBERS), "nut", TEXT_HEIGHT, anchor="middle"))
    step = 1 if len(places) <= 13 else 2 if len(places) <= 26 else 6
    shown = [n for n in range(1, len(places)) if n <= 3 or n % step == 1 % step]
    wide = text_width("00", TEXT_HEIGHT) + 0.8
    at = spread([places[n][0] for n in shown], wide)
    for n, x in zip(shown, at, strict=True):
        s.add("TEXT", Text((x, foot - NUMBERS), f"{numbers[n]:.0f}", TEXT_HEIGHT, anchor="middle"))

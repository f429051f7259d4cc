"""One line of crowns drawn: as found, the level, and what is left, heights larger than lengths.

A bar is a crown as it is left; crossed through on top of it, what is filed off; thin, a fret that is replaced. Dashed:
the level of the plan, or where the plan has none, the highest straight line under all crowns.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from templategen.drawing.layout import HEADING_HEIGHT, TEXT_HEIGHT
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Drawing, Line, Outline, Point, Sketch, Text
from templategen.instrument.arrays import Array
from templategen.parts.common.layers import sketch
from templategen.parts.repair.exaggerated import Scales
from templategen.repair.levelling import Filing, touch_all

WIDTH = 150.0  # paper mm, at most, from the first crown to the last
HEIGHT = 22.0  # of the heights shown, at most
FOOT = 3.0  # under the lowest crown
BAR = 0.8  # half of a crown's width
LEAST_RISE = 0.02  # mm: level crowns are not blown up


def scales(f: Filing) -> Scales:
    """One for all lines of a plan."""
    flat = _flat(f)
    rise = max(float(np.nanmax(flat) - np.nanmin(flat)), LEAST_RISE)
    return Scales.fitting(float(np.ptp(f.profile.x)), rise, WIDTH, HEIGHT)


def draw(f: Filing, line: int, name: str, scale: Scales) -> Drawing:
    """The chart of one line, its top left corner at the origin."""
    s, p = sketch(), f.profile
    z = _flat(f)[:, line]
    shown = np.flatnonzero(np.isfinite(z))
    lowest = float(np.nanmin(_flat(f)))
    x0 = float(p.x[0].min())
    s.add("TEXT", Text((0.0, -HEADING_HEIGHT), name, TEXT_HEIGHT, bold=True))
    top = -HEADING_HEIGHT - 4.0
    foot = top - (float(np.nanmax(_flat(f))) - lowest) * scale.up - FOOT

    def place(row: int, height: float) -> Point:
        return 4.0 + (float(p.x[row, line]) - x0) * scale.along, foot + FOOT + (height - lowest) * scale.up

    for row in shown:
        off = f.removed[row, line]
        off = 0.0 if np.isnan(off) else float(off)
        (x, high), (_, low) = place(int(row), float(z[row])), place(int(row), float(z[row]) - off)
        replaced = int(p.frets[row]) in f.replaced
        s.add("DIMENSION" if replaced else "OUTLINE", _bar(x, foot, low))
        if off * scale.up > 0.05:
            cross = Line((x - BAR, low), (x + BAR, high)), Line((x - BAR, high), (x + BAR, low))
            s.add("DIMENSION", _bar(x, low, high), *cross)
    level = -p.fall[:, line] + (f.level[:, line] - _tilt(f)[:, line] + p.fall[:, line] if np.isfinite(f.a[line]) else 0)
    ends = [place(row, float(level[row])) for row in range(len(level))]
    s.add("CENTRELINE", *(Line(a, b) for a, b in pairwise(ends)))
    _numbers(s, p.frets, [place(row, lowest)[0] for row in range(len(p.frets))], foot)
    return Drawing("levelling", name, s.layers())


def _flat(f: Filing) -> Array:
    """Heights of the crowns over the straight line that leaves all lines level on paper."""
    return np.asarray(f.profile.z - _tilt(f))


def _tilt(f: Filing) -> Array:
    """The plan's own level where it has one, without the fall-away, else the straight line under the crowns."""
    straight = f if np.isfinite(f.a).all() else touch_all(f.profile)
    return np.asarray(straight.a + straight.b * f.profile.x)


def _bar(x: float, low: float, high: float) -> Outline:
    return Outline.polygon(((x - BAR, low), (x + BAR, low), (x + BAR, high), (x - BAR, high)))


def _numbers(s: Sketch, frets: Array, places: list[float], foot: float) -> None:
    wide = text_width("00", TEXT_HEIGHT) + 0.8
    step = 1
    while step < len(places) and min(b - a for a, b in pairwise(places[::step])) < wide:
        step += 1
    for n in range(0, len(places), step):
        s.add("TEXT", Text((places[n], foot - 4.5), f"{frets[n]:.0f}", TEXT_HEIGHT, anchor="middle"))

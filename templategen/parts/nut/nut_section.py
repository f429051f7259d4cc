"""The nut's section along one string's slot, projected on a plane square to the front edge."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from templategen.drawing.model import Box, Dimension, Line, Outline, Point, Sketch, Text
from templategen.instrument.model import Instrument
from templategen.parts.common.sheetwork import dimension
from templategen.parts.nut import nut_shape

HEADING, LABEL = 3.5, 2.5  # lettering, paper mm
HATCH = 1.5  # from line to line, paper mm


BOARD = 11.0  # of the board before the nut, paper mm: as long as its name


def section(s: Sketch, i: Instrument, p: float, begin: float, heading: float) -> Box:
    """Drawn from ``begin`` rightward, tuners to the right; p: one paper mm. Returns the box that it fills.

    The string is the bass-side one, or on a stepped front the one whose edge stands farthest from the body's.
    """
    nut = i.nut
    last = len(nut.along) - 1
    row = int(abs(nut.forward - nut.body_forward).argmax()) if nut.stepped else last
    slot = nut_shape.slots_of(nut, "finished")[row]
    (x0, front, floor), (x1, thick, floor_back) = slot.start, slot.end
    fall = (floor - floor_back) / (thick - front)
    top_fall = math.tan(math.radians(nut.top_fall_deg))

    near = min(front, -nut.body_forward)
    left = begin + BOARD * p - near

    def x_at(y: float) -> float:
        return x0 + (x1 - x0) * (y - front) / (thick - front)

    def top_at(y: float) -> float:
        return float(nut.top.z(x_at(y))) - y * top_fall

    def at(y: float, z: float) -> Point:
        return left + y, z

    body = -nut.body_forward
    ledge = float(nut.board_height(x0, front)) - nut.seat_depth + nut_shape.ledge_z(nut)
    seat0, seat1 = float(nut.seat_height(x_at(body), body)), float(nut.seat_height(x1, thick))
    eased = _eased(nut.rounding, thick, top_at, top_fall)
    leaves = _leaves(floor, fall, front, thick, eased)

    cut = [(body, seat0), (thick, seat1), *leaves, (front, floor)]
    if front != body:
        cut += [(front, ledge), (body, ledge)]
    s.add("OUTLINE", Outline.polygon(at(*point) for point in cut))
    s.add("DIMENSION", *(Line(at(*a), at(*b)) for a, b in _hatch(cut, HATCH * p)))
    crest = top_at(front)
    edge = [(front, floor), (front, crest), *[point for point in eased if point[1] >= leaves[-1][1] - 1e-9]]
    for a, b in pairwise(edge):
        s.add("OUTLINE", Line(at(*a), at(*b)))

    board = float(nut.board_height(x_at(body), body))
    s.add("RADIUS_CURVE", Line((begin, board), at(body, board)))
    s.add("TEXT", Text((begin + 0.5 * p, board + 0.9 * p), "board", LABEL))
    low = min(seat0, seat1, 0.0)
    s.add(
        "DIMENSION",
        dimension(i, Dimension(at(body, seat0), at(thick, seat1), at(0.0, low - 8 * p), text_at="end")),
        dimension(i, Dimension(at(front, floor), at(front, crest), at(thick + 4 * p, 0.0), 90.0, text_at="end")),
        dimension(i, Dimension(at(thick, 0.0), at(front, floor), at(thick + 11 * p, 0.0), 90.0, text_at="end")),
    )
    s.add("TEXT", Text((begin, heading), f"Section, string {row + 1}", HEADING, bold=True))
    words = "bridge left, tuners right", f"backslope (back angle) {nut.back_angle_deg[row]:z.1f}°"
    for n, line in enumerate(words):
        s.add("TEXT", Text((begin, low - (14 + 4 * n) * p), line, LABEL))
    return Box(begin, low - 19 * p, left + thick + 14 * p, heading + HEADING * p)


def _eased(r: float, thick: float, top_at: Callable[[float], float], fall: float) -> list[Point]:
    """The back edge's rounding from the top down to the back face, as short chords: circle tangent to both."""
    if r == 0:
        return [(thick, top_at(thick))]
    middle = thick - r
    centre = top_at(middle) - r / math.cos(math.atan(fall))
    start = math.pi / 2 - math.atan(fall)
    turns = [start * (1 - n / 6) for n in range(7)]
    return [(middle + r * math.cos(t), centre + r * math.sin(t)) for t in turns]


def _leaves(floor: float, fall: float, front: float, thick: float, eased: list[Point]) -> list[Point]:
    """The back of the cut from the seat up to where the floor comes out: in the rounding, or in the back face."""

    def floor_at(y: float) -> float:
        return floor - fall * (y - front)

    face = [(thick, min(eased[-1][1], floor_at(thick)))]
    for (y0, z0), (y1, z1) in pairwise(reversed(eased)):
        a, b = z0 - floor_at(y0), z1 - floor_at(y1)
        if a >= 0:
            break
        if b >= 0:
            share = a / (a - b)
            face.append((y0 + share * (y1 - y0), z0 + share * (z1 - z0)))
            break
        face.append((y1, z1))
    return face


def _hatch(cut: list[Point], pitch: float) -> list[tuple[Point, Point]]:
    """Section lining at 45° (ISO 128) inside a polygon."""
    step = pitch * math.sqrt(2)
    level = math.ceil(min(x + y for x, y in cut) / step) * step
    found = []
    while level < max(x + y for x, y in cut):
        hits = []
        for (ax, ay), (bx, by) in zip(cut, [*cut[1:], cut[0]], strict=True):
            a, b = ax + ay - level, bx + by - level
            if (a < 0) != (b < 0):
                share = a / (a - b)
                hits.append((ax + share * (bx - ax), ay + share * (by - ay)))
        hits.sort()
        found += list(zip(hits[::2], hits[1::2], strict=True))
        level += step
    return found

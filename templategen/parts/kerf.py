"""Outlines as a beam must run for the part, or the hole, to come out at its size: half the kerf to the waste side."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templategen.drawing.model import Point
from templategen.units import both_units


def grown(corners: Sequence[Point], by: float) -> tuple[Point, ...]:
    """A counterclockwise polygon with every side moved outward by ``by`` mm (inward where negative), corners mitred.

    Neighbouring sides must not be parallel, and no side may be shorter than the move leaves room for.
    """
    count = len(corners)
    sides = []
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        length = math.hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        sides.append((ux, uy, x0 + by * uy, y0 - by * ux))
    return tuple(_crossing(sides[i - 1], sides[i]) for i in range(count))


def counterclockwise(corners: Sequence[Point]) -> tuple[Point, ...]:
    """The polygon in that sense, its first corner kept."""
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True))
    return tuple(corners) if area > 0 else (corners[0], *reversed(corners[1:]))


def kerf_note(kerf: float) -> str:
    """What was done about the kerf, for the file's start and the file list."""
    if kerf == 0:
        return "No beam_kerf in the shop file: the lines are the finished edges."
    return (
        f"Beam kerf {both_units(kerf, 3)} taken off: lines run half of it to the waste side of each finished edge, so "
        "run the beam on the line."
    )


def _crossing(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> Point:
    ax, ay, px, py = a
    bx, by, qx, qy = b
    share = ((qx - px) * by - (qy - py) * bx) / (ax * by - ay * bx)
    return px + share * ax, py + share * ay

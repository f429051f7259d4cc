"""What the nut's solids should hold, by integrals over the same numbers that they are built from, mm³.

The kernel's results are held against these, so that a cut that did nothing is never written.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from templategen.geometry import arc_drop
from templategen.instrument.arrays import Array
from templategen.instrument.nut.nut import Nut
from templategen.parts.nut import nut_shape as shape

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


def body(nut: Nut, stage: shape.Stage) -> float:
    """A stage before its edges are eased and its slots cut."""
    if stage == "blank" and nut.blank.form == "bar":
        return math.prod(nut.blank.size)
    if nut.stepped and stage != "blank":
        return _stepped(nut, stage)
    front, back, more = nut.body_forward, nut.thickness, 0.0
    if stage == "blank":
        front, back, more = nut.reach + nut.stock_sides, back + nut.stock_sides, nut.stock_ends
    y, dy = _stations(-front, back)
    x0, x1 = (np.array([nut.end_x(end, v) for v in y]) for end in (0, 1))
    x, dx = _stations(x0 - more, x1 + more)
    height = _plain_top(nut, stage, x, y[:, None]) - _low(nut, stage, x, y[:, None])
    return float((height * dx * dy[:, None]).sum())


def _stepped(nut: Nut, stage: shape.Stage) -> float:
    """The sum over fields in which the front neither steps nor changes over or under the ledge, and what the rounding
    of the steps' inner corners leaves in."""
    order = np.argsort(nut.along)
    middles = (nut.along[order][1:] + nut.along[order][:-1]) / 2
    levels = sorted({-nut.reach, -nut.body_forward, nut.thickness, *(-float(v) for v in nut.forward)})
    total = 0.0
    for near, far in pairwise(levels):
        y, dy = _stations(near, far)
        ends = [np.array([nut.end_x(end, float(v)) for v in y]) for end in (0, 1)]
        edges = [ends[0], *(np.full(len(y), float(m)) for m in middles), ends[1]]
        for forward, start, end in zip(nut.forward[order], edges[:-1], edges[1:], strict=True):
            over_board, body = near >= -forward, near >= -nut.body_forward
            if not over_board and not body:
                continue
            x, dx = _stations(start, end)
            at = y[:, None]
            low = _low(nut, stage, x, at)
            ledge = np.maximum(_ledge(nut, x, at), low)
            high = _plain_top(nut, stage, x, at) if over_board else ledge
            low = low if body else ledge
            total += float(((high - low) * dx * dy[:, None]).sum())
    return total + sum(_left_in(nut, stage, corner) for corner in shape.inner_corners(nut))


def _left_in(nut: Nut, stage: shape.Stage, corner: shape.Corner) -> float:
    """What the rounding of an inner corner leaves in, from the ledge up to the top."""
    x, y = np.array(corner.x), np.array(corner.y)
    ledge = max(float(_ledge(nut, x, y)), float(_low(nut, stage, x, y)))
    return corner.area * max(float(_plain_top(nut, stage, x, y)) - ledge, 0.0)


def slots(nut: Nut, cuts: Sequence[shape.Slot], stage: shape.Stage) -> tuple[float, float]:
    """What slots that run into each other take out together, and the least that one of them takes alone, by a grid."""
    x0, x1 = (fold(nut.end_x(end, y) for y in (-nut.reach, nut.thickness)) for end, fold in ((0, min), (1, max)))
    x = np.linspace(x0, x1, 1 + round((x1 - x0) / GRID))
    depths = []
    for cut in cuts:
        sx, sy, sz = cut.start
        ux, uy, uz = cut.direction
        turn, fall = math.atan2(ux, uy), math.atan2(-uz, math.hypot(ux, uy))
        y, dy = _stations(sy, nut.thickness)
        u = (x - sx) * math.cos(turn) - (y[:, None] - sy) * math.sin(turn)
        s = (x - sx) * math.sin(turn) + (y[:, None] - sy) * math.cos(turn)
        if cut.vee_deg is None:
            half = cut.width / 2
            rise = np.where(np.abs(u) < half, half - np.sqrt(np.maximum(half * half - u * u, 0.0)), np.inf)
        else:
            rise = np.abs(u) / math.tan(math.radians(cut.vee_deg) / 2)
        deep = _top(nut, stage, x, y[:, None]) - (sz - s * math.tan(fall) + rise / math.cos(fall))
        depths.append((np.maximum(deep, 0.0), dy))
    whole = np.stack([deep * dy[:, None] for deep, dy in depths]) * (x[1] - x[0])
    ranked = np.sort(whole, axis=0)
    alone = [float(np.where(each == ranked[-1], ranked[-1] - ranked[-2], 0.0).sum()) for each in whole]
    return float(ranked[-1].sum()), min(alone)


GRID = 0.005
"""mm between places along the nut."""


def slot(nut: Nut, cut: shape.Slot, stage: shape.Stage) -> float:
    """What one slot takes out of a stage, its eased back edge counted."""
    x, y, z = cut.start
    ux, uy, uz = cut.direction
    plan = math.hypot(ux, uy)
    turn = math.atan2(ux, uy)
    fall = math.atan2(-uz, plan)
    half = cut.width / 2
    angle, share = _stations(-math.pi / 2, math.pi / 2)
    u, du = half * np.sin(angle), half * np.cos(angle) * share
    if cut.vee_deg is None:
        rise = half * (1 - np.cos(angle))
    else:
        u, du = _halves(1.3 * _half_width(nut, cut, stage))
        rise = np.abs(u) / math.tan(math.radians(cut.vee_deg) / 2)
    rise = rise / math.cos(fall)  # the section is square to the floor, heights are upright
    total = 0.0
    for y0, y1 in _spans(nut, stage, y):
        at, dy = _stations(y0, y1)
        s = (at[:, None] - y + u * math.sin(turn)) / math.cos(turn)
        top = _top(nut, stage, x + u * math.cos(turn) + s * math.sin(turn), at[:, None])
        deep = top - (z - s * math.tan(fall) + rise)
        total += float((np.maximum(deep, 0.0) * du * dy[:, None]).sum()) / math.cos(turn)
    return total


def meet(nut: Nut, cuts: Sequence[shape.Slot], stage: shape.Stage) -> bool:
    """Whether neighbouring slots or pilots run into each other; their volumes then do not add up."""
    half = np.array([_half_width(nut, cut, stage) for cut in cuts])
    ends = np.array([(cut.start[0], cut.end[0]) for cut in cuts])
    rising = ends[np.argsort(ends[:, 0])]
    room = (half[1:] + half[:-1])[:: 1 if ends[0, 0] < ends[-1, 0] else -1]
    return bool((np.diff(rising, axis=0) < 1.1 * room[:, None]).any())


def _half_width(nut: Nut, cut: shape.Slot, stage: shape.Stage) -> float:
    """Half of what a slot takes up at the top where it is widest."""
    if cut.vee_deg is None:
        return cut.width / 2
    tops = [float(_top(nut, stage, np.array(end[0]), np.array(end[1]))) - end[2] for end in (cut.start, cut.end)]
    return max(tops) * math.tan(math.radians(cut.vee_deg) / 2)


def _spans(nut: Nut, stage: shape.Stage, front: float) -> list[tuple[float, float]]:
    eased = nut.thickness - nut.rounding if stage == "finished" else nut.thickness
    return [(front, nut.thickness)] if eased == nut.thickness else [(front, eased), (eased, nut.thickness)]


def _plain_top(nut: Nut, stage: shape.Stage, x: Array, y: Array) -> Array:
    return np.asarray(shape.top_of(nut, stage).z(x) - y * math.tan(math.radians(shape.fall_deg(nut, stage))))


def _ledge(nut: Nut, x: Array, y: Array) -> Array:
    """As it is built: one cylinder along the neck, also over a cone."""
    _, across = nut.plan_point(x, y)
    return np.asarray(shape.ledge_z(nut) - arc_drop(shape.ledge_radius(nut), across))


def _low(nut: Nut, stage: shape.Stage, x: Array, y: Array) -> Array:
    return nut.seat_height(x, y) if stage == "finished" else np.full(np.broadcast(x, y).shape, nut.datum_z)


def _top(nut: Nut, stage: shape.Stage, x: Array, y: Array) -> Array:
    """The top, with the finished nut's back edge rounded: a circle that touches the top and the back face."""
    fall = math.radians(shape.fall_deg(nut, stage))
    z, r = _plain_top(nut, stage, x, y), nut.rounding
    if stage != "finished" or r == 0:
        return z
    middle = nut.thickness - r
    past = np.clip(y - middle, 0.0, r)
    centre = shape.top_of(nut, stage).z(x) - middle * math.tan(fall) - r / math.cos(fall)
    eased = centre + np.sqrt(r * r - past * past)
    return np.where(y > middle + r * math.sin(fall), eased, z)


def _stations(start: Array | float, end: Array | float) -> tuple[Array, Array]:
    """Gauss–Legendre places and weights between two limits, or between many pairs of them, one a row."""
    low, high = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    middle, half = (low + high)[..., None] / 2, (high - low)[..., None] / 2
    return middle + half * _NODES, half * _WEIGHTS


def _halves(half: float) -> tuple[Array, Array]:
    """Both sides of a vee, whose bottom is a corner."""
    (a, da), (b, db) = _stations(-half, 0.0), _stations(0.0, half)
    return np.concatenate([a, b]), np.concatenate([da, db])

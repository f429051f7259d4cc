"""The program for the fret slots: every slot along its floor, in passes, with the mill's own cutter; plan frame."""

from __future__ import annotations

import math

import numpy as np

from templategen.drawing.program import Cut, Program
from templategen.drawing.toolpath import Spot
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.instrument.tools.milling import Milling
from templategen.parts.board.slot_path import PAST_EDGE
from templategen.parts.mill import common
from templategen.parts.mill.sweep import Patch
from templategen.spec.models import MillTool
from templategen.units import both_units, mm_text

NAME = "fret-slots"
WITHIN = 0.0005  # mm that a straight move between two points goes below the floor
SINK = 0.009  # mm, and half of what it takes off the height that a level cutter leaves at the walls of a sloping floor


def program(i: Instrument, milling: Milling, tool: MillTool) -> tuple[Program, tuple[Patch, ...]]:
    """The program and the floors that it must leave."""
    lanes = common.lanes(i.spec.fret_wire.slot_width, tool.diameter)
    cuts = tuple(_cut(i, milling, row, tool, lanes) for row in range(len(i.frets)))
    corners = i.board_outline
    low, high = corners.min(0), corners.max(0)
    box = (float(low[0]), float(low[1]), -i.board.thickness), (float(high[0]), float(high[1]), 0.0)
    blind = _blind(i)
    made = common.program(
        i,
        milling.mill,
        name=NAME,
        title=f"{i.spec.title}: fret slots",
        cuts=cuts,
        box=box,
        past=0.0 if blind else PAST_EDGE,
        head=(_stock(i, milling), common.board_origin(i), *_how(i, milling, tool, len(lanes))),
        overrun="" if blind else f"The cutter runs {PAST_EDGE} mm past both edges",
    )
    return made, tuple(_patch(i, row) for row in range(len(i.frets)))


def _blind(i: Instrument) -> bool:
    return i.spec.fingerboard.blind_slot_inset is not None


def _stock(i: Instrument, milling: Milling) -> str:
    corners = i.board_outline
    length, width = (corners.max(0) - corners.min(0)).tolist()
    size = f"Stock: fingerboard {mm_text(length)} x {mm_text(width)} x {mm_text(i.board.thickness)} mm or its blank"
    law = i.board.law
    if law.flat:
        return f"{size}, flat on top."
    if not milling.radiused:
        return f"{size}, still flat on top; its radius comes after the slots."
    last = float(i.plan.centre_x[-1])
    radius = both_units(law.at_nut, 1)
    cone = f" at the nut, {both_units(float(law.radius(last)), 1)} at the last fret" if law.conical else ""
    return f"{size}, its radius already on: {radius}{cone}."


def _how(i: Instrument, milling: Milling, tool: MillTool, lanes: int) -> tuple[str, ...]:
    width = i.spec.fret_wire.slot_width
    floors = "concentric with the board" if i.frets.follows else "level"
    said = [
        f"Slots {mm_text(width)} mm wide, floors {floors}, up to {mm_text(milling.deepest_slot)} mm deep in the wood."
    ]
    if lanes > 1:
        said.append(f"The cutter is narrower than the slots: each pass runs {lanes} times side by side.")
    if _blind(i):
        said.append(f"Blind slots: the cutter stops {mm_text(tool.diameter / 2, 3)} mm inside their ends.")
        if floors != "level":
            high = max(abs(_slope(i, row)) for row in range(len(i.frets))) * tool.diameter
            said.append(f"A level cutter leaves its own width at each end up to {mm_text(high)} mm high.")
    return tuple(said)


def _slope(i: Instrument, row: int) -> float:
    """Of the floor, across the board, at a slot's outer end."""
    y, depth = float(i.plan.slot_bass_ends[row, 1]), float(i.frets.slot_depth[row])
    inner = float(i.board.radius(i.plan.centre_x[row])) - depth
    return y / math.sqrt(inner * inner - y * y)


def _ways(i: Instrument, row: int) -> tuple[Array, Array, Array]:
    """A slot's ends, bass side first, and the unit vector from one to the other."""
    start, end = i.plan.slot_bass_ends[row], i.plan.slot_treble_ends[row]
    return start, end, (end - start) / np.hypot(*(end - start))


def _cut(i: Instrument, milling: Milling, row: int, tool: MillTool, lanes: tuple[float, ...]) -> Cut:
    """All passes of a slot, to and fro without leaving it."""
    runs, to_and_fro = [_run(i, row, tool.diameter / 2, lane) for lane in lanes], 0
    points: list[Spot] = []
    for level in _levels(i, milling, row, tool.step_down, min(float(run[:, 2].min()) for run in runs)):
        for run in runs:
            z = run[:, 2] + level if milling.follows else np.maximum(run[:, 2], level)
            way = np.column_stack([run[:, :2], z])
            points += common.straightened(way if to_and_fro % 2 == 0 else way[::-1])
            to_and_fro += 1
    return Cut(f"fret {i.frets[row].number}", common.tool(tool), tuple(points))


def _levels(i: Instrument, milling: Milling, row: int, step: float, lowest: float) -> list[float]:
    """Of each pass: how far over the final one where passes follow the board, else the height it does not go below."""
    deep = float(i.frets.slot_depth[row]) + SINK + WITHIN if milling.follows else -lowest
    count = common.passes(deep, step)
    return [deep * (1 - n / count) if milling.follows else -deep * n / count for n in range(1, count + 1)]


def _run(i: Instrument, row: int, radius: float, lane: float) -> Array:
    """Points (n, 3) of the tip on the final pass, ``lane`` mm to the left of the slot's middle."""
    start, end, along = _ways(i, row)
    inward = -PAST_EDGE
    if _blind(i):
        inward = i.spec.fret_wire.slot_width / 2 if i.spec.fret_wire.slot_ends == "round" else radius
    beside = lane * np.array([-along[1], along[0]])
    first, last = start + inward * along + beside, end - inward * along + beside
    share = np.linspace(0.0, 1.0, _count(i, row, first, last) + 1)[:, None]
    points = first + share * (last - first)
    return np.column_stack([points, _tip(i, row, radius, points)])


def _count(i: Instrument, row: int, first: Array, last: Array) -> int:
    """Straight moves along a pass: a chord of length s goes s²/(8r) below an arc (circular segment)."""
    if not i.frets.follows:
        return 1
    inner = min(float(i.board.radius(p[0])) for p in (first, last)) - float(i.frets.slot_depth[row])
    steepest = max(abs(float(first[1])), abs(float(last[1]))) / inner
    curve = inner * (1 - steepest**2) ** 1.5
    return max(2, math.ceil(float(np.hypot(*(last - first))) / math.sqrt(8 * curve * WITHIN)))


def _tip(i: Instrument, row: int, radius: float, points: Array) -> Array:
    """Where a level cutter stands on a floor that slopes: on the highest place under it, a little below.

    So its middle leaves the floor itself, and only beside the walls something stays: radius times slope.
    """
    under = i.frets.floor(row)
    floor = under.z(*points.T)
    if under.level is not None:
        return floor
    turn = np.linspace(0, 2 * math.pi, 16, endpoint=False)
    around = points[:, None, :] + radius * np.stack([np.cos(turn), np.sin(turn)], -1)
    nearer = points - np.column_stack([np.zeros(len(points)), np.clip(points[:, 1], -radius, radius)])
    high = np.maximum(under.z(around[..., 0], around[..., 1]).max(1), under.z(*nearer.T))
    return np.asarray(high - np.minimum(SINK, (high - floor) / 2))


def _patch(i: Instrument, row: int) -> Patch:
    start, end, along = _ways(i, row)

    def floor(s: Array, v: Array) -> Array:
        x, y = start[0] + s * along[0] - v * along[1], start[1] + s * along[1] + v * along[0]
        return i.frets.floor(row).z(x, y)

    return Patch(
        f"fret {i.frets[row].number}",
        (float(start[0]), float(start[1])),
        (float(along[0]), float(along[1])),
        float(np.hypot(*(end - start))),
        i.spec.fret_wire.slot_width,
        floor,
        shut=_blind(i),
    )

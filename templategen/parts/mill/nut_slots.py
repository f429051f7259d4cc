"""The program for the nut's slots: ball cutters where one fits, vee pilots else, each pass from the front edge back.

In the frame of the nut's solids, but z from the blank's top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templategen.drawing.program import Cut, Program
from templategen.drawing.toolpath import Spot
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.instrument.nut.blank import Blank
from templategen.instrument.tools.milling import Milling, vee_widens
from templategen.parts.mill import common
from templategen.parts.mill.sweep import Patch
from templategen.parts.nut import nut_shape as shape
from templategen.spec.models import MillTool
from templategen.units import mm_text

NAME = "nut-slots"
CLEAR = 0.5  # mm between the blank and the tool's side before and behind it
CUSP = 0.003  # mm that a ball leaves between neighbouring lanes of a floor wider than itself, square to it


def program(i: Instrument, milling: Milling) -> tuple[Program, tuple[Patch, ...]]:
    """The program for the slots that the mill has tools for, one tool's together, and the floors it must leave."""
    nut, stock = i.nut, i.nut.blank
    slots = shape.slots_of(nut, "slotted")
    order = sorted(
        (row for row, tool in enumerate(milling.nut) if tool is not None),
        key=lambda row: (milling.nut[row].number, row),  # type: ignore[union-attr]
    )
    cuts: list[Cut] = []
    patches = []
    for row in order:
        tool = milling.nut[row]
        assert tool is not None
        groove = _Groove(slots[row], stock, f"string {row + 1}")
        cuts += groove.cuts(tool)
        patches.append(groove.patch())
    used = {tool.number: tool for tool in milling.nut if tool is not None}
    past = max(tool.diameter for tool in used.values()) / 2 + CLEAR
    made = common.program(
        i,
        milling.mill,
        name=NAME,
        title=f"{i.spec.title}: nut slots, to the slotted nut",
        cuts=cuts,
        box=((*stock.low[:2], stock.low[2] - stock.high[2]), (*stock.high[:2], 0.0)),
        past=past,
        head=(*_head(i, stock), *_left_out(i, milling)),
        overrun=f"Tools run up to {mm_text(past)} mm past the front and back of the blank",
    )
    return made, tuple(patches)


def _head(i: Instrument, stock: Blank) -> tuple[str, ...]:
    (length, wide, high), (x0, y0, _) = stock.size, stock.low
    form = "a plain bar" if stock.form == "bar" else "shaped, its top an arc"
    return (
        f"Stock: nut blank as in nut-blank.step, {form}, {mm_text(length)} x {mm_text(wide)} x {mm_text(high)} mm, its "
        "flat underside down, its bridge side toward -Y.",
        f"Origin as in the nut's STEP files: X0 on the centreline, {mm_text(-x0)} mm from the blank's -X end; Y0 "
        f"on the finished front edge, {mm_text(-y0)} mm behind the blank's front face; Z0 on the blank's highest "
        f"point, {mm_text(high)} mm over its underside, {mm_text(stock.high[2])} mm over the STEP's z = 0.",
        f"Floors are those of nut-slotted.step: {mm_text(i.nut.filing_allowance)} mm is left over the finished floor "
        "of full slots, pilots only start a saw or file.",
    )


def _left_out(i: Instrument, milling: Milling) -> tuple[str, ...]:
    rows = [row + 1 for row, tool in enumerate(milling.nut) if tool is None]
    if not rows:
        return ()
    strings = ", ".join(map(str, rows))
    return (f"Not cut here, the mill has no tool for it: string {strings}. Saw and file by the drawing.",)


@dataclass(frozen=True)
class _Groove:
    """One slot of the slotted nut, its height taken from the blank's top.

    s runs level from where the string leaves the slot toward the tuners, v to its left, seen from above.
    """

    slot: shape.Slot
    stock: Blank
    name: str

    @property
    def _level(self) -> float:
        """Level part of the slot's unit vector."""
        across, back, _ = self.slot.direction
        return math.hypot(across, back)

    @property
    def _fall(self) -> float:
        """Of the floor, per mm of s: tan of the back angle."""
        return -self.slot.direction[2] / self._level

    @property
    def _along(self) -> tuple[float, float]:
        across, back, _ = self.slot.direction
        return across / self._level, back / self._level

    @property
    def _floor(self) -> float:
        """Of the floor's lowest line where s is 0."""
        return self.slot.start[2] - self.stock.high[2]

    def _span(self, radius: float, v: float) -> tuple[float, float]:
        """s from before the blank's front to behind its back, the tool clear of both."""
        across, back = self._along
        y, reach = self.slot.start[1] + v * across, radius + CLEAR
        return (self.stock.low[1] - reach - y) / back, (self.stock.high[1] + reach - y) / back

    def cuts(self, tool: MillTool) -> Iterator[Cut]:
        """Every pass from the front back, each lifted clear before the next: so the front edge stays sharp."""
        lanes = self._vee_lanes(tool) if tool.form == "vee" else self._ball_lanes(tool)
        rough = lanes[:3]
        deep = -min(self._ends(v, z, tool)[1] for v, z in rough)
        count = common.passes(deep, tool.step_down)
        for n in range(1, count + 1):
            for v, z in rough:
                yield self._pass(tool, v, z, -deep * n / count)
        for v, z in lanes[3:]:
            yield self._pass(tool, v, z, -math.inf)

    def _ends(self, v: float, z: float, tool: MillTool) -> tuple[float, float]:
        """Heights of the tip, at s = 0 ``z`` and falling with the floor, at both ends of a pass."""
        first, last = self._span(tool.diameter / 2, v)
        return z - first * self._fall, z - last * self._fall

    def _pass(self, tool: MillTool, v: float, z: float, level: float) -> Cut:
        """Along the final line where that lies over the level, else level."""
        first, last = self._span(tool.diameter / 2, v)
        z0, z1 = self._ends(v, z, tool)
        places = [first, last]
        if z1 < level < z0:
            places.insert(1, first + (z0 - level) / self._fall)
        points = tuple(self._point(s, v, max(z - s * self._fall, level)) for s in places)
        return Cut(self.name, common.tool(tool), points)

    def _point(self, s: float, v: float, z: float) -> Spot:
        (x, y, _), (ux, uy) = self.slot.start, self._along
        return x + s * ux - v * uy, y + s * uy + v * ux, z

    def _ball_lanes(self, tool: MillTool) -> list[tuple[float, float]]:
        """Lanes (v, height of the tip at s = 0) whose balls touch the round floor: the middle and both walls first.

        The ball's centre runs on a cylinder about the floor's own axis, of the radii's difference a. Lanes an angle
        2t apart leave cusps of about a·(1 − cos t).
        """
        r, ball = self.slot.width / 2, tool.diameter / 2
        a, cos = r - ball, self._level
        if a < 5e-4:
            return [(0.0, self._tip(0.0, r, ball, cos))]
        half = math.acos(max(1 - CUSP / a, 0.0))
        count = 2 * max(1, math.ceil(math.pi / 2 / (2 * half)))
        turns = [math.pi * (n / count - 0.5) for n in range(count + 1)]
        first = [0.0, turns[0], turns[-1]]
        rest = [turn for turn in turns[1:-1] if abs(turn) > 1e-9]
        return [(a * math.sin(turn), self._tip(turn, r, ball, cos)) for turn in (*first, *rest)]

    def _tip(self, turn: float, r: float, ball: float, cos: float) -> float:
        """Height of the tip at s = 0 on the lane that touches the floor ``turn`` away from its lowest line.

        The axis lies r square to the floor's line, the ball's centre a·cos(turn) square to that again; both are read
        off upright, by the cosine of the fall.
        """
        return self._floor + (r - (r - ball) * math.cos(turn)) / cos - ball

    def _vee_lanes(self, tool: MillTool) -> list[tuple[float, float]]:
        """One lane, lifted by somewhat more than half of what the wider groove makes deeper at its top."""
        assert tool.tip_angle is not None
        deep = self.slot.width / (2 * math.tan(math.radians(tool.tip_angle / 2)))
        wider = vee_widens(tool.tip_angle, math.degrees(math.atan(self._fall)))
        return [(0.0, self._floor + deep * (wider - 1) * 0.6)]

    def patch(self) -> Patch:
        """The slot between the nut's nominal front edge and its finished back."""
        r, vee, cos = self.slot.width / 2, self.slot.vee_deg, self._level

        def floor(s: Array, v: Array) -> Array:
            line = self._floor - s * self._fall
            if vee is not None:
                return np.asarray(line + np.abs(v) / (math.tan(math.radians(vee / 2)) * cos))
            return np.asarray(line + (r - np.sqrt(r * r - v * v)) / cos)

        x, y, _ = self.slot.start
        return Patch(self.name, (x, y), self._along, self.slot.length * self._level, self.slot.width, floor)

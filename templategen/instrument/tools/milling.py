"""Which of the mill's tools cuts what, and what none of them can."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.instrument.arrays import Array
from templategen.instrument.board.frets import Frets
from templategen.instrument.board.surfaces import Board
from templategen.instrument.nut.nut import Nut
from templategen.spec.models import Mill, MillTool, Spec

BREAKS_THROUGH = 0.2
"""mm that a cutter goes below the underside of what it cuts out, into the board under it."""
LEVEL_LEAVES = 0.038
"""mm: what may stay in the corner beside a wall, a hundredth of it below the floor; 0.02 mm off the wall it is less."""
VEE_LEAVES = 0.027
"""mm between a pilot and what a vee cuts that runs downhill, over its depth."""
LEAST_OUTLINE = 1.0
"""mm: narrower cutters are not sent round an outline; they would break."""
_SAME = 1e-6


def vee_widens(tip_deg: float, fall_deg: float) -> float:
    """How much wider the groove of an upright vee is that runs downhill than its own angle across the run.

    k = 1/(cos f·√(1 − tan² t·tan² f)), f the fall, t half the tip's angle: the envelope of a cone moved along a line.
    """
    tan, fall = math.tan(math.radians(tip_deg / 2)), math.radians(fall_deg)
    return 1 / (math.cos(fall) * math.sqrt(max(1 - (tan * math.tan(fall)) ** 2, 1e-9)))


@dataclass(frozen=True)
class Milling:
    """The mill's tools for one job. radiused: whether the board on the mill has its radius on.

    slots: for the fret slots; outline: for the board's; nut: for each string's slot, None where the mill has none.
    """

    mill: Mill
    spec: Spec
    board: Board
    frets: Frets
    made: Nut

    @property
    def radiused(self) -> bool:
        asked = self.spec.toolpath.board
        return not self.board.law.flat and (asked == "radiused" if asked else not self.frets.flat_floor)

    @property
    def follows(self) -> bool:
        """Whether passes run as the board's surface does, rather than level."""
        return self.radiused and not self.frets.flat_floor

    @property
    def deepest_slot(self) -> float:
        """How deep a fret slot's cutter stands in the wood, at most."""
        level = self.frets.depth_stop_flat.max() if not self.follows else self.frets.slot_depth.max()
        return float(level)

    @property
    def widest_slot_cutter(self) -> float:
        """The widest level cutter that may cut the slots. On a floor that slopes by m it leaves r·m more beside a wall
        than in the middle, where its rim stands; that may be at most LEVEL_LEAVES."""
        widest = self.spec.fret_wire.slot_width
        if self.frets.flat_floor or self.board.law.flat:
            return widest
        ends = np.stack([self.frets.plan.slot_bass_ends, self.frets.plan.slot_treble_ends])
        inner = self.board.radius(ends[..., 0]) - self.frets.slot_depth
        y = np.abs(ends[..., 1])
        steepest = float((y / np.sqrt(inner**2 - y**2)).max())
        return min(widest, 2 * LEVEL_LEAVES / steepest)

    @cached_property
    def slots(self) -> MillTool | None:
        """The widest flat cutter that enters the slot and is long enough."""
        return _widest(self._flat(self.deepest_slot), self.widest_slot_cutter)

    @cached_property
    def outline(self) -> MillTool | None:
        """The widest flat cutter that goes through the board."""
        wide = [tool for tool in self._flat(self.board.thickness + BREAKS_THROUGH) if tool.diameter >= LEAST_OUTLINE]
        return _widest(wide)

    @property
    def nut_depths(self) -> Array:
        """How deep each nut slot's cutter stands in the blank at its back; (strings,)."""
        nut = self.made
        start, end = nut.slotted_lines
        behind = end + (end - start) * (nut.stock_sides / (end[:, 1] - start[:, 1]))[:, None]
        return np.asarray(nut.blank.top.z(behind[:, 0]) - behind[:, 2])

    @cached_property
    def nut(self) -> tuple[MillTool | None, ...]:
        """The widest ball that enters a slot of full width; for a pilot a vee of its angle, wide enough."""
        nut, found = self.made, []
        for row, full in enumerate(nut.full_width):
            deep, pilot = float(self.nut_depths[row]), nut.pilots[row]
            if full:
                balls = [t for t in self.mill.tools if t.form == "ball" and t.flute >= deep - _SAME]
                found.append(_widest(balls, float(nut.width[row])))
                continue
            vees = [
                t
                for t in self.mill.tools
                if t.form == "vee" and t.tip_angle is not None and abs(t.tip_angle - pilot.angle_deg) < _SAME
                if t.diameter >= pilot.width - _SAME and t.flute >= deep - _SAME
                if pilot.depth * (vee_widens(t.tip_angle, float(nut.back_angle_deg[row])) - 1) <= VEE_LEAVES
            ]
            found.append(vees[0] if vees else None)
        return tuple(found)

    def _flat(self, deep: float) -> list[MillTool]:
        return [tool for tool in self.mill.tools if tool.form == "flat" and tool.flute >= deep - _SAME]


def _widest(tools: list[MillTool], most: float = float("inf")) -> MillTool | None:
    """The widest no wider than ``most``; of equals the first in the shop file."""
    fitting = [tool for tool in tools if tool.diameter <= most + _SAME]
    return max(fitting, key=lambda tool: tool.diameter, default=None)

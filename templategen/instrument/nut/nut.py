"""The nut's slots, top, seat and ends, and what each of its three stages leaves on.

Everything here is in the nut frame unless a name says plan: x along the front edge, y square to it and positive toward
the tuners, z up, the origin on the seat at the centreline. Floors are taken where the string leaves its slot: on the
front edge, which compensation moves along the string.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.geometry.camber import Camber
from templategen.instrument.arrays import Array, fixed, known
from templategen.instrument.nut.blank import Blank, Form, build_blank, raised
from templategen.instrument.nut.frame import NutFrame
from templategen.instrument.nut.slots import Pilot

LEAST_SHARE, MOST_SHARE = 0.5, 1.1  # of the gauge that lies in a finished slot (design rule of this project)
LEAST_STEP = 0.03  # mm of the front edge between neighbours, or over the board's end; less is not filed, and is none
LEAST_ROUNDING = 0.05  # mm: an edge that is only broken has more
SHELF_LIFT = 0.05  # underside of a compensation shelf above the board


@dataclass(frozen=True)
class NutSlot:
    """One string's slot as plain numbers; what each means: ``Nut``. None where the spec does not tell, or the shop has
    no tool."""

    along: float
    across: float
    shift: float
    forward: float
    direction_deg: float
    width: float
    floor_z: float
    floor_above_board: float
    floor_above_board_here: float
    floor: float
    depth: float
    want_depth: float
    share: float
    back_angle_deg: float
    break_angle_deg: float | None
    side_angle_deg: float | None
    floor_at_back: float
    full_width: bool
    pilot: Pilot
    cutter: float | None
    file: float | None


@dataclass(frozen=True)
class Nut(NutFrame):
    """The nut as numbers. Arrays have shape (strings,) unless said.

    along, forward: where each string leaves its slot: nut-frame x, and how far before the nominal front edge, y = 0.
    across: where it crosses the nominal front edge, plan y. shift: its compensation, along the centreline toward the
    bridge. direction_deg: the slot's own direction in plan against the nut's y axis, positive toward +x.
    floor_z: plan z of the floor where the string leaves it; floor: the same above the seat at the centreline.
    top: the finished top over y = 0, falling toward the tuners by top_fall_deg. depth: top − floor where the string
    leaves. share: depth over gauge. back_angle_deg: the floor's drop along the slot.
    break_angle_deg, side_angle_deg: of the strings behind the nut, NaN where unknown; side positive toward +x.
    floor_at_back: above the seat right under it, where the slot leaves the back face.
    body_forward: how far the nut reaches before y = 0 below the board's surface: where the board is cut back.
    rounding: of the back edge and the ends, at most half of the nut's thickness and of its height at the lower end.
    full_width: True where the slotted nut's slot has its full width, False for a pilot; cutter: the shop's ball cutter
    that mills it, None for none. file: width of the shop's nut file to use, None for none that fits.
    """

    along: Array
    across: Array
    shift: Array
    forward: Array
    body_forward: float
    direction_deg: Array
    width: Array
    floor_z: Array
    floor_above_board: Array
    floor_above_board_here: Array
    floor: Array
    top: Camber
    depth: Array
    want_depth: Array
    share: Array
    back_angle_deg: Array
    top_fall_deg: float
    break_angle_deg: Array
    side_angle_deg: Array
    floor_at_back: Array
    top_allowance: float
    filing_allowance: float
    stock_sides: float
    stock_ends: float
    stock_form: Form
    rounding: float
    full_width: tuple[bool, ...]
    cutter: tuple[float | None, ...]
    pilots: tuple[Pilot, ...]
    file: tuple[float | None, ...]

    @cached_property
    def slots(self) -> tuple[NutSlot, ...]:
        """The slots one by one, in the strings' order."""
        columns = (
            self.along.tolist(),
            self.across.tolist(),
            self.shift.tolist(),
            self.forward.tolist(),
            self.direction_deg.tolist(),
            self.width.tolist(),
            self.floor_z.tolist(),
            self.floor_above_board.tolist(),
            self.floor_above_board_here.tolist(),
            self.floor.tolist(),
            self.depth.tolist(),
            self.want_depth.tolist(),
            self.share.tolist(),
            self.back_angle_deg.tolist(),
            known(self.break_angle_deg),
            known(self.side_angle_deg),
            self.floor_at_back.tolist(),
            self.full_width,
            self.pilots,
            self.cutter,
            self.file,
        )
        return tuple(NutSlot(*row) for row in zip(*columns, strict=True))

    @property
    def floor_lines(self) -> tuple[Array, Array]:
        """Where the lowest line of each finished slot's floor starts at the front and where it leaves the back,
        (strings, 3) each: along the front edge by x, falling with the back angle in the slot's own direction."""
        run = self.thickness + self.forward
        turn = np.tan(np.radians(self.direction_deg))
        fall = np.tan(np.radians(self.back_angle_deg)) / np.cos(np.radians(self.direction_deg))
        start = np.stack([self.along, -self.forward, self.floor], -1)
        return fixed(start), fixed(start + run[:, None] * np.stack([turn, np.ones_like(run), -fall], -1))

    @property
    def slotted_lines(self) -> tuple[Array, Array]:
        """The same of the slotted nut: floors ``filing_allowance`` higher, or the bottom line of a pilot, whose depth
        counts from the slotted nut's top where the string leaves; (strings, 3) each."""
        lift = [
            self.filing_allowance if full else float(depth) + self.top_allowance - pilot.depth
            for full, depth, pilot in zip(self.full_width, self.depth, self.pilots, strict=True)
        ]
        up = np.stack([np.zeros(len(lift)), np.zeros(len(lift)), np.array(lift)], -1)
        start, end = self.floor_lines
        return fixed(start + up), fixed(end + up)

    @property
    def slotted_depth(self) -> Array:
        """Depth of the slotted nut's full-width slots, from its own top."""
        return np.asarray(self.depth + self.top_allowance - self.filing_allowance)

    @property
    def reach(self) -> float:
        """How far the foremost part stands before y = 0."""
        return max(self.body_forward, float(self.forward.max()))

    @property
    def stepped(self) -> bool:
        """Whether the front above the board differs from the front below its surface."""
        return bool((self.forward != self.body_forward).any())

    @property
    def stations(self) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """Slot centres and the nut's ends, nut-frame x, along the front edge and along the back face."""
        back = self.along + (self.thickness + self.forward) * np.tan(np.radians(self.direction_deg))
        return (self.along, self.front_ends), (back, self.back_ends)

    @property
    def walls(self) -> Array:
        """What is left between neighbouring slots where it is least, square to them; 0 or less where they meet."""
        order = np.sign(self.along[0] - self.along[-1])
        between = np.min([order * (x[:-1] - x[1:]) for x, _ in self.stations], axis=0)
        cos = np.cos(np.radians(self.direction_deg))
        return np.asarray(between * np.minimum(cos[1:], cos[:-1]) - (self.width[1:] + self.width[:-1]) / 2)

    @property
    def end_walls(self) -> Array:
        """What is left between the outer slots and the nut's ends where it is least: treble side, bass side, (2,)."""
        side = 1 if self.along[0] > self.along[-1] else -1
        found = []
        for row, way in ((0, side), (-1, -side)):
            room = min(float(way * (ends[max(way, 0)] - x[row])) for x, ends in self.stations)
            found.append(room * math.cos(math.radians(self.direction_deg[row])) - self.width[row] / 2)
        return np.array(found)

    @property
    def datum_z(self) -> float:
        """Height of the flat datum, which blank and slotted nut keep under a curved or slanted seat: the lowest point
        of the finished seat."""
        corners = [(self.end_x(end, y), y) for end in (0, 1) for y in (-self.body_forward, self.thickness)]
        return min(0.0, *(float(self.seat_height(x, y)) for x, y in corners))

    @property
    def top_radius_along(self) -> float:
        """Radius of the finished top as a tool sees it that runs along the slots, where ``top.radius`` is in the
        upright plane of the front edge; infinite for a straight top.

        The top is a cylinder along its fall f: its section square to that has R/cos f, since heights shrink by cos f.
        Seen t aside from that, on the mean of the slots' directions, it is flatter by 1/cos² t (Euler's theorem on
        normal curvatures, any text on differential geometry).
        """
        fall, aside = math.radians(self.top_fall_deg), math.radians(float(self.direction_deg.mean()))
        return self.top.radius / (math.cos(fall) * math.cos(aside) ** 2)

    @cached_property
    def blank(self) -> Blank:
        """With all its allowances; high enough for what reaches forward."""
        y = (0.0 - self.reach - self.stock_sides, self.thickness + self.stock_sides)
        lift = self.top_allowance + max(self.reach, 0.0) * math.tan(math.radians(self.top_fall_deg))
        x0, x1 = ([self.end_x(end, at) for at in y] for end in (0, 1))
        x = (min(x0) - self.stock_ends, max(x1) + self.stock_ends)
        return build_blank(self.stock_form, x, y, self.datum_z, raised(self.top, lift))


def end_height(frame: NutFrame, top: Camber, top_fall_deg: float) -> float:
    """The finished nut's least height at its four corners."""
    ends, back = np.array([frame.front_ends, frame.back_ends]), np.array([[0.0], [frame.thickness]])
    fall = back * math.tan(math.radians(top_fall_deg))
    return float((top.z(ends) - fall - frame.seat_height(ends, back)).min())

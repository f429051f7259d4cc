"""The nut's slots, top, seat and ends, and what each of its three stages leaves on.

Everything here is in the nut frame unless a name says plan: x along the front edge, y square to it and positive toward
the tuners, z up, the origin on the seat at the centreline. Floors are taken where the string leaves its slot: on the
front edge, which compensation moves along the string.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from templategen.errors import Problem
from templategen.geometry import arc_drop
from templategen.instrument.arrays import Array, fixed, known
from templategen.instrument.board.plan import Plan
from templategen.instrument.board.surfaces import Board, Strung
from templategen.instrument.nut.blank import Blank, Form, build_blank, raised
from templategen.instrument.nut.slots import LEAST_SLOTTED, Pilot, file_for, slot_forms
from templategen.instrument.nut.top import TopArc, fit_top
from templategen.instrument.setup.line import StringLine
from templategen.spec.models import PlainWound, PlainWoundShare, Shop, Spec

LEAST_SHARE, MOST_SHARE = 0.5, 1.1  # of the gauge that lies in a finished slot (design rule of this project)
DEFAULT_BACK_ANGLE_DEG = 8.0
BACK_ANGLE_SHARE = 0.6  # of the break angle, where that is known: common practice 0.5–0.9, no source
LEAST_STEP = 0.03  # mm of the front edge between neighbours, or over the board's end; less is not filed, and is none
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
class Nut:
    """The nut as numbers. Arrays have shape (strings,) unless said.

    along, forward: where each string leaves its slot: nut-frame x, and how far before the nominal front edge, y = 0.
    across: where it crosses the nominal front edge, plan y. shift: its compensation, along the centreline toward the
    bridge. direction_deg: the slot's own direction in plan against the nut's y axis, positive toward +x.
    floor_z: plan z of the floor where the string leaves it; floor: the same above the seat at the centreline.
    top: the finished top over y = 0, falling toward the tuners by top_fall_deg. depth: top − floor where the string
    leaves. share: depth over gauge. back_angle_deg: the floor's drop along the slot.
    break_angle_deg, side_angle_deg: of the strings behind the nut, NaN where unknown; side positive toward +x.
    floor_at_back: above the seat right under it, where the slot leaves the back face.
    front_ends, back_ends: nut-frame x of the ends (−x end, +x end) at y = 0 and on the back face, (2,).
    body_forward: how far the nut reaches before y = 0 below the board's surface: where the board is cut back.
    turn_deg: from the nut's x axis to the plan's y axis, counterclockwise. seat_radius: square to the centreline.
    rounding: of the back edge and the ends, at most half of the nut's thickness and of its height at the lower end.
    full_width: True where the slotted nut's slot has its full width, False for a pilot; cutter: the shop's ball cutter
    that mills it, None for none. file: width of the shop's nut file to use, None for none that fits.
    """

    board: Board
    nut_x: float
    turn_deg: float
    seat_depth: float
    thickness: float
    seat_radius: float
    seat_angle_deg: float
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
    top: TopArc
    depth: Array
    want_depth: Array
    share: Array
    back_angle_deg: Array
    top_fall_deg: float
    break_angle_deg: Array
    side_angle_deg: Array
    floor_at_back: Array
    front_ends: Array
    back_ends: Array
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

    def end_x(self, end: int, y: float) -> float:
        """Where the end (0 at −x, 1 at +x) stands at y: it follows the board's edge."""
        return float(self.front_ends[end] + (self.back_ends[end] - self.front_ends[end]) * y / self.thickness)

    @property
    def datum_z(self) -> float:
        """Height of the flat datum, which blank and slotted nut keep under a curved or slanted seat: the lowest point
        of the finished seat."""
        corners = [(self.end_x(end, y), y) for end in (0, 1) for y in (-self.body_forward, self.thickness)]
        return min(0.0, *(float(self.seat_height(x, y)) for x, y in corners))

    @cached_property
    def blank(self) -> Blank:
        """With all its allowances; high enough for what reaches forward."""
        y = (0.0 - self.reach - self.stock_sides, self.thickness + self.stock_sides)
        lift = self.top_allowance + max(self.reach, 0.0) * math.tan(math.radians(self.top_fall_deg))
        x0, x1 = ([self.end_x(end, at) for at in y] for end in (0, 1))
        x = (min(x0) - self.stock_ends, max(x1) + self.stock_ends)
        return build_blank(self.stock_form, x, y, self.datum_z, raised(self.top, lift))

    def plan_point(self, x: ArrayLike, y: ArrayLike) -> tuple[Array, Array]:
        """Plan x and y of points of the nut frame."""
        turn = np.radians(self.turn_deg)
        u, v = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        return (
            np.asarray(self.nut_x + u * np.sin(turn) - v * np.cos(turn)),
            np.asarray(u * np.cos(turn) + v * np.sin(turn)),
        )

    def board_height(self, x: ArrayLike, y: ArrayLike) -> Array:
        """The wood's surface above the seat."""
        return np.asarray(self.seat_depth + self.board.z(*self.plan_point(x, y)))

    def seat_height(self, x: ArrayLike, y: ArrayLike) -> Array:
        """The finished seat: 0 at the front edge's middle, lower at curved ends, slanting down toward the tuners."""
        _, across = self.plan_point(x, y)
        slant = np.asarray(y, dtype=float) * np.tan(np.radians(self.seat_angle_deg))
        return np.asarray(-arc_drop(self.seat_radius, across) - slant)


def per_string(pair: PlainWound | PlainWoundShare, spec: Spec) -> Array:
    """The plain or the wound value of every string."""
    return np.array([pair.wound if s.wound else pair.plain for s in spec.strings.set])


def build_nut(spec: Spec, shop: Shop, plan: Plan, strung: Strung, line: StringLine, crowns: Array, shift: Array) -> Nut:
    """Everything about the nut from the string line.

    shift: compensation of each string, mm along the centreline toward the bridge, (strings,). With a zero fret the nut
    stands ``behind_zero_fret`` behind it with its floors ``below_zero_crown`` under that fret's crown, and there is no
    compensation.
    """
    nut, gauges = spec.nut, plan.gauges
    axis = plan.nut_direction
    frame = np.stack([axis, [-axis[1], axis[0]]], -1)  # plan vector @ frame = nut-frame vector
    origin = np.array([plan.nut_x, 0.0])
    board_at_nut = float(strung.z(0.0, 0.0))
    if spec.scale.zero_fret:
        shift = np.zeros(len(gauges))
        floor_z = crowns[plan.index(0)] - nut.below_zero_crown
    else:
        floor_z = np.array(line.witness_z)
    seat_depth = nut.seat_depth if nut.seat_depth is not None else strung.board.thickness
    floor = floor_z - board_at_nut + seat_depth

    run = plan.string_nut - plan.string_saddle
    run = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    front = _on_front_edge(plan, origin, axis)
    leaves = front + run * (shift / run[:, 0])[:, None]
    along, before = ((leaves - origin) @ frame).T
    forward = _lands(0.0 - before)
    body_forward = max(float(forward.max()), 0.0) if nut.compensation_by == "board" else 0.0
    forward = np.where(np.abs(forward - body_forward) < LEAST_STEP, body_forward, forward)
    string_deg = np.degrees(np.arctan2(*(run @ frame).T))

    break_deg, side_deg = _behind(spec, leaves, floor_z, line.slope, run)
    if nut.slot_back_angle is not None:
        back_deg = np.full(len(gauges), nut.slot_back_angle)
    else:
        back_deg = np.where(np.isnan(break_deg), DEFAULT_BACK_ANGLE_DEG, np.maximum(BACK_ANGLE_SHARE * break_deg, 0.0))
    aim = {"string": 0.0, "post": 1.0}[nut.slot_aim] if isinstance(nut.slot_aim, str) else nut.slot_aim
    direction_deg = string_deg + aim * np.nan_to_num(side_deg)
    drop = np.tan(np.radians(back_deg)) / np.cos(np.radians(direction_deg))  # per mm square to the front edge
    fall = float(drop.mean())

    want = np.maximum(per_string(nut.string_depth, spec) * gauges, nut.min_slot_depth)
    least = np.maximum(LEAST_SHARE * gauges, nut.min_slot_depth)
    most = np.maximum(MOST_SHARE * gauges, least)
    base = floor - forward * fall
    curvature = 0.0 if strung.board.law.flat else 1.0 / float(strung.board.radius(0.0))
    top = fit_top(along, base + want, base + least, base + most, 1 / gauges, curvature)
    depth = top.z(along) - base

    width = gauges + per_string(nut.slot_clearance, spec)
    forms = slot_forms(shop, nut.slot_form, width, depth + nut.top_allowance - nut.filing_allowance)
    made = Nut(
        board=strung.board,
        nut_x=plan.nut_x,
        turn_deg=plan.side * plan.nut_slant_deg,
        seat_depth=seat_depth,
        thickness=nut.thickness,
        seat_radius=_seat_radius(spec, strung),
        seat_angle_deg=nut.seat_angle,
        along=fixed(along),
        across=fixed(front[:, 1]),
        shift=fixed(shift),
        forward=fixed(forward),
        body_forward=body_forward,
        direction_deg=fixed(direction_deg),
        width=fixed(width),
        floor_z=fixed(floor_z),
        floor_above_board=fixed(floor_z - board_at_nut),
        floor_above_board_here=fixed(floor_z - strung.z(leaves[:, 0], leaves[:, 1])),
        floor=fixed(floor),
        top=top,
        depth=fixed(depth),
        want_depth=fixed(want),
        share=fixed(depth / gauges),
        back_angle_deg=fixed(back_deg),
        top_fall_deg=float(np.degrees(np.arctan(fall))),
        break_angle_deg=fixed(break_deg),
        side_angle_deg=fixed(side_deg),
        floor_at_back=fixed(floor - (nut.thickness + forward) * drop),
        front_ends=_ends(plan, origin, axis, origin),
        back_ends=_ends(plan, origin + nut.thickness * frame[:, 1], axis, origin),
        top_allowance=nut.top_allowance,
        filing_allowance=nut.filing_allowance,
        stock_sides=nut.stock.sides,
        stock_ends=nut.stock.ends,
        stock_form=nut.stock_form,
        rounding=nut.edge_rounding,
        full_width=forms.full_width,
        cutter=forms.cutter,
        pilots=forms.pilots,
        file=tuple(
            file_for(float(g), float(w), string.wound, shop.nut_file_widths)
            for g, w, string in zip(gauges, width, spec.strings.set, strict=True)
        ),
    )
    back, _ = made.stations[1]
    return replace(
        made,
        floor_at_back=fixed(made.floor_at_back - made.seat_height(back, nut.thickness)),
        rounding=max(min(nut.edge_rounding, nut.thickness / 2, _end_height(made) / 2), 0.0),
    )


def _lands(forward: Array) -> Array:
    """Neighbours whose front edges differ by less than a step share one, at their mean; (strings,)."""
    found, first = forward.copy(), 0
    for n in range(1, len(forward) + 1):
        if n == len(forward) or abs(forward[n] - forward[first]) >= LEAST_STEP:
            if n - first > 1:
                found[first:n] = forward[first:n].mean()
            first = n
    return found


def _on_front_edge(plan: Plan, origin: Array, axis: Array) -> Array:
    """Where the strings, prolonged if need be, cross the front edge: (strings, 2) in plan."""
    run = plan.string_saddle - plan.string_nut
    gap = origin - plan.string_nut
    share = (gap[:, 0] * axis[1] - gap[:, 1] * axis[0]) / (run[:, 0] * axis[1] - run[:, 1] * axis[0])
    return np.asarray(plan.string_nut + share[:, None] * run)


def _ends(plan: Plan, point: Array, axis: Array, origin: Array) -> Array:
    """Nut-frame x where a line along the nut meets the board's edges: (−x end, +x end)."""
    ends = [(plan.taper.meets(point, axis, side) - origin) @ axis for side in (-1.0, 1.0)]
    return fixed(ends)


def _behind(spec: Spec, leaves: Array, floor_z: Array, slope: Array, run: Array) -> tuple[Array, Array]:
    """Break and side angle of every string behind the nut, degrees, NaN where the spec does not tell.

    leaves: where each string leaves the nut, plan (strings, 2); slope: dz/dx of the open strings; run: their unit
    vectors toward the nut. From posts: the angle between the open string prolonged and the straight line to its post,
    split into its upright part (break, positive downward) and its part in plan (side, positive toward the nut's +x).
    """
    unknown = np.full(len(floor_z), np.nan)
    head = spec.headstock
    if head is None:
        return unknown, unknown
    if head.posts is None:
        assert head.break_angle is not None
        return np.full(len(floor_z), head.break_angle), unknown
    posts = np.array(head.posts)
    away = posts[:, :2] - leaves
    to_post = np.arctan2(floor_z - posts[:, 2], np.hypot(away[:, 0], away[:, 1]))
    prolonged = np.arctan(-slope * run[:, 0])
    turn = run[:, 0] * away[:, 1] - run[:, 1] * away[:, 0]  # counterclockwise in plan; the nut's +x is the plan's +y
    return np.degrees(to_post - prolonged), np.degrees(np.arctan2(-turn, (run * away).sum(-1)))


def _seat_radius(spec: Spec, strung: Strung) -> float:
    """Radius of a curved seat, infinite for a flat one."""
    radius = spec.nut.seat_radius
    if radius is None:
        return float("inf")
    return float(strung.board.radius(0.0)) if radius == "board" else radius


def nut_problems(nut: Nut) -> tuple[Problem, ...]:
    """What makes a nut impossible: no wood under slots or at the ends, slots too shallow to start."""
    found = []
    row, shallow = _least(nut.slotted_depth)
    if shallow < LEAST_SLOTTED:
        found.append(
            Problem(
                ("nut", "filing_allowance"),
                f"leaves the slotted nut's slot of string {row} only {shallow:.2f} mm deep; it needs "
                f"{LEAST_SLOTTED} mm to guide a saw or file\n"
                "less nut.filing_allowance or more nut.top_allowance",
            )
        )
    row, low = _least(nut.floor_at_back)
    if low <= 0:
        found.append(
            Problem(
                ("nut", "seat_depth"),
                f"leaves no wood under the slots: string {row} would leave the back of the nut {-low:.2f} mm below "
                "its seat\n"
                "make the seat deeper, the back angle smaller or the nut thinner",
            )
        )
    row, here = _least(nut.floor_above_board_here)
    if nut.stepped and here <= SHELF_LIFT:
        found.append(
            Problem(
                ("nut", "compensation"),
                f"needs slot floors above the board: that of string {row} stands {here:.2f} mm over it, and what the "
                f"nut has over the board starts {SHELF_LIFT} mm above it\n"
                "raise the strings at the nut, or leave nut.compensation out",
            )
        )
    row, wall = _least(nut.walls)
    if wall <= 0:
        found.append(
            Problem(
                ("nut", "slot_aim") if np.nan_to_num(nut.side_angle_deg).any() else ("nut", "spacing"),
                f"lets the slots of strings {row} and {row + 1} run into each other\n"
                'aim the slots along the strings, nut.slot_aim = "string", or leave more room between them',
            )
        )
    if nut.end_walls.min() <= 0:
        name = "treble" if nut.end_walls[0] <= 0 else "bass"
        message = f"lets the {name} outer slot run out through the end of the nut\nleave the outer strings more margin"
        found.append(Problem(("nut",), message))
    if _end_height(nut) <= 0:
        message = "leaves no nut at its ends: the top meets the seat before them\nmake the seat deeper"
        found.append(Problem(("nut", "seat_depth"), message))
    return tuple(found)


def _end_height(nut: Nut) -> float:
    """The finished nut's least height at its four corners."""
    ends, back = np.array([nut.front_ends, nut.back_ends]), np.array([[0.0], [nut.thickness]])
    fall = back * math.tan(math.radians(nut.top_fall_deg))
    return float((nut.top.z(ends) - fall - nut.seat_height(ends, back)).min())


def _least(values: Array) -> tuple[int, float]:
    """The number of the string with the least value, counted from 1, and the value."""
    row = int(values.argmin())
    return row + 1, float(values[row])

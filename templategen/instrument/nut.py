"""The nut's slots, top, seat and ends, and what each of its three stages leaves on.

Everything here is in the nut frame unless a name says plan. Floors are taken where the string leaves the slot: the
front edge, moved along the string by that string's compensation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board import Strung
from templategen.instrument.line import StringLine
from templategen.instrument.nuttop import TopArc, fit_top
from templategen.instrument.plan import Plan
from templategen.spec.models import PlainWound, PlainWoundShare, Shop, Spec

LEAST_SHARE, MOST_SHARE = 0.5, 1.1  # of the gauge that lies in a finished slot (design rule of this project)
DEFAULT_BACK_ANGLE_DEG = 8.0
BACK_ANGLE_SHARE = 0.6  # of the break angle, where that is known: common practice 0.5–0.9, no source
PILOT_ANGLE_DEG = 60.0  # of the vee that pilots are cut with where the shop names none
SHELF_LIFT = 0.05  # underside of a compensation shelf above the board


@dataclass(frozen=True)
class Pilot:
    """A vee groove that starts a saw or file on the slotted nut. angle_deg: its full angle."""

    width: float
    depth: float
    angle_deg: float


@dataclass(frozen=True)
class Nut:
    """The nut as numbers. Arrays have shape (strings,) unless said.

    along: slot centres along the front edge, nut-frame x; across: the same square to the centreline, plan y.
    shift: each string's compensation, front edge toward the bridge. direction_deg: the slot's own direction in plan
    against the nut's y axis, positive toward +x. floor_z: plan z of the floor where the string leaves it.
    floor: the same above the seat. top: the finished top at the front edge, above the seat. depth: top − floor there.
    share: depth over gauge. back_angle_deg: the floor's drop toward the tuners; top_fall_deg: the top's.
    break_angle_deg, side_angle_deg: of the strings behind the nut, NaN where unknown.
    floor_at_back: above the seat, where the slot leaves the back face.
    front_ends, back_ends: nut-frame x of the ends (−x end, +x end) on the front and back faces, (2,).
    full_width: True where the slotted nut's slot has its full width, False for a pilot. file: index of the shop's nut
    file per string, −1 for none that fits.
    """

    seat_depth: float
    thickness: float
    seat_radius: float
    seat_angle_deg: float
    along: Array
    across: Array
    shift: Array
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
    rounding: float
    full_width: tuple[bool, ...]
    pilots: tuple[Pilot, ...]
    file: tuple[float | None, ...]

    @property
    def slotted_depth(self) -> Array:
        """Depth of the slotted nut's full-width slots, from its own top."""
        return np.asarray(self.depth + self.top_allowance - self.filing_allowance)

    @property
    def overall(self) -> tuple[float, float]:
        """Longest extent along the front edge: least and greatest x of the ends."""
        return (
            float(min(self.front_ends[0], self.back_ends[0])),
            float(max(self.front_ends[1], self.back_ends[1])),
        )


def per_string(pair: PlainWound | PlainWoundShare, spec: Spec) -> Array:
    """The plain or the wound value of every string."""
    return np.array([pair.wound if s.wound else pair.plain for s in spec.strings.set])


def build_nut(spec: Spec, shop: Shop, plan: Plan, strung: Strung, line: StringLine, crowns: Array, shift: Array) -> Nut:
    """Everything about the nut from the string line.

    shift: compensation of each string, mm toward the bridge, (strings,). With a zero fret the nut stands
    ``behind_zero_fret`` behind it with its floors ``below_zero_crown`` under that fret's crown.
    """
    nut, gauges = spec.nut, plan.gauges
    along_axis = plan.nut_direction
    back_axis = np.array([-along_axis[1], along_axis[0]])
    origin = np.array([plan.nut_x, 0.0])
    front = _on_front_edge(plan, origin, along_axis)
    board_at_nut = float(strung.z(0.0, 0.0))
    if spec.scale.zero_fret:
        floor_z = crowns[plan.index(0)] - nut.below_zero_crown
        shift = np.zeros(len(gauges))
    else:
        floor_z = np.array(line.witness_z)
    seat_depth = nut.seat_depth if nut.seat_depth is not None else strung.board.thickness
    floor = floor_z - board_at_nut + seat_depth

    run = plan.string_nut - plan.string_saddle
    run = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    string_deg = np.degrees(np.arctan2(run @ along_axis, run @ back_axis))
    leaves = front + shift[:, None] * -run
    break_deg, side_deg = _behind(spec, plan, leaves, floor_z, line.slope, run)
    if nut.slot_back_angle is not None:
        back_deg = np.full(len(gauges), nut.slot_back_angle)
    else:
        back_deg = np.where(np.isnan(break_deg), DEFAULT_BACK_ANGLE_DEG, BACK_ANGLE_SHARE * break_deg)
    aim = {"string": 0.0, "post": 1.0}[nut.slot_aim] if isinstance(nut.slot_aim, str) else nut.slot_aim
    direction_deg = string_deg + aim * np.nan_to_num(side_deg)
    fall_deg = float(back_deg.mean())

    along = (front - origin) @ along_axis
    want = np.maximum(per_string(nut.string_depth, spec) * gauges, nut.min_slot_depth)
    least = np.maximum(LEAST_SHARE * gauges, nut.min_slot_depth)
    most = np.maximum(MOST_SHARE * gauges, least)
    base = floor - shift * np.tan(np.radians(fall_deg))
    curvature = 0.0 if strung.board.law.flat else 1.0 / float(strung.board.radius(0.0))
    top = fit_top(along, base + want, base + least, base + most, 1 / gauges, curvature)
    depth = top.z(along) - base

    run_length = (nut.thickness / np.cos(np.radians(direction_deg))) + shift
    width = gauges + per_string(nut.slot_clearance, spec)
    full, pilots = _slot_forms(spec, shop, width, depth)
    back = origin + nut.thickness * back_axis
    return Nut(
        seat_depth=seat_depth,
        thickness=nut.thickness,
        seat_radius=_seat_radius(spec, strung),
        seat_angle_deg=nut.seat_angle,
        along=fixed(along),
        across=fixed(front[:, 1]),
        shift=fixed(shift),
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
        top_fall_deg=fall_deg,
        break_angle_deg=fixed(break_deg),
        side_angle_deg=fixed(side_deg),
        floor_at_back=fixed(floor - run_length * np.tan(np.radians(back_deg))),
        front_ends=_ends(plan, origin, along_axis, origin),
        back_ends=_ends(plan, back, along_axis, origin),
        top_allowance=nut.top_allowance,
        filing_allowance=nut.filing_allowance,
        stock_sides=nut.stock.sides,
        stock_ends=nut.stock.ends,
        rounding=nut.edge_rounding,
        full_width=full,
        pilots=pilots,
        file=tuple(_file_for(g, w, shop.nut_file_widths) for g, w in zip(gauges, width, strict=True)),
    )


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


def _behind(spec: Spec, plan: Plan, leaves: Array, floor_z: Array, slope: Array, run: Array) -> tuple[Array, Array]:
    """Break and side angle of every string behind the nut, degrees, NaN where the spec does not tell.

    From posts: the angle between the open string prolonged and the straight line to its post, split into its vertical
    part (break) and its part in plan (side, positive toward the nut's +x).
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
    reach = np.hypot(away[:, 0], away[:, 1])
    drop = np.degrees(np.arctan2(floor_z - posts[:, 2], reach) - np.arctan(-slope * run[:, 0]))
    turn = run[:, 0] * away[:, 1] - run[:, 1] * away[:, 0]
    side = np.degrees(np.arctan2(-turn, (run * away).sum(-1)))
    return drop, side


def _seat_radius(spec: Spec, strung: Strung) -> float:
    """Radius of a curved seat, infinite for a flat one."""
    radius = spec.nut.seat_radius
    if radius is None:
        return float("inf")
    return float(strung.board.radius(0.0)) if radius == "board" else radius


def _slot_forms(spec: Spec, shop: Shop, width: Array, depth: Array) -> tuple[tuple[bool, ...], tuple[Pilot, ...]]:
    """Which slots of the slotted nut are cut to full width, and the pilot groove of each string.

    A slot is milled where a ball cutter of the shop is no wider than it. A pilot is a vee as wide as the slot,
    w/(2·tan(half angle)) deep, and never deeper than the slotted nut's own slot.
    """
    balls = [m.diameter for m in shop.end_mills if m.shape == "ball" and m.diameter is not None]
    vees = [m.angle for m in shop.end_mills if m.shape == "vee" and m.angle is not None]
    angle = vees[0] if vees else PILOT_ANGLE_DEG
    form = spec.nut.slot_form
    full = tuple(form == "full" or (form == "auto" and any(b <= w + 1e-9 for b in balls)) for w in width)
    slope = 2 * np.tan(np.radians(angle / 2))
    pilots = []
    for w, d in zip(width, depth + spec.nut.top_allowance - spec.nut.filing_allowance, strict=True):
        deep = min(float(w / slope), float(d))
        pilots.append(Pilot(deep * float(slope), deep, angle))
    return full, tuple(pilots)


def _file_for(gauge: float, width: float, files: tuple[float, ...]) -> float | None:
    """The widest file of the shop that the slot admits and that lets the string in; None where there is none."""
    fitting = [f for f in files if gauge - 1e-9 <= f <= width + 1e-9]
    return max(fitting) if fitting else None

"""A nut out of the string line: where its slots stand, how deep they are, and the top over them. Nut frame."""

from __future__ import annotations

import numpy as np

from templategen.geometry.camber import fit_camber
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.instrument.board.surfaces import Strung
from templategen.instrument.nut.frame import NutFrame
from templategen.instrument.nut.nut import LEAST_ROUNDING, LEAST_SHARE, LEAST_STEP, MOST_SHARE, Nut, end_height
from templategen.instrument.nut.slots import file_for, slot_forms
from templategen.instrument.setup.line import StringLine
from templategen.spec.models import PlainWound, PlainWoundShare, Shop, Spec

DEFAULT_BACK_ANGLE_DEG = 8.0
BACK_ANGLE_SHARE = 0.6  # of the break angle, where that is known: common practice 0.5–0.9, no source


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
    board_at_nut = float(strung.z(0.0, 0.0))
    axis, origin = plan.nut_direction, np.array([plan.nut_x, 0.0])
    turned = np.stack([axis, [-axis[1], axis[0]]], -1)  # plan vector @ turned = nut-frame vector
    frame = _frame(spec, plan, strung)
    if spec.scale.zero_fret:
        shift = np.zeros(len(gauges))
        floor_z = crowns[plan.index(0)] - nut.below_zero_crown
    else:
        floor_z = np.array(line.witness_z)
    floor = floor_z - board_at_nut + frame.seat_depth

    run = plan.string_nut - plan.string_saddle
    run = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    front = _on_front_edge(plan, origin, axis)
    leaves = front + run * (shift / run[:, 0])[:, None]
    along, before = ((leaves - origin) @ turned).T
    forward = _lands(0.0 - before)
    body_forward = max(float(forward.max()), 0.0) if nut.compensation_by == "board" else 0.0
    forward = np.where(np.abs(forward - body_forward) < LEAST_STEP, body_forward, forward)
    string_deg = np.degrees(np.arctan2(*(run @ turned).T))

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
    top = fit_camber(along, base + want, base + least, base + most, 1 / gauges, curvature)
    depth = top.z(along) - base

    width = gauges + per_string(nut.slot_clearance, spec)
    forms = slot_forms(shop, nut.slot_form, width, depth + nut.top_allowance - nut.filing_allowance)
    back = along + (nut.thickness + forward) * np.tan(np.radians(direction_deg))
    top_fall_deg = float(np.degrees(np.arctan(fall)))
    low_end = end_height(frame, top, top_fall_deg)
    return Nut(
        **vars(frame),
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
        top_fall_deg=top_fall_deg,
        break_angle_deg=fixed(break_deg),
        side_angle_deg=fixed(side_deg),
        floor_at_back=fixed(floor - (nut.thickness + forward) * drop - frame.seat_height(back, nut.thickness)),
        top_allowance=nut.top_allowance,
        filing_allowance=nut.filing_allowance,
        stock_sides=nut.stock.sides,
        stock_ends=nut.stock.ends,
        stock_form=nut.stock_form,
        rounding=_rounding(min(nut.edge_rounding, nut.thickness / 2, low_end / 2)),
        full_width=forms.full_width,
        cutter=forms.cutter,
        pilots=forms.pilots,
        file=tuple(
            file_for(float(g), float(w), string.wound, shop.nut_file_widths)
            for g, w, string in zip(gauges, width, spec.strings.set, strict=True)
        ),
    )


def _rounding(radius: float) -> float:
    """None is made that is less than what breaking an edge leaves."""
    return radius if radius >= LEAST_ROUNDING else 0.0


def _frame(spec: Spec, plan: Plan, strung: Strung) -> NutFrame:
    axis, origin = plan.nut_direction, np.array([plan.nut_x, 0.0])
    back = origin + spec.nut.thickness * np.array([-axis[1], axis[0]])
    depth = spec.nut.seat_depth
    return NutFrame(
        board=strung.board,
        nut_x=plan.nut_x,
        turn_deg=plan.side * plan.nut_slant_deg,
        seat_depth=strung.board.thickness if depth is None else depth,
        thickness=spec.nut.thickness,
        seat_radius=_seat_radius(spec, strung),
        seat_angle_deg=spec.nut.seat_angle,
        front_ends=_ends(plan, origin, axis, origin),
        back_ends=_ends(plan, back, axis, origin),
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

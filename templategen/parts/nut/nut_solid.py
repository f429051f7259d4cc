"""The nut as solids: blank, slotted, finished; nut frame, one valid solid each, true planes and cylinders."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from templategen.drawing.model import shape_bounds
from templategen.errors import OurBug
from templategen.geometry import arc_bulge
from templategen.geometry.camber import Camber
from templategen.instrument.model import Instrument
from templategen.instrument.nut.nut import Nut
from templategen.parts.common.named import product_name
from templategen.parts.nut import nut_shape as shape
from templategen.parts.nut import nut_volume as volume
from templategen.parts.nut.nut_eased import GIVES, Top, easing, taken
from templategen.solids import combine, make
from templategen.solids.exact import exact
from templategen.solids.shape import Contour, Frame, Solid

if TYPE_CHECKING:
    from templategen.parts.nut.nut_shape import Stage

_OVER = 2.0  # how far tools stand off the faces that they cross
_FARTHER = (2.0, 3.7, 2.9)  # the same where the kernel loses a shelf of some hundredths with one of them
LONGEST_ELLIPSE = 1e7  # mm, half of its longer axis
LAID_OVER = 0.01  # mm: ends are left to ±0.1
NUDGES = (0.0, 3e-4, -3e-4, 1e-3, -1e-3)  # radians: up to 0.005 mm at the end of a slot 10 mm long
CLOSE = 0.3  # of the smallest slot's volume
_EASED_WITHIN = 0.15  # of what the easing takes
_BODY_WITHIN = 3e-4  # relative


def build(instrument: Instrument, stage: Stage) -> Solid:
    """One stage of the nut. Raises OurBug where the kernel does not give one valid solid of the expected volume."""
    name = product_name(instrument.spec.title, "nut", stage)
    try:
        return exact(_build(instrument.nut, stage, name))
    except OurBug:
        along = _ends_along_top(instrument.nut)
        if along is None:
            raise
        return exact(_build(along, stage, name))


def _ends_along_top(nut: Nut) -> Nut | None:
    """The nut with ends that are all but parallel to its top's axis laid parallel to it, about their middles: they
    would meet the top and the ledge in ellipses too long for the kernel. None where that moves their corners farther
    than anybody measures, or where none is so.
    """
    turned = (nut.back_ends - nut.front_ends) / nut.thickness
    nearly = (turned != 0) & (np.abs(turned) * (nut.thickness + nut.reach) / 2 <= LAID_OVER)
    if not nearly.any():
        return None
    middle = (nut.thickness - nut.reach) / 2
    ends = [np.where(nearly, nut.front_ends + turned * middle, each) for each in (nut.front_ends, nut.back_ends)]
    return replace(nut, front_ends=ends[0], back_ends=ends[1])


def _build(nut: Nut, stage: Stage, name: str) -> Solid:
    stepped = nut.stepped and stage != "blank"
    plan = shape.body_outline(nut, nut.reach) if stage != "blank" else shape.plan_outline(nut, stage)
    box = shape_bounds(plan)
    low = nut.datum_z
    if stage == "finished" and not _flat_seat(nut):
        low -= _OVER / 2  # the seat's lowest corner would else lie in a face of its own
    reach, top = np.linspace(box.x0, box.x1, 9), shape.top_of(nut, stage)
    forward = max(-box.y0, 0.0) * math.tan(math.radians(shape.fall_deg(nut, stage)))
    high = float(top.z(reach).max()) + forward + 1.0
    whole = make.prism(plan, (0.0, 0.0, high - low), Frame.xy(low), name)
    for off in _FARTHER if stepped else _FARTHER[:1]:
        around = _Around(box.x0 - off, box.y0 - off, low - off, box.x1 + off, box.y1 + off, high)
        try:
            body = _unslotted(nut, stage, whole, around)
            break
        except OurBug:
            if not stepped or off == _FARTHER[-1]:
                raise
    if stage == "finished" and nut.rounding > 0:
        body = _eased(body, nut, _top(nut, stage, around))
    slots = shape.slots_of(nut, stage)
    if not slots:
        return body
    slots = tuple(_along_top(slot, top) for slot in slots)
    if volume.meet(nut, slots, stage):
        together, least = volume.slots(nut, slots, stage)
        left = body.volume - together
        return combine.cut(body, [_slot_tool(slot, high) for slot in slots], left, CLOSE * least / left)
    return _slotted(body, slots, [volume.slot(nut, slot, stage) for slot in slots], high)


def _unslotted(nut: Nut, stage: Stage, whole: Solid, around: _Around) -> Solid:
    """Front, top and seat, cut out of the upright prism over the plan."""
    body = _over_board(nut, whole, around) if nut.stepped and stage != "blank" else whole
    tools = [_above(nut, stage, around)]
    if stage == "finished":
        tools += _seat_tools(nut, around)
    return combine.cut(body, tools, volume.body(nut, stage), _BODY_WITHIN)


def _eased(body: Solid, nut: Nut, top: Top) -> Solid:
    """Back edge and ends rounded, all at once; a kernel that fails on one give may do with the next."""
    for give in GIVES:
        left = body.volume - taken(nut, top, give)
        with suppress(OurBug):
            return combine.cut(body, easing(nut, top, give, _OVER), left, _EASED_WITHIN * (1 - left / body.volume))
    raise OurBug(f"the CAD kernel could not ease the edges of {body.name}")


def _slotted(body: Solid, slots: Sequence[shape.Slot], taken: Sequence[float], high: float) -> Solid:
    """All slots cut at once, so closely checked that none can be missing; or one by one where the kernel fails.

    It fails now and then on walls that graze other faces; turned by what nobody could measure, they no longer do.
    """
    left = body.volume - sum(taken)
    try:
        return combine.cut(body, [_slot_tool(slot, high) for slot in slots], left, CLOSE * min(taken) / left)
    except OurBug:
        for slot, volume_taken in zip(slots, taken, strict=True):
            body = _slot_cut(body, slot, volume_taken, high)
        return body


def _slot_cut(body: Solid, slot: shape.Slot, taken: float, high: float) -> Solid:
    left = body.volume - taken
    for turn in NUDGES:
        tool = _slot_tool(_turned(slot, turn), high)
        with suppress(OurBug):
            return combine.cut(body, [tool], left, CLOSE * taken / left)
    raise OurBug(f"the CAD kernel could not cut the slot at x = {slot.start[0]:.3f} mm of {body.name}")


def _turned(slot: shape.Slot, turn: float) -> shape.Slot:
    """A slot turned in plan about its middle by a very small angle, radians."""
    (x, y, z), (across, back, down) = slot.start, slot.direction
    return replace(slot, start=(x - turn * slot.length / 2, y, z), direction=(across + turn, back, down))


@dataclass(frozen=True)
class _Around:
    """A box that stands off the body on all sides."""

    x0: float
    y0: float
    z0: float
    x1: float
    y1: float
    z1: float


def _over_board(nut: Nut, body: Solid, around: _Around) -> Solid:
    """The stepped front as it is: what reaches over the board starts at the ledge; below it the front is straight."""
    ledge, front = _below_ledge(nut, around), -nut.body_forward
    if nut.reach > nut.body_forward:
        before = make.box((around.x0, around.y0, around.z0), (around.x1, front, around.z1))
        body = combine.cut(body, [combine.intersect(before, ledge)])
        ledge = combine.intersect(make.box((around.x0, front, around.z0), (around.x1, around.y1, around.z1)), ledge)
    height = around.z1 + _OVER - around.z0
    tools = []
    for outline in shape.set_back(nut, _OVER / 2):
        tool = make.prism(outline, (0.0, 0.0, height), Frame.xy(around.z0 + _OVER / 2))
        tools.append(combine.cut(tool, [ledge]) if shape_bounds(outline).y1 > front else tool)
    return combine.cut(body, tools)


def _below_ledge(nut: Nut, around: _Around) -> Solid:
    """Everything below the ledge: a true cylinder along the neck, or a slab under a flat board's."""
    turn = math.radians(nut.turn_deg)
    half = max(abs(around.x0), abs(around.x1)) + abs(math.tan(turn)) * (around.y1 - around.y0)
    radius, crown = shape.ledge_radius(nut), shape.ledge_z(nut)
    drop = 0.0 if math.isinf(radius) else radius - math.sqrt(radius * radius - half * half)
    ends = (half, crown - drop), (-half, crown - drop)
    over = arc_bulge(*ends, radius)
    profile = Contour(((-half, around.z0 - _OVER), (half, around.z0 - _OVER), *ends), (0.0, 0.0, over, 0.0))
    along_neck = (math.sin(turn), -math.cos(turn), 0.0)
    length = 2 * (half + around.y1 - around.y0)
    start = tuple(-length / 2 * c for c in along_neck)
    frame = Frame((start[0], start[1], 0.0), (math.cos(turn), math.sin(turn), 0.0), (0.0, 0.0, 1.0))
    return make.prism(profile, (along_neck[0] * length, along_neck[1] * length, 0.0), frame)


def _top(nut: Nut, stage: Stage, around: _Around) -> Top:
    """The top's section square to its fall, where heights shrink by its cosine; the circle there through both ends and
    the middle, instead of the ellipse that a slanted cut makes, moves the top by less than 0.001 mm.
    """
    top, fall = shape.top_of(nut, stage), math.radians(shape.fall_deg(nut, stage))
    left, centre, right = (
        (x, float(top.z(x)) * math.cos(fall)) for x in (around.x0, (around.x0 + around.x1) / 2, around.x1)
    )
    return Top(left, right, 0.0 if top.straight else -_bulge_over(right, centre, left), fall)


def _above(nut: Nut, stage: Stage, around: _Around) -> Solid:
    """Everything above the top: its section moved along its fall, so that the top is a true cylinder."""
    top = _top(nut, stage, around)
    ceiling = around.z1 / math.cos(top.fall) + (around.y1 - around.y0) * math.tan(top.fall) + 5.0
    profile = Contour((top.left, top.right, (around.x1, ceiling), (around.x0, ceiling)), (top.bulge, 0.0, 0.0, 0.0))
    return _falling_prism(profile, top.fall, around)


def _flat_seat(nut: Nut) -> bool:
    return math.isinf(nut.seat_radius) and nut.seat_angle_deg == 0


def _seat_tools(nut: Nut, around: _Around) -> list[Solid]:
    """What the finished seat takes off the flat datum: a curve along the neck, a slant toward the tuners, or both."""
    if _flat_seat(nut):
        return []
    slant, turn = math.radians(nut.seat_angle_deg), math.radians(nut.turn_deg)
    if math.isinf(nut.seat_radius):
        floor = around.z0 - 10.0
        level = Contour(((around.x0, floor), (around.x1, floor), (around.x1, 0.0), (around.x0, 0.0)), (0.0,) * 4)
        return [_falling_prism(level, slant, around)]
    # the curve runs along the neck: drawn square to it, and moved along it falling by the seat's slant
    half = max(abs(around.x0), abs(around.x1)) + abs(math.tan(turn)) * (around.y1 - around.y0)
    across, neck = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    fall = math.atan(math.tan(slant) * neck[1])
    points = []
    for v in (half, 0.0, -half):
        z = float(nut.seat_height(v * across[0], v * across[1]))
        points.append((v, z * math.cos(fall)))
    floor = around.z0 - 10.0 - abs(points[0][1])
    profile = Contour(((-half, floor), (half, floor), points[0], points[2]), (0.0, 0.0, _bulge_over(*points), 0.0))
    length = 2 * (half + around.y1 - around.y0)
    run = (neck[0] * math.cos(fall), neck[1] * math.cos(fall), -math.sin(fall))
    rise = (neck[0] * math.sin(fall), neck[1] * math.sin(fall), math.cos(fall))
    start = tuple(-length / 2 * c for c in run)
    frame = Frame((start[0], start[1], start[2]), (across[0], across[1], 0.0), rise)
    return [make.prism(profile, (run[0] * length, run[1] * length, run[2] * length), frame)]


def _falling_prism(profile: Contour, fall: float, around: _Around) -> Solid:
    """A profile of x and height·cos(fall), moved along y falling toward the tuners from before to behind the body."""
    run, rise = (0.0, math.cos(fall), -math.sin(fall)), (0.0, math.sin(fall), math.cos(fall))
    room = abs(math.tan(fall)) * (around.z1 - around.z0 + 20.0)  # the profile leans by its height
    start, end = (around.y0 - room) / math.cos(fall), (around.y1 + room) / math.cos(fall)
    frame = Frame((0.0, run[1] * start, run[2] * start), (1.0, 0.0, 0.0), rise)
    length = end - start
    return make.prism(profile, (0.0, run[1] * length, run[2] * length), frame)


def _bulge_over(right: tuple[float, float], middle: tuple[float, float], left: tuple[float, float]) -> float:
    """Bulge of the arc from right to left by way of a middle point that stands over the chord's middle.

    On a chord that tilts, the height over it at mid-chord is the upright distance by the tilt's cosine.
    """
    chord = math.dist(left, right)
    rise = (middle[1] - (left[1] + right[1]) / 2) * (right[0] - left[0]) / chord
    return 2 * rise / chord


def _along_top(slot: shape.Slot, top: Camber) -> shape.Slot:
    """A slot that is all but parallel to the top's axis laid parallel to it about its middle, 0.01 mm off at its ends.

    Otherwise its walls would meet the top in ellipses too long for the kernel, which then cuts nothing.
    """
    (x, y, z), (turned, back, down) = slot.start, slot.direction
    if top.straight or abs(turned) * LONGEST_ELLIPSE > top.radius:
        return slot
    return replace(slot, start=(x + turned * slot.length / 2, y, z), direction=(0.0, math.hypot(turned, back), down))


def _slot_tool(slot: shape.Slot, high: float) -> Solid:
    length = slot.length + _OVER
    if slot.vee_deg is not None:
        return make.vee_groove(slot.start, slot.direction, slot.vee_deg, length, high + 1.0)
    return make.ball_slot(slot.start, slot.direction, slot.width, length, high + 1.0)

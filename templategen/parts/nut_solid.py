"""The nut as solids: blank, slotted, finished; nut frame, one valid solid each, true planes and cylinders."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from templategen.drawing.model import shape_bounds
from templategen.instrument.model import Instrument
from templategen.instrument.nut import Nut
from templategen.parts import nut_shape as shape
from templategen.solids import combine, make
from templategen.solids.shape import Contour, Frame, Solid, Vector

if TYPE_CHECKING:
    from templategen.parts.nut_shape import Stage

_OVER = 2.0  # how far tools stand off the faces that they cross


def build(instrument: Instrument, stage: Stage) -> Solid:
    """One stage of the nut. Raises OurBug where the kernel does not give one valid solid."""
    nut = instrument.nut
    name = f"{instrument.spec.title} | nut | {stage} | mm"
    outline = shape.plan_outline(nut, stage)
    box = shape_bounds(outline)
    top = shape.top_of(nut, stage)
    reach = np.linspace(box.x0, box.x1, 9)
    low = shape.datum_z(nut)
    forward = max(-box.y0, 0.0) * math.tan(math.radians(shape.fall_deg(nut, stage)))
    high = float(top.z(reach).max()) + forward + 1.0
    body = make.prism(outline, (0.0, 0.0, high - low), Frame.xy(low), name)
    tools = [_above(nut, stage, box.x0 - _OVER, box.x1 + _OVER, high, box.y0 - _OVER, box.y1 + _OVER)]
    if nut.shift.any() and instrument.spec.nut.compensation_by == "shelf" and stage != "blank":
        under = shape.shelf_underside(nut)
        tools.append(make.box((box.x0 - _OVER, box.y0 - _OVER, low - _OVER), (box.x1 + _OVER, 0.0, under)))
    if stage == "finished":
        tools += _seat_tools(nut, box.x0 - _OVER, box.x1 + _OVER, low - _OVER, box.y0 - _OVER, box.y1 + _OVER)
    body = combine.cut(body, tools)
    if stage == "finished" and nut.rounding > 0:
        body = _eased(body, nut)
    slots = shape.slots_of(nut, stage)
    if slots:
        body = combine.cut(body, [_slot_tool(slot, high) for slot in slots])
    return body


def _above(nut: Nut, stage: Stage, x0: float, x1: float, high: float, y0: float, y1: float) -> Solid:
    """Everything above the top: its arc moved along the top's fall, so that the top is a true cylinder.

    The arc is drawn square to the fall, where heights shrink by its cosine; taking it as a circle there instead of the
    ellipse that a slanted cut makes of it moves the front edge by less than 1e-4 mm on any nut.
    """
    top, fall = shape.top_of(nut, stage), math.radians(shape.fall_deg(nut, stage))
    run, rise = (0.0, math.cos(fall), -math.sin(fall)), (0.0, math.sin(fall), math.cos(fall))
    (left, right) = ((x, float(top.z(x)) * math.cos(fall)) for x in (x0, x1))
    over = 0.0
    if not top.straight:
        middle = (x0 + x1) / 2
        rise_at_middle = float(top.z(middle)) * math.cos(fall) - (left[1] + right[1]) / 2
        chord = math.hypot(right[0] - left[0], right[1] - left[1])
        tilt = (right[0] - left[0]) / chord
        over = -2 * rise_at_middle * tilt / chord
    ceiling = high / math.cos(fall) + abs(y1 - y0) * math.tan(fall) + 5.0
    profile = Contour((left, right, (x1, ceiling), (x0, ceiling)), (over, 0.0, 0.0, 0.0))
    length = (y1 - y0) / math.cos(fall)
    start = (0.0, y0, -y0 * math.tan(fall))
    origin = tuple(s - r * _dot(start, rise) for s, r in zip(start, rise, strict=True))
    frame = Frame((origin[0], origin[1], origin[2]), (1.0, 0.0, 0.0), rise)
    return make.prism(profile, (0.0, run[1] * length, run[2] * length), frame)


def _dot(a: tuple[float, ...], b: tuple[float, ...]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))


def _seat_tools(nut: Nut, x0: float, x1: float, low: float, y0: float, y1: float) -> list[Solid]:
    """What the finished seat takes off the flat datum: a curve, a slant, or both."""
    if math.isinf(nut.seat_radius) and nut.seat_angle_deg == 0:
        return []
    slant = math.radians(nut.seat_angle_deg)
    run = (0.0, math.cos(slant), -math.sin(slant))
    rise = (0.0, math.sin(slant), math.cos(slant))
    ends = tuple((x, shape.seat_z(nut, x) * math.cos(slant)) for x in (x0, x1))
    over = shape.arc_bulge(ends[1], ends[0], nut.seat_radius)
    floor = min(low, ends[0][1]) - 10.0
    profile = Contour(((x0, floor), (x1, floor), ends[1], ends[0]), (0.0, 0.0, over, 0.0))
    length = (y1 - y0) / math.cos(slant)
    frame = Frame((0.0, y0 * math.cos(slant) ** 2, -y0 * math.sin(slant) * math.cos(slant)), (1.0, 0.0, 0.0), rise)
    return [make.prism(profile, (0.0, run[1] * length, run[2] * length), frame)]


def _eased(body: Solid, nut: Nut) -> Solid:
    """Back edge and ends of the finished top rounded."""
    thick = nut.thickness

    fall = math.tan(math.radians(nut.top_fall_deg))

    def on_top(point: Vector) -> bool:
        x, y, z = point
        return abs(z - (float(nut.top.z(x)) - y * fall)) < 1e-3

    def wanted(edge: combine.Edge) -> bool:
        (x0, y0, _), (x1, y1, _) = edge.start, edge.end
        at_back = y0 > thick - 1e-6 and y1 > thick - 1e-6 and abs(x1 - x0) > thick
        at_end = abs(y1 - y0) > thick / 2
        return on_top(edge.start) and on_top(edge.end) and (at_back or at_end)

    return combine.fillet(body, nut.rounding, wanted)


def _slot_tool(slot: shape.Slot, high: float) -> Solid:
    length = slot.length + _OVER
    if slot.vee_deg is not None:
        return make.vee_groove(slot.start, slot.direction, slot.vee_deg, length, high + 1.0)
    return make.ball_slot(slot.start, slot.direction, slot.width, length, high + 1.0)

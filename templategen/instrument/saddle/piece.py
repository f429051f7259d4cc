"""A saddle of one piece in a slot of the bridge: where it stands and where it holds each string.

Saddle frame: x along the saddle, positive to the treble side of a right-handed instrument, y through it, 0 on its back
face and positive toward the nut, z up along its faces, 0 on the slot's floor: the nut's axes, turned by the slot's
slant and leant by its lean. x = 0 where the board's centreline meets the slot's front wall in the bridge's top. The
bridge's top is taken as parallel to the line of the fingerboard's surface.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from templategen.errors import Problem
from templategen.geometry import arc_drop
from templategen.geometry.camber import Camber, fit_camber
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.instrument.saddle.force import Force, force_on
from templategen.instrument.saddle.witness import between, held, lands, straightest
from templategen.instrument.setup.line import StringLine
from templategen.instrument.strings.loads import StringLoad
from templategen.instrument.strings.offsets import Fit, best_offsets
from templategen.instrument.strings.sounding import Intonation
from templategen.spec.models import Spec
from templategen.units import both_units

SAME = 1e-6  # mm: offsets nearer to each other than this are the same


@dataclass(frozen=True)
class SaddlePiece:
    """Lengths in the saddle frame; arrays (strings,) unless said.

    origin, axes: its frame in plan, (3,) and (3, 3), a row an axis. low, high: x of its ends. along, across, height:
    where each string is held, its underside; wanted: across, where its offset would have it. offset: along the
    centreline, as it is held; needs: the thickness that all offsets would take. steep: ramps at their limit,
    (strings − 1,). ways: of the open strings toward the nut, unit vectors (strings, 3); tilt_deg: how far they fall
    that way against square to the faces. top: the one arc nearest to the heights over x. over_bridge: the string's
    underside over the bridge's top, upright. radius: of the round across the top. fits: every string's tuning as it is
    held. forces: None where the spec does not tell how the strings fall behind.
    """

    thickness: float
    low: float
    high: float
    seat_depth: float
    seat_radius: float
    slant_deg: float
    lean_deg: float
    from_nut: float
    origin: Array
    axes: Array
    along: Array
    across: Array
    wanted: Array
    height: Array
    offset: Array
    needs: float
    steep: Array
    ways: Array
    tilt_deg: Array
    top: Camber
    radius: float
    over_bridge: Array
    fits: tuple[Fit, ...]
    forces: tuple[Force, ...] | None
    top_allowance: float
    stock_sides: float
    stock_ends: float
    round_ends: bool

    @property
    def length(self) -> float:
        return self.high - self.low

    @property
    def off(self) -> Array:
        """How far each string is held from where its offset would have it, + nearer the nut."""
        return np.asarray(self.across - self.wanted)

    @property
    def lands(self) -> Array:
        """The width of each string's own stretch of the top."""
        return lands(self.along)

    def seat_z(self, x: ArrayLike) -> Array:
        """The underside."""
        return np.asarray(-arc_drop(self.seat_radius, x))

    @cached_property
    def crest(self) -> tuple[tuple[float, float], ...]:
        """x and height of where its lands begin and end, from −x to +x: each runs as the top's arc does at its string,
        the outer ones to the saddle's ends. Where strings fall toward the nut the round behind them stands higher."""
        order = np.argsort(self.along).tolist()
        found = []
        for n in order:
            x, half = float(self.along[n]), float(self.lands[n]) / 2
            z = float(self.height[n]) + self.radius * (1 - math.cos(math.radians(float(self.tilt_deg[n]))))
            left = self.low - x if n == order[0] else -half
            right = self.high - x if n == order[-1] else half
            found += [(x + way, z + way * self.top.slope_at(x)) for way in (left, right)]
        return tuple(found)

    @cached_property
    def blank(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Corners of the bar that it is made from, allowances included."""
        low = min(0.0, *(float(self.seat_z(x)) for x in (self.low, self.high)))
        high = round(max(z for _, z in self.crest) + self.top_allowance, 6)
        x0, x1 = self.low - self.stock_ends, self.high + self.stock_ends
        return (x0, -self.stock_sides, low), (x1, self.thickness + self.stock_sides, high)


def build_piece(
    spec: Spec, plan: Plan, line: StringLine, tuning: Intonation, loads: tuple[StringLoad, ...]
) -> SaddlePiece | None:
    """The saddle piece that the spec asks for, None where it asks for none."""
    asked, top_z = spec.saddle, spec.bridge.top_height
    if asked is None or top_z is None:
        return None
    offset = tuning.saddle_offset
    x = plan.string_saddle[:, 0] + offset
    points = np.stack([x, plan.string_at(x), line.z(x)], -1)
    run = plan.string_saddle - plan.string_nut
    ways = np.column_stack([run / run[:, :1], line.slope])  # along each string, per mm along the centreline
    lean = math.radians(asked.lean)
    if isinstance(asked.slant, str):
        turn = math.atan(straightest(points[:, 1], points[:, 0] - math.tan(lean) * points[:, 2]))
    else:
        turn = -plan.side * math.radians(asked.slant)
    axes = _axes(turn, lean)
    front = np.array([plan.nut_x + (asked.from_nut or 0.0), 0.0, top_z])
    origin = front - asked.thickness * axes[1] - asked.seat_depth * axes[2]
    wanted = (points - origin) @ axes[1]
    needs = float(np.ptp(wanted))
    if asked.from_nut is None:  # as far along the centreline as brings the strings' middle into the saddle's
        way = (between(wanted.tolist()) - asked.thickness / 2) / float(axes[1][0])
        origin = origin + np.array([way, 0.0, 0.0])
        wanted = (points - origin) @ axes[1]
    along = (points - origin) @ axes[0]
    held_at = held(along, wanted, asked.thickness)
    share = (held_at.across - wanted) / (ways @ axes[1])
    places = (points + share[:, None] * ways - origin) @ axes.T
    made = fixed(offset + share)
    unit = (ways / np.linalg.norm(ways, axis=1)[:, None]) @ axes.T
    tilt = np.arctan2(unit[:, 2], -unit[:, 1])
    height, ends = places[:, 2], _ends(spec, plan, places[:, 0])
    free = np.full(len(height), 50.0)
    return SaddlePiece(
        thickness=asked.thickness,
        low=ends[0],
        high=ends[1],
        seat_depth=asked.seat_depth,
        seat_radius=asked.seat_radius or math.inf,
        slant_deg=-plan.side * math.degrees(turn),
        lean_deg=asked.lean,
        from_nut=float((origin + asked.thickness * axes[1] + asked.seat_depth * axes[2])[0]) - plan.nut_x,
        origin=fixed(origin),
        axes=fixed(axes),
        along=fixed(places[:, 0]),
        across=fixed(held_at.across),
        wanted=fixed(wanted),
        height=fixed(height),
        offset=made,
        needs=needs,
        steep=held_at.steep,
        ways=fixed(-unit),
        tilt_deg=fixed(np.degrees(tilt)),
        top=fit_camber(places[:, 0], height, height - free, height + free, np.ones(len(height)), 0.002),
        radius=asked.top_radius or math.ceil(10 * _least_radius(asked.thickness, tilt)) / 10,
        over_bridge=fixed((points + share[:, None] * ways)[:, 2] - top_z),
        fits=_fits(tuning, made),
        forces=_forces(spec, plan, line, loads),
        top_allowance=asked.top_allowance,
        stock_sides=asked.stock.sides,
        stock_ends=asked.stock.ends,
        round_ends=asked.ends == "round",
    )


def _axes(turn: float, lean: float) -> Array:
    """x, y and z of the frame in plan, (3, 3): the nut's, turned about the upright and leant about x."""
    along = np.array([math.sin(turn), math.cos(turn), 0.0])
    toward_nut, up = np.array([-math.cos(turn), math.sin(turn), 0.0]), np.array([0.0, 0.0, 1.0])
    cos, sin = math.cos(lean), math.sin(lean)
    return np.stack([along, cos * toward_nut + sin * up, cos * up - sin * toward_nut])


def _least_radius(thickness: float, tilt: Array) -> float:
    """Of the round across the top, for it to reach both faces from wherever a string touches it: its middle lies
    r·sin(tilt) off the witness."""
    return thickness / (1 - math.sin(float(np.abs(tilt).max())))


def _ends(spec: Spec, plan: Plan, along: Array) -> tuple[float, float]:
    asked = spec.saddle
    assert asked is not None
    first, last = (0, -1) if along[0] < along[-1] else (-1, 0)
    outside = float(along[first] - plan.gauges[first] / 2), float(along[last] + plan.gauges[last] / 2)
    if asked.edge_margin is not None:
        return outside[0] - asked.edge_margin, outside[1] + asked.edge_margin
    assert asked.length is not None
    middle = between([float(along[first]), float(along[last])])
    return middle - asked.length / 2, middle + asked.length / 2


def _fits(tuning: Intonation, made: Array) -> tuple[Fit, ...]:
    """The tuning with the saddle as it is held, the nut as it is in use."""
    return tuple(
        fit if abs(at - fit.saddle_offset) < SAME else best_offsets(string, tuning.fit_to_fret, at, fit.nut_offset)
        for string, fit, at in zip(tuning.strings, tuning.fits, made.tolist(), strict=True)
    )


def _forces(spec: Spec, plan: Plan, line: StringLine, loads: tuple[StringLoad, ...]) -> tuple[Force, ...] | None:
    assert spec.saddle is not None
    if spec.saddle.break_angle is None:
        return None
    behind = spec.saddle.break_angle.spread(plan.toward_bass)
    run = plan.string_saddle - plan.string_nut
    front = np.degrees(np.arctan(line.slope * run[:, 0] / np.hypot(run[:, 0], run[:, 1])))
    return tuple(
        force_on(load.tension_n, float(before), float(after))
        for load, before, after in zip(loads, front, behind, strict=True)
    )


def piece_problems(piece: SaddlePiece | None, plan: Plan) -> tuple[Problem, ...]:
    """What makes a saddle impossible: too short for the strings, or no wood of it over its seat."""
    if piece is None:
        return ()
    found, half = [], plan.gauges / 2
    right, left = float((piece.along + half).max()), float((piece.along - half).min())
    if right > piece.high - SAME or left < piece.low + SAME:
        message = f"is no more than what the strings take, {both_units(right - left)}"
        found.append(Problem(("saddle", "length"), f"{message}\nmake the saddle longer"))
    least = _least_radius(piece.thickness, np.radians(piece.tilt_deg))
    if piece.radius < least - SAME:
        message = f"does not reach from face to face; it must be at least {both_units(least)}"
        found.append(Problem(("saddle", "top_radius"), f"{message}\nor leave it out"))
    ends = np.array([piece.low, piece.high])
    over = float(np.min(piece.top.z(ends) - piece.seat_z(ends)))
    if over <= piece.seat_depth or float(piece.over_bridge.min()) <= 0:
        found.append(
            Problem(
                ("bridge", "top_height"),
                "leaves no saddle over the bridge: the strings would pass "
                f"{both_units(float(piece.over_bridge.min()))} over its top, and the saddle's ends would stand "
                f"{both_units(over - piece.seat_depth)} over it\n"
                "measure the bridge's top again, or lower it, or raise the action",
            )
        )
    return tuple(found)

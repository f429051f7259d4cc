"""The radius block's numbers, in the block frame, and what a cylinder leaves on a cone.

Terms
-----
work      the surface that is sanded: the board, or the crowns standing on it; for a convex block a hollow made to the
          board's radius, such as a caul
station   where on the neck a block is for: the nut, the last fret or a fret between; only a cone cares
rib       one of the sheet slices that a block can be laminated from, on two dowels
facet     one flat strip along a string line; together they make a cone by hand, with a straight beam
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templategen.geometry import arc_drop, sagitta
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.instrument.board.surfaces import Board
from templategen.spec.checks.board import LEAST_BLOCK_BACK, WIDEST_CONVEX
from templategen.spec.models import RadiusBlock, Spec

OVER_BOARD = 2.0  # mm that a block is wider than the board where nobody says how wide
DOWEL = 6.0  # diameter, mm
DOWEL_WALL = 3.0  # least wood round a dowel hole


@dataclass(frozen=True)
class Ribs:
    """The slices of a laminated block. stack_length: of all of them; at least the block's length.

    holes: dowel centres (x, z) in the block frame, (0 or 2, 2); none where the block is too thin for a dowel.
    """

    thickness: float
    count: int
    stack_length: float
    dowel: float
    holes: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Block:
    """A block whose face is a cylinder, hollow or ``convex``. radius is infinite for a flat board.

    at: the station it is made for ("nut", "last" or a fret), station_x its place; board_radius there; work_radius: of
    the surface it rides on (board, crowns or a hollow); profile_depth: height of its arc over its width.
    ends_x: where its two ends lie with the station at its middle, or as near to it as the board lets them.
    mismatch: at those ends, over the board's width there, how far the work's edges lie off the block when the two
    touch at the centreline; positive where the gap is at the edges, negative where the block rides on the edges and
    the gap is at the centre. Zero on a cylinder. For a convex block, of a hollow made to the cone.
    board_width: of the board at its widest, where the block is used: on a cone between its two ends.
    """

    at: str | int
    station_x: float
    board_radius: float
    work_radius: float
    radius: float
    profile_depth: float
    length: float
    width: float
    board_width: float
    height: float
    abrasive_thickness: float
    rides_on: str
    convex: bool
    ends_x: tuple[float, float]
    mismatch: tuple[float, float]
    ribs: Ribs | None

    @property
    def flat(self) -> bool:
        return math.isinf(self.radius)

    @property
    def fits_everywhere(self) -> bool:
        """False on a cone, which a cylinder fits at its station only."""
        return self.mismatch == (0.0, 0.0)

    @property
    def least_back(self) -> float:
        """What is left between the flat back and the arc's lowest point: the middle of a hollow face, the edges of a
        convex one."""
        return self.height - self.profile_depth

    @property
    def side_height(self) -> float:
        """Of the block at its long edges; ``height`` is over all."""
        return self.least_back if self.convex else self.height


def station_x(plan: Plan, at: str | int) -> float:
    """Where a station lies on the centreline: "nut", "last" or a fret number."""
    if at == "nut":
        return 0.0
    return float(plan.centre_x[-1 if at == "last" else plan.index(int(at))])


def build_block(spec: Spec, plan: Plan, board: Board) -> Block | None:
    """Block radius = radius of the work + abrasive: the block lies outside the work by the paper between them. A convex
    block lies inside a hollow: radius − abrasive.

    None for a cone whose spec has no [radius_block]: one cylinder cannot serve it without a station.
    """
    asked = spec.radius_block
    if asked is None:
        if board.law.conical:
            return None
        asked = RadiusBlock()
    at = asked.at if asked.at is not None else "nut"
    x = station_x(plan, at)
    on_board = float(board.radius(x))
    crown = spec.fret_wire.crown_height if asked.rides_on == "crowns" else 0.0
    work = on_board + crown
    convex = asked.face == "convex" and not board.law.flat
    radius = convex_radius(work, asked.abrasive_thickness) if convex else work + asked.abrasive_thickness
    width = usual_width(asked, plan.widest, radius, convex) if asked.width is None else asked.width
    depth = sagitta(radius, width)
    start = min(max(x - asked.length / 2, 0.0), max(plan.end_x - asked.length, 0.0))
    ends = (start, min(start + asked.length, max(plan.end_x, start)))
    sign = -1.0 if convex else 1.0
    misfit = [sign * _misfit(plan, board, work, crown, width, to) for to in ends]
    return Block(
        at=at,
        station_x=x,
        board_radius=on_board,
        work_radius=work,
        radius=radius,
        profile_depth=depth,
        length=asked.length,
        width=width,
        board_width=float(plan.taper.width(np.array(ends)).max()) if board.law.conical else plan.widest,
        height=asked.height,
        abrasive_thickness=asked.abrasive_thickness,
        rides_on=asked.rides_on,
        convex=convex,
        ends_x=ends,
        mismatch=(misfit[0], misfit[1]),
        ribs=_ribs(asked, width, depth),
    )


def usual_width(asked: RadiusBlock, widest: float, radius: float, convex: bool) -> float:
    """OVER_BOARD over the board's widest, or less where the block's height or its radius has no room for such an arc.

    An arc of height s has the chord c = 2·√(2·r·s − s²) (any handbook of formulas).
    """
    if math.isinf(radius):
        return widest + OVER_BOARD
    high = min(asked.height - LEAST_BLOCK_BACK, radius * (1 - math.sqrt(1 - WIDEST_CONVEX**2 / 4)))
    room = 2 * math.sqrt(2 * radius * high - high**2)
    return min(widest + OVER_BOARD, room)


def convex_radius(work_radius: float, abrasive_thickness: float) -> float:
    """Radius of a convex tool that sands a hollow of ``work_radius``: the paper lies outside the tool.

    Raises ValueError where nothing is left of the tool.
    """
    if not abrasive_thickness < work_radius:
        raise ValueError("the abrasive is as thick as the hollow's radius")
    return work_radius - abrasive_thickness


def _misfit(plan: Plan, board: Board, work: float, crown: float, width: float, x: float) -> float:
    """Drop of the work at its edge less the drop of the block's work radius there (two circular segments)."""
    half = min(width, float(plan.taper.width(x))) / 2
    return float(arc_drop(board.radius(x) + crown, half) - arc_drop(work, half))


def _ribs(asked: RadiusBlock, width: float, depth: float) -> Ribs | None:
    if asked.rib_thickness is None:
        return None
    count = math.ceil(asked.length / asked.rib_thickness - 1e-9)
    back = asked.height - depth
    dowel = min(DOWEL, back - 2 * DOWEL_WALL)
    aside = width / 4
    room = dowel >= 2.0 and aside >= dowel / 2 + DOWEL_WALL
    holes = ((-aside, back / 2), (aside, back / 2)) if room else ()
    return Ribs(asked.rib_thickness, count, count * asked.rib_thickness, dowel if room else 0.0, holes)


# ----------------------------------------------------------------------------------------------------------- facets


@dataclass(frozen=True)
class Facets:
    """One flat strip under each string, treble-side string first, from the nut to the last fret; arrays (strings, 2)
    for those two stations.

    Strips meet midway between the strings and end at the board's edges. drop: of the strip under its string, below
    the crown line. width: square to the centreline. tilt_deg: of the surface there, positive falling toward +y.
    ridge: how far the strips' meeting lines stand above the round, largest of a strip's two: what is left to blend.
    """

    drop: Array
    width: Array
    tilt_deg: Array
    ridge: Array


def facets(plan: Plan, board: Board) -> Facets:
    """The strips that make a board's round by hand.

    Under a string at y the round of radius R lies R − √(R² − y²) below the crown and tilts asin(y/R); a strip that is
    tangent there stands (R/cos φ − R) ≈ s²/(2R) above the round at a distance s.
    """
    stations = np.array([0.0, float(plan.centre_x[-1])])
    y = np.stack([plan.string_at(float(x)) for x in stations], -1)
    half = plan.taper.width(stations) / 2
    middle = (y[1:] + y[:-1]) / 2
    first, last = plan.side * half, -plan.side * half
    borders = np.concatenate([first[None], middle, last[None]])
    radius = board.radius(stations)
    reach = np.maximum(np.abs(borders[:-1] - y), np.abs(borders[1:] - y))
    with np.errstate(invalid="ignore"):
        ridge = np.where(np.isinf(radius), 0.0, np.hypot(radius, reach) - radius)
    return Facets(
        drop=fixed(arc_drop(radius, y)),
        width=fixed(np.abs(np.diff(borders, axis=0))),
        tilt_deg=fixed(np.degrees(np.arcsin(y / radius))),
        ridge=fixed(ridge),
    )

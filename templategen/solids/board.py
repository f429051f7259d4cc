"""Fretboards: a plan outline under a true cylinder or cone, and the slots sawn into it.

The cone
--------
Plan frame: the crown line lies level along x. The radius measured square to the crown line is to be R(x), linear, so
the axis lies at depth R(x) under the crown and falls by R' = (R₁ − R₀)/L. The angle between axis and crown line, the
half angle of the cone, is therefore α = atan(R'). The cone's own radius is measured square to its axis: from the crown
point at x that is R(x)·cos α, and it meets the axis R(x)·sin α back from the point under x.

A section square to x is the curve y² = −2·R·z − (1 − tan²α)·z²: the circle of radius R but for the tan²α, by which it
lies higher by z²·tan²α/(2R) to first order (0.2 µm at the edges of a board 43 to 56 wide, 254 → 406 over 460).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Literal

from templategen.errors import OurBug
from templategen.solids.combine import cut, intersect
from templategen.solids.make import prism, rectangle
from templategen.solids.shape import Contour, Contoured, Frame, Solid, Vector, rotated

SlotEnds = Literal["through", "square", "round"]

TURNS = (0.0, 2e-3, -2e-3, 5e-3)
"""Radians. The wall of a slot 0.6 mm wide moves by 0.0006 mm across the board, its floor by 0.00005 mm; of a slot that
stands 10 mm askew, by 0.0007 mm at the edges."""
_OVER = 1.0  # how far tools stand above the crown line
_LEAST_SLOPE = 5e-6  # below it the kernel makes no cone; over 500 mm a cylinder is then within 1e-5 mm of it
_ALONG = 5e-4  # mm off at a slot's corners
_PAST = 2.0  # how far a through slot's tool runs past the given ends


@dataclass(frozen=True)
class BoardTop:
    """A board's top, symmetrical about the x–z plane, its crown line level at ``crown_z`` along x.

    radius_0 at x_0 and radius_1 at x_1: measured square to the crown line, mm, linear between and beyond; equal for a
    cylinder, both infinite for a flat board.
    """

    radius_0: float = math.inf
    radius_1: float = math.inf
    x_0: float = 0.0
    x_1: float = 1.0
    crown_z: float = 0.0

    @classmethod
    def flat(cls) -> BoardTop:
        return cls()

    @classmethod
    def cylinder(cls, radius: float) -> BoardTop:
        return cls(radius, radius)

    @classmethod
    def cone(cls, radius_0: float, radius_1: float, x_0: float, x_1: float) -> BoardTop:
        return cls(radius_0, radius_1, x_0, x_1)

    def __post_init__(self) -> None:
        if math.isinf(self.radius_0) != math.isinf(self.radius_1):
            raise OurBug("a board cannot be flat at one end and round at the other")

    @property
    def kind(self) -> Literal["flat", "cylinder", "cone"]:
        if math.isinf(self.radius_0):
            return "flat"
        return "cone" if self.slope else "cylinder"

    @property
    def slope(self) -> float:
        """Radius per mm along x, 0 on all but a cone."""
        if math.isinf(self.radius_0):
            return 0.0
        slope = (self.radius_1 - self.radius_0) / (self.x_1 - self.x_0)
        return slope if abs(slope) > _LEAST_SLOPE else 0.0

    def radius(self, x: float) -> float:
        """Measured square to the crown line."""
        return self.radius_0 + self.slope * (x - self.x_0) if self.slope else self.radius_0

    def z(self, x: float, y: float) -> float:
        """The intended height: the circle of radius R(x)."""
        if self.kind == "flat":
            return self.crown_z
        radius = self.radius(x)
        return math.sqrt(radius * radius - y * y) - radius + self.crown_z

    def lowered(self, depth: float) -> BoardTop:
        """The surface ``depth`` below, square to it everywhere: a coaxial cylinder; a cone on the same axis with the
        same half angle, since its crown line moves straight down by ``depth`` while its axis stays.
        """
        return replace(
            self, radius_0=self.radius_0 - depth, radius_1=self.radius_1 - depth, crown_z=self.crown_z - depth
        )

    def body_below(self, x_from: float, x_to: float, reach: float) -> Solid:
        """A solid whose upper side is this surface, from x_from to x_to: the whole round bar with its seam
        underneath, or on a flat board a slab ``reach`` wide to each side and deep.

        Raises OurBug where the radius falls to nothing within the way.
        """
        from templategen.solids import kernel as k

        if self.kind == "flat":
            low = self.crown_z - reach
            return prism(rectangle(x_from, -reach, x_to, reach), (0.0, 0.0, reach), Frame.xy(low))
        if not min(self.radius(x_from), self.radius(x_to)) > 0:
            raise OurBug(f"the board's radius falls to nothing between x = {x_from:g} and {x_to:g} mm")
        length = x_to - x_from
        if self.kind == "cylinder":
            axis = k.gp_Ax2(k.gp_Pnt(x_from, 0.0, self.crown_z - self.radius_0), k.gp_Dir(1, 0, 0), k.gp_Dir(0, 0, -1))
            return Solid(k.TopoDS.Solid_s(k.BRepPrimAPI_MakeCylinder(axis, self.radius_0, length).Shape()))
        alpha = math.atan(self.slope)
        cos, sin = math.cos(alpha), math.sin(alpha)
        # The bar's end discs stand square to the axis through the crown points at x_from and x_to.
        foot = self.radius(x_from) * cos
        axis = k.gp_Ax2(
            k.gp_Pnt(x_from - foot * sin, 0.0, self.crown_z - foot * cos),
            k.gp_Dir(cos, 0, -sin),
            k.gp_Dir(-sin, 0, -cos),
        )
        cone = k.BRepPrimAPI_MakeCone(axis, foot, self.radius(x_to) * cos, length * cos)
        return Solid(k.TopoDS.Solid_s(cone.Shape()))


@dataclass(frozen=True)
class FretSlot:
    """A straight slot with upright walls between two plan points.

    start, end: on the centre line of the slot, mm: on the board's edges for ``through``, else where the slot ends;
    ``round`` ends are half circles inside that length. floor: a level z, or None for a floor that follows the surface
    at ``depth`` square to it.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    width: float
    depth: float = 0.0
    floor_z: float | None = None
    ends: SlotEnds = "through"

    def plan(self) -> Contour:
        """The slot's outline as its tool cuts it."""
        length = math.dist(self.start, self.end)
        ux, uy = (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length
        half = self.width / 2
        past = {"through": _PAST, "square": 0.0, "round": -half}[self.ends]
        (x0, y0), (x1, y1) = self.start, self.end
        x0, y0, x1, y1 = x0 - past * ux, y0 - past * uy, x1 + past * ux, y1 + past * uy
        nx, ny = -uy * half, ux * half
        bulge = 1.0 if self.ends == "round" else 0.0
        if self.ends != "round" and abs(ny) < _ALONG:
            ny = 0.0  # end walls all but along the board, which the kernel loses on a round one, lie along it
        return Contour(
            ((x0 - nx, y0 - ny), (x1 - nx, y1 - ny), (x1 + nx, y1 + ny), (x0 + nx, y0 + ny)), (0.0, bulge, 0.0, bulge)
        )

    def middle(self, surface: BoardTop) -> Vector:
        """A point in what it takes away, half-way along and half-way down."""
        x, y = (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2
        top = surface.z(x, y)
        return x, y, (top + self.floor_z) / 2 if self.floor_z is not None else top - self.depth / 2


def board(outline: Contoured, thickness: float, surface: BoardTop, name: str = "") -> Solid:
    """A board: a plan outline from z = crown − thickness up to the surface.

    outline: x–y, mm. thickness: under the crown line. Raises OurBug when the outline reaches beyond the surface's
    radius or the edge would have no wood.
    """
    bottom = surface.crown_z - thickness
    if surface.kind == "flat":
        return prism(outline, (0.0, 0.0, thickness), Frame.xy(bottom), name)
    blank = prism(outline, (0.0, 0.0, thickness + _OVER), Frame.xy(bottom), name)
    return intersect(blank, _bar(surface, blank))


def slotted(
    body: Solid,
    surface: BoardTop,
    slots: Sequence[FretSlot],
    expected_volume: float | None = None,
    within: float = 1e-4,
) -> Solid:
    """The board with its fret slots, all cut at once. Raises OurBug as :func:`templategen.solids.combine.cut`.

    A side that is all but parallel to the axis of the floors meets them in ellipses hundreds of metres long, which the
    kernel loses, and cuts nothing. Floors turned a little in plan about their slots' middles meet it in shorter ones.
    Without a volume to compare with a lost slot is seen by its middle, where that lies on the board.
    """
    middles = (slot.middle(surface) for slot in slots) if expected_volume is None else ()
    gone = [middle for middle in middles if body.holds(middle)]
    for turn in TURNS[:-1]:
        with suppress(OurBug):
            return cut(body, slot_tools(body, surface, slots, turn), expected_volume, within, gone)
    return cut(body, slot_tools(body, surface, slots, TURNS[-1]), expected_volume, within, gone)


def slot_tools(body: Solid, surface: BoardTop, slots: Iterable[FretSlot], turn: float = 0.0) -> tuple[Solid, ...]:
    """One tool per slot, from its floor to above the crown line. turn: radians in plan that the axis of a round floor
    is turned by about its slot's middle."""
    tools = []
    for slot in slots:
        floor = slot.floor_z
        if floor is None and surface.kind == "flat":
            floor = surface.crown_z - slot.depth
        if floor is None:
            blank = prism(
                slot.plan(), (0.0, 0.0, surface.crown_z + _OVER - body.extent.low[2]), Frame.xy(body.extent.low[2])
            )
            tools.append(cut(blank, [_bar(surface.lowered(slot.depth), blank, turn)]))
        else:
            tools.append(prism(slot.plan(), (0.0, 0.0, surface.crown_z + _OVER - floor), Frame.xy(floor)))
    return tuple(tools)


def _bar(surface: BoardTop, around: Solid, turn: float = 0.0) -> Solid:
    """The body below the surface, long enough to overshoot ``around`` though a cone's end discs lean; turned in plan
    about the middle of ``around`` by so many radians."""
    box = around.extent
    lean = abs(surface.slope) * (box.high[2] - box.low[2] + _OVER)
    bar = surface.body_below(box.low[0] - lean - 1.0, box.high[0] + lean + 1.0, 1000.0)
    if turn == 0:
        return bar
    return rotated(bar, ((box.low[0] + box.high[0]) / 2, 0.0, 0.0), turn)

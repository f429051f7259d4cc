"""The program that cuts the board out of its blank: round it in passes, tabs left to hold it; plan frame."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from templategen.drawing.model import point
from templategen.drawing.program import Cut, Program
from templategen.drawing.toolpath import Spot
from templategen.geometry import Point
from templategen.geometry.offsets import counterclockwise
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.instrument.tools.milling import BREAKS_THROUGH, Milling
from templategen.parts.mill import common
from templategen.parts.mill.sweep import BESIDE, DEEPER, HIGHER, followed
from templategen.spec.models import MillTool
from templategen.units import mm_text

NAME = "board-outline"
WASTE = 1.0  # mm of the blank that stays outside the cut
_LONGEST_RAMP = 30.0  # mm over which a pass is entered
_RAMP_SHARE = 0.5  # of the nut's end


@dataclass(frozen=True)
class _Leg:
    """A side of the board as the cutter runs it, and the corner's arc after it. tabs: where they begin and end."""

    start: Point
    end: Point
    bulge: float
    tabs: tuple[tuple[float, float], ...]

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def at(self, s: float, z: float) -> Spot:
        share = s / self.length
        (x0, y0), (x1, y1) = self.start, self.end
        return x0 + share * (x1 - x0), y0 + share * (y1 - y0), z


def program(i: Instrument, milling: Milling, tool: MillTool) -> Program:
    """Clockwise round the board, so that the cutter climbs; entered along the nut's end, where no tab is."""
    asked, thick = i.spec.toolpath, i.board.thickness
    corners = i.board_outline
    edge = tool.diameter + WASTE
    low, high = corners.min(0) - edge, corners.max(0) + edge
    legs, floor = _legs(i, tool.diameter / 2), -thick - BREAKS_THROUGH
    size = f"{mm_text(float(high[0] - low[0]), 1)} x {mm_text(float(high[1] - low[1]), 1)}"
    tabs = sum(len(leg.tabs) for leg in legs)
    held = (
        f"{tabs} tabs, {mm_text(asked.tab_width)} mm wide and {mm_text(asked.tab_height)} mm high, hold the board on "
        "its long sides: saw them through and plane them flush."
        if tabs
        else "No tabs: the board comes loose in the last pass unless it is held from below."
    )
    return common.program(
        i,
        milling.mill,
        name=NAME,
        title=f"{i.spec.title}: fingerboard, outline",
        cuts=[_cut(tool, legs, floor, asked.tab_height - thick)],
        box=((float(low[0]), float(low[1]), -thick), (float(high[0]), float(high[1]), 0.0)),
        past=0.0,
        down=BREAKS_THROUGH,
        head=(
            f"Stock: blank of at least {size} x {mm_text(thick)} mm on a board that may be cut into; its corners at X "
            f"{mm_text(float(low[0]), 1)} Y {mm_text(float(low[1]), 1)} and X {mm_text(float(high[0]), 1)} Y "
            f"{mm_text(float(high[1]), 1)}.",
            common.board_origin(i),
            f"Run fret-slots.ngc first, from the same origin. {held}",
        ),
        overrun=f"The cutter goes {BREAKS_THROUGH} mm through the blank, {mm_text(tool.diameter)} mm wide round it",
    )


def _round(i: Instrument) -> list[Point]:
    """The board's corners clockwise, beginning with the side along the nut."""
    corners = [point(corner) for corner in i.board_outline]
    way = counterclockwise(corners)[::-1]
    nut = {corners[0], corners[3]}
    first = next(n for n in range(4) if {way[n], way[(n + 1) % 4]} == nut)
    return [*way[first:], *way[:first]]


def _legs(i: Instrument, radius: float) -> list[_Leg]:
    corners = _round(i)
    sides = [(corners[n], corners[(n + 1) % 4]) for n in range(4)]
    ways = [((b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b)) for a, b in sides]
    asked, legs = i.spec.toolpath, []
    for n, (a, b) in enumerate(sides):
        (ux, uy), (vx, vy) = ways[n], ways[(n + 1) % 4]
        turn = math.atan2(uy * vx - ux * vy, ux * vx + uy * vy)  # clockwise
        start, end = ((p[0] - uy * radius, p[1] + ux * radius) for p in (a, b))
        count = {1: (asked.tabs + 1) // 2, 3: asked.tabs // 2}.get(n, 0)
        long, half = math.dist(a, b), asked.tab_width / 2 + radius
        middles = [(k + 0.5) / count * long for k in range(count)]
        tabs = tuple((m - half, m + half) for m in middles if half < m < long - half)
        legs.append(_Leg(start, end, -math.tan(turn / 4), tabs))
    return legs


def _cut(tool: MillTool, legs: Sequence[_Leg], floor: float, tab_top: float) -> Cut:
    count = common.passes(-floor, tool.step_down)
    ramp = min(_LONGEST_RAMP, _RAMP_SHARE * legs[0].length)
    points: list[Spot] = [legs[0].at(0.0, 0.0)]
    bulges: list[float] = []
    for n in range(1, count + 1):
        z = floor * n / count
        points.append(legs[0].at(ramp, z))
        bulges.append(0.0)
        for spot, bulge in _lap(legs, z, tab_top):
            points.append(spot)
            bulges.append(bulge)
    points.append(legs[0].at(ramp, floor))
    bulges.append(0.0)
    return Cut("outline", common.tool(tool), tuple(points), tuple(bulges))


def _lap(legs: Sequence[_Leg], z: float, tab_top: float) -> Iterator[tuple[Spot, float]]:
    """Once round at one height, lifted over the tabs: where each move ends, and its bulge."""
    for n, leg in enumerate(legs):
        for begin, end in leg.tabs if z < tab_top else ():
            yield leg.at(begin, z), 0.0
            yield leg.at(begin, tab_top), 0.0
            yield leg.at(end, tab_top), 0.0
            yield leg.at(end, z), 0.0
        yield leg.at(leg.length, z), 0.0
        then = legs[(n + 1) % len(legs)]
        yield then.at(0.0, z), leg.bulge


def fault(i: Instrument, made: Program) -> str:
    """Why it must not be written: the cutter enters the board, leaves some of its edge, or does not go through."""
    ways, wrong = followed(made)
    if wrong or set(ways.found) != {"outline"}:
        return wrong or "something else than the outline is cut"
    (radius,) = {tool.radius for tool in made.tools}
    corners = np.array(_round(i))
    asked, thick = i.spec.toolpath, i.board.thickness
    runs = [np.array(points) for _, points in ways.found["outline"]]
    a, b = np.concatenate([r[:-1] for r in runs]), np.concatenate([r[1:] for r in runs])
    share = np.linspace(0, 1, 9)[:, None, None]
    spots = (a + share * (b - a)).reshape(-1, 3)
    off = np.abs(_distance(corners, spots[spots[:, 2] < 0.0][:, :2]) - radius).max()
    if off > BESIDE:
        return f"the outline would be {off:.3f} mm off its place"
    bare, lowest = 0.0, -thick - made.down
    for n in range(4):
        bare += _left_standing(corners[n], corners[(n + 1) % 4], a, b, radius, lowest, asked.tab_height - thick)
    wanted = asked.tab_width * sum(len(leg.tabs) for leg in _legs(i, radius))
    if abs(bare - wanted) > 0.5:
        return f"{bare:.1f} mm of the outline would stay standing, {wanted:.1f} mm of tabs are wanted"
    return ""


def _left_standing(p: Array, q: Array, a: Array, b: Array, radius: float, lowest: float, tab_top: float) -> float:
    """mm of a side that no move clears down to ``lowest``; infinite where what stays is no tab."""
    along = (q - p) / np.hypot(*(q - p))
    left = np.array([-along[1], along[0]])
    straight = (np.abs((a[:, :2] - p) @ left - radius) < BESIDE) & (np.abs((b[:, :2] - p) @ left - radius) < BESIDE)
    s = np.sort(np.stack([(a[straight, :2] - p) @ along, (b[straight, :2] - p) @ along]), axis=0)
    high = np.maximum(a[straight, 2], b[straight, 2])
    at = np.arange(0.05, float(np.hypot(*(q - p))), 0.1)
    met = (s[0][None, :] <= at[:, None]) & (at[:, None] <= s[1][None, :])
    depth = np.where(met, high[None, :], np.inf).min(1)
    standing = depth > lowest + DEEPER
    if (np.abs(depth[standing] - tab_top) > HIGHER).any():
        return math.inf
    # a tool that stands beside a tab still clears its own radius of it
    return float(standing.sum()) * 0.1 - 2 * radius * int((np.diff(standing.astype(int)) == 1).sum())


def _distance(corners: Array, spots: Array) -> Array:
    """From each spot to the nearest side of the board, negative inside."""
    nearest = np.full(len(spots), np.inf)
    inside = np.ones(len(spots), dtype=bool)
    for n in range(4):
        p, q = corners[n], corners[(n + 1) % 4]
        run = q - p
        share = np.clip(((spots - p) @ run) / (run @ run), 0, 1)
        nearest = np.minimum(nearest, np.hypot(*(spots - p - share[:, None] * run).T))
        inside &= (run[0] * (spots[:, 1] - p[1]) - run[1] * (spots[:, 0] - p[0])) < 0
    return np.where(inside, -nearest, nearest)

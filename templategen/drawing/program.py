"""A mill's program as data: what its writer replays, and what is checked before it is written.

Terms
-----
cut     one run of a tool: down from the safe height, along its points, and up again
step    one line of the program: what the machine does next
tip     the lowest point of the tool, whose place every point is; z = 0 on the stock's top, negative in the stock
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from templategen.drawing.toolpath import Spot
from templategen.geometry import circle_of_bulge

OVER = 0.5
"""mm over the stock's top, down to where a tool comes at its feed rather than at its plunge rate."""

ToolForm = Literal["flat", "ball", "vee"]
Word = Literal["units", "tool", "change", "speed", "stop", "wait", "rapid", "feed", "arc", "end"]


@dataclass(frozen=True, slots=True)
class Tool:
    """mm, mm/min and turns per minute; tip_deg: full angle of a vee."""

    number: int
    form: ToolForm
    diameter: float
    feed: float
    plunge: float
    speed: float
    tip_deg: float | None = None

    @property
    def radius(self) -> float:
        return self.diameter / 2

    def rise(self, distance: float) -> float:
        """How far the cutting face lies over the tip at a distance from the axis; infinite beyond the tool."""
        if distance > self.radius + 1e-9:
            return math.inf
        if self.form == "ball":
            return self.radius - math.sqrt(max(self.radius**2 - distance**2, 0.0))
        return distance / math.tan(math.radians(self.tip_deg or 180.0) / 2) if self.form == "vee" else 0.0


@dataclass(frozen=True, slots=True)
class Cut:
    """name: what is cut, such as ``fret 3``. points: of the tip, at least two. bulges: of the stretch that leaves each
    point but the last, as in contours; empty for straight ones. An arc lies level or climbs evenly."""

    name: str
    tool: Tool
    points: tuple[Spot, ...]
    bulges: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class ProgramStep:
    """One line. to: where a move ends. centre, clockwise: of an arc. feed: mm/min. value: seconds, or a safe height.
    name: of the cut that it belongs to."""

    word: Word
    to: Spot = (0.0, 0.0, 0.0)
    feed: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)
    clockwise: bool = False
    tool: Tool | None = None
    value: float = 0.0
    name: str = ""


@dataclass(frozen=True)
class Program:
    """Cuts in the order that they are run, those of one tool together.

    head: lines for the operator, without the ones about time and tools, which follow from the cuts. box: of the stock,
    its lowest and highest corner. past: mm that tools may run past the box, down: below it. spin_up: seconds.
    """

    name: str
    title: str
    cuts: tuple[Cut, ...]
    safe_z: float
    spin_up: float
    changer: bool
    box: tuple[Spot, Spot]
    past: float
    down: float = 0.0
    head: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def tools(self) -> tuple[Tool, ...]:
        return tuple(dict.fromkeys(cut.tool for cut in self.cuts))

    @property
    def deepest(self) -> float:
        return min(z for cut in self.cuts for _, _, z in cut.points)

    @property
    def minutes(self) -> float:
        """At the feeds asked for: cutting, plunging, lifting, waiting for the spindle; no rapid, no change of tool."""
        total, at = 0.0, (0.0, 0.0, 0.0)
        for step in self.steps():
            if step.word in {"feed", "arc"}:
                total += length(at, step) / step.feed
            if step.word == "wait":
                total += step.value / 60
            if step.word in {"feed", "arc", "rapid"}:
                at = step.to
        return total

    def steps(self) -> Iterator[ProgramStep]:
        """Every line in its order: a tool is up to speed before it cuts, moves across are at the safe height."""
        yield ProgramStep("units")
        now: Tool | None = None
        at: Spot | None = None
        for cut in self.cuts:
            if cut.tool != now:
                if now is not None:
                    yield ProgramStep("stop", name=cut.name)
                yield ProgramStep("tool" if now is None else "change", tool=cut.tool, value=self.safe_z)
                yield ProgramStep("speed", tool=cut.tool)
                yield ProgramStep("wait", value=self.spin_up)
                now, at = cut.tool, None
            x, y, z = cut.points[0]
            if at is None or (x, y) != at[:2]:
                yield ProgramStep("rapid", (x, y, self.safe_z), name=cut.name)
            yield ProgramStep("feed", (x, y, OVER), now.feed, name=cut.name)
            yield ProgramStep("feed", (x, y, z), now.plunge, name=cut.name)
            at = cut.points[0]
            for point, bulge in zip(cut.points[1:], cut.bulges or (0.0,) * len(cut.points), strict=False):
                if point != at:
                    yield _moved(at, point, bulge, now, cut.name)
                at = point
            at = (*at[:2], self.safe_z)
            yield ProgramStep("feed", at, now.feed, name=cut.name)
        yield ProgramStep("stop")
        yield ProgramStep("end")


def _moved(start: Spot, end: Spot, bulge: float, tool: Tool, name: str) -> ProgramStep:
    """A move in the cut, so slow that it goes down no faster than the tool may plunge."""
    step = ProgramStep("feed", end, tool.feed, name=name)
    if bulge:
        centre, _ = circle_of_bulge(start[:2], end[:2], bulge)
        step = ProgramStep("arc", end, tool.feed, centre, bulge < 0, name=name)
    fall = (start[2] - end[2]) / length(start, step)
    if fall * tool.feed <= tool.plunge:
        return step
    slow = math.floor(tool.plunge / fall * 10) / 10
    return ProgramStep(step.word, step.to, max(slow, 0.1), step.centre, step.clockwise, name=name)


def length(start: Spot, step: ProgramStep) -> float:
    """Of a move, mm; of an arc with the height that it gains."""
    x, y, z = step.to
    if step.word != "arc":
        return math.dist(start, step.to)
    (cx, cy) = step.centre
    swept = turned(start, step)
    return math.hypot(math.hypot(x - cx, y - cy) * swept, z - start[2])


def turned(start: Spot, step: ProgramStep) -> float:
    """Angle of an arc, radians, positive."""
    (cx, cy), (x, y, _) = step.centre, step.to
    begun, ended = math.atan2(start[1] - cy, start[0] - cx), math.atan2(y - cy, x - cx)
    swept = (begun - ended if step.clockwise else ended - begun) % (2 * math.pi)
    return swept or 2 * math.pi

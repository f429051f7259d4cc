"""What was measured, drawn: a chart for each kind of reading, its ± beside every value.

Three ways of drawing, in panels of one size beside each other. *Bars* rise from nought, the limits of what counts as in
place as brackets about it; what is out of place is ringed and its amount written. *Dots* stand on a bar that reaches as
far as the ±, the target as a broad dash. A bar that would leave the panel ends in an arrow at its edge.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templategen.drawing.layout import TEXT_HEIGHT
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Circle, Line, Point, Sketch, Text

LEFT, OVER, UNDER = 10.0, 6.5, 5.5  # paper mm: the levels' figures, the title, the places' names
CAP = 0.8  # half of a bar's end
DOT, RING = 0.6, 1.4
DASH = 1.6  # half of a target's mark
ARROW = 1.2
ROOM = 1.0  # between names


@dataclass(frozen=True)
class ReadingChart:
    """One chart. places: names along it, in order; at: where they stand, 0 to 1. values: NaN where not read. low, high:
    ends of what is drawn as ±; infinite where there is none. targets: NaN where there is none. bars: from nought, with
    low and high about it. ringed: whether a value is out of place. most: what the scale holds at most, either way.
    also: values that it holds besides, so that panels can be compared. digits: of an amount that is written."""

    title: str
    unit: str
    places: tuple[str, ...]
    at: tuple[float, ...]
    values: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    targets: tuple[float, ...] = ()
    bars: bool = False
    ringed: tuple[bool, ...] = ()
    most: float = math.inf
    also: tuple[float, ...] = ()
    digits: int = 2


def draw(s: Sketch, p: ReadingChart, at: Point, width: float, height: float) -> Box:
    """The panel with its top left corner at ``at``; its box."""
    scale = _Scale.of(p, at[1] - height + UNDER, height - OVER - UNDER)
    left, right = at[0] + LEFT, at[0] + width
    s.add("TEXT", Text((at[0], at[1] - TEXT_HEIGHT), f"{p.title}, {p.unit}", TEXT_HEIGHT, bold=True))
    for level in scale.levels:
        y = scale.y(level)
        s.add("OUTLINE" if level == 0 else "GRID", Line((left, y), (right, y)))
        text = f"{level:.{scale.digits}f}"
        s.add("TEXT", Text((left - 1.2, y), text, TEXT_HEIGHT, 0.0, "right", "middle"))
    along = [left + 2.0 + share * (right - left - 4.0) for share in p.at]
    for n, x in enumerate(along):
        if math.isfinite(p.values[n]):
            (_bar if p.bars else _dot)(s, p, n, x, scale)
        if p.targets and math.isfinite(p.targets[n]):
            y = scale.y(p.targets[n])
            s.add("NUT_FRONT", Line((x - DASH, y), (x + DASH, y)))
    base = at[1] - height + 1.0
    for x, name in _named(p.places, along):
        s.add("TEXT", Text((x, base), name, TEXT_HEIGHT, anchor="middle"))
    return Box(at[0], at[1] - height, right, at[1])


def _bar(s: Sketch, p: ReadingChart, n: int, x: float, scale: _Scale) -> None:
    """A value from nought, and the limits about nought."""
    end = scale.y(p.values[n])
    if end != scale.y(0.0):
        s.add("NUT_FRONT", Line((x, scale.y(0.0)), (x, end)))
    for limit in (p.low[n], p.high[n]):
        s.add("DIMENSION", Line((x - CAP, scale.y(limit)), (x + CAP, scale.y(limit))))
    _mark(s, p, n, (x, end), scale)


def _dot(s: Sketch, p: ReadingChart, n: int, x: float, scale: _Scale) -> None:
    """A value on the bar of its ±."""
    ends = [scale.y(limit) for limit in (p.low[n], p.high[n])]
    s.add("DIMENSION", Line((x, ends[0]), (x, ends[1])))
    for limit, y in zip((p.low[n], p.high[n]), ends, strict=True):
        if scale.holds(limit):
            s.add("DIMENSION", Line((x - CAP, y), (x + CAP, y)))
        else:
            down = math.copysign(ARROW, limit)
            s.add("DIMENSION", Line((x, y), (x - CAP, y - down)), Line((x, y), (x + CAP, y - down)))
    if scale.holds(p.values[n]):
        s.add("POINT", Circle((x, scale.y(p.values[n])), DOT))
    _mark(s, p, n, (x, scale.y(p.values[n])), scale)


def _mark(s: Sketch, p: ReadingChart, n: int, tip: Point, scale: _Scale) -> None:
    """A ring and the amount at what is out of place."""
    if not (p.ringed and p.ringed[n]):
        return
    x, y = tip
    inside = -math.copysign(RING, p.values[n]) if not scale.holds(p.values[n]) else 0.0
    s.add("OUTLINE", Circle((x, y + inside), RING))
    said = f"{p.values[n]:+.{p.digits}f}"
    beside = x + RING + 0.6
    anchor = "left"
    if beside + text_width(said, TEXT_HEIGHT, True) > scale.right(p, tip):
        beside, anchor = x - RING - 0.6, "right"
    s.add("TEXT", Text((beside, y + inside), said, TEXT_HEIGHT, 0.0, anchor, "middle", bold=True))  # type: ignore[arg-type]


@dataclass(frozen=True)
class _Scale:
    """Heights of values on paper, kept within the panel."""

    bottom: float
    per_unit: float
    least: float
    most: float
    levels: tuple[float, ...]
    digits: int

    @classmethod
    def of(cls, p: ReadingChart, bottom: float, tall: float) -> _Scale:
        shown = [v for v in (*p.values, *p.low, *p.high, *p.targets, *p.also) if math.isfinite(v)]
        shown = [min(max(v, -p.most), p.most) for v in shown] or [0.0]
        low, high = min(shown), max(shown)
        if p.bars:
            low, high = min(low, 0.0), max(high, 0.0)
        if high - low < 1e-9:
            low, high = low - 0.05, high + 0.05
        spare = 0.08 * (high - low)
        low, high = low - spare, high + spare
        levels, digits = _levels(low, high)
        return cls(bottom, tall / (high - low), low, high, levels, digits)

    def y(self, value: float) -> float:
        return self.bottom + (min(max(value, self.least), self.most) - self.least) * self.per_unit

    def holds(self, value: float) -> bool:
        return self.least <= value <= self.most

    def right(self, p: ReadingChart, tip: Point) -> float:
        """How far right words may reach."""
        return math.inf if len(p.at) < 2 else tip[0] + (1 - p.at[-1]) * 100 + 16.0


def _levels(low: float, high: float) -> tuple[tuple[float, ...], int]:
    """Three to six round levels within, and their decimals."""
    rough = (high - low) / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(k * power for k in (1, 2, 5, 10) if k * power >= rough * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(n * step for n in range(first, last + 1)), max(0, -math.floor(math.log10(step) + 1e-9))


def _named(names: Sequence[str], along: Sequence[float]) -> Iterator[tuple[float, str]]:
    """Names that have room, from the first."""
    taken = -math.inf
    for x, name in zip(along, names, strict=True):
        half = text_width(name, TEXT_HEIGHT) / 2
        if x - half >= taken:
            yield x, name
            taken = x + half + ROOM

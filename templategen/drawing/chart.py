"""Charts as drawings: panels one above the other, in each the same groups of values side by side.

Values are dots on stems from zero, so that sign and size read in grey and at a glance; full dots count, hollow ones are
for information. A chart is not true to scale. Sizes are paper mm; everything is drawn upward and to the right of its
lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from templategen.drawing.lettering import text_width
from templategen.drawing.model import Circle, Line, Point, Sketch, Text

LEFT = 13.0  # of the levels' figures
OVER, UNDER = 15.0, 10.0  # a panel's words above and below its values
GROUP_GAP = 5.0
LETTERS = 2.5
MOST_STEPS = 5  # of the levels: as many as can be told apart at a glance
LEGEND_PITCH = 4.5
LARGEST_DOT, LEAST_DOT = 0.75, 0.22  # radius


@dataclass(frozen=True, slots=True)
class Group:
    """Values over places, both of one length. firm: drawn full; the others hollow. note: stands over the values."""

    name: str
    places: tuple[int, ...]
    values: tuple[float, ...]
    firm: tuple[bool, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Panel:
    """title: over the panel. unit: of the values. share: of the chart's height. also: values that its scale holds
    besides its own, so that panels can be compared."""

    title: str
    unit: str
    groups: tuple[Group, ...]
    share: float = 1.0
    also: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Chart:
    """ticks: places to be named under each group, the most wanted first; those that leave no room are left out.

    legend: how to read it, below the panels.
    """

    place_name: str
    ticks: tuple[int, ...]
    panels: tuple[Panel, ...]
    legend: tuple[str, ...]


def draw(s: Sketch, chart: Chart, width: float, height: float) -> None:
    """Put a chart of that size on a sketch, its lower left corner at 0, 0.

    Layers: GRID for levels, STEM from zero to a value, POINT for full dots and POINT_OPEN for hollow ones, TEXT.
    """
    for row, line in enumerate(reversed(chart.legend)):
        s.add("TEXT", Text((0.0, LEGEND_PITCH * row), line, LETTERS))
    foot = LEGEND_PITCH * len(chart.legend)
    room = height - foot - (OVER + UNDER) * len(chart.panels)
    whole = sum(panel.share for panel in chart.panels)
    top = height
    for panel in chart.panels:
        tall = room * panel.share / whole
        _panel(s, chart, panel, (top - OVER - tall, tall), width)
        top -= OVER + tall + UNDER


def _panel(s: Sketch, chart: Chart, panel: Panel, span: tuple[float, float], width: float) -> None:
    """One panel whose values begin at the height ``span[0]`` and are ``span[1]`` tall."""
    bottom, tall = span
    values = [*panel.also, *(value for group in panel.groups for value in group.values)]
    low, high, levels, digits = _levels(values, max(1, min(MOST_STEPS, int(tall / (1.6 * LETTERS)))))
    unit = tall / (high - low)

    def at(value: float) -> float:
        return bottom + (value - low) * unit

    top, label = bottom + tall, LEFT - 1.5
    s.add("TEXT", Text((0.0, top + OVER - 3), panel.title, LETTERS, bold=True))
    s.add("TEXT", Text((label, top + 2), panel.unit, LETTERS, anchor="right"))
    s.add("TEXT", Text((label, bottom - 5), chart.place_name, LETTERS, anchor="right"))
    s.add("TEXT", *(Text((label, at(z)), f"{z:.{digits}f}", LETTERS, 0.0, "right", "middle") for z in levels))
    pitch = (width - LEFT + GROUP_GAP) / len(panel.groups)
    for row, group in enumerate(panel.groups):
        start = LEFT + row * pitch
        end = start + pitch - GROUP_GAP
        along = _along(group, start, end)
        s.add("GRID", *(Line((start, at(level)), (end, at(level))) for level in levels if level))
        s.add("OUTLINE", Line((start, at(0)), (end, at(0))))
        closest = min([*(b - a for a, b in pairwise(along)), end - start])
        radius = min(max(0.375 * closest, LEAST_DOT), LARGEST_DOT)
        for x, value, firm in zip(along, group.values, group.firm, strict=True):
            _dot(s, (x, at(0)), (x, at(value)), radius, firm)
        for place, x in _named(group, along, chart.ticks):
            s.add("TEXT", Text((x, bottom - 5), str(place), LETTERS, anchor="middle"))
        s.add("TEXT", Text((start, top + 6), group.name, LETTERS), Text((start, top + 2), group.note, LETTERS))


def _dot(s: Sketch, foot: Point, tip: Point, radius: float, firm: bool) -> None:
    """A value's dot and its stem, which ends at the dot's edge so that a hollow one stays hollow."""
    rise = tip[1] - foot[1]
    if abs(rise) > radius:
        s.add("STEM", Line(foot, (tip[0], tip[1] - math.copysign(radius, rise))))
    s.add("POINT" if firm else "POINT_OPEN", Circle(tip, radius))


def _along(group: Group, start: float, end: float) -> list[float]:
    """x of every place, evenly by its number, a half step from the group's ends."""
    first, last = group.places[0], group.places[-1]
    step = (end - start) / (last - first + 1)
    return [start + (place - first + 0.5) * step for place in group.places]


def _named(group: Group, along: Sequence[float], wanted: Sequence[int]) -> Iterator[tuple[int, float]]:
    """Places that get their number: the most wanted first, as long as there is room between them."""
    places = dict(zip(group.places, along, strict=True))
    room = text_width("00", LETTERS) + 2.0
    chosen: list[float] = []
    for place in wanted:
        x = places.get(place)
        if x is not None and all(abs(x - other) >= room for other in chosen):
            chosen.append(x)
            yield place, x


def _levels(values: Sequence[float], steps: int) -> tuple[float, float, list[float], int]:
    """(lowest, highest, round levels, their decimals): room for the values and zero, two units at least,
    in no more than about so many steps."""
    low, high = min(0.0, *values), max(0.0, *values)
    lack = max(2.0 - (high - low), 0.0) / 2
    low, high = low - lack, high + lack
    rough = (high - low) / steps
    power = math.floor(math.log10(rough))
    step = next(factor * 10.0**power for factor in (1, 2, 5, 10) if factor * 10.0**power >= rough)
    first, last = math.floor(low / step + 0.2), math.ceil(high / step - 0.2)
    levels = [place * step for place in range(first, last + 1)]
    return (
        min(low, levels[0]) - 0.1 * step,
        max(high, levels[-1]) + 0.1 * step,
        levels,
        max(0, -math.floor(math.log10(step) + 1e-9)),
    )

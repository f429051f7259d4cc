"""Long rows of things under a wide and low drawing: tables in blocks side by side, numbers that thin out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templategen.drawing.layout import Laid, spread, table
from templategen.drawing.model import Box, Line, Point, Text

GAP = 8.0  # paper mm between blocks
FARTHEST = 12.0  # mm that a number may stand from what it numbers
STEPS = (1, 2, 3, 6, 12, 24, 36, 72)


def in_blocks(head: Sequence[str], rows: Sequence[Sequence[str]], at: Point, most_rows: int) -> Laid:
    """The rows under ``head``, at most so many to a block, in even blocks from left to right; top left ``at``."""
    count = max(1, -(-len(rows) // most_rows))
    size = -(-len(rows) // count)
    shapes: list[Line | Text] = []
    box = Box(at[0], at[1], at[0], at[1])
    left = at[0]
    for first in range(0, len(rows), size):
        laid = table([head, *rows[first : first + size]], (left, at[1]))
        shapes += laid.shapes
        box = box.joined(laid.box)
        left = laid.box.x1 + GAP
    return Laid(tuple(shapes), box)


@dataclass(frozen=True)
class Numbered:
    """Labels along a line: which of the places have one, and where it stands. step: every how manieth has."""

    step: int
    rows: tuple[int, ...]
    places: tuple[float, ...]


def numbered(wishes: Sequence[float], widths: Sequence[float], gap: float, always: int = 0) -> Numbered:
    """As many labels as can stand near their places, at least ``gap`` apart: every one, or every second, third, …

    wishes: rising. widths: of the labels. always: so many rows at the start that are not counted and keep theirs.
    """
    for step in STEPS:
        rows = [*range(always), *range(always + step - 1, len(wishes), step)]
        pitch = max(widths[row] for row in rows[always:] or rows) + gap
        places = spread([wishes[row] for row in rows], pitch)
        off = max(abs(wishes[row] - place) for row, place in zip(rows, places, strict=True))
        if off <= FARTHEST:
            break
    return Numbered(step, tuple(rows), tuple(places))

"""What stands under a wide and low drawing: rows of tables and words, tables in blocks, numbers that thin out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from templategen.drawing.layout import TEXT_HEIGHT, Laid, spread, table
from templategen.drawing.lettering import LINE_PITCH, wrapped
from templategen.drawing.model import Box, Line, Point, Polyline, Text, moved, shape_bounds

GAP = 8.0  # paper mm between blocks
PAGE_WIDTH = 162.0  # paper mm: what an office page has room for beside its ruler
CLOSE = 1.75  # rows of a block, in capital heights: low, to stand under a drawing
HANG = 6.0  # from a paragraph's number to its words
BETWEEN_PARAGRAPHS = 1.2
FARTHEST = 12.0  # mm that a number may stand from what it numbers
STEPS = (1, 2, 3, 6, 12, 24, 36, 72)


def blocks(head: Sequence[str], rows: Sequence[Sequence[str]], most_rows: int) -> list[Laid]:
    """The rows under ``head`` as even tables of at most so many rows each, all at the origin."""
    count = max(1, -(-len(rows) // most_rows))
    size = -(-len(rows) // count)
    return [
        table([head, *rows[first : first + size]], (0.0, 0.0), row_pitch=CLOSE) for first in range(0, len(rows), size)
    ]


def in_blocks(head: Sequence[str], rows: Sequence[Sequence[str]], at: Point, most_rows: int) -> Laid:
    """The same side by side as one, top left ``at``."""
    placed = in_rows(blocks(head, rows, most_rows), at, float("inf"), GAP)
    box = placed[0].box
    for laid in placed[1:]:
        box = box.joined(laid.box)
    return Laid(tuple(shape for laid in placed for shape in laid.shapes), box)


def words(lines: Sequence[str], at: Point, width: float) -> Laid:
    """Paragraphs broken at ``width``, the first line's top left corner at ``at``."""
    shapes: list[Line | Text] = []
    top = at[1]
    for paragraph in lines:
        for line in wrapped(paragraph, TEXT_HEIGHT, width):
            shapes.append(Text((at[0], top - TEXT_HEIGHT), line, TEXT_HEIGHT))
            top -= TEXT_HEIGHT * LINE_PITCH
    return Laid(tuple(shapes), Box(at[0], top, at[0] + width, at[1]))


def numbered_words(lines: Sequence[str], at: Point, width: float) -> Laid:
    """Paragraphs as a numbered list, each hung by its number, under ``at``; ``width`` over all."""
    shapes: list[Line | Text] = []
    x, base = at
    for number, paragraph in enumerate(lines, 1):
        for n, line in enumerate(wrapped(paragraph, TEXT_HEIGHT, width - HANG)):
            base -= TEXT_HEIGHT * LINE_PITCH
            if n == 0:
                shapes.append(Text((x, base), f"{number}", TEXT_HEIGHT, bold=True))
            shapes.append(Text((x + HANG, base), line, TEXT_HEIGHT))
        base -= BETWEEN_PARAGRAPHS
    return Laid(tuple(shapes), Box(x, base, x + width, at[1]))


def boxed(shapes: Sequence[Line | Polyline | Text]) -> Laid:
    """Shapes with the box around them."""
    box = shape_bounds(shapes[0])
    for shape in shapes[1:]:
        box = box.joined(shape_bounds(shape))
    return Laid(tuple(shapes), box)


def in_rows(items: Sequence[Laid], at: Point, width: float, gap: float = 10.0) -> list[Laid]:
    """The items moved side by side from ``at`` (top left), a new row where the next would reach past ``width``."""
    placed: list[Laid] = []
    left, top, low = at[0], at[1], at[1]
    for item in items:
        if left > at[0] and left + item.box.width > at[0] + width:
            left, top = at[0], low - gap / 2
        dx, dy = left - item.box.x0, top - item.box.y1
        shapes = [moved(shape, dx, dy) for shape in item.shapes]
        box = Box(left, top - item.box.height, left + item.box.width, top)
        placed.append(Laid(tuple(s for s in shapes if isinstance(s, Line | Polyline | Text)), box))
        left, low = box.x1 + gap, min(low, box.y0)
    return placed


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
        gaps = [(widths[a] + widths[b]) / 2 + gap for a, b in pairwise(rows)]
        places = spread([wishes[row] for row in rows], gaps)
        off = max(abs(wishes[row] - place) for row, place in zip(rows, places, strict=True))
        if off <= FARTHEST:
            break
    return Numbered(step, tuple(rows), tuple(places))

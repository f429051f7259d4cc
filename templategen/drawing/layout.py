"""What sheets share: tables, title blocks, check rulers, labels kept apart.

Every size here is paper mm; ``scale`` is the drawing's, and the shapes come out in its true mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, groupby
from typing import Literal

from templategen.drawing.lettering import LINE_PITCH, text_width
from templategen.drawing.model import Anchor, Box, Line, Point, Polyline, Text
from templategen.units import from_inches

TEXT_HEIGHT = 2.5
HEADING_HEIGHT = 3.5
TITLE_HEIGHT = 5.0
ROW_PITCH = 2.0  # table rows, in capital heights
CELL_PAD = 2.0  # beside a cell, at least
HEAD_SPARE = 0.08  # of a head, on both sides of it: DXF readers set wider type than was measured

RULER_MM = 100
RULER_INCHES = 4


@dataclass(frozen=True)
class Laid:
    """Shapes laid out, and the box that they fill (mm of the drawing)."""

    shapes: tuple[Line | Polyline | Text, ...]
    box: Box


# ----------------------------------------------------------------------------------------------- tables and titles


def table(
    rows: Sequence[Sequence[str]],
    at: Point,
    column_widths: Sequence[float] | None = None,
    height: float = TEXT_HEIGHT,
    scale: float = 1.0,
    head: bool = True,
    row_pitch: float = ROW_PITCH,
) -> Laid:
    """A table with its top left corner at ``at``: a bold head over a line, a line at the end, no other rules.

    column_widths: paper mm, or None for what the widest cell of each column needs. row_pitch: of the rows, in capital
    heights. Columns of figures stand to the right, words to the left.
    """
    if not rows:
        return Laid((), Box(at[0], at[1], at[0], at[1]))
    columns = max(len(row) for row in rows)
    cells = [[*row, *[""] * (columns - len(row))] for row in rows]
    heads = [text_width(cells[0][i], height, True) if head else 0.0 for i in range(columns)]
    widths = list(column_widths) if column_widths is not None else [
        max(heads[i], *(text_width(row[i], height) for row in cells[1 if head else 0 :]), 0.0)
        + 2 * max(CELL_PAD, HEAD_SPARE * heads[i])
        for i in range(columns)
    ]  # fmt: skip
    figures = [all(_is_figure(row[i]) for row in cells[1 if head else 0 :] if row[i]) for i in range(columns)]
    pitch = row_pitch * height
    total = sum(widths)

    def place(x: float, y: float) -> Point:
        return at[0] + x / scale, at[1] + y / scale

    shapes: list[Line | Text] = []
    for n, row in enumerate(cells):
        base = -(n + 1) * pitch + (pitch - height) / 2
        left = 0.0
        for i, cell in enumerate(row):
            if cell:
                x = left + widths[i] - CELL_PAD if figures[i] else left + CELL_PAD
                anchor: Anchor = "right" if figures[i] else "left"
                shapes.append(Text(place(x, base), cell, height, 0.0, anchor, bold=head and n == 0))
            left += widths[i]
    for row_end in ([1] if head else []) + [len(cells)]:
        shapes.append(Line(place(0, -row_end * pitch), place(total, -row_end * pitch)))
    bottom = place(total, -len(cells) * pitch)
    return Laid(tuple(shapes), Box(at[0], bottom[1], bottom[0], at[1]))


def title_block(
    lines: Sequence[str], at: Point, scale: float = 1.0, width: float | None = None, title_rows: int = 1
) -> Laid:
    """A title in large letters and further lines under it, top left corner at ``at``; a line above.

    width: of the line above, paper mm, or None for as wide as the text. title_rows: how many lines are the title.
    """
    heights = [TITLE_HEIGHT] * title_rows + [TEXT_HEIGHT] * (len(lines) - title_rows)
    texts = list(zip(lines, heights, strict=False))
    wide = width or max((text_width(t, h, h == TITLE_HEIGHT) for t, h in texts), default=0.0)
    shapes: list[Line | Text] = [Line(at, (at[0] + wide / scale, at[1]))]
    drop = 2.0
    for line, height in texts:
        drop += height
        shapes.append(Text((at[0], at[1] - drop / scale), line, height, bold=height == TITLE_HEIGHT))
        drop += height * (LINE_PITCH - 1)
    return Laid(tuple(shapes), Box(at[0], at[1] - drop / scale, at[0] + wide / scale, at[1]))


def _is_figure(text: str) -> bool:
    return not text.strip("+-−±0123456789./ –°")


# ---------------------------------------------------------------------------------------------------------- rulers


def ruler(
    at: Point, direction: Literal["across", "up"], scale: float = 1.0,
    mm: int = RULER_MM, inch: int = RULER_INCHES,
) -> tuple[Polyline | Text, ...]:  # fmt: skip
    """A ruler of ``mm`` millimetres on one side and ``inch`` inches on the other, zero at ``at``.

    Its line and its ticks are one path, like a comb. Its length is true on PAPER: ``scale`` divides it, for a drawing
    that is printed enlarged. It reaches 8 mm to each side of its line. Ticks: each mm, longer at 5 and 10; eighths of
    an inch, longer at halves and inches.
    """

    def place(along: float, side: float) -> Point:
        """``side`` is positive on the mm side: above a ruler that lies, left of one that stands."""
        u, v = along / scale, side / scale
        return (at[0] + u, at[1] + v) if direction == "across" else (at[0] - v, at[1] + u)

    def label(along: float, side: float, text: str) -> Text:
        if direction == "across":
            return Text(place(along, side), text, TEXT_HEIGHT, 0.0, "middle", "baseline" if side > 0 else "top")
        return Text(place(along, side), text, TEXT_HEIGHT, 0.0, "right" if side > 0 else "left", "middle")

    end = max(float(mm), from_inches(inch))
    shapes: list[Polyline | Text] = [Polyline(tuple(place(along, side) for along, side in _comb(mm, inch)))]
    shapes += [label(n, 4.0, str(n)) for n in range(0, mm + 1, 10)]
    shapes += [label(from_inches(n), -4.0, str(n)) for n in range(inch + 1)]
    if direction == "across":
        shapes.append(Text(place(end + 4, 4.0), "mm", TEXT_HEIGHT))
        shapes.append(Text(place(end + 4, -4.0), "in", TEXT_HEIGHT, level="top"))
    else:
        shapes.append(Text(place(end + 3, 1.0), "mm", TEXT_HEIGHT, anchor="right"))
        shapes.append(Text(place(end + 3, -1.0), "in", TEXT_HEIGHT))
    return tuple(shapes)


@cache
def _comb(mm: int, inch: int) -> tuple[Point, ...]:
    """Line and ticks of a ruler: (along, tip) from its zero."""
    ticks = [(float(n), 3.2 if n % 10 == 0 else 2.4 if n % 5 == 0 else 1.6) for n in range(mm + 1)]
    ticks += [(from_inches(n) / 8, -3.2 if n % 8 == 0 else -2.4 if n % 4 == 0 else -1.6) for n in range(8 * inch + 1)]
    comb = [(along, side) for along, tip in sorted(ticks) for side in (0.0, tip, 0.0)]
    return tuple(spot for spot, _ in groupby(comb))


# ------------------------------------------------------------------------------------------------------ labels


def spread(
    places: Sequence[float], pitch: float | Sequence[float], low: float | None = None, high: float | None = None
) -> list[float]:
    """Label positions as near to ``places`` as a minimum ``pitch`` between neighbours lets them be, order kept.

    pitch: one for all, or one from each label to the next in rising order. Least squares with ordered gaps: neighbours
    that would touch form a group, which stands about the mean of what its members want (pool adjacent violators).
    low, high: limits of the first and the last label, if any. Raises ValueError where the limits leave no room.
    """
    count = len(places)
    gaps = [pitch] * (count - 1) if isinstance(pitch, int | float) else list(pitch)
    steps = [0.0, *accumulate(gaps)][:count]  # of each rank from the first, packed as closely as may be
    if low is not None and high is not None and count and steps[-1] > high - low + 1e-9:
        raise ValueError(f"{count} labels that take {steps[-1]:g} do not fit between {low:g} and {high:g}")
    order = sorted(range(count), key=lambda i: (places[i], i))
    groups: list[tuple[float, int]] = []  # sum of wishes less their step, and members
    for i, step in zip(order, steps, strict=True):
        groups.append((places[i] - step, 1))
        while len(groups) > 1 and groups[-2][0] / groups[-2][1] > groups[-1][0] / groups[-1][1]:
            total, size = groups.pop()
            groups[-1] = groups[-1][0] + total, groups[-1][1] + size
    result = [0.0] * count
    rank = 0
    for total, size in groups:
        base = total / size
        if high is not None:
            base = min(base, high - steps[-1])
        if low is not None:
            base = max(base, low)
        for _ in range(size):
            result[order[rank]] = base + steps[rank]
            rank += 1
    return result

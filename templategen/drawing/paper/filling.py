"""Tables and words put where the tiles of a drawing leave room, so that they need no page of their own.

Terms
-----
free   a box of a page, page mm, that nothing stands in; an item takes its top left corner, and what is left to the
       right of it and under it stays free
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from templategen.drawing.model import Box, Drawing, Point

BETWEEN = 6.0  # mm from one item to the next


@dataclass(frozen=True)
class Filled:
    """placed: for each tile its items with the place of their lower left corner. left: what found no room."""

    placed: tuple[tuple[tuple[Drawing, Point], ...], ...]
    left: tuple[Drawing, ...]


def filled(items: Iterable[Drawing], free: Sequence[Sequence[Box]]) -> Filled:
    """Each item, in order, in the first free box that holds it. free: the boxes of every tile."""
    rooms = [list(boxes) for boxes in free]
    placed: list[list[tuple[Drawing, Point]]] = [[] for _ in rooms]
    left: list[Drawing] = []
    for item in items:
        size = item.bounds()
        for tile, boxes in enumerate(rooms):
            at = _taken(boxes, size.width, size.height)
            if at is not None:
                placed[tile].append((item, at))
                break
        else:
            left.append(item)
    return Filled(tuple(map(tuple, placed)), tuple(left))


def _taken(boxes: list[Box], width: float, height: float) -> Point | None:
    """The lower left corner of an item's place, its box parted; None where none is large enough."""
    for n, box in enumerate(boxes):
        if width <= box.width + 1e-9 and height <= box.height + 1e-9:
            low = box.y1 - height
            right = Box(box.x0 + width + BETWEEN, low, box.x1, box.y1)
            under = Box(box.x0, box.y0, box.x1, low - BETWEEN)
            boxes[n : n + 1] = [rest for rest in (right, under) if rest.x1 > rest.x0 and rest.y1 > rest.y0]
            return box.x0, low
    return None

"""What stands around a drawing on a page: rulers, boxes to write in, title row, words, tile map, registration marks.

All lengths are page mm, origin at the lower left corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, dist

from templategen.drawing.layout import TEXT_HEIGHT, ruler
from templategen.drawing.lettering import LINE_PITCH, text_width, wrapped
from templategen.drawing.model import Box, Circle, Line, Outline, Pen, Point, Sketch, Text

PENS = {
    "CHECK_RULER": Pen(0.18),
    "TILE_MARK": Pen(0.18),
    "TEXT": Pen(0.18),
}

LINE = LINE_PITCH * TEXT_HEIGHT
TITLE = 3.5
ROW = 5.8  # from the title's base line to the next
GAP = 6.0
UPRIGHT_WIDTH = 19.0  # the column that the upright ruler stands in
UPRIGHT_LENGTH = 107.0  # with its units
LYING_WIDTH = 118.0
LYING_HEIGHT = 19.0
BOX_PITCH = 6.5
WORDS_WIDTH = 60.0  # the narrowest column of words beside the rulers
WORDS_EACH = 88.0  # of several columns
WORDS_WIDEST = 140.0
FEWEST_LINES = 5  # before words go into a second column
MARK_REACH = 4.0  # half of a registration mark
NARROWEST = LYING_WIDTH  # a band


@dataclass(frozen=True)
class Paragraph:
    """A bold word or two, and what they are about."""

    head: str
    text: str


TypeLine = tuple[tuple[float, str, bool], ...]
"""One line of words: pieces as (indent, text, bold)."""


@dataclass(frozen=True)
class TileMap:
    """Columns and rows of tiles, and which one this is (zero-based; row 0 on top)."""

    columns: int
    rows: int
    column: int
    row: int


@dataclass(frozen=True)
class Band:
    """The strip along the foot of a page, laid out for one width; drawn once its place is known.

    The title row lies on top; under it a ruler and boxes to write in to the left, words to the right. The tile map
    stands in the title row, or under the boxes where it has several rows.
    """

    width: float
    title: str
    trace: str
    sheet: str
    paragraphs: tuple[Paragraph, ...]
    names: tuple[str, str]  # what the paper's directions are called: along the lying ruler, along the upright one
    map: TileMap | None = None

    @property
    def height(self) -> float:
        return self._head() + self._flow().reach

    def draw(self, sketch: Sketch, left: float, top: float) -> None:
        self._draw_head(sketch, left, top)
        top -= self._head()
        sketch.add("CHECK_RULER", *ruler((left + 3.0, top - 7.5), "across"))
        for row, (which, name) in enumerate(zip(("This ruler", "Upright ruler"), self.names, strict=True)):
            at = left + 3.0, top - LYING_HEIGHT - row * BOX_PITCH
            draw_boxes(sketch, at, f"{which}, {name}:", ("100 mm is", "4 in is"))
        if self.map is not None and not self._map_in_head:
            draw_map(sketch, self.map, left + 3.0, top - LYING_HEIGHT - 2 * BOX_PITCH - 2.0)
        flow = self._flow()
        for i, line in enumerate(flow.lines):
            column, row = divmod(i, ceil(len(flow.lines) / flow.columns))
            base = top - flow.top - TEXT_HEIGHT - row * LINE
            draw_words(sketch, line, left + flow.left + column * (flow.width + GAP), base)

    def _head(self) -> float:
        return 2.5 + TITLE + ROW + 3.5

    def _draw_head(self, sketch: Sketch, left: float, top: float) -> None:
        right = left + self.width
        sketch.add("TEXT", Line((left, top), (right, top)))
        if self.map is not None and self._map_in_head:
            right -= map_size(self.map)[0]
            draw_map(sketch, self.map, right, top - 2.0)
            right -= GAP / 2
        base = top - 2.5 - TITLE
        title = _cropped(self.title, TITLE, right - left, True)
        sketch.add("TEXT", Text((left, base), title, TITLE, bold=True))
        base -= ROW
        sketch.add("TEXT", Text((right, base), self.sheet, TITLE, anchor="right", bold=True))
        room = right - left - text_width(self.sheet, TITLE, True) - GAP
        sketch.add("TEXT", Text((left, base), _cropped(self.trace, TEXT_HEIGHT, room), TEXT_HEIGHT))

    @property
    def _map_in_head(self) -> bool:
        """A single row of tiles is low enough to stand in the title row."""
        return self.map is not None and self.map.rows == 1

    def _left_height(self) -> float:
        """Ruler, boxes and map."""
        below = map_size(self.map)[1] + 2.0 if self.map and not self._map_in_head else 0.0
        return LYING_HEIGHT + 2 * BOX_PITCH + below

    def _flow(self) -> _Flow:
        """The words beside the rulers, or under them where that is lower or there is no width beside."""
        ways = [self._flowing(0.0, self._left_height() + 2.0)]
        if self.width - LYING_WIDTH - GAP >= WORDS_WIDTH:
            ways.insert(0, self._flowing(LYING_WIDTH + GAP, 0.0))
        return min(ways, key=lambda flow: flow.reach)

    def _flowing(self, left: float, top: float) -> _Flow:
        room = self.width - left
        letters = sum(text_width(p.head + p.text, TEXT_HEIGHT) for p in self.paragraphs)
        count = min(int((room + GAP) // (WORDS_EACH + GAP)), ceil(letters / WORDS_EACH / FEWEST_LINES))
        count = max(1, count)
        width = min((room - (count - 1) * GAP) / count, WORDS_WIDEST)
        lines = set_words(self.paragraphs, width)
        return _Flow(left, top, count, width, lines, max(top + ceil(len(lines) / count) * LINE, self._left_height()))


@dataclass(frozen=True)
class _Flow:
    """Words set in columns: where they start under the head, and how far down the band reaches with them."""

    left: float
    top: float
    columns: int
    width: float
    lines: list[TypeLine]
    reach: float


def set_words(paragraphs: Sequence[Paragraph], width: float) -> list[TypeLine]:
    """Paragraphs in lines no wider than ``width``, each behind its bold head."""
    found: list[TypeLine] = []
    for paragraph in paragraphs:
        start = text_width(paragraph.head, TEXT_HEIGHT, True) + 1.6
        first, *rest = wrapped(paragraph.text, TEXT_HEIGHT, width, first=start) or ("",)
        found.append(((0.0, paragraph.head, True), (start, first, False)))
        found += [((0.0, line, False),) for line in rest]
    return found


def draw_words(sketch: Sketch, line: TypeLine, left: float, base: float) -> None:
    for indent, text, bold in line:
        if text:
            sketch.add("TEXT", Text((left + indent, base), text, TEXT_HEIGHT, bold=bold))


def draw_boxes(sketch: Sketch, at: Point, name: str, measures: Sequence[str]) -> None:
    """A row of empty boxes to write in, each behind what it is for; ``at`` is the row's top left corner."""
    left, top = at
    base = top - 4.5
    sketch.add("TEXT", Text((left, base), name, TEXT_HEIGHT))
    x = left + 45.0
    for measure in measures:
        sketch.add("TEXT", Text((x, base), measure, TEXT_HEIGHT))
        x += text_width(measure, TEXT_HEIGHT) + 1.5
        sketch.add("TEXT", Outline.rectangle(Box(x, top - 5.6, x + 15.0, top - 0.6)))
        x += 15.0 + 3.0


# -------------------------------------------------------------------------------------------------------- tile map


def map_size(tiles: TileMap) -> tuple[float, float]:
    wide, high = _cell(tiles)
    return tiles.columns * wide, tiles.rows * high


def _cell(tiles: TileMap) -> tuple[float, float]:
    return max(6.5, min(11.0, 44.0 / tiles.columns)), max(6.0, min(8.0, 24.0 / tiles.rows))


def draw_map(sketch: Sketch, tiles: TileMap, left: float, top: float) -> None:
    """A small picture of all tiles, numbered; this one has a second frame and a bold number."""
    wide, high = _cell(tiles)
    for row in range(tiles.rows):
        for column in range(tiles.columns):
            x, y = left + column * wide, top - row * high
            box = Box(x, y - high, x + wide, y)
            here = (column, row) == (tiles.column, tiles.row)
            sketch.add("TILE_MARK", Outline.rectangle(box))
            if here:
                sketch.add("TILE_MARK", Outline.rectangle(box.grown(-0.6)))
            number = str(row * tiles.columns + column + 1)
            at = x + wide / 2, y - high / 2
            sketch.add("TEXT", Text(at, number, TEXT_HEIGHT, anchor="middle", level="middle", bold=here))


# ----------------------------------------------------------------------------------------------------------- marks


def target(at: Point) -> tuple[Line | Circle, ...]:
    """A registration mark: a ring and a cross."""
    x, y = at
    return (
        Circle(at, 2.5),
        Line((x - MARK_REACH, y), (x + MARK_REACH, y)),
        Line((x, y - MARK_REACH), (x, y + MARK_REACH)),
    )


def dashed(start: Point, end: Point, on: float = 3.0, off: float = 1.5) -> tuple[Line, ...]:
    """A line in dashes of its own, whatever the layer's pen."""
    length = dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    lines = []
    at = 0.0
    while at < length:
        stop = min(at + on, length)
        lines.append(Line((start[0] + ux * at, start[1] + uy * at), (start[0] + ux * stop, start[1] + uy * stop)))
        at += on + off
    return tuple(lines)


def _cropped(text: str, height: float, width: float, bold: bool = False) -> str:
    """``text``, its end replaced by dots where it is wider than ``width``."""
    if text_width(text, height, bold) <= width:
        return text
    while text and text_width(text + "...", height, bold) > width:
        text = text[:-1]
    return text + "..."

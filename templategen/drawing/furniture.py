"""What stands around a drawing on a page: rulers, boxes to write in, title row, words, tile map, registration marks.

All lengths are page mm, origin at the lower left corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

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
GAP = 6.0
UPRIGHT_WIDTH = 19.0  # the column that the upright ruler stands in
UPRIGHT_LENGTH = 107.0  # with its units
LYING_WIDTH = 118.0
LYING_HEIGHT = 19.0
BOX_PITCH = 6.5
WORDS_WIDTH = 60.0  # the narrowest column of words beside the rulers
WORDS_WIDEST = 125.0
FEWEST_LINES = 8  # before words go into a second column
MARK_REACH = 4.0  # half of a registration mark
NARROWEST = LYING_WIDTH  # a band


@dataclass(frozen=True)
class Paragraph:
    """A bold word or two, and what they are about."""

    head: str
    text: str


Setting = tuple[tuple[float, str, bool], ...]
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

    The title row lies on top; under it a ruler, boxes to write in and the tile map to the left, words to the right.
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
        return self._head() + self._rows()[1]

    def draw(self, sketch: Sketch, left: float, top: float) -> None:
        self._draw_head(sketch, left, top)
        top -= self._head()
        sketch.add("CHECK_RULER", *ruler((left + 3.0, top - 7.5), "across"))
        for row, (which, name) in enumerate(zip(("This ruler", "Upright ruler"), self.names, strict=True)):
            at = left + 3.0, top - LYING_HEIGHT - row * BOX_PITCH
            draw_boxes(sketch, at, f"{which}, {name}:", ("100 mm is", "4 in is"))
        if self.map is not None:
            draw_map(sketch, self.map, left + 3.0, top - LYING_HEIGHT - 2 * BOX_PITCH - 2.0)
        words, _ = self._rows()
        column, columns, width = self._columns()
        for i, line in enumerate(words):
            place, row = divmod(i, ceil(len(words) / columns))
            base = top - self._words_top() - TEXT_HEIGHT - row * LINE
            draw_words(sketch, line, left + column + place * (width + GAP), base)

    def _head(self) -> float:
        return TITLE + 1.7 * TEXT_HEIGHT + 7.0

    def _draw_head(self, sketch: Sketch, left: float, top: float) -> None:
        right = left + self.width
        sketch.add("TEXT", Line((left, top), (right, top)))
        base = top - 2.5 - TITLE
        sketch.add("TEXT", Text((right, base), self.sheet, TITLE, anchor="right", bold=True))
        room = self.width - text_width(self.sheet, TITLE, True) - GAP
        sketch.add("TEXT", Text((left, base), _cropped(self.title, TITLE, room, True), TITLE, bold=True))
        base -= 1.7 * TEXT_HEIGHT
        sketch.add("TEXT", Text((left, base), _cropped(self.trace, TEXT_HEIGHT, self.width), TEXT_HEIGHT))

    @property
    def _stacked(self) -> bool:
        """Whether the words go under the rulers, for want of width beside them."""
        return self.width - LYING_WIDTH - GAP < WORDS_WIDTH

    def _left_height(self) -> float:
        """Ruler, boxes and map."""
        return LYING_HEIGHT + 2 * BOX_PITCH + (map_size(self.map)[1] + 2.0 if self.map else 0.0)

    def _words_top(self) -> float:
        return self._left_height() + 2.0 if self._stacked else 0.0

    def _columns(self) -> tuple[float, int, float]:
        """Where the words start, in how many columns, and how wide one is."""
        start = 0.0 if self._stacked else LYING_WIDTH + GAP
        room = self.width - start
        letters = sum(text_width(p.head + p.text, TEXT_HEIGHT) for p in self.paragraphs)
        count = min(int((room + GAP) // (WORDS_WIDEST + GAP)), ceil(letters / WORDS_WIDEST / FEWEST_LINES))
        count = max(1, count)
        return start, count, min((room - (count - 1) * GAP) / count, WORDS_WIDEST)

    def _rows(self) -> tuple[list[Setting], float]:
        """The lines of words, and the height of everything under the head."""
        _, columns, width = self._columns()
        words = set_words(self.paragraphs, width)
        reach = self._words_top() + ceil(len(words) / columns) * LINE
        return words, max(reach, self._left_height())


def set_words(paragraphs: Sequence[Paragraph], width: float) -> list[Setting]:
    """Paragraphs in lines no wider than ``width``, each behind its bold head."""
    found: list[Setting] = []
    for paragraph in paragraphs:
        start = text_width(paragraph.head, TEXT_HEIGHT, True) + 1.6
        first, *rest = wrapped(paragraph.text, TEXT_HEIGHT, width, first=start) or ("",)
        found.append(((0.0, paragraph.head, True), (start, first, False)))
        found += [((0.0, line, False),) for line in rest]
    return found


def draw_words(sketch: Sketch, line: Setting, left: float, base: float) -> None:
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
    """A level or upright line in dashes of its own, whatever the layer's pen."""
    length = abs(end[0] - start[0]) + abs(end[1] - start[1])
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    lines = []
    at = 0.0
    while at < length:
        stop = min(at + on, length)
        lines.append(
            Line((start[0] + ux * at, start[1] + uy * at), (start[0] + ux * stop, start[1] + uy * stop))
        )
        at += on + off
    return tuple(lines)


def _cropped(text: str, height: float, width: float, bold: bool = False) -> str:
    """``text``, its end replaced by dots where it is wider than ``width``."""
    if text_width(text, height, bold) <= width:
        return text
    while text and text_width(text + "...", height, bold) > width:
        text = text[:-1]
    return text + "..."

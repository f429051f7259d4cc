"""Which way to feed the paper, and which windows of a drawing go on which page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

from templategen.drawing.dimension import exploded
from templategen.drawing.model import Box, Circle, Dimension, Drawing, Point, Text, shape_bounds
from templategen.drawing.paper import furniture as kit
from templategen.drawing.paper.asides import parted, set_apart, together
from templategen.drawing.paper.filling import Filled, filled
from templategen.drawing.paper.furniture import Band, Paragraph, TileMap
from templategen.drawing.paper.instructions import cautions, paragraphs, scale_text, short_paragraphs
from templategen.drawing.paper.sizes import MARGIN, Feed, PaperError, PaperSize, feeds
from templategen.drawing.paper.tiles import OVERLAP, cover, cuts, uncovered
from templategen.geometry import Span

PAD = 1.0  # around a drawing, so that no pen is halved
ZONE = 9.0  # beside a tile's window, for registration marks and their words
SIDE = 5.0  # the same where only half a mark reaches out
WORDS = (124.0, kit.WORDS_EACH, kit.WORDS_WIDTH)  # widths that words beside a drawing are set in
BESIDE = 4.0  # from a window's zone to what stands beside it
HEADROOM = 4.0  # between the drawing and the band
DETAIL = 30.0  # longer lettering is a heading, which tiles may cut
ROLL_WIDTH = 280.0  # the narrowest page cut from a roll that lies on its side
ISO_SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)  # ISO 5455


@dataclass(frozen=True)
class Request:
    """What ``paginate`` was asked for."""

    drawing: Drawing
    paper: PaperSize
    ruler_measured: tuple[float, float]
    trace: str
    asides: tuple[Drawing, ...] = ()  # taken off the drawing, for a page of their own

    @property
    def bounds(self) -> Box:
        return self.drawing.bounds().grown(PAD / self.drawing.scale)

    def whole(self, axis: int) -> list[Span]:
        boxes = self.drawing.whole
        return [(box.x0, box.x1) if axis == 0 else (-box.y1, -box.y0) for box in boxes]

    def details(self, axis: int) -> list[Span]:
        """What short labels and circles take of an axis: an edge had better not cut them either."""
        spans = [(box.x0, box.x1) if axis == 0 else (-box.y1, -box.y0) for box in self._details]
        return [span for span in spans if span[1] - span[0] <= DETAIL]

    @cached_property
    def _details(self) -> tuple[Box, ...]:
        """The boxes around all labels and circles."""
        scale = self.drawing.scale
        shapes = [shape for layer in self.drawing.layers for shape in layer.shapes]
        parts = [p for s in shapes for p in (exploded(s, scale) if isinstance(s, Dimension) else (s,))]
        return tuple(shape_bounds(part, scale) for part in parts if isinstance(part, (Text, Circle)))


@dataclass(frozen=True)
class Tiling:
    """One way to lay a drawing out: windows in columns and rows (topmost first), all on pages of one size."""

    request: Request
    feed: Feed
    scale: float
    lean: bool
    width: float
    height: float
    columns: tuple[Span, ...]
    rows: tuple[Span, ...]
    crossed: bool = False
    lost: int = 0

    @property
    def count(self) -> int:
        return len(self.columns) * len(self.rows)

    @property
    def cost(self) -> tuple[float, ...]:
        """What is compared: nothing cut, then few pages, few joints, words beside the drawing, little paper."""
        paper = self.width * self.height
        rows = len(self.rows)
        pages = self.count + len(self.last_pages)
        return self.lost, self.crossed, pages, self.count, rows, self.lean, paper, self.feed.turned

    @property
    def upright_beside(self) -> bool:
        """On a page turned on its side the upright ruler has the page's whole height, and the band stands beside it."""
        return self.width > self.height

    @property
    def band_left(self) -> float:
        return MARGIN + (kit.UPRIGHT_WIDTH if self.upright_beside else 0.0)

    def band(self, tile: tuple[int, int] | None = (0, 0), where: str | None = None) -> Band:
        """The band of the page of one tile (column, row), or of a page that holds words only. where: to find what
        stands elsewhere, or what a page of words is called; None for words of the longest kind, to keep room for."""
        request = self.request
        column, row = tile or (-1, -1)
        tiles = TileMap(len(self.columns), len(self.rows), column, row) if self.count > 1 else None
        measured = request.ruler_measured
        words: tuple[Paragraph, ...]
        if tile is None:
            words = cautions(request.drawing)
        elif self.lean:
            where = _where(range(1, self.count + 1), "notes and tables") if where is None else where
            words = short_paragraphs(request.drawing, tiles, where)
        else:
            words = paragraphs(request.drawing, self.scale, tiles, measured, self.crossed, self.lost)
        sheet = [request.drawing.about] if request.drawing.about else []
        if tile is None:
            sheet.append(where or "")
        else:
            sheet.append(f"scale {scale_text(self.scale)}")
            sheet += [f"sheet {row * tiles.columns + column + 1} of {self.count}"] if tiles is not None else []
        width = self.width - MARGIN - self.band_left
        names = self.feed.names
        return Band(width, request.drawing.title, request.trace, "   ".join(sheet), words, names, tiles)

    def _set_words(self, wide: float) -> tuple[Drawing, ...]:
        """What a lean band has no room for, each paragraph by itself."""
        if not self.lean:
            return ()
        drawing, field = self.request.drawing, self.field(None)
        tiles = TileMap(len(self.columns), len(self.rows), -1, -1) if self.count > 1 else None
        words = paragraphs(drawing, self.scale, tiles, self.request.ruler_measured, self.crossed, self.lost)
        in_band = {paragraph.head for paragraph in short_paragraphs(drawing, tiles, "")}
        words = tuple(paragraph for paragraph in words if paragraph.head not in in_band)
        width = min(wide, field.width - 2 * PAD)
        return tuple(set_apart(drawing.name, drawing.title, words, width, field.height - 2 * PAD))

    def window(self, column: int, row: int) -> Box:
        """Of one tile, mm of the drawing."""
        (x0, x1), (top, foot) = self.columns[column], self.rows[row]
        return Box(x0, -foot, x1, -top)

    def window_at(self, column: int, row: int) -> Point:
        """Where its lower left corner lies, page mm: in the middle, or where something stands beside it, top left."""
        window, field = self.window(column, row), self.field()
        width, height = window.width * self.scale, window.height * self.scale
        if not (self.request.asides or self._set_words(WORDS[0])):
            return (field.x0 + field.x1 - width) / 2, (field.y0 + field.y1 - height) / 2
        side, end = self.zones()
        return field.x0 + side, field.y1 - end - height

    @cached_property
    def _fill(self) -> tuple[tuple[Drawing, ...], Filled]:
        """The words, as wide as leaves least without room, and where they and the tables stand, words first."""
        tiles = [(column, row) for row in range(len(self.rows)) for column in range(len(self.columns))]
        ways = []
        for wide in WORDS:
            words = self._set_words(wide)
            ways.append((words, filled((*words, *self.request.asides), [self._free(*tile) for tile in tiles])))
        return min(ways, key=lambda way: (len(tuple(self._laid(way[1].left))), len(way[1].left)))

    @property
    def filled(self) -> Filled:
        return self._fill[1]

    @cached_property
    def _words(self) -> frozenset[int]:
        """Which of the drawings beside the tiles are words, by identity."""
        return frozenset(map(id, self._fill[0]))

    def _laid(self, items: tuple[Drawing, ...]) -> Iterator[Drawing]:
        """Items on pages of their own: words first, then tables, highest first, in order where of one height."""
        field = self.field(None)
        room = Box(0.0, PAD - field.height, field.width - 2 * PAD, -PAD)
        while items:
            page = filled(items, [[room]])
            if not page.placed[0]:
                raise PaperError(f"{items[0].name}: a table larger than the page")
            yield together(page.placed[0])
            items = page.left

    def _free(self, column: int, row: int) -> list[Box]:
        """What a tile's page has left to the right of its window and under it."""
        window, field, (side, end) = self.window(column, row), self.field().grown(-PAD), self.zones()
        x, y = self.window_at(column, row)
        right, low = x + window.width * self.scale + side + BESIDE, y - end
        return [
            box
            for box in (Box(right, low, field.x1, field.y1), Box(field.x0, field.y0, field.x1, low - BESIDE))
            if box.x1 > box.x0 and box.y1 > box.y0
        ]

    def where(self, tile: int) -> str:
        """Where somebody at this tile finds what its band leaves out; empty where all of it is on this page."""
        words = self._words
        sheets = [n for n, items in enumerate(self.filled.placed) if any(id(item) in words for item, _ in items)]
        left = any(id(item) in words for item in self.filled.left)
        if not left and sheets == [tile]:
            return ""
        return _where([n + 1 for n in sheets], self.last_name if left else "")

    @property
    def last_name(self) -> str:
        """What the pages are called that hold what is not beside the drawing."""
        words, left = self._words, self.filled.left
        tables = any(id(item) not in words for item in left)
        return " and ".join(["notes"] * any(id(item) in words for item in left) + ["tables"] * tables)

    @cached_property
    def last_pages(self) -> tuple[Drawing, ...]:
        """What is on them: the words, then the asides, highest first, in order where they are of one height."""
        first = self._words
        left = sorted(self.filled.left, key=lambda item: (id(item) not in first, -round(item.bounds().height, 3)))
        return tuple(self._laid(tuple(left)))

    @cached_property
    def _heights(self) -> tuple[float, float]:
        """Of the band of a tile, and of a page that holds words only."""
        return self.band().height, self.band(None).height

    def field(self, tile: tuple[int, int] | None = (0, 0)) -> Box:
        """Where the drawing and the marks beside it may be, on the page of a tile or on a last page."""
        floor = MARGIN + self._heights[tile is None] + HEADROOM
        return Box(MARGIN + kit.UPRIGHT_WIDTH, floor, self.width - MARGIN, self.height - MARGIN)

    def holds_asides(self) -> bool:
        field = self.field(None)
        boxes = [aside.bounds().grown(PAD) for aside in self.request.asides]
        return all(box.width <= field.width and box.height <= field.height for box in boxes)

    def zones(self) -> tuple[float, float]:
        """What is kept clear beside a window and above and below it."""
        if self.count == 1:
            return 0.0, 0.0
        return (ZONE if len(self.rows) > 1 else SIDE), ZONE

    def fits(self) -> bool:
        field, (side, end) = self.field(), self.zones()
        upright = self.height - 2 * MARGIN if self.upright_beside else field.height
        return (
            self.band().width >= kit.NARROWEST
            and upright >= kit.UPRIGHT_LENGTH
            and _longest(self.columns) * self.scale + 2 * side <= field.width + 1e-9
            and _longest(self.rows) * self.scale + 2 * end <= field.height + 1e-9
        )


def _where(sheets: Iterable[int], page: str) -> str:
    """``"see sheets 1 and 2 and the page "tables""``."""
    numbers = [str(n) for n in sheets]
    many = f"sheets {', '.join(numbers[:-1])} and {numbers[-1]}" if len(numbers) > 1 else f"sheet {''.join(numbers)}"
    return "see " + " and ".join([many] * bool(numbers) + [f'the page "{page}"'] * bool(page))


def chosen(request: Request) -> Tiling:
    """The plan of least cost. Raises PaperError where none fits.

    Asides stay where they are if all fits one page, and leave the drawing if it does not.
    """
    drawing = request.drawing
    smaller = [scale for scale in ISO_SCALES if scale < drawing.scale] if drawing.scale != 1 else []
    ways = list(product(feeds(request.paper, request.ruler_measured), (False, True)))
    for scale in (drawing.scale, *smaller):
        if plans := [plan for feed, lean in ways if (plan := _single(request, feed, scale, lean))]:
            return _cheapest(plans)
    if drawing.scale == 1:
        rest, asides = parted(drawing)
        for tiled in (replace(request, drawing=rest, asides=asides), request) if asides else (request,):
            plans = [plan for feed, lean in ways if (plan := _single(tiled, feed, 1.0, lean))]
            plans += [plan for feed, lean in ways if (plan := _tiled(tiled, feed, lean))]
            if plans := [plan for plan in plans if plan.holds_asides()]:
                return _cheapest(plans)
    paper = request.paper
    raise PaperError(
        f"{drawing.name} cannot be laid out on paper of {paper.width:g} x {paper.height:g} mm: "
        "too small for its rulers and words"
    )


def _cheapest(plans: list[Tiling]) -> Tiling:
    return min(plans, key=lambda plan: plan.cost)


def _single(request: Request, feed: Feed, scale: float, lean: bool) -> Tiling | None:
    box = request.bounds
    if lean and not (request.drawing.notes or request.drawing.to_decide):
        return None
    plan = Tiling(request, feed, scale, lean, feed.width, feed.height, ((box.x0, box.x1),), ((-box.y1, -box.y0),))
    return _trimmed(plan) if plan.fits() else None


def _tiled(request: Request, feed: Feed, lean: bool) -> Tiling | None:
    for crossed in (False, True):
        plan = _tiles(request, feed, lean, crossed)
        if plan is None or plan.crossed == crossed:
            return plan
    return plan


def _tiles(request: Request, feed: Feed, lean: bool, crossed: bool) -> Tiling | None:
    """Windows and words depend on each other through the tile map's size, so the counts are raised until they hold.

    crossed: whether room is kept for the words about parts that an edge crosses.
    """
    box = request.bounds
    across, down = request.whole(0), request.whole(1)
    columns: tuple[Span, ...] = ((0.0, 0.0),) * 2
    rows: tuple[Span, ...] = ((0.0, 0.0),)
    while True:
        plan = Tiling(request, feed, 1.0, lean, feed.width, feed.height, columns, rows, crossed)
        field, (side, end) = plan.field(), plan.zones()
        room = field.width - 2 * side, field.height - 2 * end
        if min(room) <= 2 * OVERLAP:
            return None
        columns = _covered((box.x0, box.x1), room[0], across, request.details(0))
        rows = _covered((-box.y1, -box.y0), room[1], down, request.details(1))
        if len(columns) <= len(plan.columns) and len(rows) <= len(plan.rows):
            break
        columns = max(columns, plan.columns, key=len)
        rows = max(rows, plan.rows, key=len)
    lost = sum(bool(uncovered(columns, [x])) or bool(uncovered(rows, [y])) for x, y in zip(across, down, strict=True))
    cut = cuts(columns, across) + cuts(rows, down) > 0
    plan = replace(plan, columns=columns, rows=rows, crossed=cut, lost=lost)
    return _trimmed(plan) if plan.count > 1 and (plan.fits() or (cut and not crossed)) else None


def _covered(extent: Span, room: float, whole: list[Span], details: list[Span]) -> tuple[Span, ...]:
    """Spans that keep details whole too, where that costs no sheet and nothing that must be whole."""
    plain = cover(*extent, room, whole)
    kind = cover(*extent, room, [*whole, *details])
    worse = (cuts(kind, whole), len(uncovered(kind, whole))) > (cuts(plain, whole), len(uncovered(plain, whole)))
    return plain if worse or len(kind) > len(plain) else kind


def _trimmed(plan: Tiling) -> Tiling:
    """A page of a roll is no longer than it needs to be; other paper stays as it is."""
    if not plan.feed.roll:
        return plan
    side, end = plan.zones()
    field = plan.field()
    if plan.feed.turned:
        need = _longest(plan.columns) * plan.scale + 2 * side
        shorter = replace(plan, width=min(plan.width, max(ROLL_WIDTH, plan.width - field.width + need)))
    else:
        need = max(_longest(plan.rows) * plan.scale + 2 * end, kit.UPRIGHT_LENGTH)
        shorter = replace(plan, height=min(plan.height, plan.height - field.height + need))
    return shorter if shorter.fits() else plan


def _longest(spans: tuple[Span, ...]) -> float:
    return max(end - start for start, end in spans)

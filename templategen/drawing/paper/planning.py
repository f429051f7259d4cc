"""Which way to feed the paper, and which windows of a drawing go on which page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

from templategen.drawing.dimension import exploded
from templategen.drawing.model import Box, Circle, Dimension, Drawing, Text, shape_bounds
from templategen.drawing.paper import furniture as kit
from templategen.drawing.paper.asides import parted, set_in_columns, shelved
from templategen.drawing.paper.furniture import Band, Paragraph, TileMap
from templategen.drawing.paper.instructions import cautions, paragraphs, scale_text, short_paragraphs
from templategen.drawing.paper.sizes import MARGIN, Feed, PaperError, PaperSize, feeds
from templategen.drawing.paper.tiles import OVERLAP, cover, cuts, uncovered
from templategen.geometry import Span

PAD = 1.0  # around a drawing, so that no pen is halved
ZONE = 9.0  # beside a tile's window, for registration marks and their words
SIDE = 5.0  # the same where only half a mark reaches out
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

    def band(self, tile: tuple[int, int] | None = (0, 0)) -> Band:
        """The band of the page of one tile (column, row), or of a page that holds words only."""
        request = self.request
        column, row = tile or (-1, -1)
        tiles = TileMap(len(self.columns), len(self.rows), column, row) if self.count > 1 else None
        measured = request.ruler_measured
        words: tuple[Paragraph, ...]
        if tile is None:
            words = cautions(request.drawing)
        elif self.lean:
            words = short_paragraphs(request.drawing, tiles, self.last_name)
        else:
            words = paragraphs(request.drawing, self.scale, tiles, measured, self.crossed, self.lost)
        sheet = f"scale {scale_text(self.scale)}"
        if tile is None:
            sheet = self.last_name
        elif tiles is not None:
            sheet += f"   sheet {row * tiles.columns + column + 1} of {self.count}"
        width = self.width - MARGIN - self.band_left
        return Band(width, request.drawing.title, request.trace, sheet, words, self.feed.names, tiles)

    @property
    def last_name(self) -> str:
        """What the pages are called that hold what is not beside the drawing."""
        return " and ".join(["notes"] * self.lean + ["tables"] * bool(self.request.asides))

    @cached_property
    def last_pages(self) -> tuple[Drawing, ...]:
        """What is on them: the words, then the asides, highest first, in order where they are of one height."""
        request, field = self.request, self.field(None)
        width, height = field.width - 2 * PAD, field.height - 2 * PAD
        asides = sorted(request.asides, key=lambda aside: -round(aside.bounds().height, 3))
        if self.lean:
            asides = [*self._words(width, height), *asides]
        return tuple(shelved(asides, width, height))

    def _words(self, width: float, height: float) -> list[Drawing]:
        drawing = self.request.drawing
        tiles = TileMap(len(self.columns), len(self.rows), -1, -1) if self.count > 1 else None
        measured = self.request.ruler_measured
        words = paragraphs(drawing, self.scale, tiles, measured, self.crossed, self.lost)
        in_band = cautions(drawing)
        words = tuple(paragraph for paragraph in words if paragraph not in in_band)
        return set_in_columns(drawing.name, drawing.title, words, width, height)

    def field(self, tile: tuple[int, int] | None = (0, 0)) -> Box:
        """Where the drawing and the marks beside it may be, on the page of a tile or on a last page."""
        floor = MARGIN + self.band(tile).height + HEADROOM
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

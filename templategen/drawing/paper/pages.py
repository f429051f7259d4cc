"""A drawing laid out on paper: on one page, or in tiles to cut and tape.

A tile shows a window of a drawing too long for the paper, true size, never shrunk. The tile to the right is cut along
its left edge and laid over this one, whose print runs on under it; registration marks stand on that edge, outside the
drawing, on both. Rows, where a drawing is wider than the paper too, are joined the same way, top edge over row above.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from templategen.drawing.layout import TEXT_HEIGHT, ruler
from templategen.drawing.model import Box, Drawing, Point, Sketch, Text
from templategen.drawing.paper import furniture as kit
from templategen.drawing.paper.asides import untitled
from templategen.drawing.paper.calibration import calibration_page
from templategen.drawing.paper.planning import PAD, Request, Tiling, chosen
from templategen.drawing.paper.sizes import MARGIN, PAPERS, Page, PaperSize, Placement

__all__ = ["PAPERS", "Page", "PaperSize", "Placement", "calibration_page", "page_count", "paginate"]

MARK_AT = 5.0  # from a tile's window to the centre of a mark
LEAST_SIDED = 140.0  # width of a window that has room for a word between its marks
LINE_REACH = 8.5  # of the dashed line past the window


def paginate(
    drawing: Drawing,
    paper: PaperSize,
    ruler_measured: tuple[float, float] = (100.0, 100.0),
    trace: str = "",
) -> tuple[Page, ...]:
    """The pages that ``drawing`` takes on ``paper``.

    ruler_measured: what the printer's 100 mm rulers measure across and along the paper, mm; everything is stretched
    by 100 over it. trace: a line that says where the sheet came from (spec name and digest).

    One page, as fed or turned, where the drawing fits at its scale. A true-size drawing that does not fit is tiled,
    the way that takes fewest pages; one of another scale is reduced to the next ISO 5455 scale that fits, and says so.
    Words that would take the drawing's room, and the asides of a tiled drawing, go where the tiles leave room, the rest
    to last pages. A page of a roll is as long as it needs to be.
    Rulers of the drawing's own are left out, since every page has its own and a tile's edge might cut them.
    Raises PaperError for paper that cannot hold the rulers, ValueError for rulers more than 10 % off.
    """
    plan = _planned(drawing, paper, ruler_measured, trace)
    pages = [_page(plan, column, row) for row in range(len(plan.rows)) for column in range(len(plan.columns))]
    return (*pages, *_last_pages(plan))


def page_count(
    drawing: Drawing,
    paper: PaperSize,
    ruler_measured: tuple[float, float] = (100.0, 100.0),
    trace: str = "",
) -> int:
    """How many pages ``paginate`` would lay out, without doing so. Raises as it does."""
    plan = _planned(drawing, paper, ruler_measured, trace)
    return plan.count + len(plan.last_pages)


def _planned(drawing: Drawing, paper: PaperSize, ruler_measured: tuple[float, float], trace: str) -> Tiling:
    drawing = untitled(drawing)
    bare = replace(drawing, layers=tuple(layer for layer in drawing.layers if layer.name != "CHECK_RULER"))
    return chosen(Request(bare, paper, ruler_measured, trace))


def _page(plan: Tiling, column: int, row: int) -> Page:
    drawing, number = plan.request.drawing, row * len(plan.columns) + column
    placement = Placement(drawing, plan.window(column, row), plan.window_at(column, row), plan.scale)
    beside = (_beside(item, at) for item, at in plan.filled.placed[number])
    sketch = Sketch(kit.PENS)
    _draw_frame(plan, sketch, (column, row))
    if plan.count > 1:
        _draw_side_marks(plan, sketch, placement.box, column, row)
        _draw_end_marks(plan, sketch, placement.box, column, row)
        _draw_sides(sketch, placement.box, drawing.sides, row == 0, row == len(plan.rows) - 1)
    furniture = Drawing(f"{drawing.name}-{number + 1}", drawing.title, sketch.layers())
    return plan.feed.page(plan.width, plan.height, (placement, *beside), furniture)


def _beside(item: Drawing, at: Point) -> Placement:
    """Words or a table in a tile's free place."""
    box = item.bounds().grown(PAD)
    return Placement(item, box, (at[0] - PAD, at[1] - PAD))


def _draw_frame(plan: Tiling, sketch: Sketch, tile: tuple[int, int] | None, which: str = "") -> None:
    """Band and upright ruler; ``tile`` is None on a last page, and ``which`` the one of several."""
    where = plan.last_name if tile is None else plan.where(tile[1] * len(plan.columns) + tile[0])
    band = plan.band(tile, where)
    replace(band, sheet=band.sheet + which).draw(sketch, plan.band_left, MARGIN + band.height)
    foot = MARGIN if plan.upright_beside else plan.field(tile).y0
    middle = (foot + plan.height - MARGIN) / 2
    sketch.add("CHECK_RULER", *ruler((MARGIN + 10.0, middle - kit.UPRIGHT_LENGTH / 2 + 1.0), "up"))


def _draw_sides(sketch: Sketch, box: Box, sides: tuple[str, str] | None, top: bool, foot: bool) -> None:
    """What lies above the window and below it, in the middle between the marks."""
    if sides is None or box.width < LEAST_SIDED:
        return
    middle = (box.x0 + box.x1) / 2
    for text, y, here in ((sides[0], box.y1 + MARK_AT, top), (sides[1], box.y0 - MARK_AT, foot)):
        if here:
            sketch.add("TEXT", Text((middle, y), text, TEXT_HEIGHT, anchor="middle", level="middle", bold=True))


def _draw_side_marks(plan: Tiling, sketch: Sketch, box: Box, column: int, row: int) -> None:
    """The marks on the upright edges: this sheet's own left edge, and where the next sheet's will lie."""
    number = row * len(plan.columns) + column + 1
    clear = kit.MARK_REACH + 1.5
    level = MARK_AT + TEXT_HEIGHT / 2
    edges: list[float] = []
    if column > 0:
        edges.append(box.x0)
        at = box.x0 + clear, box.y1 + level - TEXT_HEIGHT
        sketch.add("TEXT", Text(at, f"cut here, lay over sheet {number - 1}", TEXT_HEIGHT))
        sketch.add("TILE_MARK", *kit.dashed((box.x0, box.y0 - LINE_REACH), (box.x0, box.y1 + LINE_REACH)))
    if column < len(plan.columns) - 1:
        edges.append(box.x0 + plan.columns[column + 1][0] - plan.columns[column][0])
        at = edges[-1] - clear, box.y0 - level
        sketch.add("TEXT", Text(at, f"edge of sheet {number + 1} here", TEXT_HEIGHT, anchor="right"))
    for x in edges:
        sketch.add("TILE_MARK", *kit.target((x, box.y0 - MARK_AT)), *kit.target((x, box.y1 + MARK_AT)))


def _draw_end_marks(plan: Tiling, sketch: Sketch, box: Box, column: int, row: int) -> None:
    """The same for the edge between rows; its marks stand at the far ends of the rows only."""
    edges: list[float] = []
    if row > 0:
        edges.append(box.y1)
        if column == 0:
            at = box.x0 + kit.MARK_REACH + 1.5, box.y1 + MARK_AT - TEXT_HEIGHT / 2
            sketch.add("TEXT", Text(at, "cut here, lay over the row above", TEXT_HEIGHT))
        sketch.add("TILE_MARK", *kit.dashed((box.x0 - LINE_REACH, box.y1), (box.x1 + LINE_REACH, box.y1)))
    if row < len(plan.rows) - 1:
        edges.append(box.y1 - (plan.rows[row + 1][0] - plan.rows[row][0]))
    sides = [box.x0 - MARK_AT] * (column == 0) + [box.x1 + MARK_AT] * (column == len(plan.columns) - 1)
    for y in edges:
        for x in sides:
            sketch.add("TILE_MARK", *kit.target((x, y)))


def _last_pages(plan: Tiling) -> Iterator[Page]:
    """Pages of the words and tables that found no room beside the drawing."""
    field = plan.field(None)
    for n, laid in enumerate(plan.last_pages, 1):
        box = laid.bounds().grown(PAD)
        sketch = Sketch(kit.PENS)
        _draw_frame(plan, sketch, None, "" if len(plan.last_pages) == 1 else f" {n} of {len(plan.last_pages)}")
        placement = Placement(laid, box, (field.x0, field.y1 - box.height))
        furniture = Drawing(f"{laid.name}-last-{n}", laid.title, sketch.layers())
        yield plan.feed.page(plan.width, plan.height, (placement,), furniture)

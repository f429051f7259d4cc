"""Pieces laid out on sheet stock with a packing library, kerf taken off."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from templategen.drawing.model import (
    Box,
    Circle,
    Drawing,
    Line,
    Outline,
    Point,
    Shape,
    Text,
    moved,
    shape_bounds,
)
from templategen.errors import OurBug
from templategen.parts.common import cautions
from templategen.parts.common.kerf import kerf_note
from templategen.parts.common.layers import sketch
from templategen.parts.common.offset import offset
from templategen.parts.common.product import Sheet
from templategen.spec.models import Shop

GAP = 3.0  # between pieces
MARGIN = 5.0  # kept free along the sheet's edges
STOCK = (600.0, 400.0)  # where the shop names no sheet
_STEP = 0.01  # mm; the packer works in whole numbers


@dataclass(frozen=True)
class Piece:
    """One part to be cut, finished size: a counterclockwise outline, round holes and engraving. name: in a sentence."""

    name: str
    outline: Outline
    holes: tuple[Circle, ...] = ()
    engraved: tuple[Shape, ...] = ()


@dataclass(frozen=True)
class Place:
    """Where a piece lies: its number, moved by (dx, dy) after a quarter turn where ``turned``."""

    piece: int
    dx: float
    dy: float
    turned: bool


def nest(boxes: Sequence[Box], size: tuple[float, float]) -> list[list[Place]]:
    """Lay upright boxes on as few sheets of ``size`` as the packer finds, ``GAP`` apart; one list of places a sheet.

    The packer: rectpack, largest side first, turning allowed. A box that no sheet can hold lies alone on a sheet of
    its own.
    """
    import rectpack

    room = tuple(side - 2 * MARGIN + GAP for side in size)
    sides = [(box.width + GAP, box.height + GAP) for box in boxes]
    fitting = [n for n, side in enumerate(sides) if _fits(side, room)]
    packer = rectpack.newPacker(sort_algo=rectpack.SORT_LSIDE, rotation=True)
    packer.add_bin(*(math.floor(side / _STEP) for side in room), count=float("inf"))
    for n in fitting:
        packer.add_rect(*(math.ceil(side / _STEP) for side in sides[n]), rid=n)
    packer.pack()
    sheets: dict[int, list[Place]] = {}
    for sheet, x, y, wide, _, n in packer.rect_list():
        turned = wide != math.ceil(sides[n][0] / _STEP)
        low = _turned_box(boxes[n]) if turned else boxes[n]
        sheets.setdefault(sheet, []).append(Place(n, MARGIN + x * _STEP - low.x0, MARGIN + y * _STEP - low.y0, turned))
    if sum(len(places) for places in sheets.values()) != len(fitting):
        raise OurBug("the packer lost a piece")
    laid = [sorted(places, key=lambda place: place.piece) for _, places in sorted(sheets.items())]
    alone = [n for n in range(len(boxes)) if n not in set(fitting)]
    return laid + [[Place(n, MARGIN - boxes[n].x0, MARGIN - boxes[n].y0, False)] for n in alone]


def nested(name: str, title: str, pieces: Sequence[Piece], shop: Shop, notes: Sequence[str]) -> tuple[Sheet, ...]:
    """Cut drawings, one per sheet: ``name``, ``name-2`` …; the beam's kerf taken off and stated in the notes."""
    warned = cautions.lines(cautions.ROUTING)
    kerf = shop.beam_kerf
    size, whose = ((shop.sheet.width, shop.sheet.height), "the shop's ") if shop.sheet else (STOCK, "")
    outlines = [offset(piece.outline, kerf / 2) for piece in pieces]
    boxes = [shape_bounds(outline) for outline in outlines]
    sheets = []
    layout = nest(boxes, size)
    for number, places in enumerate(layout, 1):
        s = sketch()
        for place in places:
            piece, put = pieces[place.piece], _placing(place)
            s.add("OUTLINE", put(outlines[place.piece]))
            s.add("DOWEL", *(put(replace(hole, radius=hole.radius - kerf / 2)) for hole in piece.holes))
            s.add("ENGRAVE", *(put(shape) for shape in piece.engraved))
        stem = name if number == 1 else f"{name}-{number}"
        stock = f"sheet {number} of {len(layout)}, {size[0]:g} x {size[1]:g} mm"
        if len(places) == 1 and not _fits_sheet(boxes[places[0].piece], size):
            stock = f"sheet {number} of {len(layout)}, larger than {whose}{size[0]:g} x {size[1]:g} mm"
        said = (kerf_note(kerf), f"{stock}.".capitalize(), *notes)
        drawing = Drawing(stem, title, s.layers(), "cut", notes=said, cautions=warned)
        sheets.append(Sheet(stem, drawing, ("dxf", "svg")))
    return tuple(sheets)


def beyond_sheet(pieces: Iterable[tuple[str, Box]], shop: Shop) -> dict[str, Any] | None:
    """What a finding says of pieces (names and boxes, finished size) that the shop's sheet cannot hold; None where it
    holds all of them or the shop names no sheet."""
    if shop.sheet is None:
        return None
    size = shop.sheet.width, shop.sheet.height
    large = [
        {"name": name, "size": [box.width, box.height]}
        for name, box in pieces
        if not _fits_sheet(box.grown(shop.beam_kerf / 2), size)
    ]
    if not large:
        return None
    return {"large": large, "sheet": list(size), "margin": MARGIN}


def turned(shape: Shape) -> Shape:
    """The shape turned by a quarter, counterclockwise about the origin."""

    def turn(point: Point) -> Point:
        return -point[1], point[0]

    match shape:
        case Line(start, end):
            return Line(turn(start), turn(end))
        case Circle(centre, radius):
            return Circle(turn(centre), radius)
        case Outline(points, bulges):
            return Outline(tuple(turn(p) for p in points), bulges)
        case Text():
            return replace(shape, at=turn(shape.at), angle_deg=shape.angle_deg + 90.0)
    raise OurBug(f"a {type(shape).__name__.lower()} is not turned here")


def _placing(place: Place) -> Callable[[Shape], Shape]:
    def put(shape: Shape) -> Shape:
        return moved(turned(shape) if place.turned else shape, place.dx, place.dy)

    return put


def _turned_box(box: Box) -> Box:
    return Box(-box.y1, box.x0, -box.y0, box.x1)


def _fits(side: tuple[float, ...], room: tuple[float, ...]) -> bool:
    return max(side) <= max(room) and min(side) <= min(room)


def _fits_sheet(box: Box, size: tuple[float, float]) -> bool:
    return _fits((box.width + GAP, box.height + GAP), tuple(side - 2 * MARGIN + GAP for side in size))

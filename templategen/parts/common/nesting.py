"""Pieces laid out on sheet stock with a packing library."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from templategen.drawing.model import (
    Box,
    Circle,
    Line,
    Outline,
    Point,
    Shape,
    Sketch,
    Text,
    moved,
    shape_bounds,
)
from templategen.errors import OurBug
from templategen.parts.common import cut
from templategen.parts.common.about import About
from templategen.parts.common.product import Sheet
from templategen.spec.models import Shop
from templategen.units import mm_text

GAP = 3.0  # between pieces
CUTTING_OUT = 10.0  # wider end mills plane, they do not cut parts out
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
class Nested:
    """Where a piece lies: its number, moved by (dx, dy) after a quarter turn where ``turned``."""

    piece: int
    dx: float
    dy: float
    turned: bool


def nest(boxes: Sequence[Box], size: tuple[float, float], gap: float = GAP) -> list[list[Nested]]:
    """Lay upright boxes on as few sheets of ``size`` as the packer finds, ``gap`` apart; one list of places a sheet.

    The packer: rectpack, largest side first, turning allowed. A box that no sheet can hold lies alone on a sheet of
    its own.
    """
    import rectpack

    room = tuple(side - 2 * MARGIN + gap for side in size)
    sides = [(box.width + gap, box.height + gap) for box in boxes]
    fitting = [n for n, side in enumerate(sides) if _fits(side, room)]
    packer = rectpack.newPacker(sort_algo=rectpack.SORT_LSIDE, rotation=True)
    packer.add_bin(*(math.floor(side / _STEP) for side in room), count=float("inf"))
    for n in fitting:
        packer.add_rect(*(math.ceil(side / _STEP) for side in sides[n]), rid=n)
    packer.pack()
    sheets: dict[int, list[Nested]] = {}
    for sheet, x, y, wide, _, n in packer.rect_list():
        turned = wide != math.ceil(sides[n][0] / _STEP)
        low = _turned_box(boxes[n]) if turned else boxes[n]
        sheets.setdefault(sheet, []).append(Nested(n, MARGIN + x * _STEP - low.x0, MARGIN + y * _STEP - low.y0, turned))
    if sum(len(places) for places in sheets.values()) != len(fitting):
        raise OurBug("the packer lost a piece")
    laid = [sorted(places, key=lambda place: place.piece) for _, places in sorted(sheets.items())]
    alone = [n for n in range(len(boxes)) if n not in set(fitting)]
    return laid + [[Nested(n, MARGIN - boxes[n].x0, MARGIN - boxes[n].y0, False)] for n in alone]


def nested(name: str, title: str, pieces: Sequence[Piece], shop: Shop, about: About) -> tuple[Sheet, ...]:
    """Cut drawings, one per sheet: ``name``, ``name-2`` …, each in finished size and, with the shop's kerf, for the
    beam; pieces lie in the same places on both."""
    size, whose = ((shop.sheet.width, shop.sheet.height), "the shop's ") if shop.sheet else (STOCK, "")
    boxes = [shape_bounds(piece.outline).grown(shop.beam_kerf / 2) for piece in pieces]
    found: list[Sheet] = []
    layout = nest(boxes, size, gap_of(shop))

    def sketched(places: Sequence[Nested], kerf: float) -> Sketch:
        s = cut.sketch()
        for place in places:
            piece, put = pieces[place.piece], _placing(place)
            s.add("OUTLINE", put(piece.outline.offset(kerf / 2)))
            s.add("HOLE", *(put(replace(hole, radius=hole.radius - kerf / 2)) for hole in piece.holes))
            s.add("ENGRAVE", *(put(shape) for shape in piece.engraved))
        return s

    for number, places in enumerate(layout, 1):
        stem = name if number == 1 else f"{name}-{number}"
        stock = f"sheet {number} of {len(layout)}, {size[0]:g} x {size[1]:g} mm"
        if len(places) == 1 and not _fits_sheet(boxes[places[0].piece], size, gap_of(shop)):
            stock = f"sheet {number} of {len(layout)}, larger than {whose}{size[0]:g} x {size[1]:g} mm"
        told = f"{stock}; pieces lie {mm_text(gap_of(shop))} mm apart, for a cutter no wider".capitalize()
        more = replace(about, more=(f"{told}.", *about.more))
        found += cut.sheets(stem, title, partial(sketched, places), shop, more)
    return tuple(found)


def gap_of(shop: Shop) -> float:
    """What is kept between pieces, mm: ``cut_gap``; or a millimetre more than the shop's widest flat end mill that is
    no wider than CUTTING_OUT, and at least GAP."""
    if shop.cut_gap is not None:
        return shop.cut_gap
    mills = [mill.diameter for mill in shop.cutters if mill.shape == "flat" and mill.diameter is not None]
    return max([GAP, *(mill + 1.0 for mill in mills if mill <= CUTTING_OUT)])


def beyond_sheet(pieces: Iterable[tuple[str, Box]], shop: Shop) -> dict[str, Any] | None:
    """What a finding says of pieces (names and boxes, finished size) that the shop's sheet cannot hold; None where it
    holds all of them or the shop names no sheet."""
    if shop.sheet is None:
        return None
    size = shop.sheet.width, shop.sheet.height
    large = [
        {"name": name, "size": [box.width, box.height]}
        for name, box in pieces
        if not _fits_sheet(box.grown(shop.beam_kerf / 2), size, gap_of(shop))
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


def _placing(place: Nested) -> Callable[[Shape], Shape]:
    def put(shape: Shape) -> Shape:
        return moved(turned(shape) if place.turned else shape, place.dx, place.dy)

    return put


def _turned_box(box: Box) -> Box:
    return Box(-box.y1, box.x0, -box.y0, box.x1)


def _fits(side: tuple[float, ...], room: tuple[float, ...]) -> bool:
    return max(side) <= max(room) and min(side) <= min(room)


def _fits_sheet(box: Box, size: tuple[float, float], gap: float) -> bool:
    return _fits((box.width + gap, box.height + gap), tuple(side - 2 * MARGIN + gap for side in size))

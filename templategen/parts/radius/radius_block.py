"""The radius block: profile, solid, drawing and ribs; block frame (x across, z up from the flat back, y along).

Terms
-----
face     the side that holds the abrasive, hollow or convex: the only arc of the profile, the only cylinder of the solid
recess   a 45° hollow in each side for the fingers; its flanks print without support, the block standing on its back
tuck     a slot in each side, falling inward: the paper folds over the face's edge into it and a cord holds it
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templategen.drawing.model import Circle, Outline, Point, Shape, Sketch, shape_bounds
from templategen.findings.catalogue import Fact, fact
from templategen.geometry import arc_bulge, arc_drop, sagitta
from templategen.instrument.model import Instrument
from templategen.instrument.tools.block import Block, Ribs
from templategen.parts.common import cut, digits
from templategen.parts.common.engraving import lettering, radius_line
from templategen.parts.common.faces import back_bevels, mirrored, standing
from templategen.parts.common.nesting import Piece, beyond_sheet, nested
from templategen.parts.common.offset import offset
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.common.work import Work
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

NAME = "radius-block"
BEAM = "straight-beam"
RIB = "a rib of the radius block"
BEAM_WIDTH, BEAM_HEIGHT = 32.0, 32.0
BACK_BEVEL = 1.0  # the back's long edges, on profile and solid
FACE_BEVEL = 0.5  # the face's edges, on the solid: ribs and a sawn block are broken by hand
RECESS_DEPTH = 4.0
RECESS_MOST = 18.0  # height of a recess
RECESS_LEAST = 11.0
TUCK_WIDTH = 2.2
TUCK_LENGTH = 5.0
LAND = 3.0  # least wood between openings in a side
FACE_LAND = 4.0  # between the face's edge and the tuck
GROOVED_WIDTH = 30.0  # a narrower block has plain sides
OVER = 1.0  # how far tools overshoot an end
ENGRAVED = 3.5
FIGURES, FIGURES_LEAST = 5.0, 3.0  # height on the solid; smaller ones would close up in a print
ENGRAVED_LEAST = 1.2


def make(work: Work) -> tuple[Product, ...]:
    """The block; a cone's straight beam besides; ribs where the spec asks for them."""
    instrument = work.instrument
    from templategen.parts.radius.radius_block_drawing import draw

    block = instrument.block
    products: list[Product] = []
    if block is not None:
        products += [
            *cut_sheets(instrument, block),
            Sheet(NAME, lambda: draw(instrument, block), ("pdf",)),
            Body(NAME, lambda: solid(instrument, block), ("step", "stl")),
        ]
        if block.ribs is not None:
            products += ribs(instrument, block, block.ribs)
    if instrument.board.law.conical:
        products.append(Body(BEAM, lambda: beam(instrument), ("step", "stl")))
    return tuple(products)


# ---------------------------------------------------------------------------------------------------------- profile


@dataclass(frozen=True)
class Face:
    """radius: infinite where flat. convex: round rather than hollow."""

    radius: float
    convex: bool = False


def profile(width: float, height: float, radius: float, eased: float = 0.0, convex: bool = False) -> Outline:
    """The closed section, counterclockwise from the back's left: back, side, face, side; ``height`` over all. The face
    is the only arc, a straight line where the radius is infinite. It reaches over the whole width, less a bevel of
    ``eased`` on each of its edges."""
    half, depth = width / 2, sagitta(radius, width)
    side = height - depth if convex else height
    inner = float(arc_drop(radius, half - eased))
    face = height - inner if convex else height - depth + inner
    right = [(half - BACK_BEVEL, 0.0), *_right_side(half, side)]
    right += [(half, min(face, side) - eased), (half - eased, face)] if eased else [(half, side)]
    return mirrored(right, radius, convex)


def block_profile(block: Block) -> Outline:
    return profile(block.width, block.height, block.radius, convex=block.convex)


def recess(width: float, height: float) -> tuple[float, float] | None:
    """Lower and upper edge of the finger recesses in sides of that height, or None where they are too low or the block
    too narrow."""
    low, high = BACK_BEVEL + LAND, _tuck_low(height) - LAND
    if width < GROOVED_WIDTH or high - low < RECESS_LEAST:
        return None
    middle, tall = (low + high) / 2, min(high - low, RECESS_MOST)
    return middle - tall / 2, middle + tall / 2


def tuck(width: float, height: float) -> tuple[float, float] | None:
    """Lower and upper edge of the tucks' openings, or None as for the recess."""
    low = _tuck_low(height)
    deepest = low - (TUCK_LENGTH - TUCK_WIDTH) / math.sqrt(2)
    if width < GROOVED_WIDTH or deepest < BACK_BEVEL + LAND:
        return None
    return low, height - FACE_LAND


def _tuck_low(height: float) -> float:
    return height - FACE_LAND - TUCK_WIDTH * math.sqrt(2)


def _right_side(half: float, height: float) -> list[Point]:
    """The side from the back's bevel up to below the face's edge."""
    points: list[Point] = [(half, BACK_BEVEL)]
    fingers, paper = recess(2 * half, height), tuck(2 * half, height)
    if fingers is not None:
        low, high = fingers
        points += [
            (half, low),
            (half - RECESS_DEPTH, low + RECESS_DEPTH),
            (half - RECESS_DEPTH, high - RECESS_DEPTH),
            (half, high),
        ]
    if paper is not None:
        low, high = paper
        run, across = TUCK_LENGTH / math.sqrt(2), TUCK_WIDTH / math.sqrt(2)
        points += [(half, low), (half - run + across, high - run - across), (half - run, high - run), (half, high)]
    return points


# ------------------------------------------------------------------------------------------------------------- solid


def solid(i: Instrument, block: Block) -> Solid:
    """The block, standing on its back, with one true cylinder for its face; its radius is engraved on one end."""
    face = Face(block.radius, block.convex)
    return bar(block.width, block.height, block.length, face, name_of(i, block), figures(block))


def figures(block: Block) -> tuple[digits.Bar, ...]:
    """What is engraved on the solid, in figures: the radius, and under it the abrasive that it allows for; mm. None on
    a flat block or where they would be too small for the groove."""
    if block.flat:
        return ()
    lines = (mm_text(block.radius), f"{'-' if block.convex else '+'}{mm_text(block.abrasive_thickness)}")
    wide = block.width - 2 * max(RECESS_DEPTH, TUCK_LENGTH / math.sqrt(2)) - 6.0
    tall = min(FIGURES, (block.least_back - 2 * BACK_BEVEL) / 3.2, *(wide / digits.width(line, 1.0) for line in lines))
    if tall < FIGURES_LEAST:
        return ()
    middle = block.least_back / 2
    upper, lower = (0.0, middle + 0.85 * tall), (0.0, middle - 0.85 * tall)
    return (*digits.bars(lines[0], upper, tall), *digits.bars(lines[1], lower, tall))


def name_of(i: Instrument, block: Block) -> str:
    radius = "flat" if block.flat else f"{'convex ' if block.convex else ''}R {mm_text(block.radius)}"
    return f"{i.spec.title} | radius block {radius} | mm"


def bar(width: float, height: float, length: float, face: Face, name: str, marks: tuple[digits.Bar, ...] = ()) -> Solid:
    """A prism of the profile along y, every edge of face and back bevelled, ``marks`` cut into its end at y = 0.

    The bevels at the ends of a hollow face are cones about its axis.
    """
    from templategen.solids import combine

    whole = standing(profile(width, height, face.radius, FACE_BEVEL, face.convex), length, name)
    ends = ((0.0, 1.0), (length, -1.0))
    face_bevels = (_end_bevel(width, height, face, end, inward) for end, inward in ends)
    return combine.cut(whole, (*digits.grooves(marks), *back_bevels(length, BACK_BEVEL), *face_bevels))


def _end_bevel(width: float, height: float, face: Face, end: float, inward: float) -> Solid:
    """The tool for the bevel at one end of the face: a plane, a cone about a hollow face's axis, or the space over a
    convex face moved inward and up.
    """
    # A cone outside a convex face would do too, but the kernel loses it where the face's radius is more than 3 m.
    from templategen.solids import make as solids
    from templategen.solids.shape import Frame

    radius, start, through = face.radius, end - inward * OVER, FACE_BEVEL + OVER
    if math.isinf(radius):
        return solids.half_space((0.0, end, height - FACE_BEVEL), (0.0, -inward, 1.0))
    if not face.convex:
        axis = (0.0, start, height - sagitta(radius, width) + radius)
        return solids.cone_tool(axis, (0.0, inward, 0.0), radius + through, radius, through, (0.0, 0.0, 1.0))
    half = width / 2 + OVER
    low, top = height - float(arc_drop(radius, half)) - through, height + OVER
    left, right = (-half, low), (half, low)
    over = Outline((left, right, (half, top), (-half, top)), (arc_bulge(left, right, radius), 0.0, 0.0, 0.0))
    run = through + OVER
    return solids.prism(over, (0.0, inward * run, run), Frame.xz(start))


def beam(i: Instrument) -> Solid:
    """The straight beam that sands a cone along its string lines: flat-faced, as long as the board."""
    return bar(BEAM_WIDTH, BEAM_HEIGHT, math.ceil(i.plan.end_x), Face(math.inf), f"{i.spec.title} | straight beam | mm")


# ----------------------------------------------------------------------------------------------------------- to cut


def engraving(block: Block) -> tuple[str, ...]:
    """What stands on the block: its radius in both units, and what it is made of."""
    if block.flat:
        return (f"FLAT, paper {mm_text(block.abrasive_thickness)}",)
    if block.convex:
        made = [f"CONVEX: board {mm_text(block.board_radius)} - paper {mm_text(block.abrasive_thickness)}"]
        return radius_line(block.radius), *made, *_station(block)
    crown = block.work_radius - block.board_radius
    parts = [f"board {mm_text(block.board_radius)}"]
    parts += [f"crown {mm_text(crown)}"] if crown else []
    parts += [f"paper {mm_text(block.abrasive_thickness)}"]
    return radius_line(block.radius), " + ".join(parts), *_station(block)


def _station(block: Block) -> tuple[str, ...]:
    return () if block.fits_everywhere else (f"at {station_name(block.at)}",)


def station_name(at: str | int) -> str:
    """``"nut"``, ``"last fret"`` or ``"fret 5"``."""
    return {"nut": "nut", "last": "last fret"}.get(str(at), f"fret {at}")


def engraved(block: Block, lines: tuple[str, ...], most: float = math.inf) -> tuple[Shape, ...]:
    """Lines of text within the profile and no wider than ``most``, smaller where there is little room, none where
    they would be unread."""
    paper = tuck(block.width, block.side_height)
    aside = TUCK_LENGTH / math.sqrt(2) if paper is not None else BACK_BEVEL
    if recess(block.width, block.side_height) is not None:
        aside = max(aside, RECESS_DEPTH)
    wide = min(block.width - 2 * aside - 4.0, most)
    tall = block.least_back - 2 * BACK_BEVEL
    return lettering(lines, (0.0, block.least_back / 2), wide, tall, ENGRAVED, ENGRAVED_LEAST)


def cut_sheets(i: Instrument, block: Block) -> tuple[Sheet, ...]:
    """The profile and what is engraved on its end; finished size and beam size."""

    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", offset(block_profile(block), kerf / 2))
        s.add("ENGRAVE", *engraved(block, engraving(block)))
        return s

    notes = (
        radius_note(block),
        f"Material: as long as the block, {mm_text(block.length)} mm, or slices that make it up.",
        cut.THROUGH,
        f"Datum: x = 0 in the middle, y = 0 on the back. Job: {i.spec.title}; {i.trace}.",
    )
    return cut.sheets(NAME, f"{i.spec.title}: radius block, profile to cut", sketched, i.shop, notes)


def ribs(i: Instrument, block: Block, asked: Ribs) -> tuple[Sheet, ...]:
    """All slices of a laminated block on the shop's sheet, dowel holes in line."""
    hole = asked.dowel + i.shop.dowel_clearance
    holes = tuple(Circle(at, hole / 2) for at in asked.holes)
    radius = "FLAT" if block.flat else f"R {mm_text(block.radius)}"
    between = min((2 * (x - asked.dowel / 2) - 3.0 for x, _ in asked.holes if x > 0), default=math.inf)
    drill = (f"{len(holes)} x dowel {mm_text(asked.dowel)}",) if holes else ()
    said = engraved(block, (radius, *drill), between) or engraved(block, (radius,), between)
    piece = Piece(RIB, block_profile(block), holes, said)
    dowels = (
        f"on {len(holes)} dowels of {both_units(asked.dowel)}"
        if holes
        else "without dowels, the block being too thin for them"
    )
    if holes:
        dowels += f", in holes of {mm_text(hole)} mm"
    notes = (
        f"{asked.count} ribs of {mm_text(asked.thickness)} mm sheet make a stack {mm_text(asked.stack_length)} mm "
        f"long, {dowels}.",
        radius_note(block),
        f"Job: {i.spec.title}; {i.trace}.",
    )
    title = f"{i.spec.title}: ribs of the radius block, to cut"
    return nested("radius-ribs", title, [piece] * asked.count, i.shop, notes)


def findings(i: Instrument) -> Iterator[Fact]:
    """Ribs that the shop's sheet cannot hold."""
    if i.block is None or i.block.ribs is None:
        return
    told = beyond_sheet([(RIB, shape_bounds(block_profile(i.block)))], i.shop)
    if told is not None:
        yield fact("rib-beyond-sheet", "radius_block.rib_thickness", count=i.block.ribs.count, **told)


def radius_note(block: Block) -> str:
    """What the arc is, for notes beside the files."""
    if block.flat:
        return "The face is flat."
    what = "taken off, the face being convex" if block.convex else "included"
    return f"The one arc has {both_units(block.radius)}: abrasive {mm_text(block.abrasive_thickness)} mm {what}."

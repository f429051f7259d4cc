"""The radius block: solid, what is cut, and ribs; a cone's straight beam. Its profile: ``radius_block_shape``."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from templategen.drawing.model import Circle, Outline, Sketch, shape_bounds
from templategen.findings.catalogue import Fact, fact
from templategen.geometry import arc_bulge, arc_drop, sagitta
from templategen.instrument.model import Instrument
from templategen.instrument.tools.block import Block, Ribs
from templategen.parts.common import cautions, cut, digits
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.common.faces import back_bevels, standing, under_back_bevels
from templategen.parts.common.named import product_name
from templategen.parts.common.nesting import Piece, beyond_sheet, nested
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.common.work import Work
from templategen.parts.radius.radius_block_drawing import draw
from templategen.parts.radius.radius_block_shape import (
    BACK_BEVEL,
    FACE_BEVEL,
    NAME,
    Face,
    block_profile,
    engraved,
    engraving,
    figures,
    profile,
    radius_note,
)
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

BEAM = "straight-beam"
RIB = "a rib of the radius block"
BEAM_WIDTH, BEAM_HEIGHT = 32.0, 32.0
WARNED = cautions.lines(cautions.ROUTING, cautions.WOOD_DUST)
OVER = 1.0  # how far tools overshoot an end


def make(work: Work) -> tuple[Product, ...]:
    """The block; a cone's straight beam besides; ribs where the spec asks for them."""
    instrument = work.instrument
    block = instrument.block
    products: list[Product] = []
    if block is not None:
        products += [
            *cut_sheets(instrument, block),
            Sheet(NAME, lambda: draw(instrument, block), ("pdf",)),
            Body(
                NAME,
                lambda: solid(instrument, block),
                ("step", "stl"),
                _about_solid(instrument, "radius block", (radius_note(block),)),
                WARNED,
            ),
        ]
        if block.ribs is not None:
            products += ribs(instrument, block, block.ribs)
    if instrument.board.law.conical:
        about = _about_solid(instrument, "straight beam, to sand a cone along its string lines")
        products.append(Body(BEAM, lambda: beam(instrument), ("step", "stl"), about, WARNED))
    return tuple(products)


# ------------------------------------------------------------------------------------------------------------- solid


def solid(i: Instrument, block: Block) -> Solid:
    """The block, standing on its back, with one true cylinder for its face; its radius is engraved on one end."""
    face = Face(block.radius, block.convex)
    return bar(block.width, block.height, block.length, face, name_of(i, block), figures(block))


def name_of(i: Instrument, block: Block) -> str:
    radius = "flat" if block.flat else f"{'convex ' if block.convex else ''}R {mm_text(block.radius)}"
    return product_name(i.spec.title, f"radius block {radius}")


def bar(width: float, height: float, length: float, face: Face, name: str, marks: tuple[digits.Bar, ...] = ()) -> Solid:
    """A prism of the profile along y, every edge of face and back bevelled, ``marks`` cut into its end at y = 0.

    The bevels at the ends of a hollow face are cones about its axis.
    """
    from templategen.solids import combine

    whole = standing(profile(width, height, face.radius, FACE_BEVEL, face.convex), length, name)
    ends = ((0.0, 1.0), (length, -1.0))
    face_bevels = (_end_bevel(width, height, face, end, inward) for end, inward in ends)
    gone = *digits.in_grooves(marks), *under_back_bevels(length, BACK_BEVEL)
    deep = height if face.convex or math.isinf(face.radius) else height - sagitta(face.radius, width)
    gone += tuple((0.0, end + inward * FACE_BEVEL / 4, deep - FACE_BEVEL / 4) for end, inward in ends)
    return combine.cut(whole, (*digits.grooves(marks), *back_bevels(length, BACK_BEVEL), *face_bevels), gone=gone)


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
    name = product_name(i.spec.title, "straight beam")
    return bar(BEAM_WIDTH, BEAM_HEIGHT, math.ceil(i.plan.end_x), Face(math.inf), name)


# ----------------------------------------------------------------------------------------------------------- to cut


def cut_sheets(i: Instrument, block: Block) -> tuple[Sheet, ...]:
    """The profile and what is engraved on its end; finished size and beam size."""

    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", block_profile(block).offset(kerf / 2))
        s.add("ENGRAVE", *engraved(block, engraving(block)))
        return s

    about = replace(
        _about(i, "radius block, its profile"),
        material="stock as long as the block, or slices that make it up",
        thickness=block.length,
        more=(radius_note(block),),
    )
    return cut.sheets(NAME, f"{i.spec.title}: radius block, profile to cut", sketched, i.shop, about)


def _about(i: Instrument, part: str) -> About:
    """What profile, ribs and solids have in common."""
    return About(
        part=part,
        job=f"{i.spec.title}; {i.trace}",
        material="hardwood, sheet or whatever keeps straight",
        thickness=None,
        side="the end with the engraving up",
        depth=THROUGH,
        allowances="none; long edges of the back bevelled",
        datum="x = 0 in the middle, y = 0 on the back",
        order=CUT_ORDER,
    )


def _about_solid(i: Instrument, part: str, more: tuple[str, ...] = ()) -> About:
    return replace(
        _about(i, part),
        side="standing on its back",
        depth="as modelled",
        datum="x = 0 in the middle, y = 0 at one end, along the neck, z = 0 on the back",
        order="back flat first: it is the datum",
        more=more,
    )


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
    )
    about = replace(
        _about(i, "ribs of the radius block"), material="sheet", thickness=asked.thickness, more=notes,
        datum="the sheet's lower left corner; each rib is whole in itself",
    )  # fmt: skip
    title = f"{i.spec.title}: ribs of the radius block, to cut"
    return nested("radius-ribs", title, [piece] * asked.count, i.shop, about)


def findings(i: Instrument) -> Iterator[Fact]:
    """Ribs that the shop's sheet cannot hold."""
    if i.block is None or i.block.ribs is None:
        return
    told = beyond_sheet([(RIB, shape_bounds(block_profile(i.block)))], i.shop)
    if told is not None:
        yield fact("rib-beyond-sheet", "radius_block.rib_thickness", count=i.block.ribs.count, **told)

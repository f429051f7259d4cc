"""The radius block's setup sheet; block frame."""

from __future__ import annotations

from templategen.drawing.model import Box, Outline
from templategen.instrument.model import Instrument
from templategen.instrument.tools.block import Block
from templategen.parts.common import cautions
from templategen.parts.machining.sheet import SetupSheet, size_text
from templategen.parts.machining.views import View
from templategen.parts.radius.radius_block_shape import block_profile
from templategen.tables import machining
from templategen.units import both_units


def sheet(i: Instrument, block: Block) -> SetupSheet:
    half = block.width / 2
    face = "flat" if block.flat else f"{'convex' if block.convex else 'hollow'}, R {both_units(block.radius)}"
    end, plan = Box(-half, 0.0, half, block.height), Box(0.0, -half, block.length, half)
    return SetupSheet(
        part="radius-block",
        title="Setup: radius block",
        stock=(
            ("stock: length, width, height", size_text((block.length, block.width, block.height))),
            ("material", "straight-grained, dry hardwood, or plastic; write it below"),
            ("face", face),
            ("in that, paper and adhesive", both_units(block.abrasive_thickness)),
        ),
        held="In a machine vice by its long sides, the flat back down on parallels; jaws below the sides' grooves and "
        "the face's lowest edge.",
        origin="As in radius-block.step: x across, 0 in the middle; y along the block, 0 at one end; z up, 0 on the "
        f"flat back; Z0 on the stock's top, {both_units(block.height)} over the back.",
        views=(
            (
                View(
                    "Seen from the end", end, (Outline.rectangle(end),), (block_profile(block),), "x", "z", block.height
                ),
                View("Seen from above, the end to the left", plan, (Outline.rectangle(plan),), (), "y", "-x"),
            ),
        ),
        operations=machining.block_operations(block),
        measured=(machining.block_sizes(block),),
        warned=(cautions.MILLING, cautions.WOOD_DUST),
    )

"""What a person should know about the radius block and the gauges."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templategen.errors import Finding
from templategen.instrument.model import Instrument
from templategen.instrument.tools.block import MISFIT, Block
from templategen.instrument.tools.gauges import string_arc
from templategen.units import both_units


def gauge_findings(i: Instrument) -> Iterator[Finding]:
    """A gauge that is asked for where there is no arc."""
    asked = i.spec.radius_gauge
    if asked is None or asked.string_arc_at is None:
        return
    arc = string_arc(i)
    if math.isinf(arc.radius):
        yield Finding(
            "strings-in-line",
            "note",
            "radius_gauge.string_arc_at",
            f"The strings lie in a straight line {both_units(arc.x)} from the nut: no gauge is written for their arc, "
            "a steel rule shows it.",
        )


def block_findings(i: Instrument) -> Iterator[Finding]:
    """What a cylinder leaves on a cone at the block's two ends."""
    block = i.block
    if block is None:
        if i.board.law.conical:
            yield Finding(
                "block-needs-station",
                "note",
                "radius_block.at",
                "No radius block is written: a block is a cylinder and the board a cone. A [radius_block] with at = "
                '"nut", "last" or a fret makes one for that station; sand the cone itself along the string lines with '
                "a straight beam.",
            )
        return
    if not i.board.law.conical:
        return
    told = " and ".join(
        f"{abs(gap):.3f} mm at the {'edges' if gap > 0 else 'centre'}, {x:.0f} mm from the nut"
        for x, gap in zip(block.ends_x, block.mismatch, strict=True)
        if abs(gap) >= 0.0005
    )
    where = f"fret {block.at}" if isinstance(block.at, int) else {"nut": "the nut", "last": "the last fret"}[block.at]
    worst = max(abs(gap) for gap in block.mismatch)
    yield Finding(
        "block-off-cone",
        "decide" if worst > MISFIT and not block.convex else "note",
        "radius_block.at",
        f"The block is a cylinder, {both_units(block.radius)}, and fits {_of_what(block)} at {where} only; at its ends "
        f"it leaves a gap of {told or 'nothing to speak of'}. {_instead(block)}",
    )


def _of_what(block: Block) -> str:
    return "a hollow made to the cone" if block.convex else "the cone"


def _instead(block: Block) -> str:
    if block.convex:
        return "Use it for hollows of that station; another station needs another block."
    return (
        "Keep it to strokes within a hand's width of its station, or sand the cone along the string lines with a "
        "straight beam."
    )

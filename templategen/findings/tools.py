"""What a person should know about the radius block and the gauges."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.findings.naming import of_string
from templategen.instrument.model import Instrument
from templategen.instrument.tools.gauges import string_arc
from templategen.instrument.tools.milling import BREAKS_THROUGH, LEAST_OUTLINE

TOLD = 0.0005  # mm of a gap: the least that is printed


def gauge_facts(i: Instrument) -> Iterator[Fact]:
    """A gauge that is left out: where there is no arc and one was asked for, or one too flat to show, or too round."""
    asked, arc = i.spec.radius_gauge, string_arc(i)
    if arc.too_round:
        yield fact("strings-arc-too-round", "setup.action", x=arc.x, radius=arc.radius)
    straight = math.isinf(arc.radius)
    if arc.shows or (straight and (asked is None or asked.string_arc_at is None)):
        return
    yield fact(
        "strings-in-line",
        "radius_gauge.string_arc_at",
        x=arc.x,
        case="line" if straight else "flat",
        rise=abs(arc.rise),
        worst=arc.worst,
    )


def block_facts(i: Instrument) -> Iterator[Fact]:
    """What a cylinder leaves on a cone at the block's two ends."""
    block = i.block
    if block is None:
        if i.board.law.conical:
            yield fact("block-needs-station", "radius_block.at")
        return
    if not block.convex and block.width < block.board_width - TOLD:
        yield fact("block-narrower-than-board", "radius_block.width", width=block.width, board=block.board_width)
    if not i.board.law.conical:
        return
    gaps = [
        {"gap": abs(gap), "where": "edges" if gap > 0 else "centre", "x": x}
        for x, gap in zip(block.ends_x, block.mismatch, strict=True)
        if abs(gap) >= TOLD
    ]
    worst = max(abs(gap) for gap in block.mismatch)
    face = "convex" if block.convex else "concave"
    yield fact(
        "block-off-cone",
        "radius_block.at",
        "decide" if worst > limit("block_misfit") and not block.convex else "note",
        radius=block.radius,
        work=face,
        at=block.at,
        gaps=gaps,
        ends="gaps" if gaps else "none",
        instead=face,
    )


def mill_facts(i: Instrument) -> Iterator[Fact]:
    """What none of the mill's tools can cut."""
    milling = i.milling
    if milling is None:
        return
    missing: list[dict[str, object]] = []
    if milling.slots is None:
        missing.append({"what": "slots", "width": milling.widest_slot_cutter, "deep": milling.deepest_slot})
    if milling.outline is None:
        missing.append({"what": "outline", "width": LEAST_OUTLINE, "deep": i.board.thickness + BREAKS_THROUGH})
    for row, tool in enumerate(milling.nut):
        if tool is None:
            full, pilot = i.nut.full_width[row], i.nut.pilots[row]
            missing.append(
                {
                    "what": "full" if full else "pilot",
                    "string": of_string(i, row),
                    "width": i.nut.width[row] if full else pilot.width,
                    "deep": milling.nut_depths[row],
                    "angle": pilot.angle_deg,
                }
            )
    if missing:
        yield fact("mill-lacks-tool", "shop.mill.tools", missing=missing)

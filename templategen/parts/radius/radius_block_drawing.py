"""The radius block's drawing: two views, its numbers, how it is used, and on a cone the facets that make it by hand."""

from __future__ import annotations

from itertools import pairwise

from templategen.drawing.layout import HEADING_HEIGHT, TEXT_HEIGHT, table
from templategen.drawing.model import Box, Dimension, Drawing, Line, Point, Sketch, Text
from templategen.geometry import arc_drop
from templategen.instrument.model import Instrument
from templategen.instrument.tools.block import Block, facets
from templategen.parts.common import cautions
from templategen.parts.common.blocks import PAGE_WIDTH, numbered_words
from templategen.parts.common.layers import sketch
from templategen.parts.common.sheetwork import put
from templategen.parts.radius.radius_block_shape import (
    BACK_BEVEL,
    FACE_BEVEL,
    NAME,
    RECESS_DEPTH,
    TUCK_LENGTH,
    TUCK_WIDTH,
    block_profile,
    radius_note,
    recess,
    station_name,
    tuck,
)
from templategen.units import both_units, mm_text

NUMBERS_WIDE = 92.0  # table of numbers and the gap before it
BREAK = 4.0  # gap in a view that is broken off
CORD = 2.0
FOLD = 12.0  # paper past each long edge, folded into the tuck


def draw(i: Instrument, block: Block) -> Drawing:
    """End view beside its numbers, the side view or for sanding a cone the facets, then the words."""
    s = sketch()
    end = _end_view(s, block)
    beside = block.width <= PAGE_WIDTH - NUMBERS_WIDE
    at = (end.x1 + 13.0, end.y1) if beside else (end.x0, end.y0 - 4.0)
    numbers = put(s, table(number_rows(i, block), at, head=False))
    low = min(end.y0, numbers.box.y0) - 9.0
    if i.board.law.conical and not block.convex:
        heading = "The cone by hand: one flat strip under each string, mm"
        s.add("TEXT", Text((end.x0, low), heading, HEADING_HEIGHT, bold=True))
        low = put(s, table(facet_rows(i), (end.x0, low - 2.0))).box.y0
    else:
        low = _side_view(s, block, (end.x0, low - 3.0 - block.height))
    put(s, numbered_words(use_text(i, block), (end.x0, low - 4.0), PAGE_WIDTH))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: radius block",
        layers=s.layers(),
        notes=(radius_note(block),),
        cautions=cautions.lines(cautions.WOOD_DUST, cautions.STEEL_DUST),
    )


# ------------------------------------------------------------------------------------------------------------- views


def _end_view(s: Sketch, block: Block) -> Box:
    half, high = block.width / 2, block.height
    s.add("OUTLINE", block_profile(block))
    s.add("CENTRELINE", Line((0.0, -3.0), (0.0, high + 3.0)))
    s.add(
        "DIMENSION",
        Dimension((-half, BACK_BEVEL), (half, BACK_BEVEL), (0.0, -8.0)),
        Dimension((half, 0.0), (0.0 if block.convex else half, high), (half + 9.0, 0.0), 90.0),
    )
    if not block.flat:
        aside = half / 2
        drop = float(arc_drop(block.radius, aside))
        words = f"R {mm_text(block.radius)}"
        if block.convex:
            s.add("DIMENSION", Line((-aside, high - drop), (4.0 - aside, high + 4.5)))
            s.add("TEXT", Text((4.5 - aside, high + 4.3), words, TEXT_HEIGHT))
        else:
            s.add("DIMENSION", Line((aside, high - block.profile_depth + drop), (aside + 4.0, high + 4.5)))
            s.add("TEXT", Text((aside + 4.5, high + 4.3), words, TEXT_HEIGHT))
    s.add("TEXT", Text((-half, high + 10.0), "Seen from the end", HEADING_HEIGHT, bold=True))
    return Box(-half, -9.5, half, high + 13.5)


def _side_view(s: Sketch, block: Block, at: Point) -> float:
    """The block from its long side, lower left corner at ``at``, broken where it is longer than the sheet; returns
    the lowest y used."""
    x, z = at
    long, high = min(block.length, PAGE_WIDTH), block.height
    runs = [(x, x + long)]
    if long < block.length:
        middle = x + long / 2
        runs = [(x, middle - BREAK / 2), (middle + BREAK / 2, x + long)]
        for at_x in (middle - BREAK / 2, middle + BREAK / 2):
            s.add("DIMENSION", *_break(at_x, z, z + high))
    side = block.side_height
    levels = [0.0, BACK_BEVEL, *(recess(block.width, side) or ()), *(tuck(block.width, side) or ()), side, high]
    if fingers := recess(block.width, side):
        levels += [fingers[0] + RECESS_DEPTH, fingers[1] - RECESS_DEPTH]
    for level in dict.fromkeys(levels):
        eased = {0.0: BACK_BEVEL, high: FACE_BEVEL}.get(level, 0.0)
        for start, end in runs:
            left = start + (eased if start == x else 0.0)
            right = end - (eased if end == x + long else 0.0)
            s.add("OUTLINE", Line((left, z + level), (right, z + level)))
    for end, inward in ((x, 1.0), (x + long, -1.0)):
        corners = (
            (end + inward * BACK_BEVEL, z),
            (end, z + BACK_BEVEL),
            (end, z + high - FACE_BEVEL),
            (end + inward * FACE_BEVEL, z + high),
        )
        s.add("OUTLINE", *(Line(a, b) for a, b in pairwise(corners)))
    size = None if long == block.length else mm_text(block.length)
    s.add("DIMENSION", Dimension((x, z + BACK_BEVEL), (x + long, z + BACK_BEVEL), (x, z - 8.0), text=size))
    s.add("TEXT", Text((x, z + high + 3.0), "Seen from the side", HEADING_HEIGHT, bold=True))
    return z - 9.5


def _break(x: float, low: float, high: float) -> list[Line]:
    """A broken-off edge: a thin zigzag line (ISO 128)."""
    middle, tooth = (low + high) / 2, 3.0
    points = (
        (x, low - 2.0),
        (x, middle - tooth),
        (x - tooth / 2, middle - tooth / 3),
        (x + tooth / 2, middle + tooth / 3),
        (x, middle + tooth),
        (x, high + 2.0),
    )
    return [Line(a, b) for a, b in pairwise(points)]


# ------------------------------------------------------------------------------------------------------------- words


def number_rows(i: Instrument, block: Block) -> list[tuple[str, str]]:
    """Where the radius comes from, and what the cylinder leaves on a cone."""
    paper = f"{mm_text(block.abrasive_thickness)} mm"
    arc = [] if block.flat else [("height of the arc over the width", f"{mm_text(block.profile_depth, 3)} mm")]
    if block.flat:
        rows = [("face", "flat, for a flat board")]
    elif block.convex:
        rows = [
            ("hollow's radius, the board's", both_units(block.board_radius)),
            ("− paper and adhesive", paper),
            ("convex block's radius", both_units(block.radius)),
            *arc,
        ]
    else:
        rows = [("board's radius", both_units(block.board_radius))]
        crown = block.work_radius - block.board_radius
        rows += [("+ crown height", f"{mm_text(crown)} mm")] if crown else []
        rows += [
            ("+ paper and adhesive", paper),
            ("block's radius", both_units(block.radius)),
            *arc,
        ]
    rows += [("rides in" if block.convex else "rides on", "hollows" if block.convex else f"the {block.rides_on}")]
    rows += [("length", f"{mm_text(block.length)} mm")]
    if not block.fits_everywhere:
        rows += [(f"fits {'a hollow of ' if block.convex else ''}the cone at", station_name(block.at))]
        rows += [
            (f"gap {x:.0f} mm from the nut", f"{mm_text(abs(gap), 3)} mm at {'the edges' if gap > 0 else 'the centre'}")
            for x, gap in zip(block.ends_x, block.mismatch, strict=True)
        ]
    return rows


def facet_rows(i: Instrument) -> list[tuple[str, ...]]:
    """Per string: width, drop and tilt of its strip at the nut and at the last fret, and the ridge left to blend."""
    strips = facets(i.plan, i.board)
    last = i.spec.scale.fret_count
    rows: list[tuple[str, ...]] = [
        ("string", "width, nut", f"fret {last}", "drop, nut", f"fret {last}", "tilt°, nut", f"fret {last}", "ridge")
    ]
    for n, string in enumerate(i.spec.strings.set):
        figures = [mm_text(v) for v in strips.width[n]] + [mm_text(v, 3) for v in strips.drop[n]]
        figures += [mm_text(abs(v), 1) for v in strips.tilt_deg[n]]
        rows.append((f"{n + 1}  {string.note.text}", *figures, mm_text(strips.ridge[n].max(), 3)))
    return rows


def use_text(i: Instrument, block: Block) -> tuple[str, ...]:
    """How the block is held together and used, one sentence or two a line; for the drawing and the bench sheet."""
    lines = []
    if tuck(block.width, block.side_height) is not None:
        lines.append(
            f"Paper: as long as the block and {FOLD:.0f} mm wider than the face on each side. Fold it over the long "
            f"edges into the tucks and press a {CORD:.0f} mm cord in after it; paper with adhesive needs no tucks."
        )
    if grooves := _grooves(block):
        lines.append(grooves)
    if not block.flat:
        lines.append(
            f"The radius allows for {mm_text(block.abrasive_thickness)} mm of paper and adhesive. Measure yours with a "
            "caliper; another thickness asks for another radius, by as much."
        )
    lines.append(
        f"Edges are eased: the back {BACK_BEVEL:.0f} mm, the face {FACE_BEVEL} mm (on sawn or cut profiles by hand). "
        "Printed, the block stands on its back without support; its end carries the radius and the paper."
    )
    if block.convex:
        lines += [
            "The face is round: it does not sand the board but hollows made to the board's radius, such as cauls. Sand "
            "in full strokes along the hollow, the block's sides parallel to it, and check with the convex gauge.",
        ]
        if i.board.law.conical:
            lines.append(f"The board is a cone: this block is for hollows at {_the(block)} only.")
    elif i.board.law.conical:
        lines += [
            "A cylinder cannot sand a cone: use this block only near its station, and the straight beam for the board. "
            "Mark each strip's drop at the nut and at the last fret, sand along the string line with the beam until "
            "both are reached, then blend the ridges between strips with strokes that follow the strings' fan.",
            "Check with the gauges of the nut, fret 5, the octave and the last fret, each at its own station.",
        ]
    else:
        lines.append(
            "Sand in full strokes along the centreline, the block's sides parallel to it, and check across with the "
            "gauge and along with the notched straightedge."
        )
    return tuple(lines)


def _grooves(block: Block) -> str:
    """Sizes of the grooves in the sides, heights over the block's back."""
    found = []
    if paper := tuck(block.width, block.side_height):
        low, high = map(mm_text, paper)
        found.append(
            f"tucks {TUCK_WIDTH} mm wide and {TUCK_LENGTH:.0f} mm deep, running in and down "
            f"at 45°, open from {low} to {high} mm over the back"
        )
    if fingers := recess(block.width, block.side_height):
        low, high = map(mm_text, fingers)
        found.append(f"finger grooves {RECESS_DEPTH:.0f} mm deep with walls at 45°, open from {low} to {high} mm")
    return f"In both sides: {'; '.join(found)}." if found else ""


def _the(block: Block) -> str:
    name = station_name(block.at)
    return name if isinstance(block.at, int) else f"the {name}"

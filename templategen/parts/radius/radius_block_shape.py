"""The radius block's profile and what is engraved on it, as the block, its ribs and its drawing share them.

Block frame: x across, z up from the flat back, y along.

Terms
-----
face     the side that holds the abrasive, hollow or convex: the only arc of the profile, the only cylinder of the solid
recess   a 45° hollow in each side for the fingers; its flanks print without support, the block standing on its back
tuck     a slot in each side, falling inward: the paper folds over the face's edge into it and a cord holds it
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from templategen.drawing.model import Outline, Point, Shape
from templategen.geometry import arc_drop, sagitta
from templategen.instrument.tools.block import Block
from templategen.parts.common import digits
from templategen.parts.common.engraving import lettering, radius_line
from templategen.parts.common.faces import mirrored
from templategen.units import both_units, mm_text

NAME = "radius-block"
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
ENGRAVED = 3.5
FIGURES, FIGURES_LEAST = 5.0, 3.0  # height on the solid; smaller ones would close up in a print
ENGRAVED_LEAST = 1.2


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


# -------------------------------------------------------------------------------------------------------- engraving


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


def radius_note(block: Block) -> str:
    """What the arc is, for notes beside the files."""
    if block.flat:
        return "The face is flat."
    what = "taken off, the face being convex" if block.convex else "included"
    return f"The one arc has {both_units(block.radius)}: abrasive {mm_text(block.abrasive_thickness)} mm {what}."

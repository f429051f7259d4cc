"""What a machinist works by and measures afterwards: operations in their order, sizes with their tolerance.

The last column of a table of sizes is empty: the reading is written in. Tolerances are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from templategen.findings.wording import listed
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.instrument.tools.block import Block
from templategen.instrument.tools.milling import BREAKS_THROUGH
from templategen.spec.models import MillTool
from templategen.tables import strings
from templategen.tables.model import Table, column
from templategen.units import both_units, mm_text

FORMS = {"flat": "flat end mill", "ball": "ball end mill", "vee": "vee cutter"}
NUT_PLACE, FRET_PLACE, ARC, OTHER = 0.03, 0.05, 0.05, 0.1  # mm, either way
THINNER = 0.05  # mm that a nut or saddle may be thinner, never thicker
MEASURED = (1, 5, 7, 12)  # frets whose places are measured, besides the last
GO = 0.05  # mm over a slot's width of the feeler that must not enter


class Operation(NamedTuple):
    """One line. depth: mm below Z0, None where nothing is cut to a depth. left: what stays on.
    guessed: whether the depth rests on what nobody measured."""

    what: str
    tool: str = ""
    depth: float | None = None
    left: str = ""
    files: str = ""
    guessed: bool = False


class Size(NamedTuple):
    """What is measured. value: mm, or None where it is judged. within: the tolerance in words. guessed: whether the
    value rests on what nobody measured."""

    what: str
    value: float | None
    within: str
    guessed: bool = False


def tool_name(tool: MillTool) -> str:
    angle = f" of {tool.tip_angle:g}°" if tool.tip_angle else ""
    return f"T{tool.number}, {FORMS[tool.form]}{angle}, {mm_text(tool.diameter)} mm"


def within(mm: float) -> str:
    return f"±{both_units(mm)}"


def operations(key: str, rows: Sequence[Operation], depth: str = "below Z0") -> Table:
    """depth: what depths are counted from."""
    columns = (
        column("step", "", range(1, len(rows) + 1), "count"),
        column("operation", "operation", (row.what for row in rows)),
        column("tool", "tool", (row.tool for row in rows)),
        column("depth", "depth", (row.depth for row in rows), "length", estimated=_marks(row.guessed for row in rows)),
        column("left", "left on", (row.left for row in rows)),
        column("files", "from", (row.files for row in rows)),
    )
    return Table(key, "Operations in their order", columns, (f"Depth: {depth}.",))


def _marks(guessed: Iterable[bool]) -> list[bool]:
    """None where nothing is guessed."""
    marks = list(guessed)
    return marks if any(marks) else []


def sizes(key: str, rows: Sequence[Size], title: str = "To measure afterwards") -> Table:
    columns = (
        column("size", "size", (row.what for row in rows)),
        column(
            "wanted", "wanted", (row.value for row in rows), "length", estimated=_marks(row.guessed for row in rows)
        ),
        column("within", "within", (row.within for row in rows)),
        column("read", "read", ("" for _ in rows)),
    )
    return Table(key, title, columns)


# ---------------------------------------------------------------------------------------------------------- nut


def nut_operations(i: Instrument) -> Table:
    """Stock, slots, then the top: dressed first, it would take the pilots along."""
    nut = i.nut
    stock = f"top {mm_text(nut.top_allowance)}, sides {mm_text(nut.stock_sides)}, ends {mm_text(nut.stock_ends)} mm"
    rows = [
        Operation("Blank to size, underside flat", "", None, stock, "nut-blank.step, nut-blank.dxf"),
        *_slot_operations(i),
        Operation(
            "After the slots: front, back, ends and top to the slotted nut",
            "flat end mill, or file",
            None,
            f"top {mm_text(nut.top_allowance)} mm",
            "nut-slotted.step",
        ),
        Operation("At the bench: fit, slots to their floors, top, edges", "files", None, "nothing", "nut.pdf"),
    ]
    return operations(
        "nut-operations", rows, "below Z0, the blank's highest point, where the slot leaves the nut's back"
    )


def _slot_operations(i: Instrument) -> list[Operation]:
    """The slots of each tool together: the mill's, else what the slotted nut's solid has."""
    nut, milling = i.nut, i.milling
    tools = milling.nut if milling else (None,) * len(nut.along)
    found: dict[tuple[str, bool, str], list[int]] = {}
    for row, tool in enumerate(tools):
        ball = nut.cutter[row]
        if tool is not None:
            name, files = tool_name(tool), "nut-slots.ngc"
        elif milling is None and nut.full_width[row] and ball is not None:
            name, files = f"ball end mill, {mm_text(ball)} mm", "nut-slotted.step"
        elif milling is None and not nut.full_width[row]:
            name, files = f"vee of {nut.pilots[row].angle_deg:g}°", "nut-slotted.step"
        else:
            name, files = "saw and files", "nut.pdf"
        found.setdefault((name, nut.full_width[row], files), []).append(row)
    deep = nut_slot_depths(i)
    rows = []
    for (name, full, files), strings_of in sorted(found.items(), key=lambda item: item[1]):
        left = (
            f"{mm_text(nut.filing_allowance)} mm over the finished floor"
            if full
            else "pilots: saw and file begin there"
        )
        what = f"Slots of {listed('string', [row + 1 for row in strings_of])}, front to back"
        rows.append(Operation(what, name, max(deep[row] for row in strings_of), left, files))
    return rows


def nut_slot_depths(i: Instrument) -> list[float]:
    """How far below the blank's highest point each slot of the slotted nut ends, at the finished back; mm."""
    _, end = i.nut.slotted_lines
    return [i.nut.blank.high[2] - float(z) for z in end[:, 2]]


def nut_sizes(i: Instrument) -> Table:
    nut = i.nut
    length, wide, high = nut.blank.size
    rows = [
        Size("blank: length", length, within(OTHER)),
        Size("blank: front to back", wide, within(OTHER)),
        Size("blank: highest point over the underside", high, within(OTHER), i.guessed.crown),
        Size("slotted nut: front to back", nut.thickness + nut.reach, f"+0 / -{both_units(THINNER)}"),
    ]
    return sizes("nut-sizes", rows)


def nut_slots(i: Instrument) -> Table:
    """Of the slotted nut, where the string leaves each slot."""
    nut = i.nut
    start, _ = nut.slotted_lines
    crowns = _marks(i.guessed.crown for _ in nut.slots)
    widths = [slot.width if slot.full_width else slot.pilot.width for slot in nut.slots]
    columns = (
        strings.name_column(i),
        column("x", "x of its middle", start[:, 0], "length", signed=True),
        column("floor", "floor over underside", start[:, 2] - nut.datum_z, "length", estimated=crowns),
        column("width", "width", widths, "fine"),
        column("x_read", "x read", ("" for _ in nut.slots)),
        column("floor_read", "floor read", ("" for _ in nut.slots)),
    )
    notes = (
        f"On the slotted nut, at the front edge; x from the centreline. Places and floors within {within(NUT_PLACE)}. "
        "A pilot's floor is its point, its width that in the slotted nut's top.",
    )
    return Table("nut-slots-read", "To measure afterwards: slots", columns, notes)


# -------------------------------------------------------------------------------------------------------- board


def board_operations(i: Instrument) -> Table:
    """A radius that is not on yet comes last, since slots then follow a flat top."""
    thick, law = i.board.thickness, i.board.law
    level = not law.flat and (i.frets.flat_floor or not (i.milling is None or i.milling.radiused))
    radius = Operation(
        "Radius", "radius block, or ball end mill" if i.block else "mill", None, "nothing", "fingerboard.step"
    )
    rows = [Operation("Blank flat and to thickness", "", None, "nothing", "")]
    rows += [] if law.flat or level else [radius]
    rows += [_fret_slots(i), _outline(i, thick)]
    rows += [radius] if level else []
    return operations("board-operations", rows, "of slots in the wood, of the outline below Z0")


def _fret_slots(i: Instrument) -> Operation:
    milling, frets = i.milling, i.frets
    level = i.frets.flat_floor or i.board.law.flat or (milling is not None and not milling.radiused)
    deep = float(frets.depth_stop_flat.max() if level else frets.slot_depth.max())
    what = f"Fret slots, {mm_text(i.spec.fret_wire.slot_width)} mm wide, up to this deep in the wood"
    if milling is None:
        return Operation(what, "saw, or router", deep, "nothing", "slot-path.dxf", i.guessed.tang)
    if milling.slots is None:
        return Operation(what, "saw", deep, "nothing", "fret-template.pdf", i.guessed.tang)
    return Operation(what, tool_name(milling.slots), deep, "nothing", "fret-slots.ngc", i.guessed.tang)


def _outline(i: Instrument, thick: float) -> Operation:
    milling, asked = i.milling, i.spec.toolpath
    if milling is None or milling.outline is None:
        return Operation("Outline", "saw and plane, or router", thick, "nothing", "fingerboard.step")
    tabs = (
        f"{asked.tabs} tabs, {mm_text(asked.tab_width, 1)} x {mm_text(asked.tab_height, 1)} mm"
        if asked.tabs
        else "nothing"
    )
    return Operation("Outline, through", tool_name(milling.outline), thick + BREAKS_THROUGH, tabs, "board-outline.ngc")


def board_sizes(i: Instrument) -> Table:
    spec, frets, plan = i.spec, i.frets, i.plan
    last = frets[len(frets) - 1]
    corners = i.board_outline
    feeler = f"feeler {mm_text(spec.fret_wire.slot_width)} mm enters, {mm_text(spec.fret_wire.slot_width + GO)} not"
    deep = last.depth_stop_flat if i.frets.flat_floor else last.slot_depth
    numbers = [n for n in MEASURED if n < last.number] + [last.number]
    name = "zero fret" if plan.nut_x != 0 else "nut"
    rows = [
        Size("length over all", float(np.ptp(corners[:, 0])), within(OTHER)),
        Size("width at the nut, square to the centreline", float(plan.taper.at_nut), within(OTHER)),
        Size(f"width at {last.name}", last.width, within(OTHER)),
        Size("thickness at the centreline", i.board.thickness, within(OTHER)),
        *(
            Size(f"{name} to fret {n}, along the centreline", frets[plan.index(n)].from_nut, within(FRET_PLACE))
            for n in numbers
        ),
        Size("slot width", spec.fret_wire.slot_width, feeler, i.guessed.slot),
        Size(f"slot depth at {last.name}, at the centreline", deep, within(OTHER), i.guessed.tang),
        *_radii(i),
    ]
    return sizes("board-sizes", rows)


def _radii(i: Instrument) -> list[Size]:
    law = i.board.law
    if law.flat:
        return [Size("top, across", None, f"flat; at most {both_units(ARC)} under a rule")]
    told = f"no more than {both_units(ARC)} of light under the gauge"
    if not law.conical:
        return [Size("radius, by the gauge", law.at_nut, told)]
    last = float(law.radius(float(i.plan.centre_x[-1])))
    return [Size("radius at the nut, by the gauge", law.at_nut, told), Size("radius at the last fret", last, told)]


# -------------------------------------------------------------------------------------------------------- block


def block_operations(block: Block) -> Table:
    arc = "ball end mill, along the block" if not block.flat else "flat end mill"
    rows = [
        Operation("Stock to size, back flat", "", None, "nothing", "radius-block.step"),
        Operation("Face", arc, block.profile_depth, "ridges of at most 0.02 mm, sanded off", "radius-block.step"),
        Operation("Grooves in the sides, edges eased", "vee of 90°, or by hand", None, "nothing", "radius-block.step"),
    ]
    return operations("block-operations", rows)


def block_sizes(block: Block) -> Table:
    rows = [
        Size("width", block.width, within(OTHER)),
        Size("length", block.length, within(OTHER)),
        Size("height over all", block.height, within(OTHER)),
    ]
    if not block.flat:
        where = "at the edges" if block.convex else "in the middle of the face"
        rows += [
            Size(f"back to face {where}", block.least_back, within(OTHER)),
            Size("height of the arc over the width", block.profile_depth, within(ARC)),
            Size("radius, by the gauge of the block", block.radius, f"no more than {both_units(ARC)} of light"),
        ]
    return sizes("block-sizes", rows)


# ------------------------------------------------------------------------------------------------------- saddle


def saddle_operations(piece: SaddlePiece) -> Table:
    stock = (
        f"top {mm_text(piece.top_allowance)}, sides {mm_text(piece.stock_sides)}, ends {mm_text(piece.stock_ends)} mm"
    )
    under = "Underside flat" if math.isinf(piece.seat_radius) else f"Underside to R {mm_text(piece.seat_radius)} mm"
    deep = piece.blank[1][2] - float(piece.height.min())
    rows = [
        Operation("Bar to size", "", None, stock, "saddle-blank.step"),
        Operation(
            f"{under}, faces and ends to size", "flat end mill, or file", None, "nothing", "saddle-finished.step"
        ),
        Operation(
            "Top: a land for each string, ramps between", "ball end mill", deep, "nothing", "saddle-finished.step"
        ),
        Operation("Instead, sawn: front outline, then filed", "beam, saw, files", None, "nothing", "saddle-cut.dxf"),
    ]
    return operations("saddle-operations", rows, "below the bar's top, at the lowest string")


def saddle_sizes(piece: SaddlePiece) -> Table:
    rows = [
        Size("length", piece.length, within(OTHER)),
        Size("thickness", piece.thickness, f"+0 / -{both_units(THINNER)}"),
    ]
    return sizes("saddle-sizes", rows)


def saddle_lands(i: Instrument, piece: SaddlePiece) -> Table:
    places, crowns = _marks(i.guessed.saddle), _marks(i.guessed.crown for _ in i.strings)
    columns = (
        strings.name_column(i),
        column("x", "x", piece.along, "length", signed=True),
        column("from_front", "from front face", piece.thickness - piece.across, "length", estimated=places),
        column("height", "height over the seat", piece.height, "length", estimated=crowns),
        column("height_read", "height read", ("" for _ in i.strings)),
    )
    notes = (
        f"Where each string last touches; x from the centreline. Heights within {within(FRET_PLACE)}, places within "
        f"{within(OTHER)}.",
    )
    return Table("saddle-lands", "To measure afterwards: where the strings lie", columns, notes)

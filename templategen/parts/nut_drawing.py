"""The dimensioned drawing of the nut: front, top and section views, the table of strings, allowances.

Drawn true size and printed enlarged (``Drawing.scale``); every dimension runs from one datum, the bass end.
"""

from __future__ import annotations

import math

import numpy as np

from templategen.drawing.layout import spread, table
from templategen.drawing.lettering import text_width
from templategen.drawing.model import (
    Arc,
    Box,
    Dimension,
    Drawing,
    Line,
    Outline,
    Point,
    Sketch,
    Text,
    arc_of_bulge,
    moved,
    shape_bounds,
)
from templategen.instrument.model import Instrument
from templategen.parts import cautions, nut_shape
from templategen.parts.layers import TOLERANCES, sketch
from templategen.parts.product import Format
from templategen.parts.sheetwork import put, titled
from templategen.units import both_units, inch_text, mm_text

SCALES = (5.0, 2.0)  # ISO 5455; the first whose drawing fits a page with its margins
ROOM = ((262.0, 150.0), (178.0, 236.0))  # paper mm on A4 turned and upright, rulers and margins taken off
PITCH = 6.5  # between dimension lines, paper mm
FORMATS: tuple[Format, ...] = ("dxf", "svg", "pdf")


def draw(i: Instrument) -> Drawing:
    """The drawing at the largest standard scale that fits an office page."""
    for scale in SCALES:
        drawing = _draw(i, scale)
        box = drawing.bounds()
        if any(box.width * scale <= wide and box.height * scale <= high for wide, high in ROOM):
            break
    return drawing


def _draw(i: Instrument, scale: float) -> Drawing:
    s = sketch()
    p = 1.0 / scale
    views = _front(s, i, p)
    top = _top(s, i, p, views.y1 + 12 * p)
    section = _section(s, i, p, views.x1 + 22 * p)
    left, low = views.x0, min(views.y0, section.y0) - 8 * p
    strings = put(s, table(string_rows(i), (left, low), scale=scale))
    title = put(s, titled(i, f"nut, scale {scale:g}:1, sizes in mm", (left, strings.box.y0 - 6 * p), scale=scale))
    lines = (*allowance_lines(i), TOLERANCES)
    for n, line in enumerate(lines):
        s.add("TEXT", Text((left, title.box.y0 - (4 + 4.5 * n) * p), line, 2.5))
    s.add("TEXT", Text((left, top.y1 + 5 * p), "Top view, toward the tuners up", 3.5, bold=True))
    return Drawing(
        name="nut",
        title=f"{i.spec.title}: nut",
        layers=s.layers(),
        scale=scale,
        notes=("Finished sizes; the solids nut-blank and nut-slotted carry the allowances stated.",),
        cautions=cautions.lines(cautions.NUT_DUST, cautions.NUT_FILING),
    )


# ------------------------------------------------------------------------------------------------------------ views


def _front(s: Sketch, i: Instrument, p: float) -> Box:
    """Front view seen from the bridge, with the slots' places dimensioned from the bass end."""
    nut = i.nut
    outline = nut_shape.front_outline(nut, "finished")
    slots = nut_shape.slots_of(nut, "finished")
    s.add("OUTLINE", outline)
    box = shape_bounds(outline)
    for slot in slots:
        s.add("NUT_SLOT", nut_shape.slot_outline(nut, slot, "finished"))
        s.add("CENTRELINE", Line((slot.start[0], box.y0 - 1.5 * p), (slot.start[0], box.y1 + 2.5 * p)))
    if not i.board.law.flat:
        s.add("RADIUS_CURVE", _board_arc(i))
    bass = float(nut.front_ends[0] if i.side > 0 else nut.front_ends[1])
    order = np.argsort(np.abs(nut.along - bass))
    level = box.y0 - 7 * p
    for row in order:
        level -= PITCH * p
        s.add(
            "DIMENSION",
            Dimension((bass, box.y0), (float(nut.along[row]), box.y0), (0.0, level), places=2, text_at="end"),
        )
    names = [f"{n + 1}  {string.note.text}" for n, string in enumerate(i.spec.strings.set)]
    wide = max(text_width(name, 2.5) for name in names) + 1.5
    base = box.y1 + 5.5 * p
    for x, at, name in zip(nut.along, spread([float(x) for x in nut.along], wide * p), names, strict=True):
        s.add("TEXT", Text((at, base), name, 2.5, anchor="middle"))
        if abs(at - x) > 0.5 * p:
            s.add("DIMENSION", Line((float(x), box.y1 + 2.5 * p), (at, base - 0.8 * p)))
    words = ("BASS END", "TREBLE END") if i.side > 0 else ("TREBLE END", "BASS END")
    s.add("TEXT", Text((box.x0, box.y0 - 4.5 * p), words[0], 2.5))
    s.add("TEXT", Text((box.x1, box.y0 - 4.5 * p), words[1], 2.5, anchor="right"))
    s.add("TEXT", Text((box.x0, base + 6.5 * p), _front_title(i), 3.5, bold=True))
    return Box(box.x0, level - 2 * p, box.x1 + 12 * p, base + 11 * p)


def _front_title(i: Instrument) -> str:
    top = i.nut.top
    shape = "straight" if top.straight else f"one arc R {mm_text(top.radius, 1)}"
    return f"Front view, seen from the bridge; top {shape}"


def _board_arc(i: Instrument) -> Arc:
    """The board's surface behind the nut, as an arc."""
    x0, x1 = (float(v) for v in i.nut.front_ends)
    z0, z1 = (i.nut.seat_depth + float(i.board.z(0.0, x)) for x in (x0, x1))
    bulge = nut_shape.arc_bulge((x1, z1), (x0, z0), float(i.board.radius(0.0)))
    return arc_of_bulge((x1, z1), (x0, z0), bulge)


def _top(s: Sketch, i: Instrument, p: float, low: float) -> Box:
    """Top view over the front view: plan outline and the slots' walls."""
    outline = nut_shape.plan_outline(i.nut, "finished")
    lift = low - shape_bounds(outline).y0
    s.add("OUTLINE", moved(outline, 0.0, lift))
    for slot in nut_shape.slots_of(i.nut, "finished"):
        (x0, y0, _), (x1, y1, _) = slot.start, slot.end
        run = math.hypot(x1 - x0, y1 - y0)
        u, v = -(y1 - y0) / run * slot.width / 2, (x1 - x0) / run * slot.width / 2
        for sign in (1, -1):
            s.add("NUT_SLOT", Line((x0 + sign * u, y0 + lift + sign * v), (x1 + sign * u, y1 + lift + sign * v)))
    box = shape_bounds(moved(outline, 0.0, lift))
    return box


def _section(s: Sketch, i: Instrument, p: float, left: float) -> Box:
    """Section along the bass-side string's slot: front face at the left, tuners to the right."""
    nut = i.nut
    row = len(nut.along) - 1
    x = float(nut.along[row])
    slot = nut_shape.slots_of(nut, "finished")[row]
    thick, forward = nut.thickness, -float(nut.shift[row])
    fall = math.tan(math.radians(nut.top_fall_deg))
    crest = float(nut.top.z(x))
    under = nut_shape.shelf_underside(nut) if forward < 0 else None

    def at(y: float, z: float) -> Point:
        return left + y, z

    seat0, seat1 = nut_shape.seat_z(nut, x), nut_shape.seat_z(nut, x, thick)
    floor0, floor1 = slot.start[2], slot.end[2]
    cut = [at(0.0, seat0), at(thick, seat1), at(thick, floor1), at(forward, floor0)]
    if under is not None:
        cut += [at(forward, under), at(0.0, under)]
    s.add("OUTLINE", Outline.polygon(cut))
    s.add("OUTLINE", Line(at(forward, floor0), at(forward, crest - forward * fall)))
    s.add("OUTLINE", Line(at(forward, crest - forward * fall), at(thick, crest - thick * fall)))
    s.add("OUTLINE", Line(at(thick, floor1), at(thick, crest - thick * fall)))
    s.add("OUTLINE", *_hatch(cut[:4], p))
    board = nut.seat_depth + float(i.board.z(0.0, float(nut.across[row])))
    s.add("RADIUS_CURVE", Line(at(-6 * p, board), at(min(forward, 0.0) if under is None else 0.0, board)))
    s.add(
        "DIMENSION",
        Dimension(at(0.0, 0.0), at(thick, 0.0), at(0.0, min(seat0, seat1) - 8 * p), text_at="end"),
        Dimension(at(thick, 0.0), at(forward, floor0), at(thick + 8 * p, 0.0), 90.0),
        Dimension(at(forward, floor0), at(forward, crest - forward * fall), at(thick + 16 * p, 0.0), 90.0),
    )
    high = crest + 3 * p
    angle = f"floor falls {nut.back_angle_deg[row]:.1f}°"
    s.add("TEXT", Text(at(-8 * p, high + 7 * p), f"Section along string {row + 1}", 3.5, bold=True))
    s.add("TEXT", Text(at(-8 * p, high + 2.5 * p), angle, 2.5))
    return Box(left - 8 * p, min(seat0, seat1) - 14 * p, left + thick + 30 * p, high + 12 * p)


def _hatch(cut: list[Point], p: float) -> list[Line]:
    """Section lining at 45° (ISO 128), clipped to the convex quadrilateral."""
    reach = [x + y for x, y in cut]
    found = []
    level = min(reach) + 1.5 * p
    while level < max(reach):
        hits = []
        for (ax, ay), (bx, by) in zip(cut, [*cut[1:], cut[0]], strict=True):
            a, b = ax + ay - level, bx + by - level
            if a * b < 0:
                share = a / (a - b)
                hits.append((ax + share * (bx - ax), ay + share * (by - ay)))
        if len(hits) == 2:
            found.append(Line(hits[0], hits[1]))
        level += 3.0 * p
    return found


# ------------------------------------------------------------------------------------------------------------ words


def string_rows(i: Instrument) -> list[list[str]]:
    """The table of strings: places from the bass end, widths, floors, depths, angles, files."""
    nut = i.nut
    bass = float(nut.front_ends[0] if i.side > 0 else nut.front_ends[1])
    slanted = abs(i.plan.nut_slant_deg) > 0.01
    head = ["string", "note", "gauge", "slot width", "from bass end"]
    head += ["square to centreline"] if slanted else []
    head += ["floor over seat", "depth from top", "back angle", "slotted nut", "file"]
    rows = [head]
    for n, string in enumerate(i.spec.strings.set):
        file = nut.file[n]
        row = [
            str(n + 1),
            string.note.text,
            mm_text(string.gauge, 3),
            mm_text(float(nut.width[n]), 3),
            mm_text(abs(float(nut.along[n]) - bass)),
        ]
        if slanted:
            row.append(mm_text(abs(float(nut.across[n])) * 1.0))
        row += [
            mm_text(float(nut.floor[n])),
            mm_text(float(nut.depth[n])),
            f"{nut.back_angle_deg[n]:.1f}°",
            "full width" if nut.full_width[n] else f"pilot, {nut.pilots[n].angle_deg:g}° vee",
            "none fits" if file is None else f"{mm_text(file, 3)} ({inch_text(file, 3)} in)",
        ]
        rows.append(row)
    return rows


def allowance_lines(i: Instrument) -> tuple[str, ...]:
    nut = i.nut
    seat = "flat" if math.isinf(nut.seat_radius) else f"curved to R {both_units(nut.seat_radius)}, left to the bench"
    moved_front = ""
    if nut.shift.any():
        moved_front = "  Front edge moved per string toward the bridge by " + ", ".join(
            f"{mm_text(float(shift))} ({n + 1})" for n, shift in enumerate(nut.shift)
        )
    return (
        f"Blank: top +{mm_text(nut.top_allowance)}, front and back +{mm_text(nut.stock_sides)}, ends "
        f"+{mm_text(nut.stock_ends)}. Slotted: top +{mm_text(nut.top_allowance)}, floors "
        f"+{mm_text(nut.filing_allowance)}. Back edge and ends eased R {mm_text(nut.rounding)}.",
        f"Seat {seat}, {mm_text(nut.seat_depth)} below the board's surface at the centreline.{moved_front}",
    )

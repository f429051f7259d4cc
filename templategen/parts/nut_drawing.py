"""The dimensioned drawing of the nut: front, top and section views, the table of strings, allowances.

Drawn true size and printed enlarged (``Drawing.scale``); every dimension runs from one datum, the bass end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from templategen.drawing.layout import spread, table
from templategen.drawing.lettering import text_width, wrapped
from templategen.drawing.model import (
    Arc,
    Box,
    Circle,
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

SCALE = 2.0  # ISO 5455; what an office page has room for with its rulers
HEADING, LABEL = 3.5, 2.5  # lettering, paper mm
NOTE_WIDTH = 160.0  # paper mm
LABEL_PITCH = 3.6  # between upright figures, paper mm
FORMATS: tuple[Format, ...] = ("dxf", "svg", "pdf")


def draw(i: Instrument) -> Drawing:
    """Views above, then the table of strings, the title and what is left on at each stage."""
    s = sketch()
    p = 1.0 / SCALE
    front = _front(s, i, p)
    top = _top(s, i, p, front.y1 + 8 * p)
    heading = top.y1 + 4 * p
    section = _section(s, i, p, front.x1 + 20 * p, heading)
    left = front.x0
    s.add("TEXT", Text((left, heading), "Top view, tuners above", HEADING, bold=True))
    strings = put(s, table(string_rows(i), (left, min(front.y0, section.y0) - 5 * p), scale=SCALE))
    title = put(s, titled(i, f"nut, scale {SCALE:g}:1, sizes in mm", (left, strings.box.y0 - 5 * p), scale=SCALE))
    s.add("TEXT", *_notes((*allowance_lines(i), TOLERANCES), (left, title.box.y0 - 1 * p), p))
    return Drawing(
        name="nut",
        title=f"{i.spec.title}: nut",
        layers=s.layers(),
        scale=SCALE,
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
        s.add("NUT_SLOT", nut_shape.slot_outline(nut, slot))
        s.add("CENTRELINE", Line((slot.start[0], box.y0 - 1.5 * p), (slot.start[0], box.y1 + 2.5 * p)))
    if not i.board.law.flat:
        s.add("RADIUS_CURVE", _board_arc(i))
    bass = float(nut.front_ends[0] if i.side > 0 else nut.front_ends[1])
    low = _places(s, i, p, bass, box)
    names = [f"{n + 1}  {string.note.text}" for n, string in enumerate(i.spec.strings.set)]
    if sum(text_width(name, LABEL) + 2.0 for name in names) * p > box.width:
        names = [str(n + 1) for n in range(len(names))]
    wide = max(text_width(name, LABEL) for name in names) + 1.5
    base = box.y1 + 5.5 * p
    for x, at, name in zip(nut.along, spread([float(x) for x in nut.along], wide * p), names, strict=True):
        s.add("TEXT", Text((at, base), name, LABEL, anchor="middle"))
        if abs(at - x) > 0.5 * p:
            s.add("DIMENSION", Line((float(x), box.y1 + 2.5 * p), (at, base - 0.8 * p)))
    heading = base + 5.5 * p
    left = "left" if i.side > 0 else "right"
    s.add("TEXT", Text((box.x0, heading), f"Front view from the bridge, bass end {left}", HEADING, bold=True))
    return Box(box.x0, low, box.x1, heading)


def _places(s: Sketch, i: Instrument, p: float, bass: float, box: Box) -> float:
    """Running dimensions from the bass end along one line (ISO 129-1): every slot's centre and the far end."""
    ends = [float(x) for x in i.nut.front_ends]
    places = [*(float(x) for x in i.nut.along), ends[1] if bass == ends[0] else ends[0]]
    level, far = box.y0 - 8 * p, places[-1]
    way = 1.0 if far > bass else -1.0
    s.add("DIMENSION", Line((bass, level), (far, level)), Circle((bass, level), 0.8 * p))
    s.add("DIMENSION", Line((bass, box.y0 - 1 * p), (bass, level - 2 * p)))
    figures = [0.0, *(abs(x - bass) for x in places)]
    stations = [bass, *places]
    for x, at, figure in zip(stations, spread(stations, LABEL_PITCH * p), figures, strict=True):
        if x != bass:
            tip = (x, level)
            back = x - way * 2.0 * p
            s.add("DIMENSION", Line((x, box.y0 - 1 * p), (x, level - 2 * p)))
            s.add("DIMENSION", Line((back, level + 0.35 * p), tip), Line((back, level - 0.35 * p), tip))
        s.add("DIMENSION", Line((x, level - 2 * p), (at, level - 5 * p)))
        s.add("TEXT", Text((at, level - 6 * p), mm_text(figure), LABEL, 90.0, "right", "middle"))
    low = level - (7 + text_width("00.00", LABEL)) * p
    return low


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
    return shape_bounds(moved(outline, 0.0, lift))


def _section(s: Sketch, i: Instrument, p: float, left: float, heading: float) -> Box:
    """Section along the bass-side string's slot: front face at the left, tuners to the right."""
    nut = i.nut
    row = len(nut.along) - 1
    x = float(nut.along[row])
    slot = nut_shape.slots_of(nut, "finished")[row]
    thick, forward = nut.thickness, -float(nut.forward[row])
    fall = math.tan(math.radians(nut.top_fall_deg))
    crest = float(nut.top.z(x))
    under = nut_shape.ledge_z(nut) if forward < 0 else None

    def at(y: float, z: float) -> Point:
        return left + y, z

    seat0, seat1 = float(nut.seat_height(x, 0.0)), float(nut.seat_height(x, thick))
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
    low = min(seat0, seat1)
    s.add(
        "DIMENSION",
        Dimension(at(0.0, low), at(thick, low), at(0.0, low - 7 * p), text_at="end"),
        Dimension(at(0.0, 0.0), at(forward, floor0), at(forward - 9 * p, 0.0), 90.0, text_at="end"),
        Dimension(
            at(forward, floor0), at(forward, crest - forward * fall), at(thick + 9 * p, 0.0), 90.0, text_at="end"
        ),
    )
    s.add("TEXT", Text(at(-8 * p, heading), f"Section, string {row + 1}", HEADING, bold=True))
    s.add("TEXT", Text(at(thick + 14 * p, floor1), f"floor falls {nut.back_angle_deg[row]:.1f}°", LABEL))
    s.add("TEXT", Text(at(-8 * p, low - 13 * p), "bridge side left, tuners right", LABEL))
    return Box(left - 10 * p, low - 14 * p, left + thick + 30 * p, heading)


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
    head = ["string", "gauge", "slot width", "from bass end", "floor", "depth", "back angle", "slotted", "file", "in"]
    if slanted:
        head.insert(4, "across")
    rows = [head]
    for n, string in enumerate(i.spec.strings.set):
        file = nut.file[n]
        row = [
            f"{n + 1}  {string.note.text}",
            mm_text(string.gauge, 3),
            mm_text(float(nut.width[n]), 3),
            mm_text(abs(float(nut.along[n]) - bass)),
            mm_text(float(nut.floor[n])),
            mm_text(float(nut.depth[n])),
            f"{nut.back_angle_deg[n]:.1f}°",
            "full" if nut.full_width[n] else "pilot",
            "none" if file is None else mm_text(file, 3),
            "" if file is None else inch_text(file, 3),
        ]
        if slanted:
            row.insert(4, mm_text(float(i.side * nut.across[n])))
        rows.append(row)
    return rows


def allowance_lines(i: Instrument) -> tuple[str, ...]:
    """What the table's columns mean, what is left on at each stage, and how the seat is made."""
    nut, slant = i.nut, i.plan.nut_slant_deg
    top = "straight" if nut.top.straight else f"one arc R {mm_text(nut.top.radius, 1)}"
    across = " Across: square to the centreline, from the centreline, + treble side." if abs(slant) > 0.01 else ""
    seat = "flat" if math.isinf(nut.seat_radius) else f"curved to R {both_units(nut.seat_radius)}, left to the bench,"
    lines = [
        "From bass end: slot centres along the front edge. Floor: over the seat; depth: from the top; both at the "
        f"front edge.{across} Top {top}, falling {nut.top_fall_deg:.1f}° toward the tuners.",
        f"Blank: top +{mm_text(nut.top_allowance)}, front and back +{mm_text(nut.stock_sides)}, ends "
        f"+{mm_text(nut.stock_ends)}. Slotted: top +{mm_text(nut.top_allowance)}, floors "
        f"+{mm_text(nut.filing_allowance)}, pilots {nut.pilots[0].angle_deg:g}° vee. "
        f"Back edge and ends eased R {mm_text(nut.rounding)}.",
        f"Seat {seat} {mm_text(nut.seat_depth)} below the board's surface at the centreline.",
    ]
    if nut.shift.any():
        moves = ", ".join(f"{n + 1}: {mm_text(float(shift))}" for n, shift in enumerate(nut.shift))
        how = "a shelf over the board" if i.spec.nut.compensation_by == "shelf" else "cutting back the board"
        lines.append(f"Front edge moved toward the bridge by {how}, per string: {moves}.")
    return tuple(lines)


def _notes(lines: Sequence[str], at: Point, p: float) -> Iterator[Text]:
    """Paragraphs set under each other, as wide as the page lets the drawing be."""
    y = at[1]
    for line in lines:
        for row in wrapped(line, LABEL, NOTE_WIDTH):
            y -= 1.6 * LABEL * p
            yield Text((at[0], y), row, LABEL)
        y -= 1.0 * p

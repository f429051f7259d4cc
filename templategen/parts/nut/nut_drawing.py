"""The dimensioned drawing of the nut: front, top and section views, the table of strings, allowances.

Drawn true size and printed enlarged (``Drawing.scale``); every dimension runs from one datum, the bass end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from templategen.drawing.layout import TITLE_HEIGHT, Laid, spread, title_block
from templategen.drawing.lettering import text_width, wrapped
from templategen.drawing.model import (
    Box,
    Circle,
    Drawing,
    Line,
    Outline,
    Point,
    Shape,
    Sketch,
    Text,
    moved,
    shape_bounds,
)
from templategen.drawing.paper.furniture import dashed
from templategen.findings.wording import listed as named
from templategen.instrument.model import Instrument
from templategen.instrument.nut.nut import Nut
from templategen.parts.common import cautions
from templategen.parts.common.layers import sketch
from templategen.parts.common.sheetwork import hand, own, put, tabled, unit_name
from templategen.parts.nut import nut_shape
from templategen.parts.nut.nut_section import section
from templategen.parts.nut.nut_words import note_lines
from templategen.tables import nut as tables
from templategen.tables.model import Table
from templategen.tables.nut import bass_end

SCALE = 2.0  # ISO 5455; of the file without pages
ENLARGED = (5.0, 4.0, 3.0, 2.0)  # for paper; ISO 5455 knows 5:1 and 2:1 and lets others be where they serve
SECTION = 5.0  # ISO 5455
OVER_SECTION = 17.0  # from the nut's top to the section's heading, paper mm: its figures stand upright
DETAILS_WIDTH, DETAILS_HEIGHT = 234.0, 118.0  # paper mm: of an office page on its side
VIEWS_WIDTH = 232.0  # paper mm: what an office page on its side has room for beside its ruler
CLOSE = 1.6  # rows of the tables, in capital heights
HEADING, LABEL = 3.5, 2.5  # lettering, paper mm
WIDTH = 165.0  # paper mm: what an office page leaves beside its rulers
LABEL_PITCH = 3.6  # between upright figures, paper mm


def draw(i: Instrument) -> Drawing:
    """For formats without pages: views, the tables of strings, the title and what is left on at each stage."""
    s = sketch()
    p = 1.0 / SCALE
    box = _views(s, i, p)
    side = section(s, i, p, box.x1 + 7 * p, box.y1 - HEADING * p)
    listed = tables.places(i), tables.heights(i)
    low = _tables(s, i, (box.x0, min(box.y0, side.y0) - 4 * p), SCALE, listed)
    title = put(s, _title(i, (box.x0, low - 4 * p)))
    s.add("TEXT", *_paragraphs(note_lines(i), (box.x0, title.box.y0), p))
    return _drawing(i, s, SCALE)


def leaves(i: Instrument) -> tuple[Drawing, ...]:
    """For paper: the views as large as an office page holds, then the section beside what is said, and the tables."""
    s = sketch()
    wide = max(float(abs(i.nut.front_ends[1] - i.nut.front_ends[0])), shape_bounds(_plan(i)).width)
    scale = max((k for k in ENLARGED if k * wide <= VIEWS_WIDTH), default=SCALE)
    _views(s, i, 1.0 / scale)
    return _drawing(i, s, scale), *_details(i)


def _details(i: Instrument) -> Iterator[Drawing]:
    """The section beside the words, then the tables: each on a leaf of its own where one does not hold both."""
    s, p = sketch(), 1.0 / SECTION
    heading = shape_bounds(nut_shape.front_outline(i.nut, "finished")).y1 + OVER_SECTION * p
    side = section(s, i, p, 0.0, heading)
    at = side.x1 + 6 * p, heading + HEADING * p
    s.add("TEXT", *_paragraphs(note_lines(i), at, p, DETAILS_WIDTH - side.width * SECTION - 6))
    yield _drawing(i, s, SECTION)
    listed = tables.places(i), tables.heights(i)
    s = sketch()
    low = _tables(s, i, (0.0, 0.0), SECTION, listed)
    if -low * SECTION <= DETAILS_HEIGHT:
        yield _drawing(i, s, SECTION)
        return
    for each in listed:
        s = sketch()
        _tables(s, i, (0.0, 0.0), SECTION, (each,))
        yield _drawing(i, s, SECTION)


def _drawing(i: Instrument, s: Sketch, scale: float) -> Drawing:
    return Drawing(
        name="nut",
        title=f"{i.spec.title}: nut",
        layers=s.layers(),
        scale=scale,
        about=hand(i),
        unit=i.spec.units,
        notes=("Finished sizes; nut-blank and nut-slotted carry the allowances. Slots first, then the top.",),
        cautions=cautions.lines(cautions.NUT_DUST, cautions.NUT_FILING),
    )


def _views(s: Sketch, i: Instrument, p: float) -> Box:
    """Front view and top view over it; the box that they fill, heading included."""
    front = front_view(s, i, p)
    top = _top(s, i, p, front.y1 + 4 * p)
    heading, left = top.y1 + 3 * p, min(front.x0, top.x0)
    s.add("TEXT", Text((left, heading), "Top view, tuners above", HEADING, bold=True))
    return Box(left, front.y0, max(front.x1, top.x1), heading + HEADING * p)


def _tables(s: Sketch, i: Instrument, at: Point, scale: float, listed: Sequence[Table]) -> float:
    """Tables under each other, what is milled to full width said in words; returns the lowest y used."""
    full = [n for n, slot in enumerate(i.nut.slots, 1) if slot.full_width]
    milled = f"The slotted nut: {named('string', full) if full else 'no slot'} milled to full width, the rest a pilot."
    low = at[1]
    for found in listed:
        shorter, alike = found.gathered()
        columns = tuple(each for each in shorter.columns if each.key != "slotted")
        notes = (*shorter.notes, *alike, *([milled] if len(columns) < len(shorter.columns) else []))
        said = replace(shorter, columns=columns, notes=notes)
        low = put(s, tabled(said, (at[0], low), WIDTH, scale, CLOSE)).box.y0 - 2.0 / scale
    return low


def _title(i: Instrument, at: Point) -> Laid:
    rows = wrapped(i.spec.title, TITLE_HEIGHT, WIDTH, bold=True)
    what = f"Nut, scale {SCALE:g}:1, sizes in {unit_name(i)}, {hand(i)}.   {i.trace}"
    return title_block((*rows, what), at, SCALE, title_rows=len(rows))


def front_view(s: Sketch, i: Instrument, p: float) -> Box:
    """Front view seen from the bridge, with the slots' places dimensioned from the bass end."""
    nut = i.nut
    outline = nut_shape.front_outline(nut, "finished")
    s.add("OUTLINE", outline)
    box = shape_bounds(outline)
    for slot in nut_shape.slots_of(nut, "finished"):
        s.add("NUT_SLOT", nut_shape.slot_outline(nut, slot))
        s.add("CENTRELINE", Line((slot.start[0], box.y0 - 1.5 * p), (slot.start[0], box.y1 + 2.5 * p)))
    s.add("RADIUS_CURVE", _board_line(nut))
    if nut.stepped:
        s.add("OUTLINE", *_walls(nut))
    low = _places(s, i, p, box)
    names = [f"{n + 1}  {string.note.text}" for n, string in enumerate(i.spec.strings.set)]
    if sum(text_width(name, LABEL) + 2.0 for name in names) * p > box.width:
        names = [str(n + 1) for n in range(len(names))]
    wide = max(text_width(name, LABEL) for name in names) + 1.5
    base = box.y1 + 5.0 * p
    for x, at, name in zip(nut.along, spread([float(x) for x in nut.along], wide * p), names, strict=True):
        s.add("TEXT", Text((at, base), name, LABEL, anchor="middle"))
        if abs(at - x) > 0.5 * p:
            s.add("DIMENSION", Line((float(x), box.y1 + 2.5 * p), (at, base - 0.8 * p)))
    heading = base + 5.0 * p
    bass = "left" if i.side > 0 else "right"
    s.add("TEXT", Text((box.x0, heading), f"Front view, bass end {bass}", HEADING, bold=True))
    return Box(box.x0, low, box.x1, heading + HEADING * p)


def _places(s: Sketch, i: Instrument, p: float, box: Box) -> float:
    """Running dimensions from the bass end along one line (ISO 129-1): every slot's centre and the far end."""
    bass, ends = bass_end(i), [float(x) for x in i.nut.front_ends]
    places = [*(float(x) for x in i.nut.along), ends[1] if bass == ends[0] else ends[0]]
    level, far = box.y0 - 6 * p, places[-1]
    way = 1.0 if far > bass else -1.0
    s.add("DIMENSION", Line((bass, level), (far, level)), Circle((bass, level), 0.8 * p))
    s.add("DIMENSION", Line((bass, box.y0 - 1 * p), (bass, level - 1.5 * p)))
    figures = [0.0, *(abs(x - bass) for x in places)]
    stations = [bass, *places]
    for x, at, figure in zip(stations, spread(stations, LABEL_PITCH * p), figures, strict=True):
        if x != bass:
            tip = (x, level)
            back = x - way * 2.0 * p
            s.add("DIMENSION", Line((x, box.y0 - 1 * p), (x, level - 1.5 * p)))
            s.add("DIMENSION", Line((back, level + 0.35 * p), tip), Line((back, level - 0.35 * p), tip))
        s.add("DIMENSION", Line((x, level - 1.5 * p), (at, level - 4 * p)))
        s.add("TEXT", Text((at, level - 5 * p), own(i, figure), LABEL, 90.0, "right", "middle"))
    return level - (5 + text_width("00.00", LABEL)) * p


def _board_line(nut: Nut) -> Shape:
    """The wood's surface at the front edge."""
    (x0, x1) = (float(v) for v in nut.front_ends)
    left, right = ((x, float(nut.board_height(x, 0.0))) for x in (x0, x1))
    radius = float(nut.board.radius(nut.nut_x))
    bulge = nut_shape.under_bulge(left, right, radius, nut)
    return Line(left, right) if bulge == 0 else Outline((left, right), (bulge, 0.0)).piece(0)


def _walls(nut: Nut) -> Iterator[Line]:
    """The steps of a compensated front edge, from the ledge to the top."""
    for x in nut_shape.walls(nut):
        low = float(nut.board_height(x, 0.0)) - nut.seat_depth + nut_shape.ledge_z(nut)
        yield Line((x, low), (x, float(nut.top.z(x))))


def _plan(i: Instrument) -> Outline:
    return nut_shape.plan_outline(i.nut, "finished")


def _top(s: Sketch, i: Instrument, p: float, low: float) -> Box:
    """Top view over the front view: plan outline, the board's end below it, and the slots' walls."""
    nut = i.nut
    outline = _plan(i)
    body = nut_shape.body_outline(nut, nut.body_forward)
    lift = low - min(shape_bounds(outline).y0, shape_bounds(body).y0)
    s.add("OUTLINE", moved(outline, 0.0, lift))
    if nut.stepped:
        front = Line(body.points[0], body.points[1])
        front = Line((front.start[0], front.start[1] + lift), (front.end[0], front.end[1] + lift))
        if nut.reach > nut.body_forward:  # it lies under the ledge
            s.add("DIMENSION", *dashed(front.start, front.end, 3.0 * p, 1.2 * p))
        else:
            s.add("OUTLINE", front)
    for slot in nut_shape.slots_of(nut, "finished"):
        (x0, y0, _), (x1, y1, _) = slot.start, slot.end
        half = slot.width / 2 * math.hypot(x1 - x0, y1 - y0) / (y1 - y0)
        for u in (-half, half):
            s.add("NUT_SLOT", Line((x0 + u, y0 + lift), (x1 + u, y1 + lift)))
    box = shape_bounds(moved(outline, 0.0, lift)).joined(shape_bounds(moved(body, 0.0, lift)))
    lean = math.tan(math.radians(nut.turn_deg))
    s.add("CENTRELINE", Line(*((-(y - lift) * lean, y) for y in (box.y0 - 1.5 * p, box.y1 + 1.5 * p))))
    return box


def _paragraphs(lines: Sequence[str], at: Point, p: float, width: float = WIDTH) -> Iterator[Text]:
    """Paragraphs set under each other, as wide as the page lets the drawing be."""
    y = at[1]
    for line in lines:
        for row in wrapped(line, LABEL, width):
            y -= 1.6 * LABEL * p
            yield Text((at[0], y), row, LABEL)
        y -= 0.6 * p

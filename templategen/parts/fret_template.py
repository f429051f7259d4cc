"""The fret-slot template: a true-size drawing to saw from, in the plan frame."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.drawing.layout import ruler, spread, table
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Circle, Drawing, Line, Outline, Point, Sketch, Text
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts import cautions
from templategen.parts.layers import TOLERANCES, sketch
from templategen.parts.product import Product, Sheet
from templategen.parts.sheetwork import put, titled
from templategen.units import both_units, mm_text

NAME = "fret-template"
NUMBER_HEIGHT = 3.5
LABEL_HEIGHT = 2.5
LEADER_FROM = 0.6  # a label moved farther than this from its slot gets a leader


def make(instrument: Instrument) -> tuple[Product, ...]:
    return (Sheet(NAME, draw(instrument), ("dxf", "svg", "pdf")),)


def draw(i: Instrument) -> Drawing:
    """Outline, slot centres, centreline, nut front, strings, markers, numbers, distances, depth stops, rulers."""
    s = sketch()
    plan = i.plan
    corners = [(float(x), float(y)) for x, y in i.board_outline]
    s.add("OUTLINE", Outline.polygon(corners))
    slots = [Line(_point(a), _point(b)) for a, b in zip(plan.slot_bass_ends, plan.slot_treble_ends, strict=True)]
    s.add("SLOT_CENTRE", *slots)
    s.add("NUT_FRONT", Line(corners[0], corners[3]))
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    s.add("CENTRELINE", Line((left - 6, 0.0), (right + 6, 0.0)))
    s.add("STRING", *_strings(i, right))
    s.add("POSITION_MARKER", *(Circle(at, i.spec.fret_wire.marker_diameter / 2) for at in markers(i)))
    top, bottom = max(y for _, y in corners), min(y for _, y in corners)
    _numbers(s, i, top)
    low = _distances(s, i, bottom)
    _foot(s, i, left, low)
    s.add("CHECK_RULER", *ruler((left - 22, -50.0), "up"))
    reach = i.spec.fret_wire.slot_width / 2 + 0.5
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: fret-slot template",
        layers=s.layers(),
        whole=tuple(_around(slot, reach) for slot in slots),
        joints=tuple(_joints(i, right)),
        notes=(
            f"Slot centres; saw or cut {both_units(i.spec.fret_wire.slot_width, 2)} wide. "
            "Distances run from the nut's front edge along the centreline, never from fret to fret.",
        ),
        cautions=cautions.lines(cautions.SAWING, cautions.WOOD_DUST),
    )


def markers(i: Instrument) -> Iterator[Point]:
    """Centres of the position markers: midway between a fret and the one before it, on the centreline; doubled ones a
    quarter of the board's width to each side."""
    plan = i.plan
    for fret in sorted({*i.spec.fret_wire.markers, *i.spec.fret_wire.doubled_markers}):
        row = plan.index(fret)
        before = float(plan.centre_x[row - 1]) if row else 0.0
        x = (before + float(plan.centre_x[row])) / 2
        if fret in i.spec.fret_wire.doubled_markers:
            aside = float(plan.taper.width(x)) / 4
            yield x, -aside
            yield x, aside
        else:
            yield x, 0.0


def _strings(i: Instrument, right: float) -> Iterator[Line]:
    """Every string over the board, nut to the board's end."""
    start = i.plan.string_at(i.plan.nut_x)
    for n, (nut_x, _) in enumerate(i.plan.string_nut):
        from_x = min(float(nut_x), i.plan.nut_x) if i.plan.nut_x < 0 else float(nut_x)
        y0 = float(start[n]) if i.plan.nut_x < 0 else float(i.plan.string_nut[n, 1])
        yield Line((from_x, y0), (right, float(i.plan.string_at(right)[n])))


def _numbers(s: Sketch, i: Instrument, top: float) -> None:
    """Fret numbers over the board."""
    ends = [max((a, b), key=lambda p: p[1]) for a, b in zip(i.plan.bass_ends, i.plan.treble_ends, strict=True)]
    labels = [f"{n:.0f}" for n in i.plan.numbers]
    pitch = max(text_width(label, NUMBER_HEIGHT) for label in labels) + 1.2
    base = top + 5.0
    for end, label, x in zip(ends, labels, spread([float(e[0]) for e in ends], pitch), strict=True):
        s.add("TEXT", Text((x, base), label, NUMBER_HEIGHT, anchor="middle"))
        if abs(x - end[0]) > LEADER_FROM:
            s.add("DIMENSION", Line((float(end[0]), top + 1.0), (x, base - 1.0)))


def _distances(s: Sketch, i: Instrument, bottom: float) -> float:
    """Distances from the nut under the board, upright; returns the lowest y used."""
    ends = [min((a, b), key=lambda p: p[1]) for a, b in zip(i.plan.bass_ends, i.plan.treble_ends, strict=True)]
    labels = [mm_text(float(x)) for x in i.plan.centre_x]
    base = bottom - 5.0
    for end, label, x in zip(ends, labels, spread([float(e[0]) for e in ends], 1.6 * LABEL_HEIGHT), strict=True):
        s.add("TEXT", Text((x, base), label, LABEL_HEIGHT, 90.0, "right", "middle"))
        if abs(x - end[0]) > LEADER_FROM:
            s.add("DIMENSION", Line((float(end[0]), bottom - 1.0), (x, base + 1.0)))
    return base - max(text_width(label, LABEL_HEIGHT) for label in labels)


def _foot(s: Sketch, i: Instrument, left: float, low: float) -> None:
    """Ruler, title and tables under the distances, side by side."""
    top = low - 5.0
    s.add(
        "TEXT", Text((left, top), "Under each slot: from the nut along the centreline, mm", LABEL_HEIGHT, level="top")
    )
    s.add("CHECK_RULER", *ruler((left, top - 16.0), "across"))
    kind = "fret-slot template, true size 1:1"
    title = put(s, titled(i, kind, (left + 122.0, top), f"{i.spec.scale.fret_count} frets, {_scale_text(i)}"))
    stops = put(s, table(depth_rows(i), (title.box.x1 + 10.0, top)))
    s.add("TEXT", Text((left + 122.0, min(title.box.y0, stops.box.y0) - 5.0), TOLERANCES, LABEL_HEIGHT))


def _scale_text(i: Instrument) -> str:
    scale = i.spec.scale
    if scale.multi_scale:
        return f"scales {both_units(scale.bass_length)} bass, {both_units(scale.treble_length)} treble"
    return f"scale {both_units(scale.bass_length)}"


def depth_rows(i: Instrument) -> list[tuple[str, str, str]]:
    """The depth-stop table: both ways of working, at the first and the last slot, and the wood that is left."""
    f = i.frets
    return [
        ("Depth stop, mm", f"fret {f.numbers[0]:.0f}", f"fret {f.numbers[-1]:.0f}"),
        ("sawn before radiusing, flat blank", mm_text(f.depth_stop_flat[0]), mm_text(f.depth_stop_flat[-1])),
        ("sawn after radiusing", mm_text(f.slot_depth[0]), mm_text(f.slot_depth[-1])),
        ("wood left under slot at edge", mm_text(f.wood_under_slot_at_edge[0]), mm_text(f.wood_under_slot_at_edge[-1])),
    ]


def _joints(i: Instrument, right: float) -> Iterator[tuple[str, Point, Point]]:
    """Long distances to check across assembled tiles: to the octave, to the last fret, to the board's end."""
    plan = i.plan
    wanted = [int(plan.numbers[len(plan.numbers) // 2]), int(plan.numbers[-1])]
    for fret in wanted:
        x = float(plan.centre_x[plan.index(fret)])
        yield f"nut to fret {fret}, on the centreline", (0.0, 0.0), (x, 0.0)
    end = float(plan.centre_x[-1] + i.spec.fingerboard.beyond_last_fret)
    yield "nut to the board's end, on the centreline", (0.0, 0.0), (end, 0.0)


def _point(pair: Array) -> Point:
    return float(pair[0]), float(pair[1])


def _around(slot: Line, reach: float) -> Box:
    (x0, y0), (x1, y1) = slot.start, slot.end
    return Box(min(x0, x1) - reach, min(y0, y1), max(x0, x1) + reach, max(y0, y1))

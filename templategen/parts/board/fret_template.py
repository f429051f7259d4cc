"""The fret-slot template: a true-size drawing to saw from, in the plan frame."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templategen.drawing.layout import RULER_MM, ruler, spread
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Circle, Drawing, Line, Outline, Point, Sketch, Text, point
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import GAP as BLOCK_GAP
from templategen.parts.common.blocks import blocks, boxed, in_rows, numbered, words
from templategen.parts.common.layers import TOLERANCES, sketch
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import hand, own, put, tabled, titled, unit_name
from templategen.parts.common.work import Work
from templategen.tables import frets
from templategen.tables import nut as nut_tables
from templategen.units import both_units

NAME = "fret-template"
NUMBER_HEIGHT = 3.5
LABEL_HEIGHT = 2.5
LEAST_FOOT = 240.0  # width that the foot of a short board may take
LEAST_ROWS = 3  # of a block of distances
FOOT_GAP = 18.0  # between what stands in the foot: DXF readers set their own, often wider, type
NUT_LABELS = 7.5  # from the nut's outermost corner to the string numbers: past the centreline's end
LEADER_FROM = 0.6  # a label moved farther than this from its slot gets a leader


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (Sheet(NAME, lambda: draw(instrument), ("dxf", "svg", "pdf")),)


def draw(i: Instrument) -> Drawing:
    """Outline, slot centres, centreline, nut front, strings, markers, numbers, distances, depth stops, rulers."""
    s = sketch()
    corners, slots, high = board_view(s, i)
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    bottom = min(y for _, y in corners)
    foot = _distances(s, i, bottom) - 5.0
    _nut_end(s, i, left)
    title, *asides = _foot(s, i, (left, foot), max(right - left, LEAST_FOOT))
    s.add("CHECK_RULER", *ruler((left - 36.0, high - RULER_MM - 6.0), "up"))
    reach = i.spec.fret_wire.slot_width / 2 + 0.5
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: fret-slot template",
        layers=s.layers(),
        whole=tuple(_around(slot, reach) for slot in slots),
        joints=tuple(_joints(i)),
        asides=tuple(asides),
        titles=(title,),
        about=hand(i),
        sides=(f"{_side_at(i, 1)} side", f"{_side_at(i, -1)} side"),
        unit=i.spec.units,
        notes=(
            f"{i.spec.scale.fret_count} frets, {_scale_text(i)}. Slot centres; saw or cut "
            f"{both_units(i.spec.fret_wire.slot_width, first=i.spec.units)} wide.",
            f"{_under(i)} {_distances_note(i)}",
        ),
        cautions=cautions.lines(cautions.SAWING, cautions.WOOD_DUST),
    )


def board_view(s: Sketch, i: Instrument) -> tuple[list[Point], list[Line], float]:
    """The board from above with its slots, strings, markers and fret numbers; returns its corners, the slots' centre
    lines and the highest y used."""
    plan = i.plan
    corners = [point(corner) for corner in i.board_outline]
    s.add("OUTLINE", Outline.polygon(corners))
    slots = [Line(point(a), point(b)) for a, b in zip(plan.slot_bass_ends, plan.slot_treble_ends, strict=True)]
    s.add("SLOT_CENTRE", *slots)
    s.add("NUT_FRONT", Line(corners[0], corners[3]))
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    s.add("CENTRELINE", Line((left - 6, 0.0), (right + 6, 0.0)))
    s.add("STRING", *_strings(i, right))
    s.add("POSITION_MARKER", *(Circle(at, i.spec.fret_wire.marker_diameter / 2) for at in markers(i)))
    return corners, slots, _numbers(s, i, max(y for _, y in corners))


def markers(i: Instrument) -> Iterator[Point]:
    """Centres of the position markers: midway between a fret and the one before it, on the centreline; doubled ones a
    quarter of the board's width to each side, midway there too where frets are slanted."""
    plan = i.plan
    for fret in sorted({*i.spec.fret_wire.markers, *i.spec.fret_wire.doubled_markers}):
        row = plan.index(fret)
        x = _midway(i, row, 0.0)
        if fret in i.spec.fret_wire.doubled_markers:
            aside = float(plan.taper.width(x)) / 4
            yield _midway(i, row, -aside), -aside
            yield _midway(i, row, aside), aside
        else:
            yield x, 0.0


def _midway(i: Instrument, row: int, y: float) -> float:
    """x half way between a fret line and the one before it (or the nut's), at a distance y from the centreline."""
    plan = i.plan
    lines = [(plan.bass_points[row], plan.treble_points[row])]
    lines.append(
        (plan.bass_points[row - 1], plan.treble_points[row - 1]) if row else (plan.string_nut[-1], plan.string_nut[0])
    )
    at = [bass[0] + (y - bass[1]) * (treble[0] - bass[0]) / (treble[1] - bass[1]) for bass, treble in lines]
    return float(sum(at)) / 2


def _strings(i: Instrument, right: float) -> Iterator[Line]:
    """Every string over the board, nut to the board's end."""
    start = i.plan.string_at(i.plan.nut_x)
    for n, (nut_x, _) in enumerate(i.plan.string_nut):
        from_x = min(float(nut_x), i.plan.nut_x) if i.plan.nut_x < 0 else float(nut_x)
        y0 = float(start[n]) if i.plan.nut_x < 0 else float(i.plan.string_nut[n, 1])
        yield Line((from_x, y0), (right, float(i.plan.string_at(right)[n])))


def _numbers(s: Sketch, i: Instrument, top: float) -> float:
    """Fret numbers over the board, as many as can stand near their slots; returns the highest y used.

    Over them, where frets are slanted, the distances along that edge.
    """
    ends = [max((a, b), key=lambda p: p[1]) for a, b in zip(i.plan.bass_ends, i.plan.treble_ends, strict=True)]
    labels = [f"{n:.0f}" for n in i.plan.numbers]
    upright = _edge_distances(i, 1) if i.spec.scale.multi_scale else None
    least = LABEL_HEIGHT if upright else 0.0
    widths = [max(text_width(label, NUMBER_HEIGHT), least) for label in labels]
    chosen = numbered([float(end[0]) for end in ends], widths, 1.2, labels.index("1"))
    base = top + 5.0
    for row, x in zip(chosen.rows, chosen.places, strict=True):
        s.add("TEXT", Text((x, base), labels[row], NUMBER_HEIGHT, anchor="middle"))
        _leader(s, float(ends[row][0]), x, top + 1.0, base - 1.0)
    if upright is None:
        return base + NUMBER_HEIGHT
    base += NUMBER_HEIGHT + 1.5
    for row, x in zip(chosen.rows, chosen.places, strict=True):
        s.add("TEXT", Text((x, base), upright[row], LABEL_HEIGHT, 90.0, "left", "middle"))
    return base + max(text_width(upright[row], LABEL_HEIGHT) for row in chosen.rows)


def _distances(s: Sketch, i: Instrument, bottom: float) -> float:
    """Fret numbers under the board, and under them the distances from the nut, upright; returns the lowest y used.

    Along the centreline; where frets are slanted along the edge that they stand at.
    """
    ends = [min((a, b), key=lambda p: p[1]) for a, b in zip(i.plan.bass_ends, i.plan.treble_ends, strict=True)]
    labels = _edge_distances(i, -1) if i.spec.scale.multi_scale else [own(i, fret.from_nut) for fret in i.frets]
    numbers = [f"{n:.0f}" for n in i.plan.numbers]
    widths = [max(text_width(number, NUMBER_HEIGHT), LABEL_HEIGHT) for number in numbers]
    chosen = numbered([float(end[0]) for end in ends], widths, 1.2, numbers.index("1"))
    base = bottom - 5.0
    for row, x in zip(chosen.rows, chosen.places, strict=True):
        s.add("TEXT", Text((x, base - NUMBER_HEIGHT), numbers[row], NUMBER_HEIGHT, anchor="middle"))
        _leader(s, float(ends[row][0]), x, bottom - 1.0, base + 1.0)
    base -= NUMBER_HEIGHT + 1.5
    for row, x in zip(chosen.rows, chosen.places, strict=True):
        s.add("TEXT", Text((x, base), labels[row], LABEL_HEIGHT, 90.0, "right", "middle"))
    return base - max(text_width(labels[row], LABEL_HEIGHT) for row in chosen.rows)


def _edge_distances(i: Instrument, up: int) -> list[str]:
    """Along the upper (+1) or the lower (-1) edge, from the nut's corner on it to each slot's end."""
    wanted = _side_at(i, up)
    (edge,) = (line for line in i.notches if line.side == wanted)
    return [own(i, float(x)) for x in edge.at[1:]]


def _side_at(i: Instrument, up: int) -> str:
    return "treble" if i.side * up > 0 else "bass"


def _nut_end(s: Sketch, i: Instrument, left: float) -> None:
    """String numbers beside the nut, both sides' names and the nut's: a sheet turned over reads wrong."""
    ys = [float(y) for y in i.plan.string_nut[:, 1]]
    places = spread(ys, LABEL_HEIGHT + 0.7)
    column = left - NUT_LABELS
    for n, (y, place, (x, _)) in enumerate(zip(ys, places, i.plan.string_nut, strict=True), 1):
        s.add("TEXT", Text((column, place), str(n), LABEL_HEIGHT, anchor="right", level="middle"))
        if abs(place - y) > LEADER_FROM:
            s.add("DIMENSION", Line((column + 0.6, place), (min(float(x), left) - 1.0, y)))
    corners = [point(i.board_outline[n]) for n in (0, 3)]
    beyond = LABEL_HEIGHT / 2 + 1.5
    high = max(max(y for _, y in corners) + 1.5, max(places) + beyond)
    low = min(min(y for _, y in corners) - 1.5, min(places) - beyond)
    s.add("TEXT", Text((left - 2.0, high), f"{_side_at(i, 1)} side", LABEL_HEIGHT, anchor="right"))
    s.add("TEXT", Text((left - 2.0, low), f"{_side_at(i, -1)} side", LABEL_HEIGHT, anchor="right", level="top"))
    widest = text_width(str(len(ys)), LABEL_HEIGHT)
    middle = (max(places) + min(places)) / 2
    s.add("TEXT", Text((column - widest - 3.5, middle), "nut, strings", LABEL_HEIGHT, 90.0, "middle"))


def _leader(s: Sketch, slot_x: float, label_x: float, slot_y: float, label_y: float) -> None:
    if abs(label_x - slot_x) > LEADER_FROM:
        s.add("DIMENSION", Line((slot_x, slot_y), (label_x, label_y)))


def _foot(s: Sketch, i: Instrument, at: Point, width: float) -> tuple[Box, ...]:
    """What stands under the distances: the title, a ruler, the depth stops, what is meant, tables of all distances.

    Returns the box of each, the title's first, so that tiles can put them where they leave room.
    """
    listed = [frets.distances(i)] + ([frets.edge_distances(i)] if i.spec.scale.multi_scale else [])
    items = [
        titled(i, "fret-slot template, true size 1:1", (0.0, 0.0)),
        boxed(ruler((0.0, 0.0), "across")),
        tabled(frets.depth_stops(i)),
        words([*_nut_widths(i), TOLERANCES], (0.0, 0.0), 88.0),
    ]
    for table in listed:
        head, *rows = table.lines()
        one = blocks(head, rows[:1], 1)[0].box.width + BLOCK_GAP
        items += blocks(head, rows, max(LEAST_ROWS, math.ceil(len(rows) / max(1, int(width / one)))))
    items += [words([note], (0.0, 0.0), 88.0) for table in listed for note in table.notes]
    placed = in_rows(items, at, width, FOOT_GAP)
    for n, laid in enumerate(placed):
        put(s, laid, "CHECK_RULER" if n == 1 else "TEXT")
    return tuple(laid.box.grown(2.0) for laid in placed)


def _nut_widths(i: Instrument) -> Iterator[str]:
    """Both ways of measuring a slanted nut's width."""
    if nut_tables.slanted(i):
        across, along = (both_units(mm, first=i.spec.units) for mm in (i.plan.taper.at_nut, i.plan.width_along_nut))
        yield (
            f"Board at the nut: {across} wide square to the centreline, {along} along the nut's front edge, where "
            "calipers lie."
        )


def _under(i: Instrument) -> str:
    """What the figures at the slots are."""
    unit = unit_name(i)
    if not i.spec.scale.multi_scale:
        return f"Under each slot: its distance from the {_datum(i)} along the centreline, {unit}."
    return (
        f"Under each slot: its distance along the {_side_at(i, -1)} edge, over each: along the {_side_at(i, 1)} edge, "
        f"{unit}; both from the nut's corner on that edge."
    )


def _distances_note(i: Instrument) -> str:
    along = f"along the centreline from the {_datum(i)}"
    if not i.spec.scale.multi_scale:
        return f"Distances run {along}, never from fret to fret."
    return (
        f'Distances in the table headed "from {frets.start_name(i)}" run {along}, the others along the edges. None '
        "runs from fret to fret."
    )


def _datum(i: Instrument) -> str:
    return "front edge of the nut" if i.plan.nut_x == 0 else "zero fret"


def _scale_text(i: Instrument) -> str:
    scale, first = i.spec.scale, i.spec.units
    bass, treble = both_units(scale.bass_length, first=first), both_units(scale.treble_length, first=first)
    return f"scales {bass} bass, {treble} treble" if scale.multi_scale else f"scale {bass}"


def _joints(i: Instrument) -> Iterator[tuple[str, Point, Point]]:
    """Long distances to check across assembled tiles: to the octave, to the last fret, to the board's end."""
    plan = i.plan
    start = frets.start_name(i)
    wanted = [int(plan.numbers[len(plan.numbers) // 2]), int(plan.numbers[-1])]
    for fret, said in zip(wanted, (f"from the {start} along the centreline to fret", "to fret"), strict=True):
        x = float(plan.centre_x[plan.index(fret)])
        yield f"{said} {fret}", (0.0, 0.0), (x, 0.0)
    end = float(plan.centre_x[-1] + i.spec.fingerboard.beyond_last_fret)
    yield "to the board's end", (0.0, 0.0), (end, 0.0)


def _around(slot: Line, reach: float) -> Box:
    (x0, y0), (x1, y1) = slot.start, slot.end
    return Box(min(x0, x1) - reach, min(y0, y1), max(x0, x1) + reach, max(y0, y1))

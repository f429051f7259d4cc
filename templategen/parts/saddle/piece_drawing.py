"""The drawing of a saddle of one piece: front view, the top from above with each string's place, and the table."""

from __future__ import annotations

from templategen.drawing.layout import spread, table
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Drawing, Line, Polyline, Sketch, Text, moved
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.parts.common import cautions
from templategen.parts.common.blocks import words
from templategen.parts.common.layers import sketch
from templategen.parts.common.sheetwork import bass_is_left, put, titled
from templategen.parts.saddle import piece_shape as shape
from templategen.tables import saddle as tables
from templategen.tables.model import Table
from templategen.units import both_units, mm_text

NAME = "saddle-piece"
ENLARGED = 2.0  # ISO 5455, where an office page has room for it beside its rulers; else true size
WIDTH = 160.0  # paper mm: what an office page leaves beside its rulers
LABEL, HEADING = 2.5, 3.5  # lettering, paper mm


def draw(i: Instrument, piece: SaddlePiece) -> Drawing:
    """Views above, table and words below; true size, printed enlarged."""
    names = 2 * text_width("treble", LABEL) + 8.0
    scale = ENLARGED if ENLARGED * piece.length + names <= WIDTH else 1.0
    s, p = sketch(), 1.0 / scale
    front = _front(s, i, piece, p)
    top = _top(s, i, piece, front.y1 + 6 * p, p)
    left = min(front.x0, top.x0)
    rows = tables.piece(i)
    assert rows is not None
    laid = front
    for unit in ("mm", "in"):
        at = (left, laid.y0 - 4 * p)
        laid = put(s, table(_rows(rows, unit), at, scale=scale, row_pitch=1.6)).box
    what = f"saddle of one piece, scale {scale:g}:1"
    title = put(s, titled(i, what, (left, laid.y0 - 4 * p), scale=scale))
    said = words((*rows.notes, *_said(i, piece)), (0.0, 0.0), WIDTH)
    for text in said.shapes:
        if isinstance(text, Text):
            s.add("TEXT", Text((left + text.at[0] * p, title.box.y0 + (text.at[1] - 2.0) * p), text.text, text.height))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: saddle of one piece",
        layers=s.layers(),
        scale=scale,
        cautions=cautions.lines(cautions.NUT_DUST),
    )


def _rows(rows: Table, unit: str) -> list[list[str]]:
    """The table in one unit: the strings' names, then what is printed in that unit, estimates marked; cents by mm."""
    heads: list[str] = [f"string, {unit}"]
    columns: list[tuple[str, ...]] = []
    head = last = ""
    for strip in rows.printed():
        head = strip.line.removesuffix(", mm") if strip.line not in ("in", "") else head
        if not columns:
            columns.append(strip.cells)
        elif (strip.line == "in") == (unit == "in") if strip.line else strip.key == last:
            heads.append(head if strip.line else "")
            columns.append(strip.cells)
            last = strip.key
    return [heads, *map(list, zip(*columns, strict=True))]


def _front(s: Sketch, i: Instrument, piece: SaddlePiece, p: float) -> Box:
    """Seen from the bridge's end, the strings' numbers over it, the bridge's top across it, both ends named."""
    outline = shape.front_outline(piece)
    s.add("OUTLINE", outline)
    s.add("RADIUS_CURVE", Polyline(tuple(piece.crest)))
    low = min(z for _, z in outline.points)
    peak = max(z for _, z in piece.crest)
    s.add("DIMENSION", Line((piece.low - 3 * p, piece.seat_depth), (piece.high + 3 * p, piece.seat_depth)))
    s.add("TEXT", Text((piece.high + 4 * p, piece.seat_depth - LABEL * p / 2), "bridge", LABEL))
    places = spread([float(x) for x in piece.along], 4.5 * p)
    for n, (x, z, at) in enumerate(zip(piece.along, piece.height, places, strict=True)):
        s.add("CENTRELINE", Line((float(x), low - 2 * p), (float(x), float(z) + 2 * p)))
        s.add("TEXT", Text((at, peak + 4 * p), str(n + 1), LABEL, anchor="middle"))
    wide = text_width("treble", LABEL) * p
    bass, treble = ("bass", "treble") if bass_is_left(i) else ("treble", "bass")
    s.add("TEXT", Text((piece.low - 2 * p, low), bass, LABEL, anchor="right"))
    s.add("TEXT", Text((piece.high + 2 * p, low), treble, LABEL))
    s.add("TEXT", Text((piece.low, peak + 10 * p), "Front view, from the bridge's end", HEADING, bold=True))
    return Box(piece.low - 2 * p - wide, low - 3 * p, piece.high + 2 * p + wide, peak + 10 * p + HEADING * p)


def _top(s: Sketch, i: Instrument, piece: SaddlePiece, low: float, p: float) -> Box:
    """Seen from above, the nut above: the outline, and where the strings touch, land by land, ramps between."""
    outline = shape.plan_outline(piece)
    s.add("OUTLINE", moved(outline, 0.0, low))
    order = sorted(range(len(piece.along)), key=lambda n: float(piece.along[n]))
    crest: list[tuple[float, float]] = []
    for n in order:
        x, y, half = float(piece.along[n]), float(piece.across[n]), float(piece.lands[n]) / 2
        left = piece.low if n == order[0] else x - half
        right = piece.high if n == order[-1] else x + half
        crest += [(left, low + y), (right, low + y)]
        s.add("STRING", Line((x, low - 2 * p), (x, low + piece.thickness + 2 * p)))
    s.add("RADIUS_CURVE", Polyline(tuple(crest)))
    high = low + piece.thickness
    places = spread([float(x) for x in piece.along], 7.5 * p)
    for x, y, at in zip(piece.along, piece.across, places, strict=True):
        s.add("TEXT", Text((at, high + 3.5 * p), mm_text(piece.thickness - float(y)), LABEL, anchor="middle"))
        s.add("DIMENSION", Line((float(x), high + 2 * p), (at, high + 3.0 * p)))
    words_at = high + 8.5 * p
    s.add("TEXT", Text((piece.low, words_at), "Top view, nut above; mm from the front face", HEADING, bold=True))
    return Box(piece.low, low - 2 * p, piece.high, words_at + HEADING * p)


def _said(i: Instrument, piece: SaddlePiece) -> tuple[str, ...]:
    """Sizes, place, top, blank and the order of work."""
    (x0, y0, z0), (x1, y1, z1) = piece.blank
    seat = "flat" if piece.seat_radius == float("inf") else f"curved to R {both_units(piece.seat_radius)}"
    arc = "straight" if piece.top.straight else f"an arc of R {both_units(piece.top.radius, 1)}"
    lines = [
        f"{both_units(piece.thickness)} thick, {both_units(piece.length)} long, ends "
        f"{'round' if piece.round_ends else 'square'}; seat {seat}, {both_units(piece.seat_depth)} deep in the bridge.",
        f"Slot: front wall {both_units(piece.from_nut)} from the nut's front edge on the centreline, slanted "
        f"{piece.slant_deg:z.2f}° (+ bass end farther from the nut), leaning {piece.lean_deg:g}°.",
        f"Top: round across, R {both_units(piece.radius)}, its crest on each string's line; along, {arc} within "
        f"{mm_text(float(abs(piece.top.z(piece.along) - piece.height).max()), 3)} mm.",
        f"Blank: {mm_text(x1 - x0)} x {mm_text(y1 - y0)} x {mm_text(z1 - z0)} mm: top +{mm_text(piece.top_allowance)}, "
        f"sides +{mm_text(piece.stock_sides)}, each end +{mm_text(piece.stock_ends)}.",
        "Finished sizes. Fit the underside to its slot first, without light under it: heights count from the slot's "
        "floor. Then the height, then the round, then each string's place. Heights ±0.05, places ±0.1 mm (common "
        "practice, no source).",
    ]
    if i.saddle_piece is not None and piece.forces is not None:
        down = sum(force.down for force in piece.forces)
        lines.append(
            f"The strings press down with {down:.0f} N in all and toward the nut with "
            f"{sum(force.toward_nut for force in piece.forces):.0f} N; a lean of "
            f"{sum(force.lean_deg for force in piece.forces) / len(piece.forces):.1f}° would stand along their force."
        )
    return tuple(lines)

"""The strings' other end: heights, the string arc and the offsets, as a profile to shape a saddle top to."""

from __future__ import annotations

import math

from templategen.drawing.layout import ruler, table
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Circle, Drawing, Line, Outline, Text
from templategen.geometry import arc_bulge
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import words
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import bass_is_left, put, titled
from templategen.parts.common.work import Work
from templategen.parts.saddle.piece_files import files
from templategen.units import both_units, inch_text, mm_text

NAME = "saddle"
OVERHANG = 8.0  # profile past the outer strings
COLUMNS = (
    "Across: from the centreline, + on the treble side. Height: of the string's underside over the base line. Offset: "
    "away from the nut. Both distances run along the centreline, from the nut's front edge and from the octave's crown."
)
BASE = "Base line: the plane of the board's crown line"
TEXT_WIDTH = 118.0
NUMBER_ROOM = 5.0  # between strings whose numbers stand side by side


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (Sheet(NAME, lambda: draw(instrument), ("dxf", "svg", "pdf")), *files(instrument))


def draw(i: Instrument) -> Drawing:
    """Seen as the nut is, toward the tuners: plan y across, heights over the plane of the board's crown line."""
    s = sketch()
    saddle = i.saddle
    low, high = float(saddle.y.min()) - OVERHANG, float(saddle.y.max()) + OVERHANG
    ends = ((high, float(saddle.top.z(high))), (low, float(saddle.top.z(low))))
    over = arc_bulge(ends[0], ends[1], saddle.top.radius, upward=saddle.top.curvature > 0)
    s.add("OUTLINE", Outline(((low, 0.0), (high, 0.0), *ends), (0.0, 0.0, over, 0.0)))
    s.add("CENTRELINE", Line((0.0, -3.0), (0.0, float(saddle.top.z(0.0)) + 3.0)))
    peak = float(saddle.height.max())
    crowded = float(abs(saddle.y[1:] - saddle.y[:-1]).min()) < NUMBER_ROOM
    for n, (y, z, gauge) in enumerate(zip(saddle.y, saddle.height, i.plan.gauges, strict=True)):
        s.add("STRING", Circle((float(y), float(z + gauge / 2)), float(gauge / 2)))
        lifted = crowded and n % 2
        s.add("TEXT", Text((float(y), peak + (8.0 if lifted else 4.0)), str(n + 1), 2.5, anchor="middle"))
    edge = low - 2.0 - text_width("treble", 2.5)
    left, right = ("bass", "treble") if bass_is_left(i) else ("treble", "bass")
    s.add("TEXT", Text((low - 2.0, 0.0), left, 2.5, anchor="right"), Text((high + 2.0, 0.0), right, 2.5))
    s.add("TEXT", Text((edge, -7.0), BASE, 2.5))
    beside = max(high + low - edge, edge + text_width(BASE, 2.5)) + 5.0
    arc = "straight" if saddle.top.straight else f"string arc R {both_units(saddle.top.radius, 1)}"
    title = put(s, titled(i, f"saddle profile, true size 1:1, {arc}", (beside, peak + 9.0)))
    rows = put(s, table(saddle_rows(i), (edge, min(title.box.y0, -9.0) - 4.0)))
    said = put(s, words((COLUMNS, *setting_lines(i)), (edge, rows.box.y0 - 4.0), max(rows.box.width, TEXT_WIDTH)))
    s.add("CHECK_RULER", *ruler((edge, said.box.y0 - 10.0), "across"))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: saddle profile",
        layers=s.layers(),
        notes=("Heights are of the strings' undersides over the plane of the fingerboard's crown line.",),
        cautions=cautions.lines(cautions.NUT_DUST),
    )


def setting_lines(i: Instrument) -> tuple[str, ...]:
    """The best saddle in one straight line, and what an adjustable one should cover."""
    tuning = i.intonation
    straight, room = tuning.straight_saddle, tuning.saddle_range
    treble, bass = straight.fits[0].saddle_offset, straight.fits[-1].saddle_offset
    worst = max(float(abs(fit.cents.total[: tuning.fit_to_fret]).max()) for fit in straight.fits)
    return (
        f"Spread of the outer strings' centres: {both_units(i.plan.string_spread)} at the nominal scale line, "
        f"{both_units(i.saddle.spread)} where these offsets hold them.",
        f"One straight saddle: offset {both_units(treble)} at the treble outer string, {both_units(bass)} at the bass "
        f"outer string, in a line between; it leaves {worst:.1f} cents at worst over frets 1 to {tuning.fit_to_fret}.",
        f"An adjustable saddle: from {both_units(room.nearest)} to {both_units(room.farthest)}, "
        f"{both_units(room.travel)} of travel: {both_units(room.margin)} beyond this set's offsets on both sides.",
    )


def saddle_rows(i: Instrument) -> list[list[str]]:
    """The table: place across and along, height, offset, in mm and in."""
    saddle = i.saddle
    heads = ("across", "height", "offset", "from nut", "from octave fret")
    rows = [["string", "note", *(word for head in heads for word in (f"{head}, mm", "in"))]]
    for n, string in enumerate(i.spec.strings.set):
        lengths = [float(x[n]) for x in (i.side * saddle.y, saddle.height, saddle.offset, saddle.from_nut)]
        octave = float(saddle.from_octave[n])
        cells = [text for x in lengths for text in (mm_text(x), inch_text(x, 3))]
        last = ["no fret", ""] if math.isnan(octave) else [mm_text(octave), inch_text(octave, 3)]
        rows.append([str(n + 1), string.note.text, *cells, *last])
    return rows

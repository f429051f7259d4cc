"""The strings' other end: heights, the string arc and the offsets, as a profile to shape a saddle top to."""

from __future__ import annotations

import math

from templategen.drawing.layout import ruler, table
from templategen.drawing.lettering import LINE_PITCH, wrapped
from templategen.drawing.model import Circle, Drawing, Line, Outline, Text
from templategen.instrument.model import Instrument
from templategen.parts import cautions
from templategen.parts.layers import sketch
from templategen.parts.nut_shape import arc_bulge
from templategen.parts.product import Product, Sheet
from templategen.parts.sheetwork import bass_is_left, put, titled
from templategen.units import mm_text

NAME = "saddle"
OVERHANG = 8.0  # profile past the outer strings
COLUMNS = (
    "Across: from the centreline, + on the treble side. Height: of the string's underside over the base line. Offset: "
    "away from the nut. Both distances run along the centreline, from the nut's front edge and from the octave's crown."
)
TEXT_WIDTH = 118.0
NUMBER_ROOM = 5.0  # between strings whose numbers stand side by side


def make(instrument: Instrument) -> tuple[Product, ...]:
    return (Sheet(NAME, draw(instrument), ("dxf", "svg")),)


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
    left, right = ("bass", "treble") if bass_is_left(i) else ("treble", "bass")
    s.add("TEXT", Text((low - 2.0, 0.0), left, 2.5, anchor="right"), Text((high + 2.0, 0.0), right, 2.5))
    s.add(
        "TEXT", Text((low, -7.0), "Base line: the plane of the fingerboard's crown line, drawn on to the saddle", 2.5)
    )
    s.add("CHECK_RULER", *ruler((low, -16.0), "across"))
    rows = put(s, table(saddle_rows(i), (low, -28.0)))
    foot = rows.box.y0 - 3.0
    said = cautions.lines(cautions.NUT_DUST)  # lettered: this drawing has no page beside it that would say so
    for sentence in (COLUMNS, *setting_lines(i), *said):
        for line in wrapped(sentence, 2.5, TEXT_WIDTH):
            foot -= LINE_PITCH * 2.5
            s.add("TEXT", Text((low, foot), line, 2.5))
    arc = "straight" if saddle.top.straight else f"string arc R {mm_text(saddle.top.radius, 1)}"
    put(s, titled(i, f"saddle profile, true size 1:1, {arc}", (low, foot - 6.0)))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: saddle profile",
        layers=s.layers(),
        notes=("Heights are of the strings' undersides over the plane of the fingerboard's crown line.",),
        cautions=said,
    )


def setting_lines(i: Instrument) -> tuple[str, ...]:
    """The best saddle in one straight line, and what an adjustable one should cover."""
    tuning = i.intonation
    straight, room = tuning.straight_saddle, tuning.saddle_range
    treble, bass = straight.fits[0].saddle_offset, straight.fits[-1].saddle_offset
    worst = max(float(abs(fit.cents.total[: tuning.fit_to_fret]).max()) for fit in straight.fits)
    return (
        f"One straight saddle: offset {mm_text(treble)} at the treble outer string, {mm_text(bass)} at the bass outer "
        f"string, in a line between; it leaves {worst:.1f} cents at worst over frets 1 to {tuning.fit_to_fret}.",
        f"An adjustable saddle: from {mm_text(room.nearest)} to {mm_text(room.farthest)} "
        f"({mm_text(room.travel)} of travel), {mm_text(room.margin)} beyond this set's offsets on both sides.",
    )


def saddle_rows(i: Instrument) -> list[list[str]]:
    """The table: place across and along, height, offset."""
    saddle = i.saddle
    rows = [["string", "note", "across", "height", "offset", "from nut", "from octave fret"]]
    for n, string in enumerate(i.spec.strings.set):
        octave = float(saddle.from_octave[n])
        rows.append(
            [
                str(n + 1),
                string.note.text,
                mm_text(i.side * float(saddle.y[n])),
                mm_text(float(saddle.height[n])),
                mm_text(float(saddle.offset[n])),
                mm_text(float(saddle.from_nut[n])),
                "no fret" if math.isnan(octave) else mm_text(octave),
            ]
        )
    return rows

"""The strings' other end: heights, the string arc and the offsets, as a profile to shape a saddle top to."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from templategen.drawing.layout import ruler
from templategen.drawing.lettering import text_width
from templategen.drawing.model import Circle, Drawing, Line, Text, arc_of_bulge
from templategen.geometry import arc_bulge
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import words
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import bass_is_left, hand, put, tabled, titled
from templategen.parts.common.work import Work
from templategen.parts.saddle.piece_files import files
from templategen.tables import saddle as tables
from templategen.tables.model import Table
from templategen.units import both_units

NAME = "saddle"
OVERHANG = 8.0  # profile past the outer strings
BASE = "Base line: the board's centreline"
TEXT_WIDTH = 118.0
NUMBER_ROOM = 5.0  # between strings whose numbers stand side by side


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (Sheet(NAME, lambda: draw(instrument), ("dxf", "svg", "pdf")), *files(instrument))


def draw(i: Instrument) -> Drawing:
    """Seen as the nut is, toward the tuners: plan y across, heights over the board's centreline, an open arc."""
    s = sketch()
    saddle, first = i.saddle, i.spec.units
    low, high = float(saddle.y.min()) - OVERHANG, float(saddle.y.max()) + OVERHANG
    ends = (high, float(saddle.top.z(high))), (low, float(saddle.top.z(low)))
    over = arc_bulge(ends[0], ends[1], saddle.top.radius, upward=saddle.top.curvature > 0)
    s.add("RADIUS_CURVE", arc_of_bulge(*ends, over) if over else Line(*ends))
    s.add("DIMENSION", Line((low, 0.0), (high, 0.0)))
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
    title = put(s, titled(i, "saddle profile, true size 1:1", (beside, peak + 9.0)))
    arc = "straight" if saddle.top.straight else f"R {both_units(saddle.top.radius, 1, 2, first=first)}"
    rows = put(s, tabled(_narrow(tables.saddle(i)), (edge, min(title.box.y0, -9.0) - 4.0), TEXT_WIDTH))
    lines = f"String arc, undersides: {arc}.", *setting_lines(i)
    said = put(s, words(lines, (edge, rows.box.y0 - 2.0), max(rows.box.width, TEXT_WIDTH)))
    s.add("CHECK_RULER", *ruler((edge, said.box.y0 - 10.0), "across"))
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: saddle profile",
        layers=s.layers(),
        asides=(rows.box.joined(said.box).grown(0.5),),
        titles=(title.box.grown(0.5),),
        about=hand(i),
        unit=first,
        notes=("The arc is that of the strings' undersides, no part to cut out.",),
        cautions=cautions.lines(cautions.NUT_DUST),
    )


def _narrow(whole: Table) -> Table:
    """Without between what the offsets lie, which the finding beside it says: a page holds no more."""
    left_out = {"saddle_offset_low", "saddle_offset_high"}
    if any(whole["saddle_from_nut"].estimated):
        left_out.add("saddle_from_octave")
    return replace(whole, columns=tuple(each for each in whole.columns if each.key not in left_out))


def setting_lines(i: Instrument) -> tuple[str, ...]:
    """The best saddle in one straight line, and what an adjustable one should cover."""
    tuning, say = i.intonation, partial(both_units, first=i.spec.units)
    straight, room = tuning.straight_saddle, tuning.saddle_range
    treble, bass = straight.fits[0].saddle_offset, straight.fits[-1].saddle_offset
    worst = max(float(abs(fit.cents.total[: tuning.fit_to_fret]).max()) for fit in straight.fits)
    return (
        f"Spread of the outer strings' centres: {say(i.plan.string_spread)} at the nominal scale line, "
        f"{say(i.saddle.spread)} where these offsets hold them.",
        f"One straight saddle: offset {say(treble)} at the treble outer string, {say(bass)} at the bass "
        f"outer string, in a line between; it leaves {worst:.1f} cents at worst over frets 1 to {tuning.fit_to_fret}.",
        f"An adjustable saddle: from {say(room.nearest)} to {say(room.farthest)}, "
        f"{say(room.travel)} of travel: {say(room.margin)} beyond this set's offsets on both sides.",
    )

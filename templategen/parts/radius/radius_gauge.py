"""Gauges to cut from sheet: concave and convex pairs, the strings' arc, and a notched straightedge.

Terms
-----
concave  stands on the board; its corners and, between them, notches clear the strings, so that it reads a strung neck
convex   lies in a hollow: a block with its paper on, a caul, or a curve to be drawn
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from templategen.drawing.lettering import text_width
from templategen.drawing.model import Outline, Point, Text, shape_bounds
from templategen.findings.catalogue import Fact, fact
from templategen.geometry import arc_bulge, arc_drop
from templategen.instrument.model import Instrument
from templategen.instrument.tools.gauges import (
    CLEAR_OF_STRING,
    PAST_STRING,
    Station,
    Straightedge,
    StringArc,
    stations,
    straightedge,
    string_arc,
    string_notches,
)
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.common.engraving import lettering, radius_line
from templategen.parts.common.faces import mirrored
from templategen.parts.common.nesting import Piece, beyond_sheet, nested
from templategen.parts.common.product import Product
from templategen.parts.common.work import Work
from templategen.units import both_units, inch_text, mm_text

NAME = "radius-gauge"
BODY = 24.0  # height of a gauge over its curve
CORNER = 3.0  # notch in a convex gauge's corners
UNDER_STRINGS = 8.0  # height of the gauge below them at its ends: body or top lie 10 to 14 mm under the strings there
EDGE_HEIGHT = 30.0  # straightedge
ENGRAVED = 3.0


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    pieces = gauges(instrument)
    title = f"{instrument.spec.title}: gauges to cut"
    return nested(
        NAME,
        title,
        pieces,
        instrument.shop,
        about(instrument),
    )


def about(i: Instrument) -> About:
    return About(
        part="gauges for board, block and strings, each engraved with what it is",
        job=f"{i.spec.title}; {i.trace}",
        material="sheet that keeps its edge, as thick as the shop likes",
        thickness=None,
        side="this face up, engraving readable",
        depth=THROUGH,
        allowances="none",
        datum="the sheet's lower left corner; each gauge is whole in itself",
        order=CUT_ORDER,
        more=notes(i),
    )


def findings(i: Instrument) -> Iterator[Fact]:
    """Gauges that the shop's sheet cannot hold."""
    told = beyond_sheet(((piece.name, shape_bounds(piece.outline)) for piece in gauges(i)), i.shop)
    if told is not None:
        yield fact("gauge-beyond-sheet", "shop.sheet", **told)


def gauges(i: Instrument) -> tuple[Piece, ...]:
    """All gauges of an instrument; a flat board has the straightedge alone."""
    pieces = []
    for station in stations(i):
        pieces += [concave(i, station), convex(station)]
    arc = string_arc(i)
    if arc.shows and not arc.too_round:
        pieces.append(string_gauge(i, arc))
    return (*pieces, edge_gauge(straightedge(i)))


def notes(i: Instrument) -> tuple[str, ...]:
    """What the gauges are, for the file list."""
    lines = ["The straightedge stands on the wood between the frets along the centreline: relief without the crowns."]
    if stations(i):
        lines.insert(0, "Each gauge has the board's own radius at its station.")
        lines.append(
            f"The notches of the concave gauges clear each string by {both_units(CLEAR_OF_STRING)} on both sides and "
            "above it, strung as the spec says, the outer ones out past the board's edge: they read a strung neck."
        )
    arc = string_arc(i)
    if not (math.isinf(arc.radius) or arc.too_round):
        lines.append(
            f"Strings' arc {both_units(arc.radius)} {_side(arc)} the strings {arc.x:.0f} mm from the nut; the farthest "
            f"string lies {arc.worst:.3f} mm off it."
        )
    return tuple(lines)


# ------------------------------------------------------------------------------------------------------------ gauges


def concave(i: Instrument, station: Station) -> Piece:
    """A gauge for the board, seen from the bridge or from behind, its hollow edge below; notched for the strings."""
    notches = string_notches(i, station)
    half = station.width / 2
    roof, top = notches.top, notches.top + BODY

    def below(y: float) -> Point:
        return y, -float(arc_drop(station.radius, y))

    points: list[Point] = []
    bulges: list[float] = []
    at = -half
    for low, high in notches.spans:
        if low > -half:
            points += [below(at), below(low), (low, roof)]
            bulges += [arc_bulge(below(at), below(low), station.radius), 0.0, 0.0]
        else:
            points += [(-half, roof)]
            bulges += [0.0]
        if high < half:
            points += [(high, roof)]
            bulges += [0.0]
            at = high
        else:
            points += [(half, roof)]
            bulges += [0.0]
            at = half
    if at < half:  # the outermost string runs beside the board
        points += [below(at), below(half)]
        bulges += [arc_bulge(below(at), below(half), station.radius), 0.0]
    points += [(half, top), (-half, top)]
    bulges += [0.0, 0.0]
    lines = (radius_line(station.radius), f"concave, {station.name}")
    words = lettering(lines, (0.0, (roof + top) / 2), station.width - 6)
    return Piece(f"the concave gauge for {station.name}", Outline(tuple(points), tuple(bulges)), (), words)


def convex(station: Station) -> Piece:
    """A gauge for a hollow, its round edge above; the corners are notched to clear a block's folded paper."""
    half = station.width / 2
    inner = half - CORNER
    edge = -float(arc_drop(station.radius, inner))
    shoulder = edge - CORNER
    right = ((half, -BODY), (half, shoulder), (inner, shoulder), (inner, edge))
    lines = (radius_line(station.radius), f"convex, {station.name}")
    words = lettering(lines, (0.0, (shoulder - BODY) / 2), station.width - 6)
    return Piece(f"the convex gauge for {station.name}", mirrored(right, station.radius, convex=True), (), words)


def string_gauge(i: Instrument, arc: StringArc) -> Piece:
    """The strings' arc: a low gauge to slip under the strings, its round edge above, or over the board one to lay on
    them, hollow edge below. Bass and treble ends are engraved."""
    y0, y1 = arc.start[0], arc.end[0]
    (centre_y, centre_z), radius = arc.centre, arc.radius

    def on_arc(y: float) -> Point:
        return y, centre_z + math.copysign(math.sqrt(radius**2 - (y - centre_y) ** 2), arc.rise)

    left, right = on_arc(y0 - PAST_STRING), on_arc(y1 + PAST_STRING)
    crest = max(left[1], right[1], on_arc(min(max(centre_y, left[0]), right[0]))[1] if arc.rise > 0 else -math.inf)
    if arc.tops:
        roof = crest + BODY
        bulge = arc_bulge(left, right, radius, upward=arc.rise > 0)
        outline = Outline((left, right, (right[0], roof), (left[0], roof)), (bulge, 0.0, 0.0, 0.0))
        low, high = crest, roof
    else:
        foot = min(left[1], right[1]) - UNDER_STRINGS
        bulge = arc_bulge(right, left, radius, upward=arc.rise > 0)
        outline = Outline(((left[0], foot), (right[0], foot), right, left), (0.0, 0.0, bulge, 0.0))
        low, high = foot, foot + UNDER_STRINGS
    bass, treble = ("B", "T") if i.side > 0 else ("T", "B")
    middle = (low + high) / 2
    ends = (
        Text((left[0] + 2.0, middle), bass, ENGRAVED, 0.0, "left", "middle"),
        Text((right[0] - 2.0, middle), treble, ENGRAVED, 0.0, "right", "middle"),
    )
    lines = (radius_line(radius), f"{_side(arc)} strings, {arc.x:.0f} mm from nut")
    words = lettering(
        lines, ((left[0] + right[0]) / 2, middle), right[0] - left[0] - 5 * ENGRAVED, high - low - 1.0, ENGRAVED
    )
    return Piece("the gauge for the strings' arc", outline, (), (*words, *ends))


def edge_gauge(edge: Straightedge) -> Piece:
    """The notched straightedge, its working edge below, the nut's end at the left."""
    points: list[Point] = []
    if edge.notches[0][0] > edge.start:
        points.append((edge.start, 0.0))
    for low, high in edge.notches:
        if low > edge.start:
            points += [(low, 0.0), (low, edge.depth), (high, edge.depth), (high, 0.0)]
        else:
            points += [(edge.start, edge.depth), (high, edge.depth), (high, 0.0)]
    points += [(edge.end, 0.0), (edge.end, EDGE_HEIGHT), (edge.start, EDGE_HEIGHT)]
    row = edge.depth + 2.0
    numbers = []
    free = -math.inf
    for x, number in edge.numbers:
        wide = text_width(str(number), ENGRAVED)
        if x - wide / 2 > max(free, edge.start + 1.0):
            numbers.append(Text((x, row), str(number), ENGRAVED, 0.0, "middle"))
            free = x + wide / 2 + 0.6
    length = edge.end - edge.start
    words = f"straightedge on the wood, {mm_text(length)} mm  {inch_text(length, 3)} in, nut at this end"
    spare = min(length - 10.0, length) / text_width(words, 1.0)
    title = Text((edge.start + 5.0, EDGE_HEIGHT - 8.0), words, min(ENGRAVED, spare))
    return Piece("the notched straightedge", Outline.polygon(points), (), (title, *numbers))


def _side(arc: StringArc) -> str:
    return "over" if arc.tops else "under"

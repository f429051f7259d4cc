"""A strip that steps a board past a saw: a notch for the nut end and one for each slot, on an indexing pin.

Strip frame: x along the strip from the board's nut end toward the bridge, y 0 on the notched edge, seen from above with
the nut end to the left. The notched edge is the upper one, but on a strip for the board's edge of negative y the lower:
there it looks outward too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from templategen.drawing.lettering import LINE_PITCH, text_width, wrapped
from templategen.drawing.model import Box, Circle, Dimension, Drawing, Line, Outline, Point, Sketch, Text
from templategen.findings.catalogue import Fact, fact
from templategen.geometry import counterclockwise
from templategen.instrument.model import Instrument
from templategen.instrument.tools.cutting import Notches, notch_width
from templategen.parts.common import cautions, cut
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.common.blocks import GAP, blocks, in_rows, numbered, words
from templategen.parts.common.layers import TOLERANCES, sketch
from templategen.parts.common.nesting import beyond_sheet
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import dimension, hand, put, titled
from templategen.parts.common.work import Work
from templategen.spec.models import NotchedStrip
from templategen.tables import frets
from templategen.units import both_units

NAME = "notched-strip"
LEAD = 15.0  # strip before the first notch
TAIL = 60.0  # strip past the board's end, with the hole to hang it by
HOLE = 8.0
MARGIN = 2.0  # between lettering and what is cut
NUMBER_HEIGHT = 3.5
LABEL_HEIGHT = 2.5
LEAST_ROWS = 4  # of a block of distances
LEAST_FOOT = 240.0  # width that the foot of a short strip may take
WORDS_WIDTH = 124.0  # so that words stay on one sheet of paper


@dataclass(frozen=True)
class Strip:
    """One strip laid out. up: +1 with the notched edge at the top of the drawing, −1 at the bottom."""

    asked: NotchedStrip
    notches: Notches
    at: tuple[float, ...]
    start: float
    end: float
    up: float

    @property
    def name(self) -> str:
        return NAME if self.notches.side == "centreline" else f"{NAME}-{self.notches.side}"

    @property
    def lies(self) -> str:
        side = self.notches.side
        return "parallel to the centreline" if side == "centreline" else f"along the {side} edge of the board"

    def place(self, x: float, depth: float) -> Point:
        """A point ``depth`` inside the notched edge."""
        return x, -self.up * depth


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    products: list[Product] = []
    for strip in strips(instrument):
        products += cut_sheets(instrument, strip)
        products.append(Sheet(strip.name, partial(draw, instrument, strip), ("pdf",)))
    return tuple(products)


def strips(i: Instrument) -> Iterator[Strip]:
    """The strips that can be cut: notches that run into each other, or are no wider than the beam, leave none."""
    asked = i.spec.notched_strip or NotchedStrip()
    for side in i.notches:
        if side.webs(asked).min() <= 0 or notch_width(asked) <= i.shop.beam_kerf:
            continue
        at = tuple(float(x) for x in side.on_strip(asked))
        up = -i.side if side.side == "bass" else i.side if side.side == "treble" else 1.0
        yield Strip(asked, side, at, min(0.0, at[0]) - LEAD, max(side.length, at[-1]) + TAIL, up)


def findings(i: Instrument) -> Iterator[Fact]:
    """Strips that the shop's sheet cannot hold."""
    boxes = {
        f"the {strip.name.replace('-', ' ')}": Box(strip.start, 0.0, strip.end, strip.asked.width)
        for strip in strips(i)
    }
    told = beyond_sheet(boxes.items(), i.shop)
    if told is not None:
        yield fact("strip-beyond-sheet", "shop.sheet", "decide" if i.spec.notched_strip else "note", **told)


# ------------------------------------------------------------------------------------------------------------- cut


def cut_sheets(i: Instrument, strip: Strip) -> tuple[Sheet, ...]:
    """The contour with its notches, the hole, fret numbers and what the strip is; finished size and beam size."""
    asked = strip.asked

    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        _contour(s, strip, kerf, "HOLE")
        _lettering(s, i, strip, "ENGRAVE", "ENGRAVE")
        return s

    about = About(
        part=f"{strip.name.replace('-', ' ')} for an indexing pin, {strip.lies}",
        job=f"{i.spec.title}; {i.trace}",
        material="sheet",
        thickness=asked.thickness,
        side="this face up",
        depth=f"{THROUGH}; notches reach {both_units(asked.notch_depth, first=i.spec.units)} into the edge",
        allowances="none",
        datum="the board's nut end, y = 0 on the notched edge",
        order=CUT_ORDER,
        more=(_notch_text(i, strip),),
    )
    return cut.sheets(strip.name, f"{i.spec.title}: {strip.name.replace('-', ' ')}", sketched, i.shop, about)


def contour(strip: Strip) -> tuple[Point, ...]:
    """Corners of the finished strip, counterclockwise."""
    half, depth = notch_width(strip.asked) / 2, strip.asked.notch_depth
    corners = [(strip.start, strip.asked.width), (strip.end, strip.asked.width), (strip.end, 0.0)]
    for x in reversed(strip.at):
        corners += [(x + half, 0.0), (x + half, depth), (x - half, depth), (x - half, 0.0)]
    corners.append((strip.start, 0.0))
    return counterclockwise([strip.place(x, d) for x, d in corners])


def _contour(s: Sketch, strip: Strip, kerf: float, hole: str = "OUTLINE") -> None:
    """The contour and, on the layer ``hole``, what it hangs by: half the kerf outside the one, inside the other."""
    s.add("OUTLINE", Outline.polygon(contour(strip)).offset(kerf / 2))
    s.add(hole, Circle(_hole(strip), (HOLE - kerf) / 2))


def _hole(strip: Strip) -> Point:
    return strip.place(strip.end - HOLE - 4.0, strip.asked.width / 2)


def _notch_text(i: Instrument, strip: Strip) -> str:
    asked, say = strip.asked, partial(both_units, first=i.spec.units)
    text = f"Notches {say(notch_width(asked))} wide for a pin of {say(asked.pin)}."
    if asked.saw_offset:
        text += (
            f" The blade's middle stands {say(abs(asked.saw_offset))} from the pin's, "
            f"{'toward the bridge' if asked.saw_offset > 0 else 'toward the nut'}, and the notches are moved for it."
        )
    return text


def _lettering(s: Sketch, i: Instrument, strip: Strip, layer: str, leader_layer: str) -> None:
    """Numbers under the notches, then which edge goes to the pin and what the strip is, in rows as far as they fit."""
    depth = strip.asked.notch_depth
    room = strip.asked.width - MARGIN
    top = depth + 2 * MARGIN
    if top + NUMBER_HEIGHT > room:
        return
    labels = strip.notches.labels
    chosen = numbered(strip.at, [text_width(label, NUMBER_HEIGHT) for label in labels], 1.0, labels.index("1"))
    for row, x in zip(chosen.rows, chosen.places, strict=True):
        _text(s, strip, layer, x, top, labels[row], NUMBER_HEIGHT, middle=True)
        s.add(leader_layer, Line(strip.place(strip.at[row], depth + 0.8), strip.place(x, top - 0.8)))
    top += NUMBER_HEIGHT + 2 * MARGIN
    width = min(strip.end - strip.start - HOLE - 20.0, WORDS_WIDTH)
    lines = [(line, height) for text, height in _rows(i, strip) for line in wrapped(text, height, width)]
    while lines and top + sum(height * LINE_PITCH for _, height in lines) > room:
        lines.pop()
    for line, height in lines if strip.up > 0 else reversed(lines):
        _text(s, strip, layer, strip.start + 5.0, top, line, height)
        top += height * LINE_PITCH


def _rows(i: Instrument, strip: Strip) -> Iterator[tuple[str, float]]:
    yield "THE NOTCHED EDGE GOES TO THE PIN", NUMBER_HEIGHT
    yield f"{i.spec.title}: {_scale_text(i)}", NUMBER_HEIGHT
    yield f"Strip {strip.lies}, this face up, nut end to the left. {_notch_text(i, strip)} {i.trace}", LABEL_HEIGHT


def _scale_text(i: Instrument) -> str:
    scale, first = i.spec.scale, i.spec.units
    bass, treble = both_units(scale.bass_length, first=first), both_units(scale.treble_length, first=first)
    said = f"{bass} to {treble}" if scale.multi_scale else bass
    return f"scale {said}, {scale.fret_count} frets"


def _text(
    s: Sketch, strip: Strip, layer: str, x: float, depth: float, text: str, height: float, middle: bool = False
) -> None:
    """A line of lettering that takes the way from ``depth`` to ``depth + height`` inside the notched edge."""
    base = strip.place(x, depth + height if strip.up > 0 else depth)
    s.add(layer, Text(base, text, height, anchor="middle" if middle else "left"))


# --------------------------------------------------------------------------------------------------------- drawing


def draw(i: Instrument, strip: Strip) -> Drawing:
    """The finished strip at true size, its dimensions, and every notch's distance from the nut end."""
    s = sketch()
    _contour(s, strip, 0.0)
    _lettering(s, i, strip, "TEXT", "DIMENSION")
    asked = strip.asked
    low, high = sorted((0.0, -strip.up * asked.width))
    across = 10.0 if strip.up > 0 else 20.0
    for measured in (
        Dimension((strip.at[0], 0.0), (strip.at[-1], 0.0), (0.0, strip.up * 10.0)),
        Dimension((strip.end, low), (strip.end, high), (strip.end + 10.0, 0.0), 90.0),
        Dimension((strip.start, low), (strip.end, low), (0.0, low - across)),
    ):
        s.add("DIMENSION", dimension(i, measured))
    title, *asides = _foot(s, i, strip, (strip.start, low - 30.0))
    half = notch_width(asked) / 2 + 0.5
    edges = "notched edge", "plain edge"
    return Drawing(
        name=strip.name,
        title=f"{i.spec.title}: {strip.name.replace('-', ' ')}",
        layers=s.layers(),
        whole=tuple(Box(x - half, min(0.0, -strip.up * 9.0), x + half, max(0.0, -strip.up * 9.0)) for x in strip.at),
        joints=tuple(_joints(strip)),
        asides=tuple(asides),
        titles=(title,),
        about=hand(i),
        sides=edges if strip.up > 0 else edges[::-1],
        unit=i.spec.units,
        notes=(f"{_notch_text(i, strip)} Paper stretches: check the distances before it is glued to stock and cut.",),
        cautions=cautions.lines(cautions.SAWING),
    )


def _foot(s: Sketch, i: Instrument, strip: Strip, at: Point) -> tuple[Box, ...]:
    """The title, what the strip is cut from, what its distances are, and a table of them; the box of each."""
    say, turned = partial(both_units, first=i.spec.units), strip.notches.side != "centreline"
    said = (
        f"For {say(strip.asked.thickness)} sheet, the strip {strip.lies}; notches {say(strip.asked.notch_depth)} deep. "
        "Distances run to the middle of each notch from the board's nut end, never from notch to notch."
        + (" Off square: how far to turn the saw, + with the treble end toward the bridge." * turned),
        TOLERANCES,
    )
    title = titled(i, f"{strip.name.replace('-', ' ')}, true size 1:1", (0.0, 0.0))
    head, *rows = frets.notches(i, strip.notches.side, strip.at).lines()
    items = [title, words(said, (0.0, 0.0), WORDS_WIDTH), *blocks(head, rows, LEAST_ROWS)]
    placed = in_rows(items, at, max(strip.end - strip.start, LEAST_FOOT), GAP)
    return tuple(put(s, laid).box.grown(2.0) for laid in placed)


def _joints(strip: Strip) -> Iterator[tuple[str, Point, Point]]:
    for n in (len(strip.at) // 2, len(strip.at) - 1):
        yield f"notch nut to notch {strip.notches.labels[n]}", (strip.at[0], 0.0), (strip.at[n], 0.0)

"""What the parts' drawings share: the title block's wording, and text blocks placed by their box."""

from __future__ import annotations

from dataclasses import replace

from templategen.drawing.layout import ROW_PITCH, TEXT_HEIGHT, TITLE_HEIGHT, Laid, table, title_block
from templategen.drawing.lettering import LINE_PITCH, text_width, wrapped
from templategen.drawing.model import Box, Dimension, Point, Sketch, Text
from templategen.instrument.model import Instrument
from templategen.tables.model import Table
from templategen.units import inch_text, mm_text

TITLE_WIDTH = 150.0  # paper mm
NOTES_WIDTH = 80.0


def titled(instrument: Instrument, what: str, at: Point, *more: str, scale: float = 1.0) -> Laid:
    """A title block with its top left corner at ``at``: the instrument, what is drawn, and how to trace it."""
    title = wrapped(instrument.spec.title, TITLE_HEIGHT, TITLE_WIDTH, bold=True)
    return title_block((*title, what, *more, instrument.trace), at, scale, title_rows=len(title))


def put(sketch: Sketch, laid: Laid, layer: str = "TEXT") -> Laid:
    """Add laid-out shapes to a layer and hand their box back."""
    sketch.add(layer, *laid.shapes)
    return laid


def hand(instrument: Instrument) -> str:
    """For every page: whose hand it is for."""
    return f"{instrument.spec.handedness}-handed"


def own(instrument: Instrument, mm: float) -> str:
    """A length as a figure in the job's own unit."""
    return inch_text(mm, 3) if instrument.spec.units == "in" else mm_text(mm)


def unit_name(instrument: Instrument) -> str:
    """What those figures are in."""
    return "inches" if instrument.spec.units == "in" else "mm"


def dimension(instrument: Instrument, measured: Dimension) -> Dimension:
    """A dimension whose figure is in the job's own unit."""
    if instrument.spec.units == "mm":
        return measured
    return replace(measured, text=inch_text(measured.length, 3))


def tabled(
    found: Table, at: Point = (0.0, 0.0), width: float = NOTES_WIDTH, scale: float = 1.0, row_pitch: float = ROW_PITCH
) -> Laid:
    """A table under its title and over its notes, which are as wide as it or ``width`` (paper mm); top left ``at``."""
    p = 1.0 / scale
    title = Text((at[0], at[1] - TEXT_HEIGHT * p), found.title, TEXT_HEIGHT, bold=True)
    rows = table(
        found.lines(),
        (at[0], at[1] - (TEXT_HEIGHT + 1.5) * p),
        scale=scale,
        head=not found.upright,
        row_pitch=row_pitch,
    )
    wide = max(rows.box.width * scale, width, text_width(found.title, TEXT_HEIGHT, True))
    notes, low = [], rows.box.y0 - 1.0 * p
    for note in found.notes:
        for line in wrapped(note, TEXT_HEIGHT, wide):
            low -= TEXT_HEIGHT * LINE_PITCH * p
            notes.append(Text((at[0], low), line, TEXT_HEIGHT))
    return Laid((title, *rows.shapes, *notes), Box(at[0], low - 0.8 * p, at[0] + wide * p, at[1]))


def bass_is_left(instrument: Instrument) -> bool:
    """On a front view of the nut, +x is the treble side of a right-handed instrument."""
    return instrument.side > 0

"""The layers of every drawing: one word each for the DXF layer and the SVG group, and the pen that draws it.

Line widths and types after ISO 128 (0.35 visible edges, 0.18 thin lines, 0.25 long-dash-dot for centrelines). The
palette is this project's own and quiet; colour is never the only sign.
"""

from __future__ import annotations

from templategen.drawing.model import Pen, Sketch
from templategen.repair import tolerances as t

_INK, _SLATE, _MOSS, _RUST, _DUSK = "#1c1f22", "#5b6670", "#4d6650", "#8a4a34", "#54568a"
_LONG_DASH_DOT = (9.0, 1.8, 0.6, 1.8)

PENS: dict[str, Pen] = {
    "OUTLINE": Pen(0.35, (), _INK),
    "SLOT_CENTRE": Pen(0.25, (), _INK),
    "SLOT_OUTLINE": Pen(0.25, (), _RUST),
    "SLOT_PATH": Pen(0.18, (), _RUST),  # no dashes: some cutters would lift at each gap
    "NUT_FRONT": Pen(0.5, (), _INK),
    "NUT_SLOT": Pen(0.25, (), _RUST),
    "CENTRELINE": Pen(0.25, _LONG_DASH_DOT, _SLATE),
    "STRING": Pen(0.18, (), _DUSK),
    "POSITION_MARKER": Pen(0.25, (), _MOSS),
    "RADIUS_CURVE": Pen(0.35, (), _INK),
    "STOCK": Pen(0.18, (), _SLATE),
    "HOLE": Pen(0.25, (), _MOSS),
    "ENGRAVE": Pen(0.18, (), _DUSK),
    "DIMENSION": Pen(0.18, (), _SLATE),
    "TEXT": Pen(0.18, (), _INK),
    "GRID": Pen(0.13, (), "#c4c4c4"),
    "STEM": Pen(0.18, (), _SLATE),
    "POINT": Pen(0.18, (), _INK, filled=True),
    "POINT_OPEN": Pen(0.18, (), _INK),
    "CHECK_RULER": Pen(0.18, (), _SLATE),
    "TILE_MARK": Pen(0.18, (), _RUST),
}

TOLERANCES = (
    f"Tolerances (common practice, no source): nut slot place and floor ±{t.NUT_SLOT:g}, fret slot place "
    f"±{t.FRET_SLOT:g}, nut thickness +0/−{t.NUT_THICKNESS:g}, other ±{t.OTHER:g} mm."
)


def sketch() -> Sketch:
    """An empty sketch with all layers."""
    return Sketch(PENS)

"""Lettering as single lines, for machines that have no typeface.

Letterforms: the simplex roman of the public-domain Hershey repertory (NBS Special Publication 424), 21 units from the
base line to the top of a capital. Signs that it lacks are drawn here on the same grid.
"""

from __future__ import annotations

import math
import unicodedata
from dataclasses import replace
from functools import cache
from itertools import groupby

from templategen.drawing.lettering import text_width
from templategen.drawing.model import Dimension, Drawing, Point, Polyline, Shape, Text
from templategen.errors import OurBug

CAPITAL_UNITS = 21.0
_FACE = "rowmans"

Glyph = tuple[float, tuple[tuple[Point, ...], ...]]
"""Advance width, and strokes as runs of points; letterform units, y up from the base line, x from the left side."""

_LIKE = {"−": "-", "–": "-", "—": "-", "‐": "-", "⁄": "/", "’": "'", "‘": "'", "“": '"', "”": '"', "·": "."}


def strokes(text: Text, scale: float = 1.0) -> tuple[Polyline, ...]:
    """The strokes, each one path, that draw ``text`` with capitals ``text.height / scale`` mm tall.

    Anchor, level and angle hold as for the text itself, and so does the width: the letters are narrowed to what
    ``text_width`` says, so that what was laid out without touching stays so. A bold text is drawn as a plain one.
    Accents are dropped; a character with no letterform becomes a question mark.
    """
    plain = _plain(text.text)
    advance = sum(_face()[sign][0] for sign in plain)
    if not advance:
        return ()
    size = text.height / scale / CAPITAL_UNITS
    width = text_width(text.text, text.height) / scale
    narrow = width / advance
    u = {"left": 0.0, "middle": -width / 2, "right": -width}[text.anchor]
    v = {"baseline": 0.0, "middle": -0.5, "top": -1.0}[text.level] * text.height / scale
    turn = math.radians(text.angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)

    def place(point: Point) -> Point:
        x, y = u + point[0] * narrow, v + point[1] * size
        return text.at[0] + x * cos - y * sin, text.at[1] + x * sin + y * cos

    found: list[Polyline] = []
    for sign in plain:
        step, runs = _face()[sign]
        for run in runs:
            placed = tuple(spot for spot, _ in groupby(place(point) for point in run))
            if len(placed) > 1:
                found.append(Polyline(placed))
        u += step * narrow
    return tuple(found)


def stroked(drawing: Drawing) -> Drawing:
    """A cut drawing with its lettering turned into strokes; other drawings as they are.

    Raises OurBug for a dimension in a cut drawing.
    """
    if drawing.kind != "cut":
        return drawing
    layers = []
    for layer in drawing.layers:
        shapes: list[Shape] = []
        for shape in layer.shapes:
            if isinstance(shape, Dimension):
                raise OurBug(f"{drawing.name}: a dimension on layer {layer.name} of a cut drawing")
            shapes.extend(strokes(shape, drawing.scale) if isinstance(shape, Text) else (shape,))
        layers.append(replace(layer, shapes=tuple(shapes)))
    return replace(drawing, layers=tuple(layers))


def _plain(text: str) -> str:
    """``text`` in the characters that have letterforms."""
    plain = ""
    for sign in text:
        if sign in _face():
            plain += sign
            continue
        parts = [c for c in unicodedata.normalize("NFKD", _LIKE.get(sign, sign)) if not unicodedata.combining(c)]
        plain += "".join(_LIKE.get(c, c) if _LIKE.get(c, c) in _face() else "?" for c in parts)
    return plain


@cache
def _face() -> dict[str, Glyph]:
    from HersheyFonts import HersheyFonts  # type: ignore[import-untyped]

    book = HersheyFonts()
    book.load_default_font(_FACE)
    face: dict[str, Glyph] = {}
    for sign, glyph in book.all_glyphs.items():
        if not sign.isprintable():
            continue
        runs = tuple(tuple((float(x - glyph.left_offset), float(9 - y)) for x, y in run) for run in glyph.strokes)
        face[sign] = float(glyph.char_width), runs
    ring = tuple((7 + 3.5 * math.cos(math.tau * i / 8), 17.5 + 3.5 * math.sin(math.tau * i / 8)) for i in range(8))
    face["°"] = 14.0, ((*ring, ring[0]),)
    face["±"] = 26.0, (((13, 18), (13, 4)), ((5, 11), (21, 11)), ((5, 0), (21, 0)))
    face["×"] = 22.0, (((5, 3), (17, 15)), ((5, 15), (17, 3)))
    face["Ø"] = face["O"][0], (*face["O"][1], ((4, -2), (18, 23)))
    face["ø"] = face["o"][0], (*face["o"][1], ((3, -2), (16, 16)))
    return face

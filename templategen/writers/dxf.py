"""A drawing as DXF.

R2000 by default: the oldest version with light polylines and declared units. R12 on request, which has no unit header,
so the file says mm in words. Lines, arcs, circles and polylines (with bulges, or in space) only, true size; lettering
is its paper height over the drawing's scale. Layers carry pen width (R2000) and a line type of their own.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from templategen.drawing import dimension as ruled
from templategen.drawing.alone import with_cautions
from templategen.drawing.model import (
    Arc,
    Circle,
    Dimension,
    Drawing,
    Layer,
    Line,
    Outline,
    Point,
    Polyline,
    Shape,
    Text,
)
from templategen.drawing.strokes import stroked
from templategen.writers.plain import clean, clean_point, dxf_text, hyphened, one_line

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

    from templategen.writers.dxf_entities import Checked, Tagged

Version = Literal["R2000", "R12"]

LETTERING = "LETTERING"
# Metrics of the sheet's typeface under the file name that most CAD programs find.
LETTERING_FONT = "arial.ttf"
UNITS_NOTE = "Lengths in this file are millimetres."

_LINE_WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)


def encode(drawing: Drawing, version: Version = "R2000") -> bytes:
    """The drawing as a DXF file; the same drawing gives the same bytes.

    What is to decide and cautions are lettered under a drawing. A cut drawing is written without TEXT and DIMENSION
    entities: its lettering becomes lines.
    """
    import ezdxf

    with _fixed_meta_data():
        document = ezdxf.new(version)  # type: ignore[attr-defined]
        _Replay(document, stroked(with_cautions(drawing)), version).run()
        stream = io.StringIO()
        document.write(stream)
        body = stream.getvalue().encode(document.output_encoding, errors="dxfreplace")
    said = [
        drawing.title,
        *([UNITS_NOTE] if version == "R12" else []),
        *drawing.notes,
        *(drawing.cautions if drawing.kind == "cut" else ()),
    ]
    head = "".join(f"999\n{one_line(line)}\n" for line in said)
    return head.encode("ascii", errors="replace") + body


@contextmanager
def _fixed_meta_data() -> Iterator[None]:
    """No clock and no chance in the header; the option is process-wide, so it is put back."""
    import ezdxf

    options: Any = ezdxf.options  # type: ignore[attr-defined]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


class _Replay:
    """One drawing played into one new document."""

    def __init__(self, document: Document, drawing: Drawing, version: Version) -> None:
        self.document = document
        self.space: Any = document.modelspace()
        self.drawing = drawing
        self.old = version == "R12"
        self.line_types: dict[tuple[float, ...], str] = {}

    def run(self) -> None:
        drawing, document = self.drawing, self.document
        header: Any = document.header
        if not self.old:
            document.units = 4  # $INSUNITS, mm
            header["$MEASUREMENT"] = 1
        header["$LTSCALE"] = 1.0
        lettered = [s for layer in drawing.layers for s in layer.shapes if isinstance(s, (Text, Dimension))]
        if lettered or (self.old and drawing.kind == "drawing"):
            document.styles.add(LETTERING, font=LETTERING_FONT)
        for places in sorted({s.places for s in lettered if isinstance(s, Dimension)}):
            self._dimension_style(places)
        hand = self._hand(self.space)
        for layer in drawing.layers:
            self._layer(layer)
            for shape in layer.shapes:
                self._shape(hand, shape, layer.name)
        box = drawing.bounds()
        if self.old and drawing.kind == "drawing":
            self._units_note(box.x0, box.y0)
        low, high = clean_point((box.x0, box.y0)), clean_point((box.x1, box.y1))
        self.space.reset_extents((*low, 0), (*high, 0))
        header["$EXTMIN"], header["$EXTMAX"] = (*low, 0), (*high, 0)
        middle = clean_point(((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2))
        document.set_modelspace_vport(clean(1.1 * max(box.height, box.width / 2, 1)), middle)

    def _hand(self, space: Any) -> Tagged | Checked:
        from templategen.writers.dxf_entities import Checked, Tagged

        return (Checked if self.old else Tagged)(space, LETTERING)

    def _layer(self, layer: Layer) -> None:
        attributes: dict[str, Any] = {"color": _colour_index(layer.pen.colour), "linetype": self._line_type(layer)}
        if not self.old:
            attributes["lineweight"] = min(_LINE_WEIGHTS, key=lambda w: abs(w - 100 * layer.pen.width))
        self.document.layers.add(layer.name, **attributes)

    def _line_type(self, layer: Layer) -> str:
        dash = layer.pen.dash
        if not dash:
            return "Continuous"
        if dash not in self.line_types:
            name = f"DASH_{len(self.line_types) + 1}"
            lengths = [clean(part / self.drawing.scale) for part in dash]
            signed = [length if i % 2 == 0 else -length for i, length in enumerate(lengths)]
            words = " ".join(f"{part:g}" for part in dash)
            self.document.linetypes.add(name, [clean(sum(lengths)), *signed], description=f"on, off: {words} mm")
            self.line_types[dash] = name
        return self.line_types[dash]

    def _dimension_style(self, places: int) -> None:
        scale = self.drawing.scale
        style: Any = self.document.dimstyles.new(_style_name(places))
        header: Any = self.document.header
        sizes = {
            "dimtxt": ruled.TEXT_HEIGHT, "dimasz": ruled.ARROW_LENGTH, "dimexo": ruled.GAP,
            "dimexe": ruled.OVERRUN, "dimgap": ruled.TEXT_LIFT,
        }  # fmt: skip
        for key, paper in sizes.items():
            setattr(style.dxf, key, clean(paper / scale))
            header["$" + key.upper()] = clean(paper / scale)  # some readers look only here
        style.dxf.dimscale = style.dxf.dimlfac = 1.0
        style.dxf.dimtad, style.dxf.dimtih, style.dxf.dimtoh = 1, 0, 0  # over the line and along it
        style.dxf.dimtofl = 1
        style.dxf.dimzin = header["$DIMZIN"] = 0  # 12.50 keeps its nought
        style.dxf.dimclrd = style.dxf.dimclre = style.dxf.dimclrt = 256
        style.dxf.dimtxsty = LETTERING
        if not self.old:
            style.dxf.dimdec, style.dxf.dimlunit, style.dxf.dimdsep = places, 2, ord(".")
            header["$DIMDEC"], header["$DIMLUNIT"], header["$DIMDSEP"] = places, 2, ord(".")

    def _shape(self, hand: Tagged | Checked, shape: Shape, layer: str) -> None:
        match shape:
            case Line(start, end):
                hand.line(clean_point(start), clean_point(end), layer)
            case Polyline():
                self._path(hand, shape, layer)
            case Arc(centre, radius, start_deg, end_deg):
                turns = clean(start_deg % 360, 9), clean(end_deg % 360, 9)
                hand.arc(clean_point(centre), clean(radius), *turns, layer)
            case Circle(centre, radius):
                hand.circle(clean_point(centre), clean(radius), layer)
            case Outline(points, bulges):
                hand.path(_corners(points, bulges), True, 0.0, layer)
            case Text():
                self._text(hand, shape, layer)
            case Dimension():
                self._dimension(shape, layer)

    def _path(self, hand: Tagged | Checked, path: Polyline, layer: str) -> None:
        """Level paths as light polylines at their height, the others as polylines in space."""
        if not path.is_level:
            places = [(*clean_point(spot), clean(z)) for spot, z in zip(path.points, path.heights, strict=True)]
            hand.way(places, layer)
            return
        bulges = (*(path.bulges or [0.0] * (len(path.points) - 1)), 0.0)
        hand.path(_corners(path.points, bulges), False, clean(path.heights[0]) if path.heights else 0.0, layer)

    def _text(self, hand: Tagged | Checked, text: Text, layer: str) -> None:
        height, turn = clean(text.height / self.drawing.scale), clean(text.angle_deg % 360, 9)
        hand.text(clean_point(text.at), dxf_text(text.text), height, turn, text.anchor, text.level, layer)

    def _dimension(self, dimension: Dimension, layer: str) -> None:
        """A DIMENSION whose picture is drawn here, so that every format shows the same and no font file is read."""
        block: Any = self.document.blocks.new_anonymous_block(type_char="D")
        hand = self._hand(block)
        lettering: Text | None = None
        for shape in ruled.exploded(dimension, self.drawing.scale):
            if isinstance(shape, Outline):
                tip, left, right = (clean_point(p) for p in shape.points)
                block.add_solid((tip, left, right), {"layer": layer})
                continue
            self._shape(hand, shape, layer)
            if isinstance(shape, Text):
                lettering = shape
        override = self.space.add_linear_dim(
            base=clean_point(dimension.line_at),
            p1=clean_point(dimension.start),
            p2=clean_point(dimension.end),
            angle=clean(dimension.angle_deg % 360, 9),
            text="<>" if dimension.text is None else hyphened(dimension.text),
            dimstyle=_style_name(dimension.places),
            dxfattribs={"layer": layer},
        )
        entity: Any = override.dimension
        entity.dxf.geometry = block.name
        if lettering is not None:
            entity.dxf.text_midpoint = clean_point(_middle(lettering, self.drawing.scale))
            entity.dxf.dimtype |= 128  # the text keeps the place it was given
        if not self.old:
            entity.dxf.attachment_point = 5
            entity.dxf.actual_measurement = clean(dimension.length)

    def _units_note(self, x: float, y: float) -> None:
        if "TEXT" not in self.document.layers:
            self.document.layers.add("TEXT", color=7)
        drop = 6.0 / self.drawing.scale
        self._text(self._hand(self.space), Text((x, y - drop), UNITS_NOTE, ruled.TEXT_HEIGHT), "TEXT")


def _corners(points: Sequence[Point], bulges: Sequence[float]) -> list[tuple[float, float, float]]:
    return [(*clean_point(spot), clean(bulge, 12)) for spot, bulge in zip(points, bulges, strict=True)]


def _style_name(places: int) -> str:
    return f"PLACES_{places}"


def _middle(text: Text, scale: float) -> tuple[float, float]:
    """The centre of a line of lettering between base line and capital height."""
    from dataclasses import replace

    from templategen.drawing.model import text_corners

    a, b, c, d = text_corners(replace(text, level="baseline"), scale)
    share = 0.3 / 1.3 + 0.5 / 1.3  # corners reach 0.3 below the base line
    low = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    high = (c[0] + d[0]) / 2, (c[1] + d[1]) / 2
    return low[0] + share * (high[0] - low[0]), low[1] + share * (high[1] - low[1])


@cache
def _colour_index(colour: str) -> int:
    """The nearest of the 255 numbered colours; black is 7, which turns white on a dark screen."""
    from ezdxf.colors import DXF_DEFAULT_COLORS, int2rgb

    want = tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))
    if max(want) < 24:
        return 7

    def off(index: int) -> int:
        have = int2rgb(DXF_DEFAULT_COLORS[index])
        return sum((a - b) ** 2 for a, b in zip(want, have, strict=True))

    return min(range(1, 256), key=off)

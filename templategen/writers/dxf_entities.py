"""Plain entities of a DXF file: lines, circles, arcs, paths and words of one space.

An entity of ezdxf looks up, checks and orders each attribute when it is written, and a drawing holds thousands whose
tags are always the same. In R2000 they say theirs at once (DXF Reference, "Entities section") and leave the rest to the
library: handle, owner, layout, the tag writer and the file around them. In R12 they are the library's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.enums import TextEntityAlignment
from ezdxf.lldxf.types import TAG_STRING_FORMAT

Tag = tuple[int, Any]
Flat = tuple[float, float]
BulgedCorner = tuple[float, float, float]  # x, y, bulge of the stretch that leaves it

_ACROSS = {"left": "LEFT", "middle": "CENTER", "right": "RIGHT"}
_LEVEL = {"baseline": "", "middle": "MIDDLE_", "top": "TOP_"}
_GROUP_72 = {"left": 0, "middle": 1, "right": 2}
_GROUP_73 = {"baseline": 0, "middle": 2, "top": 3}


class Plain(DXFGraphic):
    """An entity as its type and the tags that follow those of every entity."""

    words = ""

    def export_dxf(self, tagwriter: Any) -> None:
        self.export_base_class(tagwriter)
        tagwriter.write_str(self.words)


class Tagged:
    """What is drawn in a space of an R2000 file."""

    def __init__(self, space: Any, lettering: str) -> None:
        self.space, self.lettering = space, lettering

    def line(self, start: Flat, end: Flat, layer: str) -> None:
        self._add("LINE", layer, (100, "AcDbLine"), *_place(0, start), *_place(1, end))

    def circle(self, centre: Flat, radius: float, layer: str) -> None:
        self._add("CIRCLE", layer, (100, "AcDbCircle"), *_place(0, centre), (40, radius))

    def arc(self, centre: Flat, radius: float, start_deg: float, end_deg: float, layer: str) -> None:
        ring = ((100, "AcDbCircle"), *_place(0, centre), (40, radius))
        self._add("ARC", layer, *ring, (100, "AcDbArc"), (50, start_deg), (51, end_deg))

    def path(self, corners: Sequence[BulgedCorner], closed: bool, height: float, layer: str) -> None:
        """Level at ``height``."""
        tags: list[Tag] = [(100, "AcDbPolyline"), (90, len(corners)), (70, int(closed))]
        tags += [(38, height)] * bool(height)
        for x, y, bulge in corners:
            tags += [(10, x), (20, y), (42, bulge)] if bulge else [(10, x), (20, y)]
        self._add("LWPOLYLINE", layer, *tags)

    def text(self, at: Flat, words: str, height: float, angle_deg: float, anchor: str, level: str, layer: str) -> None:
        across, over = _GROUP_72[anchor], _GROUP_73[level]
        tags: list[Tag] = [(100, "AcDbText"), *_place(0, at), (40, height), (1, words)]
        tags += [(50, angle_deg)] * bool(angle_deg)
        tags.append((7, self.lettering))
        tags += [(72, across)] * bool(across)
        tags += _place(1, at)
        tags.append((100, "AcDbText"))
        tags += [(73, over)] * bool(over)
        self._add("TEXT", layer, *tags)

    def way(self, places: Sequence[tuple[float, float, float]], layer: str) -> None:
        """A polyline in space, which is an entity to each of its points and one that ends it."""
        entity = self._add("POLYLINE", layer, (100, "AcDb3dPolyline"), (66, 1), *_place(0, (0.0, 0.0)), (70, 8))
        end, *handles = (self.space.doc.entitydb.next_handle() for _ in range(len(places) + 1))
        kinds = (100, "AcDbVertex"), (100, "AcDb3dPolylineVertex")
        for handle, (x, y, z) in zip(handles, places, strict=True):
            base = (0, "VERTEX"), (5, handle), (330, entity.dxf.owner), (100, "AcDbEntity"), (8, layer)
            entity.words += _written(*base, *kinds, (10, x), (20, y), (30, z), (70, 32))
        entity.words += _written((0, "SEQEND"), (5, end), (330, entity.dxf.handle), (100, "AcDbEntity"), (8, layer))

    def _add(self, kind: str, layer: str, *tags: Tag) -> Plain:
        entity = Plain()
        entity.DXFTYPE = kind
        entity.words = _written((100, "AcDbEntity"), (8, layer), *tags)
        self.space.add_entity(entity)
        return entity


class Checked:
    """The same in an R12 file."""

    def __init__(self, space: Any, lettering: str) -> None:
        self.space, self.lettering = space, lettering

    def line(self, start: Flat, end: Flat, layer: str) -> None:
        self.space.add_line(start, end, {"layer": layer})

    def circle(self, centre: Flat, radius: float, layer: str) -> None:
        self.space.add_circle(centre, radius, {"layer": layer})

    def arc(self, centre: Flat, radius: float, start_deg: float, end_deg: float, layer: str) -> None:
        self.space.add_arc(centre, radius, start_deg, end_deg, dxfattribs={"layer": layer})

    def path(self, corners: Sequence[BulgedCorner], closed: bool, height: float, layer: str) -> None:
        on: dict[str, Any] = {"layer": layer, **({"elevation": (0.0, 0.0, height)} if height else {})}
        self.space.add_polyline2d(corners, format="xyb", close=closed, dxfattribs=on)

    def way(self, places: Sequence[tuple[float, float, float]], layer: str) -> None:
        self.space.add_polyline3d(places, dxfattribs={"layer": layer})

    def text(self, at: Flat, words: str, height: float, angle_deg: float, anchor: str, level: str, layer: str) -> None:
        on = {"layer": layer, "style": self.lettering}
        entity = self.space.add_text(words, height=height, rotation=angle_deg, dxfattribs=on)
        entity.set_placement(at, align=TextEntityAlignment[_LEVEL[level] + _ACROSS[anchor]])


def _written(*tags: Tag) -> str:
    return "".join([TAG_STRING_FORMAT % tag for tag in tags])


def _place(number: int, at: Flat) -> tuple[Tag, ...]:
    """A point in space as groups 10, 20, 30 or 11, 21, 31."""
    return (10 + number, at[0]), (20 + number, at[1]), (30 + number, 0.0)

"""Toolpaths as DXF, each way a polyline in space, and as CSV, each point a row."""

from __future__ import annotations

import csv
import io

from templategen.drawing.toolpath import Toolpath
from templategen.writers import dxf
from templategen.writers.plain import clean


def drawn(path: Toolpath) -> bytes:
    """DXF of the ways."""
    return dxf.encode(path.drawn())


def listed(path: Toolpath) -> bytes:
    """CSV: the way's name, the point's number in it from 1, x, y, z in mm."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow((path.counted, "point", "x", "y", "z"))
    for way in path.ways:
        writer.writerows((way.name, n, *map(clean, spot)) for n, spot in enumerate(way.points, 1))
    return text.getvalue().encode()

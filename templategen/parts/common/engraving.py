"""What is engraved on tools: a radius in both units, and lines about a point, as large as fits."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templategen.drawing.lettering import text_width
from templategen.drawing.model import Point, Text
from templategen.units import inch_text, mm_text

PITCH = 1.8  # from line to line, in heights


def radius_line(radius: float) -> str:
    """``"R 304.80 mm  12.000 in"``."""
    return f"R {mm_text(radius)} mm  {inch_text(radius, 3)} in"


def lettering(
    lines: Sequence[str], middle: Point, wide: float, tall: float = math.inf, most: float = 3.0, least: float = 1.5
) -> tuple[Text, ...]:
    """Lines about a point within ``wide`` by ``tall``, all of one height, at most ``most``; none where they would be
    smaller than ``least`` and unread."""
    height = min(most, tall / (PITCH * len(lines)), *(wide / text_width(line, 1.0) for line in lines))
    if height < least:
        return ()
    x, y = middle
    top = y + (len(lines) - 1) * PITCH / 2 * height
    return tuple(
        Text((x, top - n * PITCH * height), line, height, 0.0, "middle", "middle") for n, line in enumerate(lines)
    )

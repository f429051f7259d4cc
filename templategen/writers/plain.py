"""Numbers and text as every writer puts them down."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from templategen.drawing.model import Point
from templategen.tables.model import Table

PLACES = 6  # 1e-6 mm
NUMBER_PLACES = 9  # of numbers in CSV and JSON: as many as the text stays the same with on every machine


def clean(value: float, places: int = PLACES) -> float:
    """``value`` rounded; adding zero turns -0.0 into 0.0."""
    return round(float(value), places) + 0.0


def clean_point(point: Point) -> Point:
    return clean(point[0]), clean(point[1])


def number(value: float, places: int = PLACES) -> str:
    """``value`` as the shortest decimal text without an exponent.

    >>> number(-0.0000001), number(12.50)
    ('0', '12.5')
    """
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def one_line(text: str) -> str:
    """``text`` without the control characters that would break a line-based or an XML file."""
    return text if text.isprintable() else "".join(sign if sign.isprintable() else " " for sign in text)


def hyphened(text: str) -> str:
    """One line with the minus sign as a hyphen: the stroke faces of some CAD programs have no U+2212."""
    return one_line(text).replace("−", "-")


def dxf_text(text: str) -> str:
    """Lettering as DXF wants it, so that a reader shows the text and not what it could stand for: a percent sign pair
    starts a code (``%%%`` is the sign itself), and so does a backslash with U+ (written as that code itself)."""
    plain = hyphened(text)
    if "%%" in plain:
        plain = plain.replace("%", "%%%")
    return plain.replace("\\U+", "\\U+005CU+")


def plain(value: Any) -> Any:
    """Tables, arrays and sequences as lists, numbers rounded, what is not finite None; keys and words as they are."""
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, bool | str | int) or value is None:
        return value
    if isinstance(value, Table):
        return [plain(row) for row in value.records()]
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, Sequence):
        return [plain(item) for item in value]
    number = float(value)
    return clean(number, NUMBER_PLACES) if math.isfinite(number) else None

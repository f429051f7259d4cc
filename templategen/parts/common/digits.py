"""Figures made of straight bars that do not touch, for engraving solids: seven bars a digit, cut as V grooves.

A typeface's strokes cross and curve; bars apart from each other cut a hundred times faster and print cleanly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from templategen.solids.shape import Solid, Vector

Bar = tuple[float, float, float, float]
"""(x0, z0, x1, z1), level or upright."""

WIDE = 0.55  # a digit's width, in heights
PITCH = 0.85  # from digit to digit
GAP = 0.12  # between a digit's bars
GROOVE = 0.8  # mm across; half as deep, so that its roof prints without support
_OVER = 0.2

# Bars: a top, b upper right, c lower right, d foot, e lower left, f upper left, g middle.
_BARS = {
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd", "6": "afgedc", "7": "abc",
    "8": "abcdefg", "9": "abcdfg", "-": "g",
}  # fmt: skip


def width(text: str, height: float) -> float:
    """Of a line of figures, mm."""
    return sum(_advance(sign) for sign in text) * height - (PITCH - WIDE) * height


def bars(text: str, middle: tuple[float, float], height: float) -> tuple[Bar, ...]:
    """The bars of a line of figures about a point: digits, point, plus, minus, space."""
    left = middle[0] - width(text, height) / 2
    foot = middle[1] - height / 2
    found: list[Bar] = []
    for sign in text:
        found += [
            (left + a * height, foot + b * height, left + c * height, foot + d * height) for a, b, c, d in _of(sign)
        ]
        left += _advance(sign) * height
    return tuple(found)


def grooves(lines: tuple[Bar, ...], y: float = 0.0) -> tuple[Solid, ...]:
    """Tools that cut the bars into the face at ``y`` of a solid that lies at larger y."""
    from templategen.solids.make import polygon, prism
    from templategen.solids.shape import Frame

    half = GROOVE / 2
    section = polygon(((-_OVER, -half), (0.0, -half), (half, 0.0), (0.0, half), (-_OVER, half)))
    tools = []
    for x0, z0, x1, z1 in lines:
        level = z0 == z1
        across = (0.0, 0.0, 1.0) if level else (1.0, 0.0, 0.0)
        way = (x1 - x0, 0.0, 0.0) if level else (0.0, 0.0, z1 - z0)
        tools.append(prism(section, way, Frame((x0, y, z0), (0.0, 1.0, 0.0), across)))
    return tuple(tools)


def in_grooves(lines: tuple[Bar, ...], y: float = 0.0) -> tuple[Vector, ...]:
    """A point of the solid that each of them takes away."""
    return tuple(((x0 + x1) / 2, y + GROOVE / 6, (z0 + z1) / 2) for x0, z0, x1, z1 in lines)


def _advance(sign: str) -> float:
    return 0.45 if sign in ". " else PITCH


def _of(sign: str) -> list[Bar]:
    """Bars in a cell one high."""
    if sign == ".":
        return [(0.0, 0.06, 0.15, 0.06)]
    if sign == "+":
        return [(0.0, 0.5, WIDE, 0.5), (WIDE / 2, 0.5 + GAP, WIDE / 2, 0.78), (WIDE / 2, 0.22, WIDE / 2, 0.5 - GAP)]
    g = GAP
    place = {
        "a": (g, 1.0, WIDE - g, 1.0), "g": (g, 0.5, WIDE - g, 0.5), "d": (g, 0.0, WIDE - g, 0.0),
        "b": (WIDE, 0.5 + g, WIDE, 1.0 - g), "c": (WIDE, g, WIDE, 0.5 - g),
        "f": (0.0, 0.5 + g, 0.0, 1.0 - g), "e": (0.0, g, 0.0, 0.5 - g),
    }  # fmt: skip
    return [place[bar] for bar in _BARS.get(sign, "")]

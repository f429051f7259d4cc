"""Tools with one round side: sections mirrored about their middle, and prisms of them that stand on their back.

Block frame: x across, z up from the flat back, y along the length.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templategen.drawing.model import Outline, Point
from templategen.geometry import arc_bulge

if TYPE_CHECKING:
    from templategen.solids.shape import Solid, Vector


def mirrored(right: Sequence[Point], radius: float, convex: bool = False) -> Outline:
    """The closed section, counterclockwise, of its right half from the back up to the face's edge. The face joins that
    edge to its mirror image: the only arc, hollow or ``convex``, a straight line where ``radius`` is infinite."""
    left = [(-x, z) for x, z in reversed(right)]
    bulges = [0.0] * (2 * len(right))
    bulges[len(right) - 1] = arc_bulge(right[-1], left[0], radius, upward=convex)
    return Outline((*right, *left), tuple(bulges))


def standing(section: Outline, length: float, name: str) -> Solid:
    """The section moved along y, from 0 to ``length``."""
    from templategen.solids import make as solids
    from templategen.solids.shape import Frame

    frame = Frame((0.0, length, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return solids.prism(section, (0.0, -length, 0.0), frame, name)


def back_bevels(length: float, by: float) -> tuple[Solid, Solid]:
    """Tools for the 45° bevels of the back's edges at both ends."""
    from templategen.solids import make as solids

    return (
        solids.half_space((0.0, 0.0, by), (0.0, -1.0, -1.0)),
        solids.half_space((0.0, length, by), (0.0, 1.0, -1.0)),
    )


def under_back_bevels(length: float, by: float) -> tuple[Vector, Vector]:
    """A point of the solid that each of them takes away."""
    return (0.0, by / 4, by / 4), (0.0, length - by / 4, by / 4)

"""The piece that a nut begins as: the nut with its allowances, or a plain bar that holds it; nut frame.

Terms
-----
shaped   the finished outline with its allowances: ends along the board's edges, top an arc, level from front to back
bar      a plain box that holds all of that, its ends square, so that a machine vice can take it
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from templategen.geometry import Point3
from templategen.geometry.camber import Camber

PLACES = 6  # decimals of heights that come from the string line, as in the writers
Form = Literal["shaped", "bar"]


@dataclass(frozen=True)
class Blank:
    """low, high: corners (x, y, z) of the upright box around it. top: over every y."""

    form: Form
    low: Point3
    high: Point3
    top: Camber

    @property
    def size(self) -> Point3:
        """Along the nut, through it, upright."""
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        return x1 - x0, y1 - y0, z1 - z0


def build_blank(form: Form, x: tuple[float, float], y: tuple[float, float], datum: float, top: Camber) -> Blank:
    """x, y: of the outermost ends, front and back, allowances included; datum: z of the flat underside; top: of the
    shaped blank."""
    at = [*x, *([top.centre[0]] if not top.straight and x[0] < top.centre[0] < x[1] else [])]
    highest = round(float(np.max(top.z(at))), PLACES)
    if form == "bar":
        top = Camber(highest, 0.0, 0.0)
    return Blank(form, (x[0], y[0], datum), (x[1], y[1], highest), top)


def raised(top: Camber, lift: float) -> Camber:
    """A top lifted, rounded to 1e-6 mm at the ends: what is told in two ways which agree as far as they are printed
    makes the same files."""
    return Camber(round(top.z0 + lift, PLACES), round(top.slope, PLACES + 2), round(top.curvature, PLACES + 3))

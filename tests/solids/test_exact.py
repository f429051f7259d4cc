"""Edges redrawn on their faces: curve in space, curve on each face and the face itself agree far below a tolerance."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from probing import cylinder_tool

from templategen.solids import kernel as k
from templategen.solids.combine import cut
from templategen.solids.exact import WITHIN, exact
from templategen.solids.make import ball_slot, box, cone_tool, ring, vee_groove
from templategen.solids.shape import Contour, Frame, Solid, each


def worst(solid: Solid) -> float:
    """The largest distance between an edge and what each of its faces makes of it, at many places of each edge."""
    found = 0.0
    for shape in each(solid.shape, k.TopAbs_FACE):
        face = k.TopoDS.Face_s(shape)
        surface = k.BRep_Tool.Surface_s(face)
        for kept in each(face, k.TopAbs_EDGE):
            edge = k.TopoDS.Edge_s(kept)
            curve, flat = k.BRepAdaptor_Curve(edge), k.BRep_Tool.CurveOnSurface_s(edge, face, 0.0, 0.0)
            for t in np.linspace(curve.FirstParameter(), curve.LastParameter(), 301).tolist():
                place = flat.Value(t)
                found = max(found, curve.Value(t).Distance(surface.Value(place.X(), place.Y())))
    return found


def crossing(body: Solid, *tools: Solid) -> Solid:
    return cut(body, tools)


BLOCK = ((0.0, 0.0, 0.0), (20.0, 10.0, 6.0))
CASES: dict[str, Any] = {
    "two cylinders": lambda: crossing(
        crossing(box(*BLOCK), cylinder_tool((-1, 5, 9), (1, 0, 0.02), 5.0, 30.0)),
        ball_slot((8.0, 0.0, 4.0), (0.1, 1.0, -0.05), 0.8, 11.0, 8.0),
    ),
    "a cone": lambda: crossing(
        box(*BLOCK),
        cone_tool((10, 5, -1), (0, 0, 1), 1.0, 3.0, 8.0, (1, 0, 0)),
        ball_slot((3.0, 0.0, 3.0), (1.0, 0.4, -0.02), 1.2, 20.0, 8.0),
    ),
    "a torus": lambda: crossing(
        box(*BLOCK),
        ring(
            Contour(((-0.5, 30.0), (1.0, 28.5), (4.0, 28.5), (4.0, 34.0), (-0.5, 34.0)), (-0.41, 0.0, 0.0, 0.0, 0.0)),
            (10.0, 10.0, -24.0),
            (0.0, 1.0, 0.0),
            1.2,
            Frame((10.0, 8.0, -24.0), (0.0, 1.0, 0.0), (-math.sin(0.6), 0.0, math.cos(0.6))),
        ),
    ),
    "a long ellipse": lambda: crossing(
        crossing(box(*BLOCK), cylinder_tool((-5, 5, 150), (1, 0, 0), 146.0, 30.0)),
        vee_groove((-1.0, 5.0, 3.0), (1.0, 0.0005, -0.0005), 60.0, 24.0, 8.0),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_edges_lie_on_their_faces(name: str) -> None:
    rough = CASES[name]()
    fine = exact(rough)
    assert worst(fine) < 1.5 * WITHIN
    assert fine.volume == pytest.approx(rough.volume, rel=1e-7)
    assert len(list(each(fine.shape, k.TopAbs_EDGE))) == len(list(each(rough.shape, k.TopAbs_EDGE)))


def test_what_the_kernel_leaves_is_worse() -> None:
    """Else there would be nothing to redraw: twice the smallest tolerance, 1e-7, in at least one case."""
    assert max(worst(made()) for made in CASES.values()) > 2e-7

"""Questions to a solid that only tests have: what its faces are, where a line crosses them; a round bar to cut with."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from templategen.solids.shape import Solid, Vector, each


@dataclass(frozen=True)
class Face:
    """What a face is: ``kind`` plane, cylinder, cone, torus or other; ``radius`` of a cylinder or of a torus's tube;
    ``half_angle_deg`` of a cone, unsigned; ``normal_or_axis`` a unit vector, up to its sign.
    """

    kind: str
    normal_or_axis: Vector = (0.0, 0.0, 0.0)
    radius: float = math.nan
    half_angle_deg: float = math.nan


def faces(solid: Solid) -> tuple[Face, ...]:
    """The solid's faces, in the kernel's order."""
    from OCP import BRepAdaptor, GeomAbs, TopAbs, TopoDS

    found = []
    for shape in each(solid.shape, TopAbs.TopAbs_FACE):
        surface = BRepAdaptor.BRepAdaptor_Surface(TopoDS.TopoDS.Face_s(shape))
        kind = surface.GetType()
        if kind == GeomAbs.GeomAbs_Plane:
            found.append(Face("plane", _vector(surface.Plane().Axis().Direction())))
        elif kind == GeomAbs.GeomAbs_Cylinder:
            cylinder = surface.Cylinder()
            found.append(Face("cylinder", _vector(cylinder.Axis().Direction()), cylinder.Radius()))
        elif kind == GeomAbs.GeomAbs_Cone:
            cone = surface.Cone()
            angle = math.degrees(abs(cone.SemiAngle()))
            found.append(Face("cone", _vector(cone.Axis().Direction()), half_angle_deg=angle))
        elif kind == GeomAbs.GeomAbs_Torus:
            torus = surface.Torus()
            found.append(Face("torus", _vector(torus.Axis().Direction()), torus.MinorRadius()))
        else:
            found.append(Face("other"))
    return tuple(found)


def ray(solid: Solid, point: Vector, direction: Vector) -> tuple[float, ...]:
    """Where a straight line through ``point`` crosses the solid's faces: distances along the unit ``direction``, mm,
    rising, in both senses; two crossings within 1e-6 count as one (a hit on a shared edge).
    """
    from OCP import IntCurvesFace, gp

    probe = IntCurvesFace.IntCurvesFace_ShapeIntersector()
    probe.Load(solid.shape, 1e-9)
    probe.Perform(gp.gp_Lin(gp.gp_Pnt(*point), gp.gp_Dir(*direction)), -1e6, 1e6)
    hits = sorted(float(probe.WParameter(i)) for i in range(1, probe.NbPnt() + 1))
    return tuple(hit for i, hit in enumerate(hits) if i == 0 or hit - hits[i - 1] > 1e-6)


def ray_z(solid: Solid, x: float, y: float) -> tuple[float, ...]:
    """The heights at which a vertical line at (x, y) crosses the solid's faces, mm, rising."""
    return ray(solid, (x, y, 0.0), (0.0, 0.0, 1.0))


def _vector(direction: Any) -> Vector:
    return float(direction.X()), float(direction.Y()), float(direction.Z())


def cylinder_tool(point: Vector, direction: Vector, radius: float, length: float) -> Solid:
    """A round bar from ``point`` along ``direction``: drilled holes, finger grooves."""
    from OCP import BRepPrimAPI, TopoDS, gp

    axis = gp.gp_Ax2(gp.gp_Pnt(*point), gp.gp_Dir(*direction))
    return Solid(TopoDS.TopoDS.Solid_s(BRepPrimAPI.BRepPrimAPI_MakeCylinder(axis, radius, length).Shape()))

"""Edges drawn where their two faces really meet.

What the kernel's booleans leave on edges is near enough for itself: curves up to some 1e-5 mm off their faces, with a
tolerance beside them that a STEP file cannot carry. A program that reads the file then finds edges beside their
surfaces. Here such an edge is drawn anew, through points on both faces, and the same curve is written in each face's
own parameters, so that all three agree within ``WITHIN``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from templategen.geometry.arrays import Array
from templategen.solids.combine import checked
from templategen.solids.shape import Solid

Distance = Callable[[Array], tuple[Array, Array]]
"""Points (n, 3) to their distances from a surface, signed (n,), and the unit directions in which they grow (n, 3)."""

WITHIN = 2e-8  # mm; the kernel's own smallest tolerance is 1e-7
_LONGEST = 1e4  # mm, half an ellipse's longer axis: beyond it a parameter's last digits are felt
_FEWEST, _MOST = 9, 513  # points through which a curve is drawn


def exact(solid: Solid) -> Solid:
    """The same solid with curves and curves on surfaces that lie on their faces. Faces other than planes, cylinders,
    cones and tori keep what they have, and so do edges along which a face closes on itself.

    Raises OurBug where the result is not one valid solid of the same volume.
    """
    from templategen.solids import kernel as k

    shape = k.BRepBuilderAPI_Copy(solid.shape).Shape()
    beside = k.TopTools_IndexedDataMapOfShapeListOfShape()
    k.TopExp.MapShapesAndAncestors_s(shape, k.TopAbs_EDGE, k.TopAbs_FACE, beside)
    for row in range(1, beside.Extent() + 1):
        edge = k.TopoDS.Edge_s(beside.FindKey(row))
        faces = [k.TopoDS.Face_s(face) for face in beside.FindFromIndex(row)]
        if len(faces) == 2 and not k.BRep_Tool.Degenerated_s(edge):
            _redraw(edge, faces)
    return checked(shape, solid.name, "drawing the edges of", solid.volume, 1e-6)


def _redraw(edge: Any, faces: list[Any]) -> None:
    from templategen.solids import kernel as k

    distances = [_distance(k.BRepAdaptor_Surface(face)) for face in faces]
    if any(k.BRep_Tool.IsClosed_s(edge, face) for face in faces):
        return
    curve, builder = _curve(edge), k.BRep_Builder()
    both = [found for found in distances if found is not None]
    starts = [_start(edge, face) for face in faces]  # before the parameters change
    if len(both) == 2 and not _true(curve):
        made, low, high = _through(curve, both[0], both[1])
        builder.UpdateEdge(edge, made, k.TopLoc_Location(), 1e-7)
        builder.Range(edge, low, high, True)
    for face, start in zip(faces, starts, strict=True):
        _on_face(edge, face, start, builder)


def _true(curve: Any) -> bool:
    """Whether a curve is exact as the kernel has it: a line, a circle, an ellipse that is not too long."""
    from templategen.solids import kernel as k

    kind = curve.GetType()
    if kind == k.GeomAbs_Ellipse:
        return bool(curve.Ellipse().MajorRadius() < _LONGEST)
    return kind in (k.GeomAbs_Line, k.GeomAbs_Circle)


# --------------------------------------------------------------------------------------------------- curves in space


def _through(curve: Any, one: Distance, other: Distance) -> tuple[Any, float, float]:
    """A curve on both surfaces beside one that is nearly so, as long as needed, from parameter 0 to its length."""
    count = _FEWEST
    while True:
        at = np.linspace(curve.FirstParameter(), curve.LastParameter(), 2 * count - 1)
        points = _onto_both(_points(curve, at), one, other)
        steps = np.linalg.norm(np.diff(points[::2], axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        ends = [_way(points[n], one, other, points[m] - points[n]) for n, m in ((0, 1), (-2, -1))]
        ends[1] = _way(points[-1], one, other, points[-1] - points[-2])
        made = _interpolated(points[::2], along, ends[0], ends[1])
        between = (along[1:] + along[:-1]) / 2
        drawn = np.array([_xyz(made.Value(float(t))) for t in between])
        off = max(float(np.abs(found(drawn)[0]).max()) for found in (one, other))
        if off < WITHIN / 4 or count >= _MOST:
            return made, 0.0, float(along[-1])
        count = 2 * count - 1


def _onto_both(points: Array, one: Distance, other: Distance) -> Array:
    """Points moved onto both surfaces, square to their common line (Newton)."""
    for _ in range(20):
        (a, u), (b, v) = one(points), other(points)
        cos = (u * v).sum(-1)
        sin2 = np.maximum(1 - cos * cos, 1e-12)
        along_u, along_v = (a - cos * b) / sin2, (b - cos * a) / sin2
        step = along_u[:, None] * u + along_v[:, None] * v
        points = points - step
        if np.abs(step).max() < 1e-13:
            break
    return points


def _way(point: Array, one: Distance, other: Distance, forward: Array) -> Array:
    """The unit direction of the line in which two surfaces meet, the way of ``forward``."""
    (_, u), (_, v) = one(point[None]), other(point[None])
    way = np.cross(u[0], v[0])
    way /= np.linalg.norm(way)
    return way if way @ forward > 0 else -way


def _interpolated(points: Array, along: Array, start: Array, end: Array) -> Any:
    """A cubic spline through points (n, 3) or (n, 2) at the parameters ``along``, its end tangents given."""
    from templategen.solids import kernel as k

    flat = points.shape[1] == 2
    row = (k.TColgp_HArray1OfPnt2d if flat else k.TColgp_HArray1OfPnt)(1, len(points))
    params = k.TColStd_HArray1OfReal(1, len(points))
    make_point, make_vector = (k.gp_Pnt2d, k.gp_Vec2d) if flat else (k.gp_Pnt, k.gp_Vec)
    for n, (place, t) in enumerate(zip(points.tolist(), along.tolist(), strict=True), 1):
        row.SetValue(n, make_point(*place))
        params.SetValue(n, t)
    spline = (k.Geom2dAPI_Interpolate if flat else k.GeomAPI_Interpolate)(row, params, False, 1e-12)
    spline.Load(make_vector(*start.tolist()), make_vector(*end.tolist()), False)
    spline.Perform()
    return spline.Curve()


# ------------------------------------------------------------------------------------------------- curves on a face


def _start(edge: Any, face: Any) -> tuple[float, float]:
    """Where the edge's curve begins in the face's parameters."""
    place = _curve_on(edge, face).Value(_curve(edge).FirstParameter())
    return float(place.X()), float(place.Y())


def _on_face(edge: Any, face: Any, start: tuple[float, float], builder: Any) -> None:
    """The edge's curve in the face's own parameters, if what is there does not lie on it. start: where it began."""
    from templategen.solids import kernel as k

    curve, surface = _curve(edge), k.BRep_Tool.Surface_s(face)
    low, high = curve.FirstParameter(), curve.LastParameter()
    if _apart(curve, _curve_on(edge, face), surface, np.linspace(low, high, 64)) < WITHIN:
        return
    if _distance(k.BRepAdaptor_Surface(face)) is None:
        return
    count = _FEWEST
    while True:
        at = np.linspace(low, high, count)
        made = _flat(curve, surface, at, start)
        between = (at[1:] + at[:-1]) / 2
        if _apart(curve, made, surface, between) < WITHIN / 2 or count >= _MOST:
            break
        count = 2 * count - 1
    builder.UpdateEdge(edge, made, face, 1e-7)
    builder.Range(edge, face, low, high)


def _curve(edge: Any) -> Any:
    from templategen.solids import kernel as k

    return k.BRepAdaptor_Curve(edge)


def _curve_on(edge: Any, face: Any) -> Any:
    from templategen.solids import kernel as k

    return k.BRep_Tool.CurveOnSurface_s(edge, face, 0.0, 0.0)


def _flat(curve: Any, surface: Any, at: Array, start: tuple[float, float]) -> Any:
    """A spline in the surface's parameters under a curve in space, at the same parameters."""
    from templategen.solids import kernel as k

    seen = k.ShapeAnalysis_Surface(surface)
    rows, ways = [], []
    point, tangent, du, dv = k.gp_Pnt(), k.gp_Vec(), k.gp_Vec(), k.gp_Vec()
    for n, t in enumerate(at.tolist()):
        curve.D1(t, point, tangent)
        place = seen.ValueOfUV(point, 1e-9)
        rows.append((place.X(), place.Y()))
        if n in (0, len(at) - 1):
            surface.D1(place.X(), place.Y(), k.gp_Pnt(), du, dv)
            basis = np.array([_xyz(du), _xyz(dv)]).T
            ways.append(np.linalg.lstsq(basis, np.array(_xyz(tangent)), rcond=None)[0])
    places = np.array(rows)
    for axis, period in enumerate(_periods(surface)):
        if period:
            places[:, axis] = np.unwrap(places[:, axis], period=period)
            places[:, axis] += period * round((start[axis] - places[0, axis]) / period)
    return _interpolated(places, at, ways[0], ways[1])


def _periods(surface: Any) -> tuple[float, float]:
    return (
        surface.UPeriod() if surface.IsUPeriodic() else 0.0,
        surface.VPeriod() if surface.IsVPeriodic() else 0.0,
    )


def _apart(curve: Any, flat: Any, surface: Any, at: Array) -> float:
    """The largest distance between a curve in space and the one on a surface, parameter for parameter."""
    worst = 0.0
    for t in at.tolist():
        place = flat.Value(t)
        worst = max(worst, curve.Value(t).Distance(surface.Value(place.X(), place.Y())))
    return worst


# ---------------------------------------------------------------------------------------------------------- surfaces


def _distance(surface: Any) -> Distance | None:
    """The distance from a plane, cylinder, cone or torus; None of anything else."""
    from templategen.solids import kernel as k

    kind = surface.GetType()
    if kind == k.GeomAbs_Plane:
        plane = surface.Plane()
        origin, normal = _axis(plane.Axis())
        return lambda points: ((points - origin) @ normal, np.broadcast_to(normal, points.shape))
    if kind == k.GeomAbs_Cylinder:
        cylinder = surface.Cylinder()
        origin, axis = _axis(cylinder.Axis())
        return _round(origin, axis, lambda s, rho: (rho - cylinder.Radius(), 0.0 * s, 1.0 + 0.0 * s))
    if kind == k.GeomAbs_Cone:
        cone = surface.Cone()
        origin, axis = _axis(cone.Axis())
        sin, cos = np.sin(cone.SemiAngle()), np.cos(cone.SemiAngle())
        return _round(
            origin, axis, lambda s, rho: ((rho - cone.RefRadius()) * cos - s * sin, -sin + 0.0 * s, cos + 0.0 * s)
        )
    if kind == k.GeomAbs_Torus:
        torus = surface.Torus()
        origin, axis = _axis(torus.Axis())
        major, minor = torus.MajorRadius(), torus.MinorRadius()

        def tube(s: Array, rho: Array) -> tuple[Array, Array, Array]:
            out = np.hypot(s, rho - major)
            return out - minor, s / out, (rho - major) / out

        return _round(origin, axis, tube)
    return None


def _round(origin: Array, axis: Array, profile: Callable[[Array, Array], tuple[Array, Array, Array]]) -> Distance:
    """A surface round an axis. profile: of the way along the axis and the distance from it to the distance from the
    surface, and how fast that grows with each."""

    def distance(points: Array) -> tuple[Array, Array]:
        way = points - origin
        s = way @ axis
        across = way - s[:, None] * axis
        rho = np.linalg.norm(across, axis=1)
        off, by_s, by_rho = profile(s, rho)
        return off, by_s[:, None] * axis + (by_rho / rho)[:, None] * across

    return distance


def _axis(axis: Any) -> tuple[Array, Array]:
    return np.array(_xyz(axis.Location())), np.array(_xyz(axis.Direction()))


def _points(curve: Any, at: Array) -> Array:
    return np.array([_xyz(curve.Value(t)) for t in at.tolist()])


def _xyz(vector: Any) -> tuple[float, float, float]:
    return float(vector.X()), float(vector.Y()), float(vector.Z())

"""Solids from profiles: prisms, and the tools that nuts and blocks are cut with."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from templategen.geometry import circle_of_bulge
from templategen.solids.shape import Contour, Contoured, Frame, Solid, Vector, add, cross, scaled, unit


def polygon(points: Iterable[tuple[float, float]]) -> Contour:
    """A profile of straight lines."""
    corners = tuple(points)
    return Contour(corners, (0.0,) * len(corners))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Contour:
    return polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def prism(profile: Contoured, along: Vector, frame: Frame | None = None, name: str = "") -> Solid:
    """A profile moved straight along a vector.

    profile: closed, free of self-crossings, mm on ``frame`` (default the x–y plane at z = 0). along: the whole way,
    mm. Lines give planes. Arcs give true cylinders when ``along`` is square to the frame; on a slanted way they give
    slanted (elliptic) cylinders, so cut slanted ends instead where a true cylinder matters.
    """
    from templategen.solids import kernel as k

    face = k.BRepBuilderAPI_MakeFace(_wire(profile, frame or Frame.xy()), True).Face()
    solid = k.TopoDS.Solid_s(k.BRepPrimAPI_MakePrism(face, k.gp_Vec(*along)).Shape())
    k.BRepLib.OrientClosedSolid_s(solid)
    return Solid(solid, name)


def ring(profile: Contoured, point: Vector, axis: Vector, turn: float, frame: Frame, name: str = "") -> Solid:
    """A profile turned about an axis: its arcs give true tori, its lines planes, cylinders and cones.

    profile: closed, on ``frame``, whose plane holds the axis; clear of it. point, axis: mm and a unit vector. turn:
    radians, counterclockwise seen against ``axis``.
    """
    from templategen.solids import kernel as k

    face = k.BRepBuilderAPI_MakeFace(_wire(profile, frame), True).Face()
    about = k.gp_Ax1(k.gp_Pnt(*point), k.gp_Dir(*axis))
    solid = k.TopoDS.Solid_s(k.BRepPrimAPI_MakeRevol(face, about, turn).Shape())
    k.BRepLib.OrientClosedSolid_s(solid)
    return Solid(solid, name)


def box(low: Vector, high: Vector, name: str = "") -> Solid:
    """An upright box between two corners."""
    return prism(rectangle(low[0], low[1], high[0], high[1]), (0.0, 0.0, high[2] - low[2]), Frame.xy(low[2]), name)


def half_space(point: Vector, normal: Vector, reach: float = 1000.0) -> Solid:
    """A tool that takes away everything on the side of a plane that ``normal`` points to, up to ``reach`` mm away
    from ``point``.
    """
    n = unit(normal)
    u = unit(cross(n, (0.0, 0.0, 1.0) if abs(n[2]) < 0.9 else (1.0, 0.0, 0.0)))
    frame = Frame(point, u, cross(n, u))
    return prism(rectangle(-reach, -reach, reach, reach), scaled(n, reach), frame)


def cone_tool(point: Vector, direction: Vector, radius: float, end_radius: float, length: float, seam: Vector) -> Solid:
    """A round bar whose radius changes evenly from ``radius`` at ``point`` to ``end_radius`` at its end: bevels round a
    cylinder's edge. seam: the side on which its surface closes, square to ``direction``, away from the body.
    """
    from templategen.solids import kernel as k

    axis = k.gp_Ax2(k.gp_Pnt(*point), k.gp_Dir(*direction), k.gp_Dir(*seam))
    return Solid(k.TopoDS.Solid_s(k.BRepPrimAPI_MakeCone(axis, radius, end_radius, length).Shape()))


def ball_slot(
    floor: Vector, direction: Vector, width: float, length: float, top_z: float, before: float = 1.0
) -> Solid:
    """A round-floored slot as a tool: one true cylinder of radius width/2 below, two upright walls above.

    floor: a point of the floor's lowest line, where the slot's nominal length begins. direction: of that line; not
    upright. width: between the walls. length: from ``floor`` along the line, overshoot included; before: overshoot
    behind ``floor``. top_z: the tool rises above this height everywhere. All mm. The tool's ends stand square to the
    line, so on a sloping line one end runs on further below, for both to reach that far at the top.
    """
    frame, along, rise = _groove(floor, direction, length, before, top_z)
    r = width / 2
    shape = Contour(((-r, r), (r, r), (r, rise + r), (-r, rise + r)), (1.0, 0.0, 0.0, 0.0))
    return prism(shape, along, frame)


def vee_groove(
    floor: Vector, direction: Vector, included_angle_deg: float, length: float, top_z: float, before: float = 1.0
) -> Solid:
    """A V groove as a tool: its sharp bottom line starts at ``floor`` and runs along ``direction``.

    Arguments as in :func:`ball_slot`. A groove of width w at a level surface is w/(2·tan(angle/2)) deep.
    """
    frame, along, rise = _groove(floor, direction, length, before, top_z)
    half = rise * math.tan(math.radians(included_angle_deg) / 2)
    return prism(polygon(((0.0, 0.0), (half, rise), (-half, rise))), along, frame)


def _groove(
    floor: Vector, direction: Vector, length: float, before: float, top_z: float
) -> tuple[Frame, Vector, float]:
    """The frame square to a groove's line at its start (u level, v up), the way to move along, the rise along v."""
    along = unit(direction)
    across = unit(cross(along, (0.0, 0.0, 1.0)))
    upward = cross(across, along)
    lowest = floor[2] + min(-before * along[2], length * along[2])
    # v leans off the upright by the line's slope: it runs longer than the height it gains, and the end that it leans
    # away from is moved back by as much.
    rise = (max(top_z - lowest, 0.0) + 1.0) / upward[2]
    lean = rise * along[2] / upward[2]
    start, end = -before + min(lean, 0.0), length + max(lean, 0.0)
    return Frame(add(floor, scaled(along, start)), across, upward), scaled(along, end - start), rise


def _wire(profile: Contoured, frame: Frame) -> Any:
    from templategen.solids import kernel as k

    corners = [k.gp_Pnt(*frame.at(p)) for p in profile.points]
    vertices = [k.BRepBuilderAPI_MakeVertex(c).Vertex() for c in corners]
    wire = k.BRepBuilderAPI_MakeWire()
    for i, bulge in enumerate(profile.bulges):
        j = (i + 1) % len(corners)
        if bulge == 0:
            edge = k.BRepBuilderAPI_MakeEdge(vertices[i], vertices[j])
        else:
            edge = k.BRepBuilderAPI_MakeEdge(
                _circle(profile.points[i], profile.points[j], bulge, frame), vertices[i], vertices[j]
            )
        wire.Add(edge.Edge())
    return wire.Wire()


def _circle(start: tuple[float, float], end: tuple[float, float], bulge: float, frame: Frame) -> Any:
    """The circle of a bulge, turning the way the arc runs."""
    from templategen.solids import kernel as k

    centre, radius = circle_of_bulge(start, end, bulge)
    normal = frame.normal if bulge > 0 else scaled(frame.normal, -1.0)
    axis = k.gp_Ax2(k.gp_Pnt(*frame.at(centre)), k.gp_Dir(*normal), k.gp_Dir(*frame.u))
    return k.gp_Circ(axis, round(radius, 9))

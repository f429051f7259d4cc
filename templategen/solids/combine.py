"""Cut, join, keep what is common, ease edges; every result is checked before anybody sees it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from templategen.errors import OurBug
from templategen.solids.shape import Solid, Vector, each


def cut(body: Solid, tools: Iterable[Solid], expected_volume: float | None = None, within: float = 1e-4) -> Solid:
    """The body with all tools taken away, in one operation.

    expected_volume: mm³; within: the relative difference allowed. Tools may cross each other; each should overshoot
    the faces it crosses. Raises OurBug when the result is not one valid solid of that volume.
    """
    from templategen.solids import kernel as k

    tools = tuple(tools)
    if not tools:
        return checked(body.shape, body.name, "cutting nothing from", expected_volume, within)
    shape = _boolean(k.BRepAlgoAPI_Cut(), [body], tools)
    return checked(shape, body.name, "cutting", expected_volume, within)


def fuse(bodies: Iterable[Solid], name: str = "", expected_volume: float | None = None, within: float = 1e-4) -> Solid:
    """All bodies as one, faces that continue each other merged. Raises OurBug as :func:`cut`."""
    from templategen.solids import kernel as k

    first, *others = bodies
    if not others:
        return checked(first.shape, name or first.name, "joining", expected_volume, within)
    joined = k.ShapeUpgrade_UnifySameDomain(_boolean(k.BRepAlgoAPI_Fuse(), [first], others), True, True, False)
    joined.Build()
    return checked(joined.Shape(), name or first.name, "joining", expected_volume, within)


def intersect(body: Solid, other: Solid, expected_volume: float | None = None, within: float = 1e-4) -> Solid:
    """What two bodies have in common. Raises OurBug as :func:`cut`."""
    from templategen.solids import kernel as k

    shape = _boolean(k.BRepAlgoAPI_Common(), [body], [other])
    return checked(shape, body.name, "trimming", expected_volume, within)


@dataclass(frozen=True)
class Edge:
    """What a predicate sees of an edge: its ends and its middle, mm, and whether it is straight."""

    start: Vector
    end: Vector
    middle: Vector
    straight: bool

    def runs_along(self, axis: int) -> bool:
        """Whether it is straight and parallel to x, y or z (0, 1, 2)."""
        return self.straight and all(
            abs(a - b) < 1e-7 for i, (a, b) in enumerate(zip(self.start, self.end, strict=True)) if i != axis
        )


def fillet(body: Solid, radius: float, pick: Callable[[Edge], bool]) -> Solid:
    """The body with the picked edges rounded. Raises OurBug where no edge is picked or the kernel cannot do it."""
    from templategen.solids import kernel as k

    return _eased(k.BRepFilletAPI_MakeFillet(body.shape), body, radius, pick, "rounding edges of")


def chamfer(body: Solid, size: float, pick: Callable[[Edge], bool]) -> Solid:
    """The body with the picked edges bevelled, ``size`` off both faces. Raises OurBug as :func:`fillet`."""
    from templategen.solids import kernel as k

    return _eased(k.BRepFilletAPI_MakeChamfer(body.shape), body, size, pick, "bevelling edges of")


def checked(shape: Any, name: str, doing: str, expected_volume: float | None = None, within: float = 1e-4) -> Solid:
    """The one solid in a kernel's result. Raises OurBug unless it is one, valid, and of the expected volume."""
    from templategen.solids import kernel as k

    what = name or "a solid"
    pieces = list(each(shape, k.TopAbs_SOLID))
    if len(pieces) != 1:
        raise OurBug(f"{doing} {what} left {len(pieces) or 'no'} pieces; one was expected")
    solid = Solid(k.TopoDS.Solid_s(pieces[0]), name)
    if not solid.valid:
        raise OurBug(f"{doing} {what} left a solid that does not close properly")
    if not solid.volume > 0:
        raise OurBug(f"{doing} {what} left a solid turned inside out ({solid.volume:.6g} mm³)")
    if expected_volume is not None and not math.isclose(solid.volume, expected_volume, rel_tol=within):
        raise OurBug(f"{doing} {what} left {solid.volume:.4f} mm³; {expected_volume:.4f} mm³ was expected")
    return solid


def _boolean(operation: Any, bodies: Iterable[Solid], tools: Iterable[Solid]) -> Any:
    operation.SetArguments(_listed(bodies))
    operation.SetTools(_listed(tools))
    operation.SetRunParallel(False)
    operation.SetNonDestructive(True)  # without it the kernel may raise tolerances on shapes that others still hold
    operation.Build()
    if not operation.IsDone():
        raise OurBug("the CAD kernel could not combine the solids")
    return operation.Shape()


def _listed(solids: Iterable[Solid]) -> Any:
    from templategen.solids import kernel as k

    shapes = k.TopTools_ListOfShape()
    for solid in solids:
        shapes.Append(solid.shape)
    return shapes


def _eased(operation: Any, body: Solid, size: float, pick: Callable[[Edge], bool], doing: str) -> Solid:
    from templategen.solids import kernel as k

    picked = 0
    for shape in each(body.shape, k.TopAbs_EDGE):
        edge = k.TopoDS.Edge_s(shape)
        if not k.BRep_Tool.Degenerated_s(edge) and pick(_seen(edge)):
            operation.Add(size, edge)
            picked += 1
    what = body.name or "a solid"
    if not picked:
        raise OurBug(f"{doing} {what}: no edge was picked")
    try:
        operation.Build()
        done = operation.IsDone()
    except Exception as reason:  # the kernel throws types of its own
        raise OurBug(f"{doing} {what}: {size:g} mm does not fit ({type(reason).__name__})") from reason
    if not done:
        raise OurBug(f"{doing} {what}: {size:g} mm does not fit")
    return checked(operation.Shape(), body.name, doing)


def _seen(edge: Any) -> Edge:
    from templategen.solids import kernel as k

    curve = k.BRepAdaptor_Curve(edge)
    first, last = curve.FirstParameter(), curve.LastParameter()
    start, middle, end = ((p.X(), p.Y(), p.Z()) for p in map(curve.Value, (first, (first + last) / 2, last)))
    return Edge(start, end, middle, curve.GetType() == k.GeomAbs_Line)

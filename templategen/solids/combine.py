"""Cut, join, keep what is common; every result is checked before anybody sees it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from templategen.errors import OurBug
from templategen.solids.shape import Solid, Vector, each


def cut(
    body: Solid,
    tools: Iterable[Solid],
    expected_volume: float | None = None,
    within: float = 1e-4,
    gone: Iterable[Vector] = (),
) -> Solid:
    """The body with all tools taken away, in one operation.

    expected_volume: mm³; within: the relative difference allowed. gone: points in the body that the tools take away,
    one at least for each tool whose loss the volume would not show. Tools may cross each other; each should overshoot
    the faces it crosses. Raises OurBug when the result is not one valid solid of that volume, or holds such a point.
    """
    from templategen.solids import kernel as k

    tools = tuple(tools)
    if not tools:
        return checked(body.shape, body.name, "cutting nothing from", expected_volume, within)
    shape = _boolean(k.BRepAlgoAPI_Cut(), [body], tools)
    left = checked(shape, body.name, "cutting", expected_volume, within)
    for point in gone:
        if not body.holds(point):
            raise OurBug(f"{body.name or 'a solid'} has nothing to cut at {point}")
        if left.holds(point):
            raise OurBug(f"cutting {body.name or 'a solid'} left what was to be cut away at {point}")
    return left


def fuse(bodies: Iterable[Solid], name: str) -> Solid:
    """All bodies as one, faces that continue each other merged. Raises OurBug as :func:`cut`."""
    from templategen.solids import kernel as k

    first, *others = bodies
    joined = k.ShapeUpgrade_UnifySameDomain(_boolean(k.BRepAlgoAPI_Fuse(), [first], others), True, True, False)
    joined.Build()
    return checked(joined.Shape(), name, "joining")


def intersect(body: Solid, other: Solid, expected_volume: float | None = None, within: float = 1e-4) -> Solid:
    """What two bodies have in common. Raises OurBug as :func:`cut`."""
    from templategen.solids import kernel as k

    shape = _boolean(k.BRepAlgoAPI_Common(), [body], [other])
    return checked(shape, body.name, "trimming", expected_volume, within)


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

"""A named solid, the plane that profiles are drawn on, and what can be measured on a solid."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Protocol

Vector = tuple[float, float, float]


class Contoured(Protocol):
    """A closed contour: corners in order, the last joined to the first, and for the stretch that leaves each corner
    its bulge, tan(quarter of the arc's angle), positive counterclockwise, 0 for a straight line.
    """

    @property
    def points(self) -> tuple[tuple[float, float], ...]: ...

    @property
    def bulges(self) -> tuple[float, ...]: ...


@dataclass(frozen=True)
class Contour:
    """A profile as plain data."""

    points: tuple[tuple[float, float], ...]
    bulges: tuple[float, ...]


@dataclass(frozen=True)
class Frame:
    """A plane to draw on: a profile's point (a, b) lies at origin + a·u + b·v. u and v are unit vectors, square to
    each other.
    """

    origin: Vector
    u: Vector
    v: Vector

    @classmethod
    def xy(cls, z: float = 0.0) -> Frame:
        return cls((0.0, 0.0, z), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))

    @classmethod
    def xz(cls, y: float = 0.0) -> Frame:
        return cls((0.0, y, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))

    @property
    def normal(self) -> Vector:
        return cross(self.u, self.v)

    def at(self, point: tuple[float, float]) -> Vector:
        a, b = point
        return add(self.origin, add(scaled(self.u, a), scaled(self.v, b)))


@dataclass(frozen=True)
class Extent:
    """An upright box around a solid, mm."""

    low: Vector
    high: Vector


@dataclass(frozen=True, eq=False)
class Solid:
    """One solid body. ``shape`` is the kernel's own object (a ``TopoDS_Solid``); ``name`` and ``note`` are the product
    name and description that a STEP file carries, empty on tools.
    """

    shape: Any
    name: str = ""
    note: str = ""

    def named(self, name: str) -> Solid:
        return replace(self, name=name)

    @cached_property
    def volume(self) -> float:
        """mm³, by adaptive integration over the true surfaces (relative error below 1e-7)."""
        from templategen.solids import kernel as k

        properties = k.GProp_GProps()
        k.BRepGProp.VolumeProperties_s(self.shape, properties, 1e-7)
        return float(properties.Mass())

    @cached_property
    def extent(self) -> Extent:
        """The tight box around the true surfaces."""
        from templategen.solids import kernel as k

        box = k.Bnd_Box()
        k.BRepBndLib.AddOptimal_s(self.shape, box, False, False)
        x0, y0, z0, x1, y1, z1 = box.Get()
        gap = box.GetGap()
        return Extent((x0 + gap, y0 + gap, z0 + gap), (x1 - gap, y1 - gap, z1 - gap))

    def holds(self, point: Vector) -> bool:
        """Whether a point lies in the body or on its surface."""
        from templategen.solids import kernel as k

        return bool(k.BRepClass3d_SolidClassifier(self.shape, k.gp_Pnt(*point), 1e-7).State() != k.TopAbs_OUT)

    @property
    def valid(self) -> bool:
        """What the kernel's own checker says of topology and geometry."""
        from templategen.solids import kernel as k

        return bool(k.BRepCheck_Analyzer(self.shape).IsValid())


def rotated(solid: Solid, about: Vector, by: float) -> Solid:
    """The solid turned by so many radians, counterclockwise seen from above, about an upright line."""
    from templategen.solids import kernel as k

    move = k.gp_Trsf()
    move.SetRotation(k.gp_Ax1(k.gp_Pnt(*about), k.gp_Dir(0, 0, 1)), by)
    return replace(solid, shape=k.TopoDS.Solid_s(solid.shape.Moved(k.TopLoc_Location(move))))


def moved(solid: Solid, by: Vector) -> Solid:
    """The solid moved without turning."""
    from templategen.solids import kernel as k

    move = k.gp_Trsf()
    move.SetTranslation(k.gp_Vec(*by))
    return replace(solid, shape=k.TopoDS.Solid_s(k.BRepBuilderAPI_Transform(solid.shape, move, True).Shape()))


def each(shape: Any, kind: Any) -> Iterator[Any]:
    """The shape's solids, faces or edges, each once, in the kernel's order."""
    from templategen.solids import kernel as k

    found = k.TopTools_IndexedMapOfShape()
    k.TopExp.MapShapes_s(shape, kind, found)
    return (found.FindKey(i) for i in range(1, found.Extent() + 1))


def add(a: Vector, b: Vector) -> Vector:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def scaled(a: Vector, by: float) -> Vector:
    return a[0] * by, a[1] * by, a[2] * by


def cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def unit(a: Vector) -> Vector:
    length = math.sqrt(a[0] ** 2 + a[1] ** 2 + a[2] ** 2)
    if not length > 0:
        raise ValueError("a direction needs a length")
    return scaled(a, 1 / length)

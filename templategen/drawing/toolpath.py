"""Ways of a tool in space, as data that every format replays: DXF draws them, CSV lists them, a program runs them.

A way is one continuous run of the tool's tip, straight from point to point. What a program needs besides (the tool, its
diameter, passes) stands in ``settings``, under names that the part and the writers agree on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from templategen.drawing.model import Drawing, Layer, Line, Pen, Polyline

Spot = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Way:
    """One run from its first point to its last, (x, y, z) in mm. name: what it belongs to, such as a fret's number."""

    name: str
    points: tuple[Spot, ...]


@dataclass(frozen=True)
class Toolpath:
    """Ways in the order that they are run.

    counted: what the ways' names are, the head of their column. in_space: layer and pen of the ways with their heights;
    flat: of the straight lines from each way's first point to its last, at height 0, or None for none.
    settings: plain values by name; lengths in mm, angles in degrees.
    """

    name: str
    title: str
    counted: str
    ways: tuple[Way, ...]
    in_space: tuple[str, Pen]
    flat: tuple[str, Pen] | None = None
    settings: Mapping[str, float | int | str | bool] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def drawn(self) -> Drawing:
        """The ways as a cut drawing."""
        layers = [Layer(*self.in_space, tuple(Polyline.in_space(way.points) for way in self.ways))]
        if self.flat is not None:
            ends = ((way.points[0], way.points[-1]) for way in self.ways)
            layers.append(Layer(*self.flat, tuple(Line(a[:2], b[:2]) for a, b in ends)))
        return Drawing(self.name, self.title, tuple(layers), "cut", notes=self.notes, cautions=self.cautions)

"""The fingerboard: its outline, thickness and surface, and what it was before."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from templategen.spec.models.common import BoardThickness, BoardWidth, FretNumber, Radius, RadiusLength
from templategen.spec.models.wire import CrownHeight
from templategen.spec.table import Table
from templategen.spec.values import LengthFromZero, LengthWithin, PositiveLength


class WidthAt(Table):
    """A width measured at a fret."""

    fret: FretNumber = Field(description="where it was measured", examples=[12])
    width: BoardWidth = Field(description="square to the centreline", examples=[52])


class Surface(Table):
    """A cylinder (``radius``), a cone (two radii) or a flat board."""

    radius: Radius | None = Field(default=None, description='radius of the surface, or "flat"', examples=["11 in"])
    radius_at_nut: RadiusLength | None = Field(
        default=None, description="compound radius: at the nut", examples=["10 in"]
    )
    radius_at_last_fret: RadiusLength | None = Field(
        default=None, description="compound radius: at the last fret", examples=["14 in"]
    )


class Before(Surface):
    """Re-radius: the board as it was measured, before anything is sanded; [fingerboard] is the finished board."""

    chord: PositiveLength | None = Field(
        default=None, description="radius from a measurement: length of the chord", examples=[42]
    )
    height: PositiveLength | None = Field(default=None, description="and the height of the arc over it", examples=[1.2])
    slot_depth: LengthFromZero | None = Field(
        default=None, description="slot depth left, measured at the edge", examples=[1.8]
    )
    thickness_at_edge: BoardThickness | None = Field(
        default=None,
        description="board thickness at its edge, at the nut, before sanding; with it the finished board's may be left "
        "out: it is what sanding leaves",
        examples=[4.6],
    )
    crown_height: CrownHeight | None = Field(
        default=None,
        description="of the old crowns over the wood, at the middle of the board; taken as high as the new if absent",
        examples=[0.9],
    )
    wear_depth: Annotated[float, LengthWithin(0, 5)] | None = Field(
        default=None, description="deepest hollow between frets; 0 where there is none", examples=[0.2]
    )


class Fingerboard(Surface):
    """The board: outline, thickness and surface."""

    width_at_nut: BoardWidth | None = Field(
        default=None, description="square to the centreline, at the nut's front edge", examples=[43.2]
    )
    width_along_nut: BoardWidth | None = Field(
        default=None,
        description="or along the nut's front edge, from edge to edge of the board, as calipers lie on a slanted nut",
        examples=[50.5],
    )
    width_at_last_fret: BoardWidth | None = Field(default=None, description="at the last fret", examples=[55.4])
    width_at: WidthAt | None = Field(
        default=None, description="or a width measured at another fret", examples=[{"fret": 12, "width": 52}]
    )
    beyond_last_fret: Annotated[float, LengthWithin(-100, 200)] = Field(
        default=8.0, description="board end past the last slot, along the centreline"
    )
    end: Literal["parallel", "square"] = Field(
        default="parallel", description="board end along the last fret, or square"
    )
    thickness: BoardThickness | None = Field(
        default=None,
        description="at the centreline; with [fingerboard.before] of the finished board, after sanding",
        examples=[6.2],
    )
    thickness_at_edge: BoardThickness | None = Field(
        default=None,
        description="at the nut's edge: all one can see on a glued board; with [fingerboard.before] after sanding",
        examples=[5.4],
    )
    blind_slot_inset: PositiveLength | None = Field(
        default=None, description="slot ends stop this far inside each edge, square to the edge", examples=[1.5]
    )
    before: Before | None = Field(default=None, description="re-radius: the board as it was, measured before sanding")

    @property
    def nut_width(self) -> float:
        """Square to the centreline; of a width that is given along the nut, that: the most it can be, until the plan
        settles it."""
        return self.width_at_nut or self.width_along_nut or 0.0

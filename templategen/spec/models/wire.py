"""The fret wire and its slots."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from templategen.spec.models.common import FretNumber
from templategen.spec.table import Table
from templategen.spec.values import LengthWithin, Text

CrownWidth = Annotated[float, LengthWithin(0.5, 6)]
CrownHeight = Annotated[float, LengthWithin(0.2, 4)]
TangDepth = Annotated[float, LengthWithin(0.3, 6)]
TangThickness = Annotated[float, LengthWithin(0.1, 3)]

SIZES = "crown_width", "crown_height", "tang_depth", "tang_thickness", "barb_width", "slot_width"
"""What somebody has to measure on a loose piece."""


class FretWire(Table):
    """The wire, its slot, and where the position markers sit."""

    wire: Text | None = Field(default=None, description="name of a wire in the shop file", examples=["fleet 2.4"])
    crown_width: CrownWidth = Field(default=2.4, description="across the crown")
    crown_height: CrownHeight = Field(default=1.1, description="crown over the board")
    tang_depth: TangDepth = Field(default=1.6, description="foot below the crown")
    tang_thickness: TangThickness = Field(default=0.51, description="bare tang, without the barbs")
    barb_width: TangThickness = Field(default=0.80, description="over the barbs")
    slot_width: TangThickness = Field(default=0.58, description="width of the slot")
    depth_below_tang: Annotated[float, LengthWithin(0, 5)] = Field(default=0.3, description="slot deeper than the tang")
    slot_floor: Literal["concentric", "flat"] = Field(
        default="concentric", description="follows the radius, or sawn with a stop before radiusing"
    )
    slot_ends: Literal["square", "round"] = Field(
        default="square", description="ends of slots in cut files and solids: square, or half circles of a cutter"
    )
    overhang: Annotated[float, LengthWithin(0, 20)] = Field(
        default=2.0, description="wire left past each edge when a piece is cut"
    )
    tang_clearance: Annotated[float, LengthWithin(0, 10)] = Field(
        default=0.4, description="blind slots: tang end to slot end, each side"
    )
    markers: tuple[FretNumber, ...] = Field(default=(), description="frets with a position marker before them")
    doubled_markers: tuple[FretNumber, ...] = Field(default=(), description="frets with two of them")
    marker_diameter: Annotated[float, LengthWithin(0.5, 30)] = Field(default=6.0, description="of a position marker")

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """The sizes that neither the file nor a wire of the shop gives: ordinary ones stand in for them."""
        return tuple(size for size in SIZES if size not in self.model_fields_set)

    @property
    def slot_depth(self) -> float:
        return self.tang_depth + self.depth_below_tang

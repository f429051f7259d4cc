"""A saddle that is one piece of bone or the like, in a slot of the bridge."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from templategen.spec.choices import OrWord
from templategen.spec.models.common import RadiusLength
from templategen.spec.models.nut import Allowance, Stock
from templategen.spec.table import Table
from templategen.spec.values import LengthWithin, Number, OverStrings, PerString, within

Slant = Annotated[Number, within(-45, 45)]
BreakAngles = Annotated[OverStrings[float], PerString(Annotated[Number, within(0, 80)])]


class SaddlePiece(Table):
    """One piece of bone or the like in a slot of the bridge; needs bridge.top_height."""

    thickness: Annotated[float, LengthWithin(1, 30)] = Field(
        description="along the strings: the slot's width", examples=[3.0]
    )
    length: Annotated[float, LengthWithin(10, 300)] | None = Field(
        default=None, description="along the slot, over all; or edge_margin", examples=[72]
    )
    edge_margin: Annotated[float, LengthWithin(0, 100)] | None = Field(
        default=None, description="OUTSIDE of each outer string to the end; or length", examples=[8]
    )
    seat_depth: Annotated[float, LengthWithin(0.5, 30)] = Field(
        description="slot in the bridge, from its top down to the floor at the front wall", examples=[5.0]
    )
    seat_radius: RadiusLength | None = Field(default=None, description="curved floor; flat if absent", examples=[300])
    slant: Annotated[Slant | Literal["best_fit"], OrWord("best_fit", other="degrees")] = Field(
        default="best_fit", description="of the slot against square, degrees, + bass end farther from the nut"
    )
    from_nut: Annotated[float, LengthWithin(50, 2500)] | None = Field(
        default=None,
        description="nut's front edge to the slot's front wall at the bridge's top, along the centreline; where the "
        "offsets fit best if absent",
        examples=[640.5],
    )
    lean: Annotated[Number, within(-30, 30)] = Field(
        default=0.0, description="of the slot away from upright, degrees, + its top away from the nut"
    )
    ends: Literal["square", "round"] = Field(default="square", description="of the slot, seen from above")
    top: Literal["rounded"] = Field(default="rounded", description="across the top, round over each string's witness")
    top_radius: Annotated[float, LengthWithin(0.5, 60)] | None = Field(
        default=None, description="of that rounding; what just reaches both faces if absent", examples=[3.0]
    )
    break_angle: BreakAngles | None = Field(
        default=None,
        description="the strings' fall behind the saddle, degrees, for the force on it",
        examples=[{"bass": 22, "treble": 25}],
    )
    top_allowance: Allowance = Field(default=0.8, description="stock left above the top on the blank")
    stock: Stock = Field(
        default=Stock.model_construct(sides=0.3, ends=2.0), description="material left on the blank's sides and ends"
    )

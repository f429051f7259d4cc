"""The shop's mill and the tools in it. There is no default for what only the shop can answer for: feeds and speeds."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from templategen.spec.table import Table
from templategen.spec.values import LengthWithin, Number, Whole, within

MmPerMinute = Annotated[Number, within(1, 20_000)]


class MillTool(Table):
    """A tool of the mill, with the feeds and the speed that this shop runs it at."""

    number: Annotated[Whole, within(1, 999)] = Field(description="its place in the tool table", examples=[3])
    form: Literal["flat", "ball", "vee"] = Field(description="flat, ball or vee", examples=["flat"])
    diameter: Annotated[float, LengthWithin(0.05, 50)] = Field(
        description="of the cutter, of a vee where it is widest", examples=[0.58]
    )
    tip_angle: Annotated[Number, within(1, 179)] | None = Field(
        default=None, description="full angle of a vee, which ends in a point", examples=[60]
    )
    flute: Annotated[float, LengthWithin(0.1, 200)] = Field(
        description="how deep it cuts: length of the flutes", examples=[4.0]
    )
    feed: MmPerMinute = Field(description="mm/min along the cut, in files in inches too", examples=[200])
    plunge: MmPerMinute = Field(description="mm/min downward, in files in inches too", examples=[60])
    speed: Annotated[Number, within(50, 200_000)] = Field(
        description="turns of the spindle per minute", examples=[18000]
    )
    step_down: Annotated[float, LengthWithin(0.01, 20)] = Field(
        description="what one pass takes off, at most", examples=[0.3]
    )


class Mill(Table):
    """The mill that programs are written for."""

    safe_z: Annotated[float, LengthWithin(1, 200)] = Field(
        description="over the stock's top, clear of everything: where the tool moves across", examples=[5]
    )
    changer: bool = Field(default=False, description="it changes its tools itself and keeps their lengths")
    spin_up: Annotated[Number, within(0, 120)] = Field(
        default=5.0, description="seconds until the spindle is up to its speed"
    )
    tools: tuple[MillTool, ...] = Field(
        description="its tools",
        examples=[
            [
                {
                    "number": 3,
                    "form": "flat",
                    "diameter": 0.58,
                    "flute": 4.0,
                    "feed": 200,
                    "plunge": 60,
                    "speed": 18000,
                    "step_down": 0.3,
                }
            ]
        ],
    )

"""What is made for the work: block, gauges, caul, strip."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from templategen.spec.choices import OrWord
from templategen.spec.models.common import FretNumber, StationName
from templategen.spec.table import Table
from templategen.spec.values import LengthWithin, Number, Whole, within


class RadiusBlock(Table):
    """A block to sand the board or level the crowns with."""

    rides_on: Literal["board", "crowns"] = Field(default="board", description="what is sanded")
    face: Literal["concave", "convex"] = Field(
        default="concave", description="hollow, for the board itself; or round, for hollows made to its radius"
    )
    at: Annotated[StationName | FretNumber, OrWord("nut", "last", other="a fret")] | None = Field(
        default=None, description="the station it is for, on a compound radius", examples=["nut"]
    )
    length: Annotated[float, LengthWithin(10, 1000)] = Field(default=150.0, description="along the neck")
    width: Annotated[float, LengthWithin(5, 300)] | None = Field(
        default=None, description="across the board; 2 mm over the board's widest if absent", examples=[62]
    )
    height: Annotated[float, LengthWithin(5, 200)] = Field(default=32.0, description="over all")
    abrasive_thickness: Annotated[float, LengthWithin(0, 5)] = Field(
        default=0.35, description="paper and adhesive between block and work"
    )
    rib_thickness: Annotated[float, LengthWithin(1, 100)] | None = Field(
        default=None, description="also write ribs of this sheet for a laser or router, with dowel holes", examples=[6]
    )


class RadiusGauge(Table):
    """Gauges to check board, block and strings with."""

    string_arc_at: Annotated[float, LengthWithin(0, 2000)] | None = Field(
        default=None,
        description="where the strings' arc is read, from the nut along the centreline: under the strings, over the "
        "board on top of them; 12 mm in front of the saddle if absent",
        examples=[310],
    )


class PressCaul(Table):
    """A shaped face that presses frets in."""

    radius_share: Annotated[Number, within(0.5, 1.5)] = Field(
        default=0.95, description="of the board's radius: shops differ"
    )


class SlotOutline(Table):
    """The fret slots as closed outlines."""

    use: Literal["template", "board"] = Field(
        default="template",
        description="a template that is cut through and stays in one piece, or slots cut into the board itself",
    )
    bridge: Annotated[float, LengthWithin(0.5, 20)] = Field(
        default=3.0, description="template: slots stop this far inside both edges"
    )


class NotchedStrip(Table):
    """A strip that steps a board past the saw, a notch per slot."""

    pin: Annotated[float, LengthWithin(0.3, 20)] = Field(default=2.0, description="diameter of the indexing pin")
    pin_clearance: Annotated[float, LengthWithin(0, 2)] = Field(default=0.03, description="notch width over the pin")
    notch_depth: Annotated[float, LengthWithin(0.5, 50)] = Field(default=5.0, description="depth of a notch")
    width: Annotated[float, LengthWithin(10, 300)] = Field(default=45.0, description="of the strip")
    thickness: Annotated[float, LengthWithin(0.3, 30)] = Field(default=3.0, description="of the strip")
    saw_offset: Annotated[float, LengthWithin(-500, 500)] = Field(
        default=0.0, description="blade's middle from the pin's middle"
    )


class Milling(Table):
    """What the mill's programs are to do with the board."""

    board: Literal["radiused", "flat"] | None = Field(
        default=None,
        description="what lies on the mill: a board with its radius on, or one still flat on top; flat if absent and "
        "the slots' floors are, else radiused",
        examples=["flat"],
    )
    tabs: Annotated[Whole, within(0, 40)] = Field(
        default=4, description="that hold the board in its blank until they are sawn, on its two long sides; 0 for none"
    )
    tab_width: Annotated[float, LengthWithin(1, 50)] = Field(default=6.0, description="of a tab, along the edge")
    tab_height: Annotated[float, LengthWithin(0.2, 10)] = Field(default=1.0, description="of a tab, from the underside")

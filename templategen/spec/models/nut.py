"""The nut: its seat, the slots' places and widths, the stages it is made in."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from templategen import units
from templategen.spec.choices import OrTable, OrWord
from templategen.spec.models.common import A_LENGTH, OVER_THE_STRINGS, MarginOverStrings, NutOffsets, RadiusLength
from templategen.spec.models.strings import CourseGap, Spacing, Spread
from templategen.spec.table import Table
from templategen.spec.values import LengthWithin, Number, NumberWithin, PositiveLength, Read, Share, within

_SLOT_CLEARANCE = LengthWithin(0, 1)
_STRING_DEPTH = NumberWithin(0.1, 3)
ClearanceOfString = Annotated[float, _SLOT_CLEARANCE]
DepthOfString = Annotated[float, _STRING_DEPTH]


class PlainWound(Table):
    """One length for plain strings, one for wound."""

    plain: ClearanceOfString = Field(description="of plain strings", examples=["0.002 in"])
    wound: ClearanceOfString = Field(description="of wound strings", examples=["0.003 in"])


class PlainWoundShare(Table):
    """One share of the gauge for plain strings, one for wound."""

    plain: DepthOfString = Field(description="of plain strings", examples=[0.9])
    wound: DepthOfString = Field(description="of wound strings", examples=[0.55])


def _one_clearance(value: Any, unit: units.Unit) -> PlainWound:
    one = _SLOT_CLEARANCE.function(value, unit)
    return PlainWound.model_construct(plain=one, wound=one)


def _one_depth(value: Any, unit: units.Unit) -> PlainWoundShare:
    one = _STRING_DEPTH.function(value, unit)
    return PlainWoundShare.model_construct(plain=one, wound=one)


Clearances = Annotated[
    PlainWound,
    OrTable(
        Read(_one_clearance, _SLOT_CLEARANCE.schema),
        f'must be a table such as {{ plain = "0.002 in", wound = "0.003 in" }} or {A_LENGTH}',
    ),
]
Depths = Annotated[
    PlainWoundShare,
    OrTable(
        Read(_one_depth, _STRING_DEPTH.schema),
        "must be a table such as { plain = 0.9, wound = 0.55 } or one number for all strings",
    ),
]


Allowance = Annotated[float, LengthWithin(0, 20)]


class Stock(Table):
    """Material left on the blank."""

    sides: Allowance = Field(default=0.5, description="on the front and the back")
    ends: Allowance = Field(default=2.0, description="on each end")


class Nut(Table):
    """The nut: its seat, the slots' places and widths, the stages it is made in."""

    thickness: Annotated[float, LengthWithin(1, 30)] = Field(
        description="square to the front edge: what calipers show", examples=[3.4]
    )
    seat: Literal["groove", "shelf"] = Field(
        default="groove", description="across the board, or against the board's end"
    )
    seat_depth: Annotated[float, LengthWithin(0, 30)] | None = Field(
        default=None,
        description="seat below the board's surface at the centreline; for a shelf the board's thickness if absent",
        examples=[2.0],
    )
    seat_radius: (
        Annotated[
            RadiusLength | Literal["board"],
            OrWord("board", other=A_LENGTH),
        ]
        | None
    ) = Field(default=None, description="curved seat; flat if absent", examples=["board"])
    seat_angle: Annotated[Number, within(-30, 30)] = Field(default=0.0, description="slope of the seat, degrees")
    edge_margin: MarginOverStrings | None = Field(
        default=None,
        description="board edge to the OUTSIDE of the outer string, square to the centreline",
        examples=[{"bass": 3.4, "treble": 3.2}],
    )
    string_spread: Spread | None = Field(
        default=None, description="centres of the outer strings; or edge_margin", examples=[35.5]
    )
    spacing: Spacing = Field(default="equal_gap", description="equal_gap, equal_centre, or 0..1 between them")
    course_gap: CourseGap = Field(default=1.6, description="side to side inside a course")
    slot_clearance: Clearances = Field(
        default=PlainWound.model_construct(plain=0.0508, wound=0.0762), description="slot width over gauge"
    )
    string_depth: Depths = Field(
        default=PlainWoundShare.model_construct(plain=0.9, wound=0.55),
        description="share of the gauge that lies in the finished slot",
    )
    min_slot_depth: Annotated[float, LengthWithin(0, 5)] = Field(
        default=0.25, description="no finished slot is shallower"
    )
    slot_back_angle: Annotated[Number, within(0, 45)] | None = Field(
        default=None,
        description="slot floor's drop toward the tuners, degrees; 0.6 of the break angle where known, else 8",
        examples=[8],
    )
    slot_aim: Annotated[
        Literal["string", "post"] | Share, OrWord("string", "post", other="a number from 0 (string) to 1 (post)")
    ] = Field(default="string", description="slots run on along the string, toward the post, or 0..1 between")
    top_allowance: Allowance = Field(default=0.8, description="stock left above the finished top")
    filing_allowance: Annotated[float, LengthWithin(0, 5)] = Field(
        default=0.25, description="slots of the slotted nut stop this far above their finished floor"
    )
    slot_form: Literal["auto", "full", "pilot"] = Field(
        default="auto", description="slots of the slotted nut: full width where a ball cutter fits, else pilot grooves"
    )
    edge_rounding: Annotated[float, LengthWithin(0, 5)] = Field(
        default=0.5, description="radius that eases the finished nut's back edge and ends"
    )
    stock: Stock = Field(default=Stock.model_construct(sides=0.5, ends=2.0), description="material left on the blank")
    stock_form: Literal["shaped", "bar"] = Field(
        default="shaped",
        description="blank with its ends along the board's edges and its top an arc, or a plain bar, square all over",
    )
    compensation: Annotated[
        Literal["none", "best_fit"] | NutOffsets,
        OrWord("none", "best_fit", other=OVER_THE_STRINGS),
    ] = Field(default="none", description="front edge moved toward the bridge, per string")
    compensation_by: Literal["shelf", "board"] = Field(
        default="shelf", description="the nut reaches over the board, or the board's end is cut back"
    )
    behind_zero_fret: PositiveLength = Field(
        default=4.0, description="with a zero fret: front edge of the nut behind it"
    )
    below_zero_crown: Annotated[float, LengthWithin(0, 5)] = Field(
        default=0.5, description="with a zero fret: slot floors below its crown"
    )

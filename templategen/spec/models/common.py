"""Words and lengths that several tables share."""

from __future__ import annotations

from typing import Annotated, Literal

from templategen import units
from templategen.spec.choices import OrWord
from templategen.spec.values import (
    LengthFromZero,
    LengthWithin,
    Number,
    OverStrings,
    PerString,
    Whole,
    within,
)

A_LENGTH = f"a length: {units.ACCEPTED_FORMS}"
OVER_THE_STRINGS = f"lengths: one for all, {{ bass = …, treble = … }}, or a list; each {units.ACCEPTED_FORMS}"

Units = Literal["mm", "in"]
StationName = Literal["nut", "last"]

FretPlace = Annotated[Number, within(0, 216)]
FretNumber = Annotated[Whole, within(1, 216)]
ScaleLength = Annotated[float, LengthWithin(100, 2000)]
BoardWidth = Annotated[float, LengthWithin(10, 200)]
BoardThickness = Annotated[float, LengthWithin(1, 30)]
RadiusLength = Annotated[float, LengthWithin(50, 10_000)]
Radius = Annotated[RadiusLength | Literal["flat"], OrWord("flat", other=A_LENGTH)]
Clearance = Annotated[float, LengthWithin(-3, 10)]
ClearanceOverStrings = Annotated[OverStrings[float], PerString(Clearance)]
MarginOverStrings = Annotated[OverStrings[float], PerString(LengthFromZero)]
NutOffsets = Annotated[OverStrings[float], PerString(Annotated[float, LengthWithin(-10, 10)])]
SaddleOffsets = Annotated[OverStrings[float], PerString(Annotated[float, LengthWithin(-20, 50)])]

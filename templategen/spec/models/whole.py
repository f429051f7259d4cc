"""The spec file: one instrument and what to make for it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from templategen.spec.models.board import Fingerboard
from templategen.spec.models.common import Units
from templategen.spec.models.nut import Nut
from templategen.spec.models.saddle import SaddlePiece
from templategen.spec.models.scale import Scale
from templategen.spec.models.setup import Intonation, Levelling, Playing, Setup
from templategen.spec.models.strings import Bridge, Headstock, Strings
from templategen.spec.models.tools import Milling, NotchedStrip, PressCaul, RadiusBlock, RadiusGauge, SlotOutline
from templategen.spec.models.wire import FretWire
from templategen.spec.table import Table
from templategen.spec.values import Text

Kind = Literal["electric", "steel_acoustic", "classical", "bass", "ukulele", "mandolin"]
Asked = Literal["board", "frets", "level", "nut", "saddle", "setup"]


class Spec(Table):
    """One instrument and what to make for it."""

    called = "a spec"

    title: Text = Field(description="what it is", examples=["Loan fleet 07: refret and new nut"])
    units: Units = Field(default="mm", description="unit of bare lengths")
    handedness: Literal["right", "left"] = Field(
        default="right", description="everything that has a bass side is mirrored"
    )
    kind: Kind | None = Field(
        default=None,
        description="whose common-practice ranges findings compare with; of the heights at the nut, the one given",
    )
    shop: Text | None = Field(
        default=None, description="path of the shop file, relative to this one", examples=["shop.toml"]
    )
    work: tuple[Asked, ...] | None = Field(
        default=None,
        description="what is to be done, for the bench sheet: board, frets, level, nut, saddle, setup; if absent what "
        "the crowns of the survey ask for, or all that the spec is for",
        examples=[["nut", "setup"]],
    )
    survey: Text | None = Field(
        default=None,
        description="path of the file of readings of the instrument as found, relative to this one",
        examples=["fleet-07-survey.toml"],
    )
    as_left: Text | None = Field(
        default=None,
        description="path of the file of readings of the finished instrument, relative to this one",
        examples=["fleet-07-as-left.toml"],
    )
    scale: Scale = Field(description="where the frets go", examples=[{"length": "25 3/16 in"}])
    fingerboard: Fingerboard = Field(description="the board", examples=[{"width_at_nut": 43.2}])
    fret_wire: FretWire = Field(default=FretWire.model_construct(), description="wire, slots and position markers")
    strings: Strings = Field(description="the set", examples=[{"set": [{"gauge": "0.010 in", "note": "E4"}]}])
    bridge: Bridge = Field(description="the other end of the strings", examples=[{"string_spread": 52.0}])
    headstock: Headstock | None = Field(default=None, description="what the strings do behind the nut")
    nut: Nut = Field(description="the nut", examples=[{"thickness": 3.4}])
    saddle: SaddlePiece | None = Field(
        default=None, description="a saddle of one piece in a slot of the bridge", examples=[{"thickness": 3.0}]
    )
    setup: Setup = Field(description="the targets", examples=[{"action": {"fret": 12, "bass": 2.0, "treble": 1.6}}])
    intonation: Intonation = Field(
        default=Intonation.model_construct(), description="how fretted notes are predicted and corrected"
    )
    playing: Playing = Field(
        default=Playing.model_construct(),
        description="how hard the strings are played, and where",
    )
    levelling: Levelling = Field(
        default=Levelling.model_construct(),
        description="how crowns are filed level",
    )
    radius_block: RadiusBlock | None = Field(default=None, description="a block to sand or level with")
    radius_gauge: RadiusGauge | None = Field(default=None, description="gauges for board, block and strings")
    press_caul: PressCaul | None = Field(default=None, description="a shaped face that presses frets in")
    slot_outline: SlotOutline = Field(
        default=SlotOutline.model_construct(), description="the fret slots as closed outlines"
    )
    notched_strip: NotchedStrip | None = Field(default=None, description="a strip that steps a board past the saw")
    toolpath: Milling = Field(default=Milling.model_construct(), description="what the mill's programs do")

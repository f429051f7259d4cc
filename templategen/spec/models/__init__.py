"""What is asked for: the tables of the spec file and of the shop file, frozen, in mm, degrees and Hz.

One class per table. The field descriptions are what ``schema`` and ``new-spec`` print, the examples are what a message
about a missing key shows. What one value may be stands here; what several values must be together stands in ``checks``;
what only the computed geometry can tell is a problem or finding of the instrument room. Defaults that are tables are
made by ``model_construct``, which needs no validator: building one for each table would double the time to start.
"""

from __future__ import annotations

from templategen.spec.models.board import Before, Fingerboard, Surface, WidthAt
from templategen.spec.models.common import Radius, StationName, Units
from templategen.spec.models.mill import Mill, MillTool
from templategen.spec.models.nut import Nut, PlainWound, PlainWoundShare, Stock
from templategen.spec.models.saddle import SaddlePiece
from templategen.spec.models.scale import Scale, ZeroFret
from templategen.spec.models.setup import Action, FallAway, Intonation, Levelling, Playing, Relief, Rest, Setup
from templategen.spec.models.shop import (
    EndMill,
    Minutes,
    Paper,
    PaperName,
    RulerMeasured,
    Sheet,
    Shop,
    StepMinutes,
    Wire,
)
from templategen.spec.models.strings import (
    Bridge,
    Headstock,
    Material,
    Spacing,
    Strings,
    StringSpec,
    Wrap,
    spacing_share,
)
from templategen.spec.models.tools import Milling, NotchedStrip, PressCaul, RadiusBlock, RadiusGauge
from templategen.spec.models.whole import Asked, Kind, Spec
from templategen.spec.models.wire import FretWire

__all__ = [
    "Action", "Asked", "Before", "Bridge", "EndMill", "FallAway", "Fingerboard", "FretWire", "Headstock",
    "Intonation", "Kind", "Levelling", "Material", "Mill", "MillTool", "Milling", "Minutes", "NotchedStrip", "Nut",
    "Paper", "PaperName",
    "PlainWound", "PlainWoundShare", "Playing", "PressCaul", "Radius", "RadiusBlock", "RadiusGauge", "Relief",
    "Rest", "RulerMeasured", "SaddlePiece", "Scale", "Setup", "Sheet", "Shop", "Spacing", "Spec", "StationName",
    "StepMinutes", "Stock", "StringSpec", "Strings", "Surface", "Units", "WidthAt", "Wire", "Wrap", "ZeroFret",
    "spacing_share",
]  # fmt: skip

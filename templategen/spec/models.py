"""What is asked for: the tables of the spec file and of the shop file, frozen, in mm, degrees and Hz.

One class per table; the class docstrings and field descriptions are what ``schema`` and ``new-spec`` print. Checks that
need only one table stand in that table; checks over several tables stand in ``Spec``; what only the computed geometry
can tell is a problem or finding of the instrument room.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from templategen.spec.values import (
    Angle,
    Length,
    LengthFromZero,
    Number,
    OverStrings,
    Pitch,
    PositiveLength,
    PositiveNumber,
    Share,
    Table,
    Whole,
    within,
    wrong,
)

Kind = Literal["electric", "steel_acoustic", "classical", "bass", "ukulele", "mandolin"]
Material = Literal["steel", "nylon", "fluorocarbon", "gut"]
Wrap = Literal["plated_steel", "nickel", "phosphor_bronze", "brass", "silvered_copper"]
Station = Literal["nut", "last"]


def _fraction_of_fret(value: float) -> float:
    if not 0 <= value <= 200:
        raise wrong("must be a fret from 0 to 200")
    return value


FretPlace = Annotated[Number, AfterValidator(_fraction_of_fret)]
FretNumber = Annotated[Whole, within(1, 200)]


# ------------------------------------------------------------------------------------------------------------ scale


class ZeroFret(Table):
    """A fret at the nut line; its crown may be higher than the others."""

    crown_height: PositiveLength | None = Field(None, description="crown of the zero fret; the wire's if absent")


def _zero_fret(value: Any) -> Any:
    if value is True:
        return ZeroFret(crown_height=None)
    if value is False:
        return None
    if isinstance(value, dict | ZeroFret) or value is None:
        return value
    raise wrong("must be true, false or a table such as { crown_height = 1.2 }")


class Scale(Table):
    """Where the frets go."""

    length: PositiveLength | None = Field(None, description="scale length, nut to saddle before compensation")
    bass: PositiveLength | None = Field(None, description="multi-scale: scale of the outer bass string")
    treble: PositiveLength | None = Field(None, description="multi-scale: scale of the outer treble string")
    square_fret: FretPlace = Field(7.0, description="multi-scale: the fret that stands square; 0 is the nut")
    fret_count: Annotated[Whole, within(1, 216)] = Field(description="how many frets")
    steps_per_octave: Annotated[Whole, within(5, 72)] = Field(12, description="equal steps to the octave")
    fret_cents: tuple[PositiveNumber, ...] | None = Field(None, description="cents above the open string, fret 1 first")
    repeat_at: PositiveNumber | None = Field(None, description="fret_cents start again this many cents higher")
    zero_fret: Annotated[ZeroFret | None, BeforeValidator(_zero_fret)] = Field(None, description="a fret at the nut")
    pitch_of_a4: Annotated[PositiveNumber, within(300, 600)] = Field(440.0, description="Hz; ISO 16 says 440")

    @property
    def bass_length(self) -> float:
        value = self.length if self.bass is None else self.bass
        assert value is not None
        return value

    @property
    def treble_length(self) -> float:
        value = self.length if self.treble is None else self.treble
        assert value is not None
        return value

    @property
    def multi_scale(self) -> bool:
        return self.bass is not None


# ------------------------------------------------------------------------------------------------------- fingerboard


class WidthAt(Table):
    """A width measured at a fret."""

    fret: FretNumber
    width: PositiveLength


RadiusValue = PositiveLength | Literal["flat"]


class Surface(Table):
    """A cylinder (``radius``), a cone (two radii) or a flat board."""

    radius: PositiveLength | Literal["flat"] | None = None
    radius_at_nut: PositiveLength | None = None
    radius_at_last_fret: PositiveLength | None = None


class Before(Surface):
    """Re-radius: the board as it was measured."""

    chord: PositiveLength | None = Field(None, description="radius from a measurement: length of the chord")
    height: PositiveLength | None = Field(None, description="and the height of the arc over it")
    slot_depth: LengthFromZero | None = Field(None, description="slot depth left, measured at the edge")
    thickness_at_edge: PositiveLength | None = Field(None, description="board thickness at its edge, at the nut")


class Fingerboard(Surface):
    """The board: outline, thickness and surface."""

    width_at_nut: PositiveLength
    width_at_last_fret: PositiveLength | None = None
    width_at: WidthAt | None = None
    beyond_last_fret: Length = Field(8.0, description="board end past the last slot, along the centreline")
    end: Literal["parallel", "square"] = Field("parallel", description="board end along the last fret, or square")
    thickness: PositiveLength | None = Field(None, description="at the centreline")
    thickness_at_edge: PositiveLength | None = Field(None, description="at the nut's edge; or thickness")
    blind_slot_inset: PositiveLength | None = Field(None, description="slot ends stop this far inside each edge")
    before: Before | None = None


# -------------------------------------------------------------------------------------------------------- fret wire


class FretWire(Table):
    """The wire, its slot, and where the position markers sit."""

    wire: str | None = Field(None, description="name of a wire in the shop file")
    crown_width: PositiveLength = Field(2.4)
    crown_height: PositiveLength = Field(1.1)
    tang_depth: PositiveLength = Field(1.6)
    tang_thickness: PositiveLength = Field(0.51)
    barb_width: PositiveLength = Field(0.80)
    slot_width: PositiveLength = Field(0.58)
    depth_below_tang: LengthFromZero = Field(0.3)
    slot_floor: Literal["concentric", "flat"] = Field("concentric")
    overhang: LengthFromZero = Field(2.0)
    tang_clearance: LengthFromZero = Field(0.4)
    markers: tuple[FretNumber, ...] = Field(())
    doubled_markers: tuple[FretNumber, ...] = Field(())
    marker_diameter: PositiveLength = Field(6.0)

    @property
    def slot_depth(self) -> float:
        return self.tang_depth + self.depth_below_tang


# ---------------------------------------------------------------------------------------------------------- strings


class StringSpec(Table):
    """One string of the set."""

    gauge: PositiveLength
    note: Pitch
    wound: bool = False
    core_diameter: PositiveLength | None = None
    material: Material | None = None
    wrap: Wrap | None = None
    density: PositiveNumber | None = Field(None, description="g/cm3, of the plain string or of the core")
    youngs_modulus: PositiveNumber | None = Field(None, description="GPa, of the plain string or of the core")
    mass_per_length: PositiveNumber | None = Field(None, description="g/m")
    stretch_sensitivity: PositiveNumber | None = Field(
        None, description="relative pitch change over relative stretch, found by retuning a marked string"
    )


class Strings(Table):
    """The set, treble-side string first."""

    set: tuple[StringSpec, ...]
    material: Material = "steel"
    wrap: Wrap = "plated_steel"
    courses: tuple[tuple[Whole, ...], ...] | None = Field(None, description="strings played as one, numbered from 1")


# ------------------------------------------------------------------------------------------- bridge, headstock, nut

Spacing = Annotated[
    Literal["equal_centre", "equal_gap"] | Number, Field(description="equal_centre, equal_gap, or 0..1 between them")
]


def spacing_share(value: str | float) -> float:
    """0 for equal centres, 1 for equal gaps."""
    if isinstance(value, str):
        return 1.0 if value == "equal_gap" else 0.0
    return value


class Bridge(Table):
    """The other end of the strings."""

    string_spread: PositiveLength = Field(description="outer string centres at the saddle")
    spacing: Spacing = "equal_centre"
    offset: Length = Field(0.0, description="of the spread's middle from the centreline, + toward the treble side")
    course_gap: PositiveLength = Field(2.0, description="side to side inside a course")


class Headstock(Table):
    """What the strings do behind the nut."""

    break_angle: Annotated[Number, within(0, 60)] | None = None
    posts: tuple[tuple[Length, Length, Length], ...] | None = Field(
        None, description="where each string meets its post, [x, y, z] in the plan frame, treble-side string first"
    )


class PlainWound(Table):
    """One length for plain strings, one for wound."""

    plain: LengthFromZero
    wound: LengthFromZero


class PlainWoundShare(Table):
    """One share of the gauge for plain strings, one for wound."""

    plain: PositiveNumber
    wound: PositiveNumber


class Stock(Table):
    """Material left on the blank."""

    sides: LengthFromZero = 0.5
    ends: LengthFromZero = 2.0


class Nut(Table):
    """The nut: its seat, the slots' places and widths, the stages it is made in."""

    thickness: PositiveLength = Field(description="square to the front edge: what calipers show")
    seat: Literal["groove", "shelf"] = "groove"
    seat_depth: Length | None = Field(None, description="seat below the board's surface at the centreline")
    seat_radius: PositiveLength | Literal["board"] | None = None
    seat_angle: Annotated[Number, within(-30, 30)] = 0.0
    edge_margin: OverStrings[LengthFromZero] | None = Field(
        None, description="board edge to the OUTSIDE of the outer string, square to the centreline"
    )
    string_spread: PositiveLength | None = Field(None, description="centres of the outer strings; or edge_margin")
    spacing: Spacing = "equal_gap"
    course_gap: PositiveLength = Field(1.6, description="side to side inside a course")
    slot_clearance: PlainWound = PlainWound(plain=0.0508, wound=0.0762)
    string_depth: PlainWoundShare = PlainWoundShare(plain=0.9, wound=0.55)
    min_slot_depth: LengthFromZero = 0.25
    slot_back_angle: Annotated[Number, within(0, 45)] | None = None
    slot_aim: Literal["string", "post"] | Share = "string"
    top_allowance: LengthFromZero = 0.8
    filing_allowance: LengthFromZero = 0.25
    slot_form: Literal["auto", "full", "pilot"] = "auto"
    edge_rounding: LengthFromZero = Field(0.5, description="radius that eases the finished nut's back edge and ends")
    stock: Stock = Stock(sides=0.5, ends=2.0)
    compensation: Literal["none", "best_fit"] | OverStrings[Length] = "none"
    compensation_by: Literal["shelf", "board"] = "shelf"
    behind_zero_fret: PositiveLength = 4.0
    below_zero_crown: LengthFromZero = 0.5


# ------------------------------------------------------------------------------------------------------------ setup


class Action(Table):
    """String height over a crown, open string's underside to crown, or with a capo on the first fret."""

    fret: FretNumber
    bass: Length | None = None
    treble: Length | None = None
    strings: tuple[Length, ...] | None = None
    capo: Literal[0, 1] = 0

    @property
    def over_strings(self) -> OverStrings[float]:
        if self.strings is not None:
            return OverStrings(self.strings[-1], self.strings[0], self.strings)
        assert self.bass is not None and self.treble is not None
        return OverStrings(self.bass, self.treble)


class Relief(Table):
    """The neck's forward bow under tension."""

    depth: Length
    # "from" is a keyword of the language, not of the spec
    from_fret: FretNumber | None = Field(None, alias="from")
    to_fret: FretNumber | None = Field(None, alias="to")


class FallAway(Table):
    """Crowns dropping in a straight line to ``drop`` at the last fret."""

    from_fret: FretNumber = Field(alias="from")
    drop: LengthFromZero


class Setup(Table):
    """The targets."""

    first_fret_clearance: OverStrings[Length] | None = None
    pressed_gap: OverStrings[Length] | None = None
    nut_over_crowns: OverStrings[Length] | None = None
    action: Action
    relief: Length | Relief = 0.0
    fall_away: FallAway | None = None


# ------------------------------------------------------------------------------------------- intonation and tools


class Intonation(Table):
    """How fretted notes are predicted and corrected."""

    finger_distance: LengthFromZero = 8.0
    string_ends: Literal["hinged_at_saddle", "hinged", "clamped", "ideal"] = "hinged_at_saddle"
    fit_to_fret: FretNumber = 12
    saddle: Literal["best_fit", "none"] | OverStrings[Length] = "best_fit"


class RadiusBlock(Table):
    """A block to sand the board or level the crowns with."""

    rides_on: Literal["board", "crowns"] = "board"
    at: Station | FretNumber | None = None
    length: PositiveLength = 150.0
    width: PositiveLength = 62.0
    height: PositiveLength = 32.0
    abrasive_thickness: LengthFromZero = 0.35
    rib_thickness: PositiveLength | None = None


class PressCaul(Table):
    """A shaped face that presses frets in."""

    radius_share: Annotated[PositiveNumber, within(0.5, 1.5)] = 0.95


class NotchedStrip(Table):
    """A strip that steps a board past the saw, a notch per slot."""

    pin: PositiveLength = 2.0
    pin_clearance: LengthFromZero = 0.03
    notch_depth: PositiveLength = 5.0
    width: PositiveLength = 45.0
    thickness: PositiveLength = 3.0
    saw_offset: Length = 0.0


# ------------------------------------------------------------------------------------------------------------- shop


class Paper(Table):
    """A paper size of the shop's own; height may be that of a roll."""

    width: PositiveLength
    height: PositiveLength


PaperName = Literal["A4", "Letter", "A3", "Tabloid", "Legal"]


class RulerMeasured(Table):
    """What the printed 100 mm check rulers really measure."""

    across: PositiveLength
    along: PositiveLength


class EndMill(Table):
    """A cutter."""

    shape: Literal["flat", "ball", "vee"]
    diameter: PositiveLength | None = None
    angle: Annotated[Number, within(1, 179)] | None = Field(None, description="full angle of a vee")


class Sheet(Table):
    """Sheet stock for ribs and gauges."""

    width: PositiveLength
    height: PositiveLength


class Wire(Table):
    """Fret wire the shop keeps."""

    name: str
    crown_width: PositiveLength
    crown_height: PositiveLength
    tang_depth: PositiveLength
    tang_thickness: PositiveLength
    barb_width: PositiveLength
    slot_width: PositiveLength


class Shop(Table):
    """What the shop owns."""

    units: Literal["mm", "in"] = "mm"
    paper: PaperName | Paper = "A4"
    ruler_measured: RulerMeasured | None = None
    nut_file_widths: tuple[PositiveLength, ...] = ()
    saw_kerfs: tuple[PositiveLength, ...] = ()
    end_mills: tuple[EndMill, ...] = ()
    beam_kerf: LengthFromZero = 0.0
    sheet: Sheet | None = None
    wire_stock_length: PositiveLength | None = None
    spare_frets: Annotated[Whole, within(0, 50)] = 0
    wire: tuple[Wire, ...] = ()


# ------------------------------------------------------------------------------------------------------------ whole


class Spec(Table):
    """One instrument and what to make for it."""

    title: str
    units: Literal["mm", "in"] = "mm"
    handedness: Literal["right", "left"] = "right"
    kind: Kind | None = None
    shop: str | None = Field(None, description="path of the shop file, relative to this one")
    scale: Scale
    fingerboard: Fingerboard
    fret_wire: FretWire = FretWire()
    strings: Strings
    bridge: Bridge
    headstock: Headstock | None = None
    nut: Nut
    setup: Setup
    intonation: Intonation = Intonation()
    radius_block: RadiusBlock | None = None
    press_caul: PressCaul | None = None
    notched_strip: NotchedStrip | None = None


"""What is asked for: the tables of the spec file and of the shop file, frozen, in mm, degrees and Hz.

One class per table. The field descriptions are what ``schema`` and ``new-spec`` print, the examples are what a message
about a missing key shows. What one value may be stands here; what several values must be together stands in ``checks``;
what only the computed geometry can tell is a problem or finding of the instrument room. Defaults that are tables are
made by ``model_construct``, which needs no validator: building one for each table would double the time to start.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, cast, get_args

from pydantic import Field

from templategen import units
from templategen.spec.choices import ListOf, OrTable, OrWord
from templategen.spec.table import Table, toml, wrong
from templategen.spec.values import (
    LengthFromZero,
    LengthWithin,
    Number,
    NumberWithin,
    OverStrings,
    PerString,
    Pitch,
    PositiveLength,
    PositiveNumber,
    Read,
    Share,
    Text,
    Whole,
    within,
)

A_LENGTH = f"a length: {units.ACCEPTED_FORMS}"
OVER_THE_STRINGS = f"lengths: one for all, {{ bass = …, treble = … }}, or a list; each {units.ACCEPTED_FORMS}"

Units = Literal["mm", "in"]
Kind = Literal["electric", "steel_acoustic", "classical", "bass", "ukulele", "mandolin"]
Material = Literal["steel", "nylon", "fluorocarbon", "gut", "silk"]
Wrap = Literal["plated_steel", "nickel", "phosphor_bronze", "brass", "silvered_copper"]
Station = Literal["nut", "last"]
Asked = Literal["board", "frets", "level", "nut", "saddle", "setup"]

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


# ------------------------------------------------------------------------------------------------------------ scale


class ZeroFret(Table):
    """A fret at the nut line; its crown may be higher than the others."""

    crown_height: Annotated[float, LengthWithin(0.2, 4)] | None = Field(
        default=None, description="crown of the zero fret; the wire's if absent", examples=[1.2]
    )


def _zero_fret(value: Any, unit: object) -> ZeroFret | None:
    if not isinstance(value, bool):
        raise wrong(_ZERO_FRET_FORMS)
    return ZeroFret() if value else None


_ZERO_FRET_FORMS = "must be true, false or a table such as { crown_height = 1.2 }"
ZeroFretOrNot = Annotated[ZeroFret | None, OrTable(Read(_zero_fret, {"type": "boolean"}), _ZERO_FRET_FORMS)]


class Scale(Table):
    """Where the frets go."""

    length: ScaleLength | None = Field(
        default=None, description="scale length, nut to saddle before compensation", examples=["25 3/16 in"]
    )
    bass: ScaleLength | None = Field(
        default=None, description="multi-scale: scale of the outer bass string", examples=["26 3/4 in"]
    )
    treble: ScaleLength | None = Field(
        default=None, description="multi-scale: scale of the outer treble string", examples=["25 in"]
    )
    square_fret: FretPlace = Field(default=7.0, description="multi-scale: the fret that stands square; 0 is the nut")
    fret_count: Annotated[Whole, within(1, 216)] = Field(description="how many frets", examples=[21])
    steps_per_octave: Annotated[Whole, within(5, 72)] = Field(default=12, description="equal steps to the octave")
    fret_cents: tuple[PositiveNumber, ...] | None = Field(
        default=None,
        description="cents above the open string, fret 1 first",
        examples=[[204, 386, 498, 702, 884, 1088, 1200]],
    )
    repeat_at: PositiveNumber | None = Field(
        default=None,
        description="fret_cents start again this many cents higher; an octave, 1200, if absent",
        examples=[1200],
    )
    zero_fret: ZeroFretOrNot = Field(default=None, description="a fret at the nut", examples=[True])
    pitch_of_a4: Annotated[Number, within(300, 600)] = Field(default=440.0, description="Hz; ISO 16 says 440")

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


class Fingerboard(Surface):
    """The board: outline, thickness and surface."""

    width_at_nut: BoardWidth = Field(description="square to the centreline, at the nut's front edge", examples=[43.2])
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


# -------------------------------------------------------------------------------------------------------- fret wire

CrownWidth = Annotated[float, LengthWithin(0.5, 6)]
CrownHeight = Annotated[float, LengthWithin(0.2, 4)]
TangDepth = Annotated[float, LengthWithin(0.3, 6)]
TangThickness = Annotated[float, LengthWithin(0.1, 3)]


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
    def slot_depth(self) -> float:
        return self.tang_depth + self.depth_below_tang


# ---------------------------------------------------------------------------------------------------------- strings


class StringSpec(Table):
    """One string of the set."""

    gauge: Annotated[float, LengthWithin(0.1, 5)] = Field(description="diameter of the string", examples=["0.010 in"])
    note: Pitch = Field(description="open pitch", examples=["E4"])
    wound: bool = Field(default=False, description="wound or plain")
    core_diameter: PositiveLength | None = Field(
        default=None,
        description="of a wound string, across the flats of a six-sided core; what is usual for the gauge, an "
        "estimate, if absent",
        examples=["0.017 in"],
    )
    core_form: Literal["round", "hexagonal"] = Field(
        default="round", description="of a wound string's core; a six-sided one is measured across its flats"
    )
    material: Material | None = Field(default=None, description="of a plain string or a core; the set's if absent")
    wrap: Wrap | None = Field(default=None, description="of a wound string; the set's if absent")
    density: Annotated[Number, within(0.5, 25)] | None = Field(
        default=None, description="g/cm3, of the plain string or of the core"
    )
    youngs_modulus: Annotated[Number, within(0.1, 1000)] | None = Field(
        default=None, description="GPa, of the plain string or of the core"
    )
    mass_per_length: Annotated[Number, within(0.01, 200)] | None = Field(default=None, description="g/m")
    stretch_sensitivity: Annotated[PositiveNumber, within(0, 1000)] | None = Field(
        default=None, description="relative pitch change over relative stretch, found by retuning a marked string"
    )


class Strings(Table):
    """The set, treble-side string first."""

    set: tuple[StringSpec, ...] = Field(
        description="treble-side string first, in the order they lie", examples=[[{"gauge": "0.010 in", "note": "E4"}]]
    )
    material: Material = Field(default="steel", description="plain strings and cores")
    wrap: Wrap = Field(default="plated_steel", description="of wound strings")
    courses: tuple[tuple[Whole, ...], ...] | None = Field(
        default=None, description="strings played as one, numbered from 1", examples=[[[1, 2], [3, 4]]]
    )


# ------------------------------------------------------------------------------------------- bridge, headstock, nut

Spacing = Annotated[
    Literal["equal_centre", "equal_gap"] | Share,
    OrWord("equal_centre", "equal_gap", other="a number from 0 (equal centres) to 1 (equal gaps)"),
    Field(description="equal_centre, equal_gap, or 0..1 between them"),
]


def spacing_share(value: str | float) -> float:
    """0 for equal centres, 1 for equal gaps."""
    if isinstance(value, str):
        return 1.0 if value == "equal_gap" else 0.0
    return value


Spread = Annotated[float, LengthWithin(5, 200)]
CourseGap = Annotated[float, LengthWithin(0.1, 20)]


SaddleShowing = Annotated[float, LengthWithin(0.5, 20)]


class Bridge(Table):
    """The other end of the strings."""

    string_spread: Spread = Field(description="outer string centres at the saddle", examples=[52.0])
    spacing: Spacing = Field(default="equal_centre", description="the same laws as at the nut")
    offset: Annotated[float, LengthWithin(-50, 50)] = Field(
        default=0.0, description="of the spread's middle from the centreline, + toward the treble side"
    )
    course_gap: CourseGap = Field(default=2.0, description="side to side inside a course")
    least_saddle: SaddleShowing = Field(
        default=2.0, description="one-piece bridge: a saddle that shows less over its top asks for another neck angle"
    )
    most_saddle: SaddleShowing = Field(default=5.0, description="one-piece bridge: and one that shows more")


Behind = Annotated[float, LengthWithin(-600, 600)]
Beside = Annotated[float, LengthWithin(-150, 150)]
Post = Annotated[tuple[Behind, Beside, Beside], ListOf(3, "must be three lengths, for example: [-45, 22, -6]")]


class Headstock(Table):
    """What the strings do behind the nut."""

    break_angle: Annotated[Number, within(0, 60)] | None = Field(
        default=None, description="degrees the strings fall behind the nut", examples=[12]
    )
    posts: tuple[Post, ...] | None = Field(
        default=None,
        description="where each string meets its post, [x, y, z] in the plan frame, treble-side string first",
        examples=[[[-45, 22, -6]]],
    )


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


# ------------------------------------------------------------------------------------------------------------ setup


def _capo(value: Any, unit: object) -> Literal[0, 1]:
    if isinstance(value, bool) or value not in (0, 1):
        raise wrong("must be 0 (none) or 1 (a capo on the first fret)")
    return 1 if value else 0


class Action(Table):
    """String height over a crown, open string's underside to crown, or with a capo on the first fret."""

    fret: FretNumber = Field(
        description="the fret it is measured at; up to 12 also on a board with fewer, to where its crown would be",
        examples=[12],
    )
    bass: Clearance | None = Field(default=None, description="under the bass-side string", examples=[2.0])
    treble: Clearance | None = Field(default=None, description="under the treble-side string", examples=[1.6])
    strings: tuple[Clearance, ...] | None = Field(
        default=None, description="or one value for each string, treble-side string first"
    )
    capo: Annotated[Literal[0, 1], Read(_capo, {"enum": [0, 1]})] = Field(
        default=0, description="1 if measured with a capo on the first fret"
    )

    @property
    def over_strings(self) -> OverStrings[float]:
        if self.strings is not None:
            return OverStrings(self.strings[-1], self.strings[0], self.strings)
        assert self.bass is not None
        assert self.treble is not None
        return OverStrings(self.bass, self.treble)


_BOW = LengthWithin(-2, 5)
Bow = Annotated[float, _BOW]


class Relief(Table):
    """The neck's forward bow under tension."""

    depth: Bow = Field(description="deepest gap", examples=[0.2])
    # "from" is a keyword of the language, not of the spec
    from_fret: FretNumber | None = Field(default=None, alias="from", description="first fret if absent")
    to_fret: FretNumber | None = Field(default=None, alias="to", description="last fret if absent")


BowOrRelief = Annotated[
    Bow | Relief, OrTable(_BOW, f"must be a table such as {{ depth = 0.2, from = 1, to = 14 }} or {A_LENGTH}")
]


class FallAway(Table):
    """Crowns dropping in a straight line to ``drop`` at the last fret."""

    from_fret: FretNumber = Field(alias="from", description="the last fret at full height", examples=[15])
    drop: Annotated[float, LengthWithin(0, 5)] = Field(description="at the last fret", examples=[0.25])


class Setup(Table):
    """The targets."""

    first_fret_clearance: ClearanceOverStrings | None = Field(
        default=None,
        description="open string's underside to the first crown",
        examples=[{"bass": 0.45, "treble": 0.30}],
    )
    pressed_gap: ClearanceOverStrings | None = Field(
        default=None, description="left over the first crown with the string held down between the second and third"
    )
    nut_over_crowns: ClearanceOverStrings | None = Field(
        default=None, description="slot floor over the line of the first two crowns"
    )
    action: Action = Field(
        description="string height over a crown", examples=[{"fret": 12, "bass": 2.0, "treble": 1.6}]
    )
    relief: BowOrRelief = Field(
        default=0.0, description="deepest gap under a straightedge on the first and last crowns"
    )
    fall_away: FallAway | None = Field(
        default=None,
        description="crowns dropping in a line toward the last fret",
        examples=[{"from": 15, "drop": 0.25}],
    )


# ------------------------------------------------------------------------------------------- intonation and tools


RestOfString = Annotated[float, LengthWithin(0, 1000)]


class Rest(Table):
    """The string's rest beyond nut and saddle, which gives way when the string is pressed."""

    nut: RestOfString = Field(default=0.0, description="from the nut to the post", examples=[60])
    saddle: RestOfString = Field(default=0.0, description="from the saddle to the tailpiece", examples=[150])


class Intonation(Table):
    """How fretted notes are predicted and corrected."""

    finger_distance: Annotated[float, LengthWithin(0, 50)] = Field(
        default=8.0, description="fingertip behind the crown"
    )
    finger_depth: Annotated[float, LengthWithin(0, 2)] = Field(
        default=0.0, description="fingertip below the line from the saddle over the crown: how hard one presses"
    )
    behind: Rest | None = Field(
        default=None,
        description="length of string beyond nut and saddle that slides over them; none if absent",
        examples=[{"nut": 60, "saddle": 150}],
    )
    string_ends: Literal["hinged_at_saddle", "hinged", "clamped", "ideal"] = Field(
        default="hinged_at_saddle", description="and clamped at the crown; ideal has no stiffness"
    )
    fit_to_fret: FretNumber = Field(default=12, description="the fit covers frets 1 to this")
    saddle: Annotated[
        Literal["best_fit", "none"] | SaddleOffsets,
        OrWord("best_fit", "none", other=OVER_THE_STRINGS),
    ] = Field(default="best_fit", description="saddle offset per string")


PluckedAt = Annotated[OverStrings[float], PerString(Annotated[Number, within(0.01, 0.8)])]
Headroom = Annotated[OverStrings[float], PerString(Annotated[float, LengthWithin(0, 10)])]


class Playing(Table):
    """How hard the strings are played, and where."""

    plucked_at: PluckedAt = Field(
        default=OverStrings(0.2, 0.2),
        description="from the saddle to where the string is plucked, as a share of its scale",
    )
    headroom: Headroom | None = Field(
        default=None,
        description="how far every fretted string is to be pulled aside before it touches a crown",
        examples=[{"bass": 0.8, "treble": 0.6}],
    )


class Levelling(Table):
    """How crowns are filed level."""

    leave_low: Annotated[float, LengthWithin(0, 1)] = Field(
        default=0.02, description="crowns this far under the level are left alone"
    )
    least_crown: Annotated[float, LengthWithin(0.1, 4)] | None = Field(
        default=None, description="no crown is filed lower over the board; 0.7 of the wire's if absent", examples=[0.75]
    )
    replace_up_to: Annotated[Whole, within(0, 4)] = Field(
        default=3, description="plans with up to this many new frets are tried"
    )
    fall_away: FallAway | None = Field(
        default=None, description="crowns filed to drop toward the last fret; that of the setup if absent"
    )


class RadiusBlock(Table):
    """A block to sand the board or level the crowns with."""

    rides_on: Literal["board", "crowns"] = Field(default="board", description="what is sanded")
    face: Literal["concave", "convex"] = Field(
        default="concave", description="hollow, for the board itself; or round, for hollows made to its radius"
    )
    at: Annotated[Station | FretNumber, OrWord("nut", "last", other="a fret")] | None = Field(
        default=None, description="the station it is for, on a compound radius", examples=["nut"]
    )
    length: Annotated[float, LengthWithin(10, 1000)] = Field(default=150.0, description="along the neck")
    width: Annotated[float, LengthWithin(5, 300)] = Field(default=62.0, description="across the board")
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


# ------------------------------------------------------------------------------------------------------------- shop


class Paper(Table):
    """A paper size of the shop's own; height may be that of a roll."""

    width: Annotated[float, LengthWithin(200, 3000)] = Field(description="width of the paper", examples=[610])
    height: Annotated[float, LengthWithin(250, 100_000)] = Field(
        description="height of the paper, or length of the roll", examples=[10000]
    )


PaperName = Literal["A4", "Letter", "A3", "Tabloid", "Legal"]
_PAPERS = get_args(PaperName)
_PAPER_FORMS = f"must be {', '.join(map(toml, _PAPERS))} or a table such as {{ width = 610, height = 10000 }}"


def _paper(value: Any, unit: object) -> PaperName:
    if value in _PAPERS:
        return cast(PaperName, value)
    raise wrong(_PAPER_FORMS)


OnRuler = Annotated[float, LengthWithin(90, 110)]


class RulerMeasured(Table):
    """What the printed 100 mm check rulers really measure."""

    across: OnRuler = Field(description="the ruler across the page", examples=[100.0])
    along: OnRuler = Field(description="the ruler along the page", examples=[100.0])


class EndMill(Table):
    """A cutter."""

    shape: Literal["flat", "ball", "vee"] = Field(description="flat, ball or vee", examples=["ball"])
    diameter: Annotated[float, LengthWithin(0.05, 50)] | None = Field(
        default=None, description="of the cutter", examples=[1.0]
    )
    angle: Annotated[Number, within(1, 179)] | None = Field(
        default=None, description="full angle of a vee", examples=[60]
    )


class Sheet(Table):
    """Sheet stock for ribs and gauges."""

    width: Annotated[float, LengthWithin(20, 10_000)] = Field(description="width of the sheet", examples=[600])
    height: Annotated[float, LengthWithin(20, 10_000)] = Field(description="height of the sheet", examples=[400])


class Wire(Table):
    """Fret wire the shop keeps."""

    name: Text = Field(description="what a spec calls it", examples=["fleet 2.4"])
    crown_width: CrownWidth = Field(description="across the crown", examples=[2.4])
    crown_height: CrownHeight = Field(description="crown over the board", examples=[1.1])
    tang_depth: TangDepth = Field(description="foot below the crown", examples=[1.6])
    tang_thickness: TangThickness = Field(description="bare tang, without the barbs", examples=[0.51])
    barb_width: TangThickness = Field(description="over the barbs", examples=[0.80])
    slot_width: TangThickness = Field(description="width of the slot for it", examples=[0.58])


_FROM_ZERO = NumberWithin(0, 10_000)
MinutesOf = Annotated[float, _FROM_ZERO]


class StepMinutes(Table):
    """The shop's own minutes for one step."""

    job: MinutesOf = Field(default=0.0, description="for the job as a whole", examples=[20])
    fret: MinutesOf = Field(default=0.0, description="and for each fret", examples=[3])
    string: MinutesOf = Field(default=0.0, description="and for each string", examples=[4])


def _job_minutes(value: Any, unit: units.Unit) -> StepMinutes:
    return StepMinutes.model_construct(job=_FROM_ZERO.function(value, unit), fret=0.0, string=0.0)


MinutesOrNot = Annotated[
    StepMinutes,
    OrTable(
        Read(_job_minutes, _FROM_ZERO.schema),
        "must be minutes for the job, or a table such as { job = 20, fret = 3, string = 4 }",
    ),
]


class Minutes(Table):
    """What each step takes in this shop; steps that are left out are not quoted."""

    record: MinutesOrNot | None = Field(default=None, description="recording it as found")
    strings_off: MinutesOrNot | None = Field(default=None, description="slackening and taking off")
    frets_out: MinutesOrNot | None = Field(default=None, description="old frets out", examples=[{"fret": 1.5}])
    neck: MinutesOrNot | None = Field(default=None, description="setting the neck straight")
    radius: MinutesOrNot | None = Field(default=None, description="sanding the board to its radius")
    slots: MinutesOrNot | None = Field(default=None, description="slots cut or deepened")
    frets_in: MinutesOrNot | None = Field(default=None, description="frets in")
    level: MinutesOrNot | None = Field(default=None, description="levelling, crowning, polishing")
    nut: MinutesOrNot | None = Field(default=None, description="the nut", examples=[{"job": 30, "string": 5}])
    saddle: MinutesOrNot | None = Field(default=None, description="the saddle")
    strings_on: MinutesOrNot | None = Field(default=None, description="strings on and to pitch")
    setup: MinutesOrNot | None = Field(default=None, description="relief and heights")
    offsets: MinutesOrNot | None = Field(default=None, description="offsets at the saddle")
    check: MinutesOrNot | None = Field(default=None, description="playing every note")
    record_left: MinutesOrNot | None = Field(default=None, description="recording it as left")


class Shop(Table):
    """What the shop owns."""

    called = "the shop file"

    units: Units = Field(default="mm", description="unit of bare lengths in the shop file")
    paper: Annotated[PaperName | Paper, OrTable(Read(_paper, {"enum": list(_PAPERS)}), _PAPER_FORMS)] = Field(
        default="A4", description="paper that is printed on"
    )
    ruler_measured: RulerMeasured | None = Field(
        default=None,
        description="what the printed 100 mm check rulers really measure",
        examples=[{"across": 100.0, "along": 100.0}],
    )
    nut_file_widths: tuple[Annotated[float, LengthWithin(0.05, 6)], ...] = Field(default=(), description="nut files")
    saw_kerfs: tuple[Annotated[float, LengthWithin(0.05, 6)], ...] = Field(
        default=(), description="what the saws remove"
    )
    end_mills: tuple[EndMill, ...] = Field(default=(), description="cutters")
    beam_kerf: Annotated[float, LengthWithin(0, 2)] = Field(default=0.0, description="what the laser removes")
    sheet: Sheet | None = Field(default=None, description="sheet stock", examples=[{"width": 600, "height": 400}])
    wire_stock_length: Annotated[float, LengthWithin(30, 100_000)] | None = Field(
        default=None, description="a stick of fret wire as it is bought", examples=[610]
    )
    spare_frets: Annotated[Whole, within(0, 50)] = Field(default=0, description="pieces of wire cut besides")
    wire: tuple[Wire, ...] = Field(default=(), description="fret wire kept")
    minutes: Minutes | None = Field(default=None, description="the shop's own minutes per step, for a quote")
    rate: Annotated[Number, within(0, 100_000)] | None = Field(
        default=None, description="the shop's own price of an hour", examples=[60]
    )
    currency: Text | None = Field(default=None, description="what the rate is in", examples=["EUR"])


# ------------------------------------------------------------------------------------------------------------ whole


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
        description="what is to be done, for the bench sheet: board, frets, level, nut, saddle, setup; all that the "
        "spec is for if absent",
        examples=[["nut", "setup"]],
    )
    scale: Scale = Field(description="where the frets go", examples=[{"length": "25 3/16 in"}])
    fingerboard: Fingerboard = Field(description="the board", examples=[{"width_at_nut": 43.2}])
    fret_wire: FretWire = Field(default=FretWire.model_construct(), description="wire, slots and position markers")
    strings: Strings = Field(description="the set", examples=[{"set": [{"gauge": "0.010 in", "note": "E4"}]}])
    bridge: Bridge = Field(description="the other end of the strings", examples=[{"string_spread": 52.0}])
    headstock: Headstock | None = Field(default=None, description="what the strings do behind the nut")
    nut: Nut = Field(description="the nut", examples=[{"thickness": 3.4}])
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
    notched_strip: NotchedStrip | None = Field(default=None, description="a strip that steps a board past the saw")

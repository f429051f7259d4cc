"""The tables of the survey file, frozen, in mm, degrees and cents.

One class per table; the field descriptions are what ``schema --survey`` prints. What several readings must be together
stands in ``spec.survey.checks``.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field

from templategen import units
from templategen.spec.choices import ListOf, OrTable
from templategen.spec.models import Kind, Material, StringSpec, Units, Wrap
from templategen.spec.models.common import BoardThickness, FretNumber
from templategen.spec.survey.values import LAST, AtFrets, ByFret, Date, PerPlace, ReadingWithin, Reads, Repeated
from templategen.spec.table import Table, wrong
from templategen.spec.values import LengthWithin, Number, PositiveNumber, Read, Text, Whole, length_of, within

GAP = "a gap is 0 or more: a crown that stands over the others is told by the gaps it leaves beside it, or by a rocker"

Gap = Annotated[float, ReadingWithin(0, 3, below=GAP)]
Small = Annotated[float, ReadingWithin(0, 10)]
Height = Annotated[float, ReadingWithin(-3, 20)]
FromNut = Annotated[float, ReadingWithin(1, 2000, below="distances are from the nut's front edge toward the bridge")]
Across = Annotated[float, ReadingWithin(-150, 150)]
GapReads = Annotated[Reads, Repeated(Gap)]
SmallReads = Annotated[Reads, Repeated(Small)]
WidthReads = Annotated[Reads, Repeated(Annotated[float, ReadingWithin(10, 200)])]
FretReads = Annotated[ByFret[Reads], AtFrets(Annotated[Reads, Repeated(FromNut)])]
ReadDepths = Annotated[ByFret[Reads], AtFrets(SmallReads)]

# ------------------------------------------------------------------------------------------------------------- tools


class Rule(Table):
    """A steel rule. Its limit of error is a + b for each started metre: MID 2014/32/EU, Annex X."""

    graduation: Annotated[float, LengthWithin(0.05, 5)] = Field(default=0.5, description="from line to line")
    # "class" is a keyword of the language, not of the survey
    class_: Literal["I", "II", "III"] = Field(default="II", alias="class", description="accuracy class on the rule")
    from_end: bool = Field(default=False, description="read from the rule's butt end, not from a line")


class Calipers(Table):
    """Calipers, with their depth rod."""

    graduation: Annotated[float, LengthWithin(0.001, 0.5)] = Field(default=0.02, description="smallest step shown")
    limit: Annotated[float, LengthWithin(0, 1)] = Field(default=0.03, description="limit of error")


class Feelers(Table):
    """Feeler gauges; leaves are put together."""

    step: Annotated[float, LengthWithin(0.001, 1)] = Field(default=0.01, description="from one thickness to the next")


class Gauges(Table):
    """Radius gauges."""

    step: Annotated[float, LengthWithin(0.5, 200)] = Field(default=12.7, description="from one radius to the next")


class HeightGauge(Table):
    """What string heights are read with."""

    graduation: Annotated[float, LengthWithin(0.005, 1)] = Field(default=0.1, description="from line to line")


class Tuner(Table):
    """An electronic tuner."""

    limit: Annotated[Number, within(0, 50)] = Field(default=0.5, description="limit of error, cents")


class Tools(Table):
    """What was used."""

    rule: Rule = Field(default=Rule.model_construct(), description="for the frets' places")
    calipers: Calipers = Field(
        default=Calipers.model_construct(), description="for widths, crowns, thicknesses and depths"
    )
    feelers: Feelers = Field(default=Feelers.model_construct(), description="for gaps")
    gauges: Gauges = Field(default=Gauges.model_construct(), description="for the board's round")
    height_gauge: HeightGauge = Field(default=HeightGauge.model_construct(), description="for the action")
    tuner: Tuner = Field(default=Tuner.model_construct(), description="for cents")


# ------------------------------------------------------------------------------------------------------ scale, frets


class Law(Table):
    """Which frets there are, and the rule they were meant to follow."""

    fret_count: FretNumber = Field(description="how many frets, a zero fret not counted", examples=[21])
    steps_per_octave: Annotated[Whole, within(5, 72)] = Field(default=12, description="equal steps to the octave")
    fret_cents: tuple[PositiveNumber, ...] | None = Field(
        default=None,
        description="cents above the open string, fret 1 first",
        examples=[[204, 386, 498, 702, 884, 1088, 1200]],
    )
    repeat_at: PositiveNumber | None = Field(
        default=None, description="fret_cents start again this many cents higher; an octave if absent", examples=[1200]
    )
    zero_fret: bool = Field(default=False, description="a fret stands at the nut: places are read from its crown")


class LinesAt(Table):
    """How far from the centreline the two lines of a multi-scale board run, + toward the treble side."""

    bass: Across = Field(description="of the bass line", examples=[-20])
    treble: Across = Field(description="of the treble line", examples=[20])


class FretPlaces(Table):
    """Places of the frets from the nut's front edge, along one line or two."""

    centre: FretReads | None = Field(
        default=None, description="along the centreline", examples=[{"1": 35.6, "12": 319.5}]
    )
    bass: FretReads | None = Field(default=None, description="along the bass edge or string, from its own nut end")
    treble: FretReads | None = Field(default=None, description="along the treble edge or string, from its own nut end")
    nut_slant: Annotated[float, ReadingWithin(-100, 100)] | None = Field(
        default=None, description="multi-scale: how much farther back the bass end of the nut stands", examples=[12.0]
    )
    at_y: LinesAt | None = Field(
        default=None,
        description="multi-scale: where the two lines run, across from the centreline",
        examples=[{"bass": -20, "treble": 20}],
    )


# ------------------------------------------------------------------------------------------------------------- board

_RADIUS = LengthWithin(50, 10_000)


def _gauge(value: Any, unit: units.Unit) -> float:
    return math.inf if value == "flat" else _RADIUS.function(value, unit)


Gauge = Annotated[float, Read(_gauge, {"anyOf": [_RADIUS.schema, {"const": "flat"}]})]


class Rise(Table):
    """How far the board rises over a straight chord, in its middle."""

    chord: Annotated[float, LengthWithin(5, 200)] = Field(description="length of the chord", examples=[42])
    height: Annotated[Reads, Repeated(Annotated[float, ReadingWithin(0, 20)])] = Field(
        description="of the board's middle over it", examples=[0.8]
    )


_RISE_FORMS = "must be { chord = 42, height = 0.80 } or points across, [y, depth]: [[-20, 1.2], [0, 0.3], …]"


def _depths(value: Any, unit: units.Unit) -> tuple[tuple[float, float], ...]:
    """[[y, z], …]: z down from a straight bar that lies across."""
    if not isinstance(value, tuple) or not all(isinstance(point, tuple) and len(point) == 2 for point in value):
        raise wrong(_RISE_FORMS)
    points = tuple((length_of(y, unit), length_of(z, unit)) for y, z in value)
    if any(abs(y) > 150 for y, _ in points):
        raise wrong("has a point more than 150 mm from the middle; write y first, across, then the depth")
    if any(not 0 <= z <= 50 for _, z in points):
        raise wrong("has a depth that is not from 0 to 50 mm; depths go down from a straight bar across the board")
    return points


ReadProfile = tuple[tuple[float, float], ...]
_POINT = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 2, "maxItems": 2}
RiseOrDepths = Annotated[
    Rise | ReadProfile,
    OrTable(
        Read(_depths, {"type": "array", "items": _POINT, "minItems": 3}),
        _RISE_FORMS,
        lists=True,
    ),
]


class BoardReadings(Table):
    """The board's outline, round and slots."""

    width: Annotated[ByFret[Reads], AtFrets(WidthReads, nut=True)] | None = Field(
        default=None, description="square to the centreline", examples=[{"nut": 43.2, LAST: 55.4}]
    )
    radius: Annotated[ByFret[Reads], AtFrets(Annotated[Reads, Repeated(Gauge)], nut=True)] | None = Field(
        default=None,
        description="the gauge that shows no light, or the two between",
        examples=[{"1": ["9 in", "9.5 in"], "12": "10 in"}],
    )
    rise: Annotated[ByFret[Any], AtFrets(RiseOrDepths, nut=True)] | None = Field(
        default=None,
        description="rise over a chord, or depths across from a straight bar",
        examples=[{"12": {"chord": 42, "height": 0.80}}],
    )
    thickness_at_edge: (
        Annotated[ByFret[Reads], AtFrets(Annotated[Reads, Repeated(BoardThickness)], nut=True)] | None
    ) = Field(default=None, description="of the board, at its edge", examples=[{"nut": 4.8}])
    slot_depth: ReadDepths | None = Field(default=None, description="of empty slots at the edge", examples=[{"3": 1.8}])
    slot_width: ReadDepths | None = Field(
        default=None, description="thickest feeler that enters", examples=[{"3": 0.6}]
    )
    wear_depth: ReadDepths | None = Field(
        default=None, description="deepest hollow between this fret and the one before", examples=[{"3": 0.4}]
    )


# ------------------------------------------------------------------------------------------------------------ relief


def _held(value: Any, unit: units.Unit) -> int | float | str:
    """A fret, "nut", "last", or text with a unit: a distance from the nut's front edge."""
    if value in ("nut", "last"):
        return str(value)
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if isinstance(value, str):
        return length_of(value, unit)
    raise wrong('must be a fret, "nut", "last", or a distance from the nut as text with its unit, such as "35 mm"')


HeldAt = Annotated[int | float | str, Read(_held, {"type": ["integer", "string"]})]
HeldNote = Annotated[
    tuple[HeldAt, HeldAt], ListOf(2, "must be the two places the straightedge rests on, for example: [1, 21]")
]


class ReliefReadings(Table):
    """Gaps under a straightedge or a string, strings on, in playing position."""

    held: HeldNote = Field(default=(1, LAST), description="frets it rests on")
    gap: Annotated[ByFret[Reads], AtFrets(GapReads)] = Field(
        default=ByFret(()), description="thickest feeler that enters over that crown", examples=[{"7": 0.45}]
    )


# ------------------------------------------------------------------------------------------------------------ crowns

LineRead = Literal["bass", "treble", "centre"] | int
_LINE_FORMS = 'must be "bass", "treble", "centre" or a string number'


def _line(value: Any, unit: object) -> LineRead:
    if value in ("bass", "treble", "centre"):
        return value  # type: ignore[no-any-return]
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 12:
        return value
    raise wrong(_LINE_FORMS)


_LINES_SCHEMA = {"anyOf": [{"enum": ["bass", "treble", "centre"]}, {"type": "integer", "minimum": 1, "maximum": 12}]}
LineName = Annotated[LineRead, Read(_line, _LINES_SCHEMA)]
_PER_LINE = 'must be a list with one reading for each of the lines, for example: [0.02, 0]; where none was read: "-"'


def _per_line(item: Any, one_for_all: bool = True) -> PerPlace:
    return PerPlace(item, (), _PER_LINE, one_for_all)


GapLines = Annotated[tuple[Reads, ...], _per_line(GapReads)]
CrownLines = Annotated[tuple[Reads, ...], _per_line(Annotated[Reads, Repeated(Annotated[float, ReadingWithin(0, 4)])])]


class Rocker(Table):
    """A short straightedge over three crowns, this fret's in the middle, one end held down."""

    free: Literal["bridge", "nut"] | None = Field(
        default=None, description="the end that stands up where the middle crown is proud", examples=["bridge"]
    )
    gap: GapLines | None = Field(
        default=None, description="feeler under the free end, the other held down", examples=[[0.06, 0]]
    )
    low: GapLines | None = Field(
        default=None, description="feeler over the middle crown where both ends touch", examples=[[0.02, 0]]
    )


class CrownReadings(Table):
    """Crowns along lines, neck straightened, strings off."""

    lines: tuple[LineName, ...] = Field(
        default=("bass", "treble"), description="along which lines: bass, treble, centre, or string numbers"
    )
    under_straightedge: Annotated[ByFret[tuple[Reads, ...]], AtFrets(GapLines)] | None = Field(
        default=None,
        description="gap under a straightedge lying on the crowns along each line",
        examples=[{"1": [0, 0.02], "2": [0.05, 0.04]}],
    )
    rocker: Annotated[ByFret[Rocker], AtFrets(Rocker)] | None = Field(
        default=None,
        description="or three crowns at a time",
        examples=[{"2": {"free": "bridge", "gap": [0.06, 0]}}],
    )
    height: Annotated[ByFret[tuple[Reads, ...]], AtFrets(CrownLines)] | None = Field(
        default=None, description="crown over the wood, worn grooves included", examples=[{"1": [1.02, 0.95]}]
    )
    width: Annotated[ByFret[tuple[Reads, ...]], AtFrets(CrownLines)] | None = Field(
        default=None, description="across the crown", examples=[{"1": 2.4}]
    )


# ----------------------------------------------------------------------------------------------------------- strings

_PER_STRING = 'must be a list, treble-side string first, for example: [0.30, 0.35]; where none was read: "-"'
Widths = Annotated[float, ReadingWithin(0, 200)]
CentsRead = Annotated[Number, within(-100, 100)]


def _per_string(item: Any) -> PerPlace:
    return PerPlace(item, (), _PER_STRING)


OverCrown = Annotated[float, ReadingWithin(0, 3, below="a gap is 0 or more; 0 where the string lies on the crown")]
GapStrings = Annotated[tuple[Reads, ...], _per_string(Annotated[Reads, Repeated(OverCrown)])]
HeightStrings = Annotated[tuple[Reads, ...], _per_string(Annotated[Reads, Repeated(Height)])]
PlaceStrings = Annotated[tuple[Reads, ...], _per_string(Annotated[Reads, Repeated(Widths)])]
CentsStrings = Annotated[tuple[Reads, ...], _per_string(Annotated[Reads, Repeated(CentsRead)])]


class ActionReadings(Table):
    """String heights over one crown, open strings' undersides."""

    fret: FretNumber = Field(description="over whose crown", examples=[12])
    heights: HeightStrings = Field(description="of every string, treble side first", examples=[[1.6, 1.7]])
    capo: Literal[0, 1] = Field(default=0, description="1 if read with a capo on the first fret")


class StringReadings(Table):
    """The strings as they lie and sound, treble side first."""

    set: tuple[StringSpec, ...] | None = Field(
        default=None, description="as in a spec, if known", examples=[[{"gauge": "0.010 in", "note": "E4"}]]
    )
    material: Material = Field(default="steel", description="plain strings and cores")
    wrap: Wrap = Field(default="plated_steel", description="of wound strings")
    courses: tuple[tuple[Whole, ...], ...] | None = Field(default=None, description="strings played as one")
    at_nut: PlaceStrings | None = Field(
        default=None, description="centres at the nut, from the board's bass edge", examples=[[39.3, 32.1]]
    )
    nut_thickness: Annotated[float, LengthWithin(1, 30)] | None = Field(
        default=None, description="square to the front edge", examples=[3.4]
    )
    first_fret: GapStrings | None = Field(
        default=None, description="open strings' undersides to the first crown", examples=[[0.75, 0.8]]
    )
    pressed: GapStrings | None = Field(
        default=None, description="the same, held down between the second and third fret", examples=[[0.2, 0.25]]
    )
    action: ActionReadings | None = Field(
        default=None, description="string heights over a crown", examples=[{"fret": 12, "heights": [1.6, 1.7]}]
    )
    cents: Annotated[ByFret[tuple[Reads, ...]], AtFrets(CentsStrings)] | None = Field(
        default=None, description="tuner, open strings at 0", examples=[{"12": [9, 8]}]
    )


# ----------------------------------------------------------------------------------------------- bridge and condition

_ENDS = "must be two readings, bass and treble end, for example: [4.1, 3.8]"


class BridgeReadings(Table):
    """The strings' other end."""

    string_spread: Annotated[float, LengthWithin(5, 200)] | None = Field(
        default=None, description="centres of the outer strings at the saddle", examples=[52.0]
    )
    top_under_plane: Height | None = Field(
        default=None,
        description="one-piece bridge: its top below a straightedge lying on the crowns, at the saddle; negative: the "
        "straightedge meets the bridge",
        examples=[2.5],
    )
    saddle_showing: Annotated[tuple[Small, Small], ListOf(2, _ENDS)] | None = Field(
        default=None, description="saddle above the bridge's top, bass and treble end", examples=[[4.1, 3.8]]
    )
    body_joint: FretNumber | None = Field(default=None, description="fret at the body", examples=[14])


def _notes(value: Any, unit: object) -> tuple[str, ...]:
    lines = value if isinstance(value, tuple) else (value,)
    if not all(isinstance(line, str) and line.strip() and line.isprintable() for line in lines):
        raise wrong("must be lines of text in quotes, in square brackets")
    return tuple(lines)


class Condition(Table):
    """Words for the record."""

    rod: Text | None = Field(default=None, description="what the truss rod does", examples=["turns both ways"])
    humidity: Annotated[Number, within(0, 100)] | None = Field(default=None, description="percent", examples=[46])
    temperature: Annotated[Number, within(-40, 60)] | None = Field(default=None, description="°C", examples=[21])
    notes: Annotated[
        tuple[str, ...] | None,
        Read(_notes, {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
    ] = Field(default=None, description="anything seen", examples=[["fret 9 loose at the treble end"]])


# ------------------------------------------------------------------------------------------------------------- whole


class Survey(Table):
    """One instrument as it was measured."""

    called = "a survey"

    title: Text | None = Field(default=None, description="what it is", examples=["Loan fleet 07 as found"])
    units: Units = Field(default="mm", description="unit of bare lengths")
    date: Date | None = Field(default=None, description="when it was measured")
    handedness: Literal["right", "left"] = Field(default="right", description="which way round it is strung")
    kind: Kind | None = Field(default=None, description="whose common-practice targets a draft is given")
    tools: Tools = Field(default=Tools.model_construct(), description="what was used")
    scale: Law = Field(description="which frets there are", examples=[{"fret_count": 21}])
    frets: FretPlaces | None = Field(default=None, description="places of the frets")
    board: BoardReadings | None = Field(default=None, description="outline, round and slots")
    relief: ReliefReadings | None = Field(default=None, description="the neck's bow")
    crowns: CrownReadings | None = Field(default=None, description="heights of the crowns")
    strings: StringReadings | None = Field(default=None, description="how the strings lie and sound")
    bridge: BridgeReadings | None = Field(default=None, description="the strings' other end")
    condition: Condition | None = Field(default=None, description="words for the record")


READINGS = ("frets", "board", "relief", "crowns", "strings", "bridge")
"""The tables that hold readings; a survey has at least one of them."""

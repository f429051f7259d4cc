"""The setup that is wanted, how fretted notes are predicted, how hard one plays, how crowns are levelled."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from templategen.spec.choices import OrTable, OrWord
from templategen.spec.models.common import (
    A_LENGTH,
    OVER_THE_STRINGS,
    Clearance,
    ClearanceOverStrings,
    FretNumber,
    SaddleOffsets,
)
from templategen.spec.table import Table, wrong
from templategen.spec.values import LengthWithin, Number, OverStrings, PerString, Read, Whole, within


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

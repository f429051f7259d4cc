"""The strings, and what holds them at the far ends: bridge and headstock."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from templategen.spec.choices import ListOf, OrWord
from templategen.spec.table import Table
from templategen.spec.values import (
    LengthWithin,
    Number,
    Pitch,
    PositiveLength,
    PositiveNumber,
    Share,
    Whole,
    within,
)

Material = Literal["steel", "nylon", "fluorocarbon", "gut", "silk"]
Wrap = Literal["plated_steel", "nickel", "phosphor_bronze", "brass", "silvered_copper"]


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
    top_height: Annotated[float, LengthWithin(-30, 60)] | None = Field(
        default=None,
        description="bridge's top over the fingerboard's surface line prolonged to it, - below: a straightedge on the "
        "crowns passes over it by the crown's height less this",
        examples=[-1.5],
    )
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

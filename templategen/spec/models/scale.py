"""Where the frets go."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from templategen.spec.choices import OrTable
from templategen.spec.models.common import FretPlace, ScaleLength
from templategen.spec.table import Table, wrong
from templategen.spec.values import LengthWithin, Number, PositiveNumber, Read, Whole, within


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

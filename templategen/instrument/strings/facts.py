"""One string of the finished instrument: what it is, where it runs and how it sounds, as plain numbers."""

from __future__ import annotations

from dataclasses import dataclass

from templategen.instrument.arrays import Pair
from templategen.instrument.nut.nut import NutSlot
from templategen.instrument.strings.fretting import Cents
from templategen.instrument.strings.loads import StringLoad
from templategen.instrument.strings.offsets import Fit


@dataclass(frozen=True)
class Lever:
    """What 1 mm at one end does over a crown, the other end held."""

    nut_at_first_fret: float
    nut_at_action: float
    saddle_at_first_fret: float
    saddle_at_action: float


@dataclass(frozen=True)
class String:
    """Lengths in mm, plan frame. number: from 1, treble side first; note: as the spec names it.

    at_nut, at_saddle: where it meets the line of fret 0 and the nominal line of the saddle, before any offset. slot: in
    the nut. first_fret_clearance, nut_over_crowns, pressed_gap, action: as ``StringLine``. action_at_octave: None
    without a fret there. saddle_x, saddle_y, saddle_height: where it is held and z of its underside; saddle_offset:
    away from the nut; from_nut, from_octave: along the centreline from the saddle to the nut's front edge and to that
    fret. fit, nominal: its errors with and without offsets; nominal_rms: of the latter over the frets of the fit.
    """

    number: int
    note: str
    gauge: float
    wound: bool
    load: StringLoad
    at_nut: Pair
    at_saddle: Pair
    slot: NutSlot
    first_fret_clearance: float
    nut_over_crowns: float
    pressed_gap: float
    action: float
    action_at_octave: float | None
    saddle_x: float
    saddle_y: float
    saddle_height: float
    saddle_offset: float
    from_nut: float
    from_octave: float | None
    lever: Lever
    fit: Fit
    nominal: Cents
    nominal_rms: float

    @property
    def name(self) -> str:
        """``"6  E2"``: as tables head its row."""
        return f"{self.number}  {self.note}"

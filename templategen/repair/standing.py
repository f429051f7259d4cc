"""How an instrument stands on the bench: its neck's bow, its crowns, and both ends of every string.

All of it is told over the neck as it would be straight. The neck bends between the frets that the spec names and runs
on straight outside them (``board.surfaces``), so nut and saddle ride on it: straightening the neck lowers the action
and changes what is measured over the first crown, though nothing is filed. Every reading and every target is taken off
the instrument model's own string line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.surfaces import Strung, crown_points
from templategen.instrument.model import Instrument
from templategen.instrument.setup.clearance import Setting, between_ends
from templategen.instrument.setup.line import StringLine, action_over, line_through, string_line
from templategen.spec.models import Setup
from templategen.spec.values import OverStrings


@dataclass(frozen=True)
class Readings:
    """What was measured of the strung instrument, NaN where it was not; lengths (strings,), pm expanded.

    relief: None if not measured. first_fret: open string's underside over the first crown. action: over action_fret.
    """

    relief: float | None
    relief_pm: float
    first_fret: Array
    first_fret_pm: Array
    action: Array
    action_pm: Array
    action_fret: int

    @property
    def strung(self) -> bool:
        """Whether both ends of every string can be told."""
        return bool(np.isfinite(self.first_fret).all() and np.isfinite(self.action).all())


@dataclass(frozen=True)
class Standing:
    """relief: depth of the bow. base: crowns with the neck straight, (frets, strings). nut, saddle: the strings' ends
    over the straight neck, (strings,)."""

    relief: float
    base: Array
    nut: Array
    saddle: Array


def straight_crowns(i: Instrument) -> Array:
    """Crowns on the straight neck as the wire and the board make them, no fall-away; (frets, strings)."""
    return crown_points(i.plan, replace(i.strung, relief=0.0, fall_drop=0.0))


def bent(i: Instrument, relief: float) -> Strung:
    return replace(i.strung, relief=relief)


def crowns(i: Instrument, base: Array, relief: float) -> Array:
    """Crowns with this bow in the neck; (frets, strings)."""
    return np.asarray(base - bent(i, relief).sag(i.plan.crossings[..., 0]))


def ends(i: Instrument, s: Standing) -> tuple[Array, Array]:
    """Where both ends of every string are with the bow in the neck, (strings,) each."""
    sag = bent(i, s.relief).sag
    return s.nut - sag(i.line.witness_x), s.saddle - sag(i.saddle.x)


def stood(i: Instrument, relief: float, base: Array, line: StringLine) -> Standing:
    """What stands so that its strings lie on ``line``."""
    sag = bent(i, relief).sag
    return Standing(
        relief, fixed(base), fixed(line.witness_z + sag(line.witness_x)), fixed(line.z(i.saddle.x) + sag(i.saddle.x))
    )


def as_read(i: Instrument, base: Array, r: Readings) -> Standing:
    """The instrument of which the readings were taken; where its relief was not measured, at the one wanted."""
    relief = i.strung.relief if r.relief is None else r.relief
    setup = measured_setup(i.spec.setup, r.first_fret, r.action, r.action_fret)
    # what a zero fret's crown stands at is what was read over the first crown, like the floor of a slot
    strung = replace(bent(i, relief), zero_crown_height=None)
    line = string_line(setup, i.plan, strung, crowns(i, base, relief), i.line.witness_x)
    return stood(i, relief, base, line)


def as_wanted(i: Instrument, base: Array, relief: float) -> Standing:
    """The spec's heights over these crowns, with this bow in the neck."""
    strung = bent(i, relief)
    return stood(i, relief, base, string_line(i.spec.setup, i.plan, strung, crowns(i, base, relief), i.line.witness_x))


def measured_setup(asked: Setup, first_fret: Array, action: Array, fret: int) -> Setup:
    """The setup that these readings are of."""
    at_first = tuple(float(v) for v in first_fret)
    measured = {"fret": fret, "strings": tuple(float(v) for v in action), "capo": 0}
    return asked.model_copy(
        update={
            "first_fret_clearance": OverStrings(at_first[-1], at_first[0], at_first),
            "pressed_gap": None,
            "nut_over_crowns": None,
            "action": asked.action.model_copy(update=measured),
        }
    )


def line_of(i: Instrument, s: Standing) -> StringLine:
    """The strings of what stands, with everything that is read of them; action as the spec measures it."""
    nut, saddle = ends(i, s)
    x0, strung, over = i.line.witness_x, bent(i, s.relief), crowns(i, s.base, s.relief)
    slope = (saddle - nut) / (i.saddle.x - x0)
    action = action_over(i.spec.setup, i.plan, strung, over, nut, slope, x0)
    return line_through(i.plan, strung, over, x0, nut, slope, action)


def readings_of(i: Instrument, s: Standing) -> Readings:
    """What would be read of it, without error: action of the open strings at the spec's fret."""
    line, fret, none = line_of(i, s), i.spec.setup.action.fret, np.zeros(len(i.loads))
    at = i.plan.crossing(fret)
    if fret > i.plan.numbers[-1]:
        crown = bent(i, s.relief).crown_z(at[:, 0], at[:, 1])
    else:
        crown = crowns(i, s.base, s.relief)[i.plan.index(fret)]
    action = line.z(at[:, 0]) - crown
    return Readings(s.relief, 0.0, line.first_fret_clearance, none, fixed(action), none, fret)


def standing_setting(i: Instrument, s: Standing) -> Setting:
    """What stands, for its clearance."""
    return between_ends(i, crowns(i, s.base, s.relief), *ends(i, s))

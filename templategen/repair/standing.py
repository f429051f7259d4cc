"""How an instrument stands on the bench: its neck's bow, its crowns, and both ends of every string.

All of it is told over the neck as it would be straight. The neck bends between the frets that the spec names and runs
on straight outside them (``board.surfaces``), so nut and saddle ride on it: straightening the neck lowers the action
and changes what is measured over the first crown, though nothing is filed. Every reading and every target is taken off
the instrument model's own string line.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.surfaces import Strung, crown_points
from templategen.instrument.model import Instrument
from templategen.instrument.setup.clearance import Setting, between_ends
from templategen.instrument.setup.line import StringLine, action_over, line_through, string_line
from templategen.spec.models import Setup
from templategen.spec.values import OverStrings

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Readings:
    """What was measured of the strung instrument, NaN where it was not; lengths (strings,), pm expanded.

    relief: None if not measured. first_fret: open string's underside over the first crown. pressed: the gap over the
    first crown with the string held down on the second; it tells the same, where first_fret was not read; None: of no
    string. action: over action_fret, with a capo on the first fret where capo is 1.
    """

    relief: float | None
    relief_pm: float
    first_fret: Array
    first_fret_pm: Array
    action: Array
    action_pm: Array
    action_fret: int
    pressed: Array | None = None
    pressed_pm: Array | None = None
    capo: int = 0

    @property
    def nut_read(self) -> Flags:
        """Of which strings the height at the nut is known, (strings,)."""
        by_press = False if self.pressed is None else np.isfinite(self.pressed)
        return np.isfinite(self.first_fret) | by_press

    @property
    def saddle_read(self) -> Flags:
        """Of which strings the action is known, (strings,)."""
        return np.isfinite(self.action)

    @property
    def strung(self) -> bool:
        """Whether anything was read of any string."""
        return bool(self.nut_read.any() or self.saddle_read.any())


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
    """The instrument of which the readings were taken. What was not measured of it, its relief or the height of some
    string at an end, is taken as the spec wants it."""
    relief = i.strung.relief if r.relief is None else r.relief
    over, line = crowns(i, base, relief), i.line
    nut, saddle = np.full((2, len(i.loads)), np.nan)
    for strings, setup, strung in _ways(i, bent(i, relief), r):
        if strings.any():
            line = string_line(setup, i.plan, strung, over, i.line.witness_x)
            nut[strings] = line.witness_z[strings]
            saddle[strings] = line.z(i.saddle.x)[strings]
    slope = (saddle - nut) / (i.saddle.x - line.witness_x)
    return stood(i, relief, base, replace(line, witness_z=fixed(nut), slope=fixed(slope)))


def _ways(i: Instrument, strung: Strung, r: Readings) -> Iterator[tuple[Flags, Setup, Strung]]:
    """Every way in which strings were read: which strings, and the setup that says so.

    What a zero fret's crown stands at is what was read over the first crown, like the floor of a slot.
    """
    asked, slotted = i.spec.setup, replace(strung, zero_crown_height=None)
    first = np.isfinite(r.first_fret)
    nuts: list[tuple[Flags, dict[str, Any], Strung]] = [
        (first, {"first_fret_clearance": _over_strings(r.first_fret)}, slotted),
        (~r.nut_read, {}, strung),
    ]
    if r.pressed is not None:
        nuts.append((r.nut_read & ~first, {"pressed_gap": _over_strings(r.pressed)}, slotted))
    measured = {"fret": r.action_fret, "capo": r.capo, "strings": tuple(map(float, r.action))}
    none = dict.fromkeys(("first_fret_clearance", "pressed_gap", "nut_over_crowns"))
    for at_nut, height, neck in nuts:
        setup = asked.model_copy(update={**none, **height}) if height else asked
        yield at_nut & ~r.saddle_read, setup, neck
        action = asked.action.model_copy(update=measured)
        yield at_nut & r.saddle_read, setup.model_copy(update={"action": action}), neck


def _over_strings(values: Array) -> OverStrings[float]:
    each = tuple(map(float, values))
    return OverStrings(each[-1], each[0], each)


def as_wanted(i: Instrument, base: Array, relief: float) -> Standing:
    """The spec's heights over these crowns, with this bow in the neck."""
    strung = bent(i, relief)
    return stood(i, relief, base, string_line(i.spec.setup, i.plan, strung, crowns(i, base, relief), i.line.witness_x))


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

"""How far every fretted note is off, and why.

The model is that of M. B. Anderson and R. G. Beausoleil, JASA 156(1), 683 (2024), with every crown at its own height.
In the vertical plane through one string, x along the string from the nominal nut, z up:

    nut (ν, z_nut)      finger      crown n (x_n, z_n)                     saddle (X + σ, z_saddle)
        ●─────────────────●───────────●──────────────────────────────────────────●

The open string runs straight from nut to saddle and is in tune by definition. Pressing behind fret n makes it nut →
finger → crown → saddle, the finger holding it on the saddle–crown line prolonged by ``finger_distance`` behind the
crown, or ``finger_depth`` below that line. That path is longer than the open one by the share Q, so the tension rises
to T₀·(1 + κQ), the mass per length falls to μ₀/(1 + Q), and only the part from crown to saddle sounds. The paper has no
depth and leaves out what lies behind nut and saddle. A rest of that length, over which the string slides freely, takes
its share of the stretch: Q = (path − open)/(open + rest), since all of the string is under one tension.

σ, the saddle offset, is positive away from the nut; ν, the nut offset, is positive toward the bridge (the paper's ΔN is
−ν). The bending parameter and κ are taken at the nominal scale, as in the paper: offsets of its size would change them
by half a percent and the cents by 0.03.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from templategen.instrument.arrays import Array
from templategen.instrument.strings.stiffness import Ends, frequency_ratio

StiffnessLaw = Callable[[ArrayLike, Ends], Array]

CENTS_PER_E = 1200 / np.log(2)


@dataclass(frozen=True)
class FrettedString:
    """The geometry and the physics of one string, all that intonation needs. Arrays have shape (frets,), fret 1 first.

    crown_x         crown from the nominal nut point, along the string in plan, rising
    crown_z         crown's height, on any datum that ``nut_z`` and ``saddle_z`` share
    nut_z           string's underside at the nut; with a zero fret, that crown's (and x counts from it)
    saddle_x        nominal saddle point, along the string in plan
    saddle_z        string's underside at the saddle
    pitch_ratio     frequency wanted at each fret over that of the open string, 2^(cents/1200)
    kappa, bending  of the open string (``strings.StringLoad``)
    finger_distance from the crown back to the fingertip, horizontal; the fingertip never passes the previous crown or
                    the nut, so between close frets the space there is what counts
    finger_depth    fingertip below the saddle–crown line
    rest            length of string beyond nut and saddle that gives way with the rest
    plays           which frets this string has; the others are NaN in every result. None: all
    """

    crown_x: Array
    crown_z: Array
    nut_z: float
    saddle_x: float
    saddle_z: float
    pitch_ratio: Array
    kappa: float
    bending: float
    finger_distance: float = 8.0
    finger_depth: float = 0.0
    rest: float = 0.0
    ends: Ends = "hinged_at_saddle"
    plays: NDArray[np.bool_] | None = None

    @property
    def playable(self) -> NDArray[np.bool_]:
        return np.ones(self.crown_x.shape, dtype=bool) if self.plays is None else self.plays


@dataclass(frozen=True)
class Cents:
    """Errors at the frets in cents, sharp positive, by cause; all of one shape, frets last."""

    length: Array
    density: Array
    tension: Array
    stiffness: Array

    @property
    def total(self) -> Array:
        return self.length + self.density + self.tension + self.stiffness

    def minus(self, other: Cents) -> Cents:
        return Cents(
            self.length - other.length,
            self.density - other.density,
            self.tension - other.tension,
            self.stiffness - other.stiffness,
        )


def fretting_cents(
    string: FrettedString,
    saddle_offset: ArrayLike = 0.0,
    nut_offset: ArrayLike = 0.0,
    *,
    law: StiffnessLaw = frequency_ratio,
) -> Cents:
    """The error of every fretted note against the open string.

    Offsets in mm, of any shapes that broadcast together to S; the results have shape S + (frets,). With γ the pitch
    ratio wanted, L₀ the open and L the sounding length,

        length 1200·log₂(L₀/(γL))   density 600·log₂(1 + Q)   tension 600·log₂(1 + κQ)
        stiffness 1200·log₂(s(B)/s(B₀)), B = B₀·(L₀/L)/√(1 + κQ), s the ``law``

    (Anderson & Beausoleil 2024). ``law`` is the exact root unless the series is asked for.
    Raises ValueError where an offset puts the saddle or the nut at or past a crown.
    """
    saddle, nut = _columns(saddle_offset, nut_offset)
    open_length = _open_length(string, saddle, nut)
    sounding, stretch = _sounding_and_stretch(string, saddle, nut, open_length)
    pull = 1 + string.kappa * stretch
    bending = string.bending * open_length / sounding / np.sqrt(pull)
    stiff = law(bending, string.ends) / law(string.bending, string.ends)
    return Cents(
        length=CENTS_PER_E * np.log(open_length / (string.pitch_ratio * sounding)),
        density=CENTS_PER_E / 2 * np.log1p(stretch),
        tension=CENTS_PER_E / 2 * np.log(pull),
        stiffness=CENTS_PER_E * np.log(stiff),
    )


def nut_height_effect(
    string: FrettedString, extra: float, saddle_offset: float = 0.0, nut_offset: float = 0.0
) -> Cents:
    """What a nut that is ``extra`` mm too high adds at every fret, saddle and offsets as they are; shape (frets,)."""
    raised = replace(string, nut_z=string.nut_z + extra)
    return fretting_cents(raised, saddle_offset, nut_offset).minus(fretting_cents(string, saddle_offset, nut_offset))


def finger_effect(string: FrettedString, extra: float, saddle_offset: float = 0.0, nut_offset: float = 0.0) -> Cents:
    """What pressing ``extra`` mm deeper adds at every fret, saddle and nut as they are; shape (frets,)."""
    deeper = replace(string, finger_depth=string.finger_depth + extra)
    return fretting_cents(deeper, saddle_offset, nut_offset).minus(fretting_cents(string, saddle_offset, nut_offset))


def rest_effect(string: FrettedString, extra: float, saddle_offset: float = 0.0, nut_offset: float = 0.0) -> Cents:
    """What ``extra`` mm more of string beyond nut and saddle adds at every fret, as above; shape (frets,)."""
    longer = replace(string, rest=string.rest + extra)
    return fretting_cents(longer, saddle_offset, nut_offset).minus(fretting_cents(string, saddle_offset, nut_offset))


def _columns(saddle_offset: ArrayLike, nut_offset: ArrayLike) -> tuple[Array, Array]:
    saddle, nut = np.asarray(saddle_offset, dtype=float), np.asarray(nut_offset, dtype=float)
    return saddle[..., np.newaxis], nut[..., np.newaxis]


def _open_length(string: FrettedString, saddle: Array, nut: Array) -> Array:
    return np.hypot(string.saddle_x + saddle - nut, string.saddle_z - string.nut_z)


def _sounding_and_stretch(string: FrettedString, saddle: Array, nut: Array, open_length: Array) -> tuple[Array, Array]:
    x = np.where(string.playable, string.crown_x, np.nan)
    run = string.saddle_x + saddle - x
    behind = x - nut
    if np.any(run <= 0) or np.any(behind <= 0):
        raise ValueError("an offset puts the saddle or the nut at or past a crown")
    rise = string.saddle_z - string.crown_z
    sounding = np.hypot(run, rise)
    back = np.minimum(_reach(string), behind)
    down = rise / run * back + string.finger_depth
    path = sounding + np.hypot(back, down) + np.hypot(behind - back, string.nut_z - (string.crown_z - down))
    return sounding, (path - open_length) / (open_length + string.rest)


def _reach(string: FrettedString) -> Array:
    """How far behind each crown the fingertip may be, the nut aside."""
    place = np.flatnonzero(string.playable)
    reach = np.full(string.crown_x.shape, string.finger_distance)
    if place.size > 1:
        reach[place[1:]] = np.minimum(reach[place[1:]], np.diff(string.crown_x[place]))
    return reach

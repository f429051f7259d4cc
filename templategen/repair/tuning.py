"""Where each string's saddle stands by the tuner, and whether that explains what it reads.

The fretting model (``strings.fretting``) says what every note of the instrument as it stands would be off: its crowns,
heights, bow, misplaced frets and nut as found. What it cannot know is where the string leaves the saddle, so that is
solved for. One reading gives the place; with more, what no place of the saddle explains is the string's own fault, or
that of a reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.model import Instrument
from templategen.instrument.strings.fretting import FrettedString, fretting_cents
from templategen.instrument.strings.sounding import fretted_strings
from templategen.repair.standing import Standing, crowns, line_of

K = 2.0
SETTLED = 1e-10  # mm
MISFIT = 0.05
"""Chance of a misfit as large below which the saddle alone does not explain the readings."""


@dataclass(frozen=True)
class Tuned:
    """What a tuner read, and where frets and nut were found.

    cents: by fret, open strings 0, (strings,), NaN where not read; pm expanded. moved: how far every played fret stands
    toward the bridge of where the plan has it, (frets, strings). nut: how far the nut's front edge does, (strings,).
    """

    cents: Mapping[int, Array]
    pm: float
    moved: Array
    nut: Array = field(default_factory=lambda: fixed(0.0))


@dataclass(frozen=True)
class SaddleFound:
    """One string, counted from 1. offset: of where it leaves the saddle, from the nominal scale, away from the nut; pm
    expanded. frets: that were read. read, expected: cents at the frets; expected with the saddle where the spec wants
    it. explained: whether one place of the saddle explains all of them."""

    string: int
    offset: float
    pm: float
    frets: tuple[int, ...]
    read: tuple[float, ...]
    expected: tuple[float, ...]
    explained: bool


def saddles_found(i: Instrument, s: Standing, tuned: Tuned) -> tuple[SaddleFound, ...]:
    """Every string of which anything was read."""
    found = (_saddle(i, n, string, tuned) for n, string in enumerate(as_it_sounds(i, s, tuned.moved)))
    return tuple(each for each in found if each is not None)


def as_it_sounds(i: Instrument, s: Standing, moved: Array | float = 0.0) -> tuple[FrettedString, ...]:
    """The strings over the crowns as they stand, with frets moved toward the bridge by so much, (frets, strings)."""
    made = fretted_strings(i.spec, i.plan, crowns(i, s.base, s.relief), line_of(i, s), i.loads)
    by = np.broadcast_to(moved, (len(made[0].crown_x), len(made)))
    return tuple(replace(string, crown_x=fixed(string.crown_x + by[:, n])) for n, string in enumerate(made))


def _saddle(i: Instrument, n: int, string: FrettedString, tuned: Tuned) -> SaddleFound | None:
    frets = [fret for fret, cents in sorted(tuned.cents.items()) if np.isfinite(cents[n])]
    if not frets:
        return None
    rows = np.array([int(np.flatnonzero(i.intonation.frets == fret)[0]) for fret in frets])
    read = np.array([tuned.cents[fret][n] for fret in frets])
    nut = float(np.broadcast_to(tuned.nut, (len(i.loads),))[n])

    def sounds(offset: float) -> Array:
        return np.asarray(fretting_cents(string, offset, nut).total[rows])

    offset, slope = _nearest(sounds, read, float(i.saddle.offset[n]))
    u = tuned.pm / K
    left = read - sounds(offset)
    chance = _misfit(float(left @ left) / u**2, len(frets) - 1) if u > 0 else 1.0
    return SaddleFound(
        n + 1, offset, tuned.pm / float(np.sqrt(slope @ slope)), tuple(frets), tuple(map(float, read)),
        tuple(map(float, sounds(float(i.saddle.offset[n])))), chance >= MISFIT,
    )  # fmt: skip


def _nearest(sounds: object, read: Array, start: float) -> tuple[float, Array]:
    """The offset whose cents are nearest to those read (Gauss–Newton), and the cents' slopes per mm there."""
    assert callable(sounds)
    at, step = start, 1.0
    slope = np.ones_like(read)
    for _ in range(30):
        slope = (sounds(at + 1e-4) - sounds(at - 1e-4)) / 2e-4
        step = float(slope @ (read - sounds(at)) / (slope @ slope))
        at += min(max(step, -5.0), 5.0)
        if abs(step) < SETTLED:
            break
    return at, slope


def _misfit(chi_squared: float, dof: int) -> float:
    from scipy.special import chdtrc

    return float(chdtrc(dof, chi_squared)) if dof > 0 else 1.0

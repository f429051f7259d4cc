"""Fret fractions: which share of the scale lies between the nut and each fret."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from templategen.instrument.arrays import Array, fixed
from templategen.spec.checks.law import OCTAVE, FretLaw


def cents_of(scale: FretLaw, fret: ArrayLike) -> Array:
    """Cents above the open string at any fret, whole or fractional; fret 0 is 0.

    fret: any shape. Between listed frets of ``fret_cents`` the cents are interpolated, so that equal steps and a list
    of equal cents agree at fractional frets too.
    """
    number = np.asarray(fret, dtype=float)
    if scale.fret_cents is None:
        return np.asarray(1200.0 * number / scale.steps_per_octave)
    listed = np.array(scale.fret_cents)
    count = len(listed)
    highest = max(scale.fret_count, math.ceil(float(number.max(initial=0.0))))
    if highest > count:
        laps = -(-highest // count)
        listed = np.concatenate([listed + lap * (scale.repeat_at or OCTAVE) for lap in range(laps)])
    return np.asarray(np.interp(number, np.arange(len(listed) + 1), np.concatenate([[0.0], listed])))


def fraction_of(scale: FretLaw, fret: ArrayLike) -> Array:
    """Share of the scale from the nut to a fret.

    f(n) = 1 − 2^(−n/d) for d equal steps to the octave (equal temperament; any handbook of acoustics), and
    f = 1 − 2^(−c/1200) for c cents above the open string. Same shape as ``fret``.
    """
    if scale.fret_cents is None:
        return fixed(1.0 - np.exp2(-np.asarray(fret, dtype=float) / scale.steps_per_octave))
    return fixed(1.0 - np.exp2(-cents_of(scale, fret) / 1200.0))

"""Series and rules of thumb that published work gives for what the package computes exactly: for checks only."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from templategen.instrument.arrays import Array
from templategen.instrument.strings.fretting import FrettedString, fretting_cents
from templategen.instrument.strings.stiffness import Ends


def partials_hz(fundamental_hz: float, coefficient: float, count: int) -> Array:
    """The first partials of a hinged stiff string, Hz, shape (count,); the first is the fundamental itself.

    f_m = m·f₀·√(1 + b·m²) with b the inharmonicity (Fletcher, JASA 36, 203, 1964), f₀ chosen so that f₁ fits.
    """
    mode = np.arange(1, count + 1)
    return np.asarray(fundamental_hz * mode * np.sqrt((1 + coefficient * mode**2) / (1 + coefficient)), dtype=float)


def frequency_ratio_series(bending: ArrayLike, ends: Ends = "hinged_at_saddle") -> Array:
    """f/f₀ of the first mode to second order in B; good to 10·B³ or so.

    Hinged at the saddle and clamped: 1 + B + (1 + π²/2)·B² and 1 + 2B + (4 + π²/2)·B² (Anderson & Beausoleil 2024);
    hinged: 1 + π²B²/2.
    """
    b = np.asarray(bending, dtype=float)
    clamps = {"hinged_at_saddle": 1, "hinged": 0, "clamped": 2}
    if ends == "ideal":
        return np.ones(b.shape)
    n = clamps[ends]
    return np.asarray(1 + n * b + (n * n + np.pi**2 / 2) * b**2)


def relative_stretch(string: FrettedString, saddle_offset: ArrayLike = 0.0, nut_offset: ArrayLike = 0.0) -> Array:
    """By what share pressing lengthens the string, out of the cents its density is worth: 600·log₂(1 + Q)."""
    density = fretting_cents(string, saddle_offset, nut_offset).density
    return np.asarray(np.expm1(density * math.log(2) / 600))


def simple_offsets(string: FrettedString, fit_to_fret: int = 12) -> tuple[float, float]:
    """(saddle, nut) by the paper's rule of thumb, to check a fit by hand.

    The saddle makes up for the stiffness, ½·√κ·ρ = B₀·X for a round plain string; the nut for the mean rise in tension,
    ½·κ·X times the mean stretch of the frets (to first order, Anderson & Beausoleil 2024).
    """
    clamps = {"hinged_at_saddle": 1, "clamped": 2, "hinged": 0, "ideal": 0}[string.ends]
    stretch = relative_stretch(string)[string.playable & (np.arange(1, string.crown_x.size + 1) <= fit_to_fret)]
    mean = float(stretch.mean()) if stretch.size else 0.0
    return clamps * string.bending * string.saddle_x, string.kappa / 2 * string.saddle_x * mean

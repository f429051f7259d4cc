"""How much sharper a stiff string sounds than a limp one.

A string of length L under tension T with Young's modulus E and second moment of area I obeys
T·y″ − E·I·y⁗ = μ·ÿ. Everything depends on one number, the bending parameter

    B = √(E·I/(T·L²)) = √(π·ρ⁴·E/(4·T·L²)) for a round wire of radius ρ

and on how the ends are held. *Hinged*: free to tilt. *Clamped*: held in direction too.

A mode y = a₁·sin kx + a₂·cos kx + a₃·sinh qx + a₄·cosh qx (x in units of L) has q² = k² + 1/B² and the frequency
f = (k/π)·√(1 + B²k²)·f₀, where f₀ belongs to the limp string. The ends decide which k are possible:

    hinged, hinged     k = mπ                              Fletcher, JASA 36, 203 (1964)
    hinged, clamped    tan k = (k/q)·tanh q                y = 0, y″ = 0 at one end; y = 0, y′ = 0 at the other
    clamped, clamped   k·tan(k/2) = −q·tanh(q/2), m odd    the modes even about the middle,
                       q·tan(k/2) = k·tanh(q/2), m even    and those odd about it

with k/q = Bk/√(1 + B²k²). For the B of a musical string tanh q is 1 to the last bit, which turns the second line into
the relation of Anderson & Beausoleil, JASA 156(1), 683 (2024); keeping it makes the roots right for any B, up to a bar
without tension.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from templategen.errors import OurBug
from templategen.instrument.arrays import Array

Ends = Literal["hinged_at_saddle", "hinged", "clamped", "ideal"]
"""``hinged_at_saddle``: and clamped at the crown; ``hinged``, ``clamped``: both ends; ``ideal``: no stiffness."""


def bending_parameter(bending_stiffness: ArrayLike, tension_n: ArrayLike, length: ArrayLike) -> Array:
    """B = √(E·I/(T·L²)), a pure number. bending_stiffness: E·I in N·mm²; shapes broadcast."""
    return np.asarray(np.sqrt(np.asarray(bending_stiffness) / np.asarray(tension_n)) / np.asarray(length), dtype=float)


def inharmonicity(bending: ArrayLike) -> Array:
    """Fletcher's coefficient π²B², by which the partials of a hinged string spread (JASA 36, 203, 1964)."""
    return np.asarray((np.pi * np.asarray(bending)) ** 2, dtype=float)


def frequency_ratio(bending: ArrayLike, ends: Ends = "hinged_at_saddle", mode: int = 1) -> Array:
    """f/f₀ of a stiff string, exact: f₀ is the fundamental of the same string without stiffness.

    bending: B, 0 or more, any shape; the result has the same. ``mode`` counts from 1. Characteristic equations: see the
    module. NaN gives NaN.
    """
    b = np.asarray(bending, dtype=float)
    if ends == "ideal":
        return np.full(b.shape, float(mode))
    k = np.full(b.shape, mode * np.pi) if ends == "hinged" else _wave_number(b, ends == "clamped", mode)
    return np.asarray(k / np.pi * np.sqrt(1 + (b * k) ** 2))


def _wave_number(b: Array, both_clamped: bool, mode: int) -> Array:
    """Root k of the characteristic equation with one or both ends clamped.

    With k = mπ + δ both equations read δ = c·atan((k/q)·h), c = 1 or 2, h the hyperbolic factor. As a function of k the
    right side is nearly level (slope below a quarter), so the root is single and Newton's step, h's slope left out,
    closes in on it.
    """
    base = mode * np.pi
    ends = 2.0 if both_clamped else 1.0
    with np.errstate(divide="ignore", over="ignore"):
        inverse = 1 / (b * ends)
    k = base * (1 + ends * b / (1 - ends * b + 16 * b * b))  # right to second order for small B, harmless for large
    for _ in range(60):
        bk = b * k
        root = np.sqrt(1 + bk * bk)
        hyperbolic = np.tanh(root * inverse)  # q or q/2
        if both_clamped and mode % 2:
            hyperbolic = 1 / hyperbolic
        wanted = base + ends * np.arctan(bk / root * hyperbolic)
        slope = ends * b / ((1 + 2 * bk * bk) * root)
        step = (wanted - k) / (1 - slope)
        k = k + step
        if not np.any(np.abs(step) > 1e-14 * base):
            return np.asarray(k)
    raise OurBug(f"no wave number found for a bending parameter up to {np.nanmax(b):g}")

"""Scales of pictures whose heights are larger than their lengths, and the words that say so."""

from __future__ import annotations

import math
from dataclasses import dataclass

STEPS = (1.0, 2.0, 2.5, 4.0, 5.0, 8.0)  # round factors, of which a picture takes the largest that fits


@dataclass(frozen=True)
class Scales:
    """Paper mm per mm, of lengths and of heights."""

    along: float
    up: float

    @classmethod
    def fitting(cls, length: float, rise: float, width: float, height: float) -> Scales:
        """The largest with which a length and a rise (mm) stay within ``width`` and ``height`` (paper mm)."""
        return cls(_largest(width / max(length, 1.0)), _largest(height / max(rise, 1e-3)))

    @property
    def words(self) -> str:
        along, up = (f"{k:g} : 1" if k >= 1 else f"1 : {1 / k:g}" for k in (self.along, self.up))
        return f"Lengths {along}, heights {up}: heights {self.up / self.along:g} times exaggerated."


def _largest(most: float) -> float:
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in STEPS if step * power <= most * (1 + 1e-9))

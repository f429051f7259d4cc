"""What the shop's tools can do for the nut's slots: ball cutters, pilot grooves, files."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from templategen.instrument.arrays import Array
from templategen.spec.models import Shop

PILOT_ANGLE_DEG = 60.0  # of the vee that pilots are cut with where the shop names none
LEAST_SLOTTED = 0.3  # a slot of the slotted nut that is shallower would not guide a saw or file
_SAME = 1e-9  # widths nearer to each other than this are the same


@dataclass(frozen=True)
class Pilot:
    """A vee groove that starts a saw or file on the slotted nut. angle_deg: its full angle."""

    width: float
    depth: float
    angle_deg: float


@dataclass(frozen=True)
class Forms:
    """How each slot of the slotted nut is cut.

    cutter: the ball cutter that can mill it to full width, None where the shop has none. full_width: whether it is cut
    so. pilots: the groove it gets otherwise.
    """

    cutter: tuple[float | None, ...]
    full_width: tuple[bool, ...]
    pilots: tuple[Pilot, ...]


def slot_forms(shop: Shop, form: Literal["auto", "full", "pilot"], width: Array, deepest: Array) -> Forms:
    """Full slots where a ball cutter is no wider than the slot, the widest such; else pilots; or as ``form`` says.

    width: of the slots; deepest: depth of the slotted nut's full slots; (strings,). A pilot is as wide as its slot,
    w/(2·tan(half angle)) deep. One that would be shallower than LEAST_SLOTTED is cut to that depth and is the wider for
    it, in the top's allowance; none goes deeper than the full slot would.
    """
    balls = [mill.diameter for mill in shop.end_mills if mill.shape == "ball" and mill.diameter is not None]
    vees = [mill.angle for mill in shop.end_mills if mill.shape == "vee" and mill.angle is not None]
    cutter = tuple(max((ball for ball in balls if ball <= w + _SAME), default=None) for w in width)
    angle = vees[0] if vees else PILOT_ANGLE_DEG
    spread = 2 * math.tan(math.radians(angle / 2))
    pilots = []
    for w, most in zip(width, deepest, strict=True):
        depth = min(max(float(w) / spread, LEAST_SLOTTED), float(most))
        pilots.append(Pilot(depth * spread, depth, angle))
    full = tuple(form == "full" or (form == "auto" and ball is not None) for ball in cutter)
    return Forms(cutter, full, tuple(pilots))


def file_for(gauge: float, width: float, files: tuple[float, ...]) -> float | None:
    """The widest file that the slot admits and that lets the string in; None where the shop has none.

    A file cuts its own width, so the string then has no more room than slot_clearance allows.
    """
    return max((file for file in files if gauge - _SAME <= file <= width + _SAME), default=None)

"""What the shop's tools can do for the nut's slots: ball cutters, pilot grooves, files."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources
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
    balls = [mill.diameter for mill in shop.cutters if mill.shape == "ball" and mill.diameter is not None]
    vees = [mill.angle for mill in shop.cutters if mill.shape == "vee" and mill.angle is not None]
    cutter = tuple(max((ball for ball in balls if ball <= w + _SAME), default=None) for w in width)
    angle = vees[0] if vees else PILOT_ANGLE_DEG
    spread = 2 * math.tan(math.radians(angle / 2))
    pilots = []
    for w, most in zip(width, deepest, strict=True):
        depth = min(max(float(w) / spread, LEAST_SLOTTED), float(most))
        pilots.append(Pilot(depth * spread, depth, angle))
    full = tuple(form == "full" or (form == "auto" and ball is not None) for ball in cutter)
    return Forms(cutter, full, tuple(pilots))


def usual_clearance(wound: bool) -> tuple[float, float]:
    """Least and most room round a string in its slot, mm (``data/clearance.csv``)."""
    return _clearances()["wound" if wound else "plain"]


def file_for(gauge: float, width: float, wound: bool, files: tuple[float, ...]) -> float | None:
    """The file of the shop to cut a slot with: a file cuts its own width.

    The widest that the slot admits and that leaves the string its usual clearance; else the narrowest that leaves it
    that much and no more than is usual; else the widest that lets the string in. A clearance that the spec asks for
    is usual. None where no file lets the string in without leaving it too much.
    """
    least, most = usual_clearance(wound)
    least, most = gauge + min(least, width - gauge), gauge + max(most, width - gauge)
    fitting = [file for file in files if gauge - _SAME <= file <= most + _SAME]
    narrow = [file for file in fitting if file < least - _SAME]
    inside = [file for file in fitting if least - _SAME <= file <= width + _SAME]
    wide = [file for file in fitting if file > width + _SAME]
    if inside:
        return max(inside)
    return min(wide) if wide else max(narrow, default=None)


@cache
def _clearances() -> dict[str, tuple[float, float]]:
    text = resources.files("templategen.instrument.nut").joinpath("data", "clearance.csv").read_text(encoding="utf-8")
    return {row["string"]: (float(row["least_mm"]), float(row["most_mm"])) for row in csv.DictReader(text.splitlines())}

"""What the shop's tools make of the fret slots: beam, end mill, and the strip that steps a board past a saw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan, on_centreline
from templategen.spec.models import NotchedStrip, Shop, Spec

_SAME = 1e-6  # mm: widths read from mm and from inches


@dataclass(frozen=True)
class SlotCutter:
    """The cutter that slot paths are for. owned: it is an end mill of the shop, else one as wide as the slot."""

    diameter: float
    owned: bool

    @property
    def radius(self) -> float:
        return self.diameter / 2


def slot_cutter(spec: Spec, shop: Shop) -> SlotCutter:
    """The widest flat end mill of the shop that is no wider than the slot, but not narrower than the bare tang."""
    wire = spec.fret_wire
    least = min(wire.tang_thickness, wire.slot_width)
    fitting = [
        mill.diameter
        for mill in shop.cutters
        if mill.shape == "flat" and mill.diameter is not None and least <= mill.diameter + _SAME
        if mill.diameter <= wire.slot_width + _SAME
    ]
    return SlotCutter(max(fitting), True) if fitting else SlotCutter(wire.slot_width, False)


Side = Literal["centreline", "bass", "treble"]


@dataclass(frozen=True)
class Notches:
    """Where a strip has its notches, in mm from the board's nut end along the line that the strip lies on.

    side: that line, the centreline or an edge of the board. labels: "nut" for the nut end, then fret numbers; at:
    where the cut is, (notches,), not moved by the saw's offset; turn_deg: how far each cut stands off square to that
    line, positive when its treble end is nearer the bridge. length: of the board along the line.
    """

    side: Side
    labels: tuple[str, ...]
    at: Array
    turn_deg: Array
    length: float

    def on_strip(self, strip: NotchedStrip) -> Array:
        """Notch centres from the nut end of the board: the blade stands ``saw_offset`` nearer the bridge than the pin,
        so a notch lies that much nearer the nut than its cut."""
        return np.asarray(self.at - strip.saw_offset)

    def webs(self, strip: NotchedStrip) -> Array:
        """What is left between neighbouring notches, (notches − 1,)."""
        return np.asarray(np.diff(self.at) - notch_width(strip))


def notch_width(strip: NotchedStrip) -> float:
    return strip.pin + strip.pin_clearance


def notches(spec: Spec, plan: Plan, outline: Array) -> tuple[Notches, ...]:
    """One strip along the centreline; on a multi-scale board one along each edge, where the slots meet it.

    outline: of the board as cut, (4, 2): bass nut, bass end, treble end, treble nut.
    """
    labels = ("nut", *(f"{n:.0f}" for n in plan.numbers))
    nut_run = (outline[3] - outline[0])[None, :]
    lines = np.concatenate([nut_run, plan.treble_ends - plan.bass_ends])
    turns = np.degrees(np.arctan2(lines[:, 0], plan.side * lines[:, 1]))
    if not spec.scale.multi_scale:
        nut = float(on_centreline(outline[0], outline[3]))
        end = float(on_centreline(outline[1], outline[2]))
        return (Notches("centreline", labels, fixed([0.0, *(plan.centre_x - nut)]), fixed(turns), end - nut),)
    found: list[Notches] = []
    for side, ends, corner, far in (
        ("bass", plan.bass_ends, outline[0], outline[1]),
        ("treble", plan.treble_ends, outline[3], outline[2]),
    ):
        along = (far - corner) / np.hypot(*(far - corner))
        edge_deg = float(np.degrees(np.arctan2(along[1], along[0])))
        found.append(
            Notches(
                side="bass" if side == "bass" else "treble",
                labels=labels,
                at=fixed([0.0, *((ends - corner) @ along)]),
                turn_deg=fixed(turns + plan.side * edge_deg),
                length=float((far - corner) @ along),
            )
        )
    return tuple(found)

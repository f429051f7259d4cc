"""What the nut's drawing says in words: the table of strings, allowances, tolerances."""

from __future__ import annotations

import math
from functools import partial

from templategen.instrument.model import Instrument
from templategen.repair import tolerances as t
from templategen.units import both_units

TOLERANCES = (
    f"Tolerances: slot place and floor ±{t.NUT_SLOT:g}, thickness +0/-{t.NUT_THICKNESS:g}, other ±{t.OTHER:g} "
    "(common practice, no source)."
)


def note_lines(i: Instrument) -> tuple[str, ...]:
    """What the table's columns mean, what is left on at each stage, and how the seat is made."""
    nut, say = i.nut, partial(both_units, first=i.spec.units)
    top = "straight" if nut.top.straight else f"one arc R {say(nut.top.radius, 1, 2)}"
    eased = f", back edge and ends eased R {say(nut.rounding)}" if nut.rounding else ""
    lines = [
        f"Top {top}, falling {nut.top_fall_deg:z.1f}° toward the tuners{eased}. {_seat(i)}",
        f"Blank: top +{say(nut.top_allowance)}, front and back +{say(nut.stock_sides)}, each end "
        f"+{say(nut.stock_ends)}. Slotted: top +{say(nut.top_allowance)}, floors "
        f"+{say(nut.filing_allowance)}{_pilots(i)}.",
    ]
    if nut.shift.any():
        moves = ", ".join(f"{n + 1}: {say(float(shift))}" for n, shift in enumerate(nut.shift))
        how = "a shelf over the board" if i.spec.nut.compensation_by == "shelf" else "cutting back the board"
        lines.append(f"Front edge moved toward the bridge by {how}, per string: {moves}.")
    return (*lines, TOLERANCES)


def _pilots(i: Instrument) -> str:
    return "" if all(i.nut.full_width) else f", pilots {i.nut.pilots[0].angle_deg:g}° vee"


def _seat(i: Instrument) -> str:
    nut, say = i.nut, partial(both_units, first=i.spec.units)
    bench = []
    if not math.isinf(nut.seat_radius):
        bench.append(f"curved to R {both_units(nut.seat_radius)}")
    if nut.seat_angle_deg:
        way = "toward the tuners" if nut.seat_angle_deg > 0 else "toward the bridge"
        bench.append(f"falling {abs(nut.seat_angle_deg):.1f}° {way}")
    depth = f"{say(nut.seat_depth)} below the board's surface at the centreline"
    if not bench:
        return f"Seat flat, {depth}."
    return f"Seat {depth}, {' and '.join(bench)}: left to the bench, the blank and the slotted nut are flat."

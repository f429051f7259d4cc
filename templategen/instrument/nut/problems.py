"""What makes a nut impossible."""

from __future__ import annotations

import numpy as np

from templategen.errors import Problem
from templategen.instrument.arrays import Array
from templategen.instrument.nut.nut import SHELF_LIFT, Nut, end_height
from templategen.instrument.nut.slots import LEAST_SLOTTED

LEAST_BEARING = 0.5
"""mm of a string's floor before the eased back edge; common practice, no source."""


def nut_problems(nut: Nut) -> tuple[Problem, ...]:
    """What makes a nut impossible: no wood under slots or at the ends, slots too shallow to start."""
    found = []
    row, shallow = _least(nut.slotted_depth)
    if shallow < LEAST_SLOTTED:
        found.append(
            Problem(
                ("nut", "filing_allowance"),
                f"leaves the slotted nut's slot of string {row} only {shallow:.2f} mm deep; it needs "
                f"{LEAST_SLOTTED} mm to guide a saw or file\n"
                "less nut.filing_allowance or more nut.top_allowance",
            )
        )
    row, low = _least(nut.floor_at_back)
    if low <= 0:
        found.append(
            Problem(
                ("nut", "seat_depth"),
                f"leaves no wood under the slots: string {row} would leave the back of the nut {-low:.2f} mm below "
                "its seat\n"
                "make the seat deeper, the back angle smaller or the nut thinner",
            )
        )
    row, here = _least(nut.floor_above_board_here)
    if nut.stepped and here <= SHELF_LIFT:
        found.append(
            Problem(
                ("nut", "compensation"),
                f"needs slot floors above the board: that of string {row} stands {here:.2f} mm over it, and what the "
                f"nut has over the board starts {SHELF_LIFT} mm above it\n"
                "raise the strings at the nut, or leave nut.compensation out",
            )
        )
    row, left = _least(nut.thickness + nut.forward)
    if left < nut.rounding + LEAST_BEARING:
        found.append(
            Problem(
                ("nut", "compensation"),
                f"sets the front edge under string {row} {-float(nut.forward[row - 1]):.2f} mm back, which leaves "
                f"{left:.2f} mm of the nut's thickness to carry it; {nut.rounding + LEAST_BEARING:.2f} mm is the "
                "least, the eased back edge counted\n"
                "less compensation, a thicker nut, or strings lower at the nut",
            )
        )
    row, wall = _least(nut.walls)
    if wall <= 0:
        found.append(
            Problem(
                ("nut", "slot_aim") if np.nan_to_num(nut.side_angle_deg).any() else ("nut", "spacing"),
                f"lets the slots of strings {row} and {row + 1} run into each other\n"
                'aim the slots along the strings, nut.slot_aim = "string", or leave more room between them',
            )
        )
    if nut.end_walls.min() <= 0:
        name = "treble" if nut.end_walls[0] <= 0 else "bass"
        message = f"lets the {name} outer slot run out through the end of the nut\nleave the outer strings more margin"
        found.append(Problem(("nut",), message))
    if end_height(nut, nut.top, nut.top_fall_deg) <= 0:
        message = "leaves no nut at its ends: the top meets the seat before them\nmake the seat deeper"
        found.append(Problem(("nut", "seat_depth"), message))
    return tuple(found)


def _least(values: Array) -> tuple[int, float]:
    """The number of the string with the least value, counted from 1, and the value."""
    row = int(values.argmin())
    return row + 1, float(values[row])

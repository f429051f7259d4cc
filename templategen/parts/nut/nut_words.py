"""What the nut's drawing says in words: the table of strings, allowances, tolerances."""

from __future__ import annotations

import math

from templategen.instrument.model import Instrument
from templategen.repair import tolerances as t
from templategen.units import both_units, inch_text, mm_text

TOLERANCES = (
    f"Tolerances: slot place and floor ±{t.NUT_SLOT:g}, thickness +0/-{t.NUT_THICKNESS:g}, other ±{t.OTHER:g} "
    "(common practice, no source)."
)
SLANTED = 0.01  # degrees: less is square
TURNED = 2.0  # degrees in plan: slots that are turned less need no figure


def bass_end(i: Instrument) -> float:
    """Nut-frame x of the bass end of the front edge: the datum of every place."""
    return float(i.nut.front_ends[0] if i.side > 0 else i.nut.front_ends[1])


def slanted(i: Instrument) -> bool:
    return abs(i.plan.nut_slant_deg) > SLANTED


def string_rows(i: Instrument) -> list[list[str]]:
    """The table of strings: places from the bass end, widths, floors, depths, angles, files."""
    nut = i.nut
    turned = bool((abs(nut.direction_deg) > TURNED).any())
    head = ["string", "gauge", "width", "place", "floor", "depth", "back", "slotted", "file", "in"]
    if turned:
        head.insert(7, "turn")
    if slanted(i):
        head.insert(4, "across")
    rows = [head]
    for n, string in enumerate(i.spec.strings.set):
        file = nut.file[n]
        row = [
            f"{n + 1}  {string.note.text}",
            mm_text(string.gauge, 3),
            mm_text(float(nut.width[n]), 3),
            mm_text(abs(float(nut.along[n]) - bass_end(i))),
            mm_text(float(nut.floor[n])),
            mm_text(float(nut.depth[n])),
            f"{nut.back_angle_deg[n]:z.1f}°",
            "full" if nut.full_width[n] else "pilot",
            "–" if file is None else mm_text(file, 3),
            "–" if file is None else inch_text(file, 3),
        ]
        if turned:
            row.insert(7, f"{i.side * nut.direction_deg[n]:+z.1f}°")
        if slanted(i):
            row.insert(4, mm_text(i.side * float(nut.across[n])))
        rows.append(row)
    return rows


def note_lines(i: Instrument) -> tuple[str, ...]:
    """What the table's columns mean, what is left on at each stage, and how the seat is made."""
    nut = i.nut
    meaning = (
        "Place: slot centre along the front edge from the bass end. Floor: over the seat at the centreline; depth: "
        "from the top; both where the string leaves its slot. Back: the floor's fall toward the tuners."
    )
    if slanted(i):
        meaning += " Across: the string square to the centreline from it, + treble side."
    if (abs(nut.direction_deg) > TURNED).any():
        meaning += " Turn: the slot in plan against square to the front edge, + to the treble side at the back."
    top = "straight" if nut.top.straight else f"one arc R {mm_text(nut.top.radius, 1)}"
    eased = f", back edge and ends eased R {mm_text(nut.rounding)}" if nut.rounding else ""
    lines = [
        meaning,
        f"Top {top}, falling {nut.top_fall_deg:z.1f}° toward the tuners{eased}. {_seat(i)}",
        f"Blank: top +{mm_text(nut.top_allowance)}, front and back +{mm_text(nut.stock_sides)}, each end "
        f"+{mm_text(nut.stock_ends)}. Slotted: top +{mm_text(nut.top_allowance)}, floors "
        f"+{mm_text(nut.filing_allowance)}{_pilots(i)}.",
    ]
    if nut.shift.any():
        moves = ", ".join(f"{n + 1}: {mm_text(float(shift))}" for n, shift in enumerate(nut.shift))
        how = "a shelf over the board" if i.spec.nut.compensation_by == "shelf" else "cutting back the board"
        lines.append(f"Front edge moved toward the bridge by {how}, per string: {moves}.")
    return (*lines, TOLERANCES)


def _pilots(i: Instrument) -> str:
    return "" if all(i.nut.full_width) else f", pilots {i.nut.pilots[0].angle_deg:g}° vee: slots first, the top after"


def _seat(i: Instrument) -> str:
    nut = i.nut
    bench = []
    if not math.isinf(nut.seat_radius):
        bench.append(f"curved to R {both_units(nut.seat_radius)}")
    if nut.seat_angle_deg:
        way = "toward the tuners" if nut.seat_angle_deg > 0 else "toward the bridge"
        bench.append(f"falling {abs(nut.seat_angle_deg):.1f}° {way}")
    depth = f"{mm_text(nut.seat_depth)} below the board's surface at the centreline"
    if not bench:
        return f"Seat flat, {depth}."
    return f"Seat {depth}, {' and '.join(bench)}: left to the bench, the blank and the slotted nut are flat."
